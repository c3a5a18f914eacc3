"""Every figure in the page, computed again from the tables by other means (pandas, plain counting)."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from aftercount.counttime import parse_count
from aftercount.report.data import ReviewData, data_of
from aftercount.report.folder import write_folder
from aftercount.report.load import load_review
from aftercount.report.page import render_page
from report.madeup import make_review
from report.reading import Node, read


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> ReviewData:
    """Read back from a folder: the page of a saved review is the one under test."""
    return load_review(write_folder(make_review(), tmp_path_factory.mktemp("out") / "r"))


@pytest.fixture(scope="module")
def page(data: ReviewData) -> Node:
    return read(render_page(data))


def facts(node: Node) -> dict[str, str]:
    return {n.text: v.text for n, v in zip(node.all("dt"), node.all("dd"), strict=True)}


def seconds(text: str) -> float:
    """'+12.0 s', '+2 min 30 s', '1 h 4 min', '0 s' read back."""
    sign, h, m, s = re.fullmatch(r"([+-]?)(?:(\d+) h ?)?(?:(\d+) min ?)?(?:([\d.]+) s)?", text).groups()
    size = int(h or 0) * 3600 + int(m or 0) * 60 + float(s or 0)
    return -size if sign == "-" else size


def clock(utc: pd.Timestamp) -> str:
    """To the nearest second."""
    return f"{(utc + pd.Timedelta(0.5, 's')).floor('s'):%H:%M:%S}Z"


def test_the_facts_on_top(page: Node, data: ReviewData) -> None:
    told = facts(page.by_id("top").all("dl")[0])
    planned, actual = (pd.Timestamp(data.summary[k]) for k in ("t0_scheduled", "t0_actual"))
    assert pd.Timestamp(told["T-0 planned"]) == planned and pd.Timestamp(told["T-0 actual"]) == actual
    assert seconds(told["Delay"]) == (actual - planned).total_seconds()
    spent = (data.holds["end_utc"] - data.holds["start_utc"]).dt.total_seconds().groupby(data.holds["kind"]).sum()
    assert seconds(told["Built-in hold"]) == spent["built_in"] and seconds(told["Unplanned hold"]) == spent["unplanned"]
    assert told["Recycles"] == str(data.holds["recycled_to_t_s"].notna().sum())


def test_the_slips_add_up_to_the_delay_exactly(page: Node, data: ReviewData) -> None:
    rows = page.by_id("slips").rows()
    parts = [seconds(r[1].text) for r in rows[:-1]]
    assert sum(parts) == seconds(rows[-1][1].text) == data.summary["delay_s"]
    assert parts == [s for s in data.holds["slip_s"] if s]


def test_a_delay_no_hold_explains_is_its_own_row() -> None:
    review = make_review()
    review.holds.loc[0, "slip_s"] = 0.0
    rows = read(render_page(data_of(review))).by_id("slips").rows()
    assert rows[-2][0].text == "the count ran off its schedule outside any hold" and rows[-2][1].text == "+4 min"
    assert sum(seconds(r[1].text) for r in rows[:-1]) == review.summary["delay_s"]


def tenths(text: str) -> float:
    hours, minutes, rest = text.removesuffix("Z").split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(rest)


def test_every_cell_of_the_steps(page: Node, data: ReviewData) -> None:
    rows = page.by_id("step-table").rows()
    assert len(rows) == len(data.steps)
    for cells, (_, step) in zip(rows, data.steps.iterrows(), strict=True):
        assert cells[1].text == step["step"] + (f"pass {step['pass']}" if step["pass"] > 1 else "")
        assert cells[2].text.startswith(step["action"]) and cells[3].text == step["by"]
        assert parse_count(cells[4].text) == step["planned_t_s"] == float(cells[4].attrs["data-k"])
        for cell, column in ((cells[5], "due_utc"), (cells[6], "actual_utc")):
            assert (cell.text == "–") == pd.isna(step[column])
            if cell.text != "–":
                assert abs(tenths(cell.text) - tenths(f"{step[column]:%H:%M:%S.%f}Z")) < 0.16
        if pd.isna(step["deviation_s"]):
            assert cells[7].attrs["data-k"] == "" and cells[7].text
        else:
            assert seconds(cells[7].text) == pytest.approx(step["deviation_s"], abs=0.051)
            assert float(cells[7].attrs["data-k"]) == step["deviation_s"]
            if abs(step["deviation_s"]) < 3599:
                assert tenths(cells[6].text) - tenths(cells[5].text) == pytest.approx(seconds(cells[7].text), abs=0.001), "they subtract as shown"
        assert ("no answer" in cells[8].text) == (step["response"] == "none")
        assert (cells[8].text == "none due") == pd.isna(step["response"])
        assert cells[9].text == ("–" if step["status"] == "not_reached" else "over 99 %" if step["confidence"] >= 0.995 else f"{step['confidence'] * 100:.0f} %")


def test_the_counts_in_the_topics(page: Node, data: ReviewData) -> None:
    titles = [li.all("a")[0].text for li in page.by_id("top").all("ol")[0].all("li")]
    assert 3 <= len(titles) <= 7
    s = data.steps
    assert "Three steps not seen in any log" in titles and (s["status"] == "missed").sum() == 3
    assert "Five calls never answered" in titles and (s["response"] == "none").sum() == 5
    assert "Two steps done out of order" in titles and s["out_of_order"].sum() == 2
    assert "One station not heard in a poll" in titles and (data.polls["answer"] == "missing").sum() == 1


def test_the_glance_counts_and_names_every_step_once(page: Node, data: ReviewData) -> None:
    s = data.steps
    expected = {
        "missed": s["status"] == "missed", "never answered": s["response"] == "none",
        "out of order": s["out_of_order"] | (s["violates"].str.len() > 0), "begun late": s["timing"] == "late",
        "begun early": s["timing"] == "early", "not reached": s["status"] == "not_reached",
        "optional, not seen": s["status"] == "skipped", "begun on time": s["timing"] == "on_time",
    }
    lines = page.by_id("top").all("ul", "glance")[0].all("li")
    told = {}
    for line in lines:
        number, words = line.all("a")[0].text.split(" ", 1)
        told[words] = (int(number), [(a.text, int(a.attrs["href"].removeprefix("#step-"))) for a in line.all("a")[1:]])
    for words, mask in expected.items():
        chosen = [(r["step"], i) for i, r in s[mask].iterrows()]
        assert bool(chosen) == (words in told)
        if chosen:
            assert told[words] == (len(chosen), [] if words == "begun on time" else chosen)


def test_what_no_step_was_is_said_in_one_sentence() -> None:
    review = make_review(steps=1, chatter=0)
    told = read(render_page(data_of(review))).by_id("top").text
    assert "None was missed, never answered, out of order, begun late or begun early." in told


def test_a_completion_is_told_with_the_line_it_was_reported_in(page: Node, data: ReviewData) -> None:
    events = data.events.set_index("event")
    seen = 0
    for cells, (_, step) in zip(page.by_id("step-table").rows(), data.steps.iterrows(), strict=True):
        told = re.search(r"completed (\S+)", cells[10].text)
        assert bool(told) == (pd.notna(step["completed_utc"]) and (step["completed_utc"] - step["actual_utc"]).total_seconds() >= 1)
        if told:
            seen += 1
            assert told[1] == clock(step["completed_utc"])
            source, line = cells[10].all("cite")[-1].text.rsplit(":", 1)
            there = events[(events["source"] == source) & (events["line"] == int(line))].iloc[0]
            assert there["utc"] == step["completed_utc"]
    assert seen > 30


def test_response_times_by_station(page: Node, data: ReviewData) -> None:
    due = data.steps[data.steps["response"].notna()]
    rows = {r[0].text: [c.text for c in r[1:7]] for r in page.by_id("answer-table").rows()}
    assert set(rows) == set(due["by"])
    for station, group in due.groupby("by"):
        counts = group["response"].value_counts()
        expected = [str(len(group)), *(str(counts.get(k, 0)) for k in ("answered", "late", "none"))]
        taken = group["response_s"].dropna()
        expected += [f"{taken.median():.1f} s", f"{taken.max():.1f} s"] if len(taken) else ["–", "–"]
        assert rows[station] == expected


def test_holds_by_their_own_times(page: Node, data: ReviewData) -> None:
    cards = page.by_id("holds").all("article")
    assert len(cards) == len(data.holds)
    for card, (_, hold) in zip(cards, data.holds.iterrows(), strict=True):
        told = facts(card)
        assert told["planned"] == ("no" if hold["kind"] == "unplanned" else "10 min")
        assert told["began"] == f"{hold['start_utc']:%H:%M:%S}Z" and told["ended"] == f"{hold['end_utc']:%H:%M:%S}Z"
        assert seconds(told["lasted"]) == (hold["end_utc"] - hold["start_utc"]).total_seconds()
        assert seconds(told["over plan"]) == hold["duration_s"] - hold["planned_s"]
        assert parse_count(card.all("h3")[0].text.split(" at ")[1]) == hold["t_s"]
        assert told.get("called by") == (None if pd.isna(hold["called_by"]) else hold["called_by"])
        assert told.get("recycled to") == (None if pd.isna(hold["recycled_to_t_s"]) else "T-00:10:00")


def test_the_logs_and_their_clocks(page: Node, data: ReviewData) -> None:
    rows = page.by_id("source-table").rows()
    assert len(rows) == len(data.sources)
    for cells, (_, log) in zip(rows, data.sources.iterrows(), strict=True):
        told = [c.text for c in cells]
        assert told[:5] == [log["source"], log["format"], log["time"], str(log["entries"]), str(log["rejected"])]
        assert float(told[5].removesuffix(" s")) == pytest.approx(log["offset_s"], abs=0.051)
        assert float(told[6].removesuffix(" s")) == pytest.approx(log["offset_sigma_s"], abs=0.0051)
        assert float(told[7].removesuffix(" ppm")) == pytest.approx(log["drift_ppm"], abs=0.051)
        assert ("the reference" in told[8]) == log["reference"]


def test_a_drift_is_told_with_how_far_it_may_be_off() -> None:
    review = make_review(steps=4)
    review.sources["drift_sigma_ppm"] = [12.34, 0.0, None][: len(review.sources)]
    rows = read(render_page(data_of(review))).by_id("source-table").rows()
    assert [row[7].text for row in rows] == ["1.5 ± 12.3 ppm", "1.5 ppm", "1.5 ppm"][: len(rows)]


def test_a_log_of_elapsed_time_is_told_by_when_it_begins() -> None:
    review = make_review(steps=4)
    begins = pd.Timestamp("2031-04-18T12:10:05Z")
    review.sources.loc[0, "offset_s"] = begins.timestamp()
    cells = read(render_page(data_of(review))).by_id("source-table").rows()[0]
    assert cells[5].text == "begins 2031-04-18 12:10:05Z"


def test_the_polls_answer_by_answer(page: Node, data: ReviewData) -> None:
    rows = page.by_id("poll-1").rows()
    own = data.polls.sort_values("order")
    events = data.events.set_index("event")
    assert len(rows) == len(own)
    for row, cells, (_, a) in zip(page.by_id("poll-1").all("tbody")[0].all("tr"), rows, own.iterrows(), strict=True):
        heard = pd.notna(a["event"])
        at = clock(a["utc"]) if heard else "–"
        assert [c.text for c in cells[:4]] == [str(a["order"]) if heard else "–", a["station"], a["answer"] if heard else "not heard", at]
        assert not heard or cells[4].all("q")[0].text == events.loc[a["event"], "text"]
        assert len(cells) == 5, "nobody changed an answer, so there is no column for it"
        assert ("fault" in row.attrs.get("class", "")) == (a["answer"] != "go")


def test_what_went_to_plan_is_counted(page: Node, data: ReviewData) -> None:
    told = page.by_id("well").text
    s = data.steps
    done = s[s["status"] == "done"]
    assert f"{((done['timing'] == 'on_time') & ~done['out_of_order']).sum()} of {len(done)} steps done were on time and in order." in told
    assert f"Half of the steps were within {s['deviation_s'].abs().median():.1f} s of due." in told
    fastest = s[s["response"].isin(["answered", "late"])].groupby("by")["response_s"].median()
    assert f"half of the answers within {fastest.min():.1f} s" in told


def test_the_deviation_chart_has_every_step_at_its_place(page: Node, data: ReviewData) -> None:
    marks = [a for a in page.by_id("deviation-chart").all("a", "mark")]
    assert len(marks) == len(data.steps)
    places = pd.DataFrame({"x": [float(m.attrs["data-x"]) for m in marks], "y": [float(m.attrs["data-ypx"]) for m in marks]})
    steps = data.steps.reset_index(drop=True)
    panels = []
    for _, own in steps.groupby("pass"):
        x = places["x"].loc[own.index]
        assert x.groupby(own["planned_t_s"]).first().is_monotonic_increasing
        panels.append((x.min(), x.max()))
    assert all(a[1] < b[0] for a, b in zip(panels, panels[1:], strict=False)), "each pass has a panel of its own"
    assert len(panels) == len(page.by_id("deviation-chart").all("text", "pass")) == 2
    seen = steps["deviation_s"].dropna()
    assert places.loc[seen.sort_values().index, "y"].is_monotonic_decreasing, "later lies higher"
    early = places.loc[steps["timing"] == "early", "y"].min()
    late = places.loc[steps["timing"] == "late", "y"].max()
    on_time = places.loc[steps["timing"] == "on_time", "y"]
    assert late < on_time.min() and early > on_time.max()
    for mark, (_, step) in zip(marks, steps.iterrows(), strict=True):
        assert mark.attrs["href"] == f"#step-{mark.attrs['data-row']}"
        expected = step["timing"] if step["status"] == "done" else step["status"]
        assert mark.attrs["class"].split()[1] == expected
        assert ("unanswered" in mark.attrs["class"]) == (step["response"] == "none")
        assert bool(mark.all("path", "frame")) == step["out_of_order"]


def test_the_profile_is_the_clock(page: Node, data: ReviewData) -> None:
    """Undoing the drawing's scale gives the clock's own corners back."""
    legs = [[tuple(map(float, p.split(","))) for p in line.attrs["points"].split()] for line in page.by_id("profile-chart").all("polyline", "path")]
    clock = data.clock
    ends = [(r["start_utc"].timestamp(), r["start_t_s"]) for _, r in clock.iterrows()] + [(clock["end_utc"].iloc[-1].timestamp(), clock["end_t_s"].iloc[-1])]
    drawn = sorted({p for leg in legs for p in leg})
    (x0, y0), (x1, y1) = legs[0][0], legs[-1][-1]
    (w0, t0), (w1, t1) = ends[0], ends[-1]
    back = [(w0 + (x - x0) / (x1 - x0) * (w1 - w0), t0 + (y - y0) / (y1 - y0) * (t1 - t0)) for x, y in drawn]
    for wall, t_s in ends:
        assert min(abs(wall - w) + abs(t_s - t) for w, t in back) < 1.0, (wall, t_s)
    caption = page.by_id("profile-chart").all("figcaption")[0].text
    kept = data.marks["kept"].sum()
    assert f"count mark used ({kept})" in caption and f"not believed ({len(data.marks) - kept})" in caption


def test_every_quoted_line_is_the_events_own_at_its_line(page: Node, data: ReviewData) -> None:
    said = {(r["source"], str(r["line"])): r["text"] for _, r in data.events.iterrows()}
    quotes = [(q.all("p")[0].text, q.all("cite")[0].text) for q in page.all("blockquote", "quote")]
    quotes += [(td.all("q")[0].text, td.all("cite")[0].text) for td in page.all("td") if td.all("q")]
    assert len(quotes) > 80
    for text, where in quotes:
        assert said[tuple(where.rsplit(":", 1))] == text


def test_traffic_lines_and_windows_are_the_events(page: Node, data: ReviewData) -> None:
    embedded = json.loads(next(c for c in page.by_id("data").children if isinstance(c, str)))
    said = {(r["source"], r["line"]): (r["text"], r["utc"]) for _, r in data.events.iterrows()}
    for source, line, time, _, _, text in embedded["lines"]:
        own, utc = said[(embedded["sources"][source], line)]
        assert own == text and time == clock(utc)
    events = data.events.set_index("event")
    for anchor, (first, last, focus) in embedded["windows"].items():
        rows = [said[(embedded["sources"][embedded["lines"][i][0]], embedded["lines"][i][1])][1] for i in range(first, last + 1)]
        middle = said[(embedded["sources"][embedded["lines"][focus][0]], embedded["lines"][focus][1])][1]
        expected = events["utc"].between(middle - pd.Timedelta(60, "s"), middle + pd.Timedelta(60, "s")).sum()
        assert len(rows) == expected, anchor


def test_a_large_count_stays_under_two_megabytes() -> None:
    review = make_review(steps=300, chatter=20_000)
    text = render_page(data_of(review))
    assert len(text.encode()) < 2_000_000
    assert "instead of one minute" in text, "and says that the traffic was shortened"


@pytest.mark.parametrize("empty", ["holds", "findings", "polls", "marks", "matches", "rejects", "steps", "events"])
def test_a_table_without_rows_is_told_in_words(empty: str) -> None:
    from aftercount import tables

    review = make_review(steps=12, chatter=5)
    setattr(review, empty, getattr(tables, empty.upper()).empty())
    assert read(render_page(data_of(review))).by_id("main").text


def test_nothing_at_all_still_makes_a_page() -> None:
    from types import SimpleNamespace

    from aftercount import tables

    review: Any = SimpleNamespace(**{t.name: t.empty() for t in tables.REVIEW_TABLES}, summary={"count": "x", "outcome": "unresolved"})
    text = read(render_page(data_of(review))).text
    assert "how it ended is not in the logs" in text


def test_a_baseline_is_compared_step_by_step(tmp_path: Path) -> None:
    earlier = write_folder(make_review(seed=3), tmp_path / "before")
    text = render_page(data_of(make_review()), baseline=earlier)
    page = read(text)
    then, now = (load_review(p).steps if isinstance(p, Path) else p.steps for p in (earlier, data_of(make_review())))
    a, b = (s.sort_values("pass").groupby("step").last() for s in (then, now))
    assert f"of {len(a.index.intersection(b.index))} in both" in page.by_id("well").text
    rows = {r[0].text.split()[0]: [c.text for c in r[1:]] for r in page.by_id("changes").rows()}
    for step, (_, _, change) in rows.items():
        x, y = a.loc[step], b.loc[step]
        if x["timing"] == "on_time":
            assert change == "worse"
        if y["timing"] == "on_time":
            assert change == "better"
