"""The pictures: the same bytes, nothing global touched, text from a log drawn as text, every step drawn."""

from __future__ import annotations

import io
import math
import sys
import warnings
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.lines import Line2D
from PIL import Image

from aftercount import plot, tables
from aftercount.report.axis import count_axis, deviation_axis, pass_axis
from aftercount.report.charts import deviation_png, profile_png
from aftercount.report.data import data_of
from aftercount.report.look import LIGHT, MARKERS
from aftercount.report.marks import deviation_view
from aftercount.report.profile import profile_view
from report.madeup import make_review

HOSTILE = "$\\frac{1}{0}$ \x07 \u202e <b> _{x} \u4e2d"


@pytest.fixture(scope="module")
def data():
    return data_of(make_review())


def test_slide_size_and_the_same_bytes_every_time(data) -> None:
    for make in (deviation_png, profile_png):
        first = make(data)
        assert first == make(data)
        picture = Image.open(io.BytesIO(first))
        assert picture.size[0] >= 1590 and picture.size[0] / picture.size[1] == pytest.approx(16 / 9, rel=0.01)
        assert set(picture.info) <= {"dpi"}, "no software, no date"


def test_nothing_global_in_matplotlib_is_touched(data) -> None:
    import matplotlib as mpl

    before = dict(mpl.rcParams)
    pyplot_was_there = "matplotlib.pyplot" in sys.modules
    plot.deviation(make_review(steps=12))
    plot.profile(make_review(steps=12))
    assert dict(mpl.rcParams) == before
    assert ("matplotlib.pyplot" in sys.modules) == pyplot_was_there


def test_text_of_a_log_is_drawn_as_it_stands() -> None:
    review = make_review(steps=20, chatter=3, say=HOSTILE)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert deviation_png(data_of(review)) and profile_png(data_of(review))
    figure = plot.deviation(review)
    assert all(not t.get_parse_math() for t in figure.texts)
    assert "\u202e" not in figure.texts[0].get_text() and "$\\frac" in figure.texts[0].get_text()


def signs(figure) -> list[tuple[float, float, Line2D]]:
    """Every sign of the chart: where it stands and the line it is drawn by; a line without a marker is no sign."""
    return [(x, y, line) for axes in figure.axes for line in axes.lines if line.get_marker() not in ("None", "", None)
            for x, y in zip(line.get_xdata(), line.get_ydata(), strict=True)]


def test_every_step_is_drawn_once_with_the_marker_of_its_sign(data) -> None:
    drawn = [(round(x, 9), line.get_marker()) for x, _, line in signs(plot.deviation(data)) if line.get_markersize() <= 10]
    wanted = [(round(m.x, 9), MARKERS[m.sign]) for m in deviation_view(data).steps]
    assert sorted(drawn) == sorted(wanted)


def test_unanswered_steps_are_hollow_and_displaced_ones_framed(data) -> None:
    drawn = signs(plot.deviation(data))
    hollow = [x for x, _, line in drawn if line.get_markerfacecolor() == LIGHT.panel and line.get_marker() != "s"]
    frames = [x for x, _, line in drawn if line.get_markersize() == 17]
    assert len(hollow) == (data.steps["response"] == "none").sum()
    assert len(frames) == data.steps["out_of_order"].sum()


def test_holds_and_recycles_are_labelled(data) -> None:
    figure = plot.profile(data)
    words = [t.get_text().strip() for axes in figure.axes for t in axes.texts]
    assert "hold 2: 8 min at T-00:05:00" in words and "recycled to T-00:10:00" in words
    assert "hold 3: 9 min at T-00:00:31, inferred" in words


def test_marks_used_and_marks_not_believed_are_both_drawn_where_they_lie(data) -> None:
    """From the tables alone: the folder is read back, and every sign lies on a reading of its own kind."""
    axes = plot.profile(data).axes[0]
    lines = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("o", "+")}
    assert lines["o"].get_color() != lines["+"].get_color()
    for marker, kept in (("o", True), ("+", False)):
        own = data.marks[data.marks["kept"] == kept]
        table = {(round(u.timestamp(), 3), t) for u, t in zip(own["utc"], own["t_s"], strict=True)}
        drawn = {(round(x, 3), y) for x, y in zip(lines[marker].get_xdata(), lines[marker].get_ydata(), strict=True)}
        assert drawn and drawn <= table
        assert str(len(own)) in lines[marker].get_label()
        low, high = axes.get_ylim()
        assert kept or drawn == {p for p in table if low <= p[1] <= high}, "no mark that was not believed is hidden"


def test_the_schedule_has_its_corners_where_the_built_in_hold_was_planned(data) -> None:
    view = profile_view(data)
    zero = pd.Timestamp("2031-04-18T14:30:00Z").timestamp()
    assert view.planned == ((zero - 7200 - 600, -7200.0), (zero - 1800, -1200.0), (zero - 1200, -1200.0), (zero, 0.0))


