"""The season's page in a real browser: what it shows, that it stays still, and that everybody can read it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from aftercount.campaign.folder import trend_files
from aftercount.campaign.grid import brief, short_names
from aftercount.campaign.panels import controls, smalls
from aftercount.campaign.season import build
from aftercount.campaign.trend import Trend, trend_of
from report.browser import Watched
from seasons import SeasonSpec, season

HOSTILE = "</style><script>window.ran=1</script><img src=x onerror='window.ran=2'> {{7*7}} \u202egnp"
SPEC = SeasonSpec(counts=12, steps=24, learning=30.0, slips={13: (8, 15.0), 7: (9, -40.0)}, slopes={11: 3.0}, outlier_rate=0.01)


def made(counts: int) -> Trend:
    reviews = season(3, SPEC)[:counts]
    if counts > 6:
        reviews[6].steps.loc[20:, ["status", "deviation_s", "timing"]] = ["not_reached", float("nan"), None]
    for review in reviews:
        review.steps.loc[2, "action"] = HOSTILE
    return trend_of(build(reviews))


@pytest.fixture(scope="module")
def trends() -> dict[int, Trend]:
    return {counts: made(counts) for counts in (1, 2, 12)}


@pytest.fixture(scope="module")
def pages(trends: dict[int, Trend], tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    folder = tmp_path_factory.mktemp("season")
    out = {}
    for counts, trend in trends.items():
        out[counts] = folder / f"trend{counts}.html"
        out[counts].write_bytes(trend_files(trend)["trend.html"])
    return out


@pytest.mark.parametrize("counts", [1, 2, 12])
def test_it_opens_quietly_with_every_section(chromium: Any, pages: dict[int, Path], counts: int) -> None:
    watched = Watched(chromium)
    page = watched.open(pages[counts])
    for link in page.eval_on_selector_all("nav a", "links => links.map(a => a.getAttribute('href'))"):
        assert page.locator(link).count() == 1, link
    ids = page.eval_on_selector_all("[id]", "all => all.map(e => e.id)")
    assert len(ids) == len(set(ids))
    assert page.eval_on_selector_all("use", "all => all.every(u => document.querySelector(u.getAttribute('href')))")
    assert page.locator(".smalls figure").count() == counts
    assert page.evaluate("() => window.ran") is None and "{{7*7}}" in page.text_content("#steps") and page.locator("img").count() == 0
    assert "few" in page.text_content("#words") or counts == 12
    watched.quiet(pages[counts])
    watched.context.close()


def test_the_picture_says_in_words_what_became_of_each_step(chromium: Any, pages: dict[int, Path], trends: dict[int, Trend]) -> None:
    watched = Watched(chromium)
    page = watched.open(pages[12])
    cells = page.eval_on_selector_all("#picture tbody tr", "rows => rows.map(r => [r.cells[0].querySelector('b').textContent, "
                                      "[...r.cells].slice(1).map(c => c.textContent)])")
    shown = {step: row for step, row in cells}
    history = trends[12].history
    assert len(shown) == 24 and all(len(row) == 12 for row in shown.values())
    for row in history.to_dict("records"):
        text = shown[row["step"]][row["rehearsal"] - 1]
        expected = {"missed": "missed", "not_reached": "not reached"}.get(row["status"]) or brief(row["deviation_s"])
        assert expected in text and ((row["timing"] == "late") == ("late" in text)), (row["step"], row["count"], text)
    watched.context.close()


def test_it_works_by_keyboard_and_tables_that_scroll_can_be_reached(chromium: Any, pages: dict[int, Path]) -> None:
    watched = Watched(chromium, viewport={"width": 390, "height": 800})
    page = watched.open(pages[12])
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("() => location.hash") == "#main"
    unreachable = page.eval_on_selector_all(".wide", "all => all.filter(e => e.scrollWidth > e.clientWidth && e.tabIndex !== 0).length")
    assert unreachable == 0 and page.evaluate("() => document.documentElement.scrollWidth") <= 390
    watched.context.close()


@pytest.mark.parametrize(("counts", "options"), [
    (12, {"viewport": {"width": 1280, "height": 900}}), (12, {"color_scheme": "dark"}), (2, {"viewport": {"width": 390, "height": 844}}),
], ids=["wide", "dark", "narrow, two counts"])
def test_the_accessibility_engine_finds_nothing_serious(chromium: Any, axe: str, pages: dict[int, Path], counts: int, options: dict[str, Any]) -> None:
    watched = Watched(chromium, bypass_csp=True, **options)
    page = watched.open(pages[counts])
    page.evaluate(axe)
    found = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    serious = [(v["id"], v["impact"], v["nodes"][0]["html"][:200]) for v in found["violations"] if v["impact"] in ("serious", "critical")]
    assert serious == [] and len(found["passes"]) > 15
    watched.context.close()


def test_it_prints_light_and_without_navigation(chromium: Any, pages: dict[int, Path]) -> None:
    watched = Watched(chromium, color_scheme="dark")
    page = watched.open(pages[12])
    page.emulate_media(media="print")
    assert not page.locator("nav").is_visible() and page.evaluate("() => getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    pdf = page.pdf(prefer_css_page_size=True, print_background=True)
    assert pdf.startswith(b"%PDF-") and 3 <= pdf.count(b"/Type /Page\n") <= 20
    watched.context.close()


def test_charts_begin_where_there_is_something_to_chart(trends: dict[int, Trend]) -> None:
    assert controls(trends[2].tables) == () and len(controls(trends[12].tables)) == 12
    charts = {c.step: c for c in controls(trends[12].tables)}
    assert charts["1.8"].strips[0].framed and "a rehearsal" in charts["1.8"].words
    made_, reach, _ = smalls(trends[12].tables)
    assert [len(s.marks) for s in made_] == [24] * 12 and all(8 <= m.y <= 124 for s in made_ for m in s.marks) and reach >= 12
    assert sum(m.sign == "not_reached" for m in made_[6].marks) == 4


@pytest.mark.parametrize(("value", "text"), [(0.3, "0"), (-0.4, "0"), (12.4, "+12"), (-99.0, "\u221299"), (125.0, "+2:05"), (-3600.0, "\u221260:00")])
def test_deviations_in_brief(value: float, text: str) -> None:
    assert brief(value) == text


def test_counts_are_named_without_what_all_begin_with() -> None:
    assert short_names(["heron-7-r01", "heron-7-r02"]) == ["r01", "r02"]
    assert short_names(["one"]) == ["one"] and short_names(["wet", "dry"]) == ["wet", "dry"]
    assert short_names(["a-1", "a-1b"]) == ["1", "1b"]