def test_a_schedule_with_a_hold_that_was_never_come_to_is_drawn_through_the_steps() -> None:
    review = make_review()
    review.holds = review.holds.iloc[1:]
    view = profile_view(data_of(review))
    own = review.steps.dropna(subset="planned_utc")
    assert set(view.planned) == {(u.timestamp(), t) for u, t in zip(own["planned_utc"], own["planned_t_s"], strict=True)}


def test_empty_tables_still_make_pictures() -> None:
    nothing = SimpleNamespace(**{t.name: t.empty() for t in tables.REVIEW_TABLES}, summary={"count": "x", "outcome": "unresolved"})
    assert deviation_png(data_of(nothing)) and profile_png(data_of(nothing))


times = st.lists(st.floats(-90_000, 3_000), min_size=1, max_size=40)


@given(times, st.lists(st.floats(-90_000, 0), max_size=6))
@settings(max_examples=200, deadline=None)
def test_count_time_runs_left_to_right_and_stays_on_the_chart(steps: list[float], holds: list[float]) -> None:
    axis = count_axis(steps, holds)
    places = [axis.at(t) for t in sorted({*steps, *holds})]
    assert all(b >= a - 1e-9 for a, b in zip(places, places[1:], strict=False))
    assert all(-1e-9 <= p <= 1 + 1e-9 for p in places)
    for t in axis.slots:
        inside = [axis.at(t, share) for share in (0.0, 0.5, 1.0)]
        assert inside == sorted(inside) and inside[2] - inside[0] == pytest.approx(axis.slot)
    ticks = [p for p, _ in axis.ticks()]
    assert all(b - a >= 0.062 - 1e-9 for a, b in zip(ticks, ticks[1:], strict=False))


@given(st.lists(st.floats(-20_000, 20_000), max_size=30), st.lists(st.floats(0, 600), max_size=10))
@settings(max_examples=200, deadline=None)
def test_deviations_rise_and_zero_is_on_the_chart(seen: list[float], tolerances: list[float]) -> None:
    axis = deviation_axis(seen, tolerances)
    places = [axis.at(s) for s in sorted(seen)]
    assert all(b >= a - 1e-9 for a, b in zip(places, places[1:], strict=False))
    assert all(0 <= p <= 1 for p in [*places, axis.at(0.0)])
    assert "0" in [label for _, label in axis.ticks()]


def test_the_axis_stretches_only_where_steps_crowd() -> None:
    assert count_axis([-7200 * (1 - i / 50) for i in range(50)], []).stretched is False
    assert count_axis([-36_000.0, *np.linspace(-600, 0, 40).tolist()], []).stretched is True
    assert math.isinf(deviation_axis([3, -8, 12], [10]).linear_s) and deviation_axis([3, 300], [10]).linear_s == 10


@given(st.dictionaries(st.integers(1, 5), times, min_size=1, max_size=5), st.dictionaries(st.integers(1, 5), st.lists(st.floats(-90_000, 0), max_size=3), max_size=5))
@settings(max_examples=100, deadline=None)
def test_every_pass_has_a_panel_and_no_two_overlap(steps: dict[int, list[float]], holds: dict[int, list[float]]) -> None:
    axis = pass_axis(steps, holds)
    assert [p.pass_ for p in axis.panels] == sorted({*steps, *holds})
    assert axis.panels[0].x0 == 0 and axis.panels[-1].x1 == pytest.approx(1)
    assert all(a.x1 < b.x0 for a, b in zip(axis.panels, axis.panels[1:], strict=False))
    for panel in axis.panels:
        assert all(panel.x0 - 1e-9 <= axis.at(panel.pass_, t) <= panel.x1 + 1e-9 for t in [*steps.get(panel.pass_, []), *holds.get(panel.pass_, []), 0.0])
    ticks = [p for p, _ in axis.ticks()]
    assert all(any(p.x0 - 1e-9 <= t <= p.x1 + 1e-9 for p in axis.panels) for t in ticks)


@pytest.mark.parametrize("seed", range(6))
def test_no_text_covers_another(seed: int) -> None:
    """Steps missed and late at the edges of both passes, at times drawn at random, with holds beside them."""
    from aftercount.report.charts.deviation import deviation_figure

    review = make_review(steps=60)
    rng, steps = np.random.default_rng(seed), review.steps.copy()
    late = rng.choice(len(steps), 18, replace=False)
    steps.loc[steps.index[late], ["status", "timing"]] = ["done", "late"]
    steps.loc[steps.index[late], "deviation_s"] = rng.uniform(200, 2000, len(late))
    review.steps = steps
    figure = deviation_figure(data_of(review))
    boxes = [(t.get_text(), t.get_window_extent()) for axes in figure.axes for t in axes.texts]
    assert len(boxes) > 8
    for k, (name, box) in enumerate(boxes):
        assert not [other for other, at in boxes[:k] if box.overlaps(at)], name
