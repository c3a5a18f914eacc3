"""The page in a real browser, opened from disk: it works, it asks the network for nothing, it can be used by keyboard."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from aftercount.report.data import data_of
from aftercount.report.page import render_page
from report.browser import Watched
from report.madeup import make_review

HOSTILE = "</script><script>window.ran=1</script><img src=x onerror='window.ran=2'>\"'`${window.ran=3}`{{7*7}} \u202egnp \x1b[31m &amp; =1+1"


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(render_page(data_of(make_review())), encoding="utf-8")
    return path


@pytest.fixture
def watched(chromium: Any, report: Path) -> Iterator[Watched]:
    made = Watched(chromium, viewport={"width": 1280, "height": 900})
    made.open(report)
    yield made
    made.quiet(report)
    made.context.close()


def shown(page: Any) -> list[str]:
    return page.eval_on_selector_all("#step-table tbody tr:not([hidden])", "rows => rows.map(r => r.dataset.row)")


def test_opens_quietly_with_every_section(watched: Watched) -> None:
    page = watched.page
    assert page.title() == "Heron flight 7, rehearsal 9: review"
    for link in page.eval_on_selector_all("nav a", "links => links.map(a => a.getAttribute('href'))"):
        assert page.locator(link).count() == 1, link
    ids = page.eval_on_selector_all("[id]", "all => all.map(e => e.id)")
    assert len(ids) == len(set(ids))
    broken = page.eval_on_selector_all("a[href^='#']", "links => links.map(a => a.getAttribute('href').slice(1)).filter(id => !document.getElementById(id))")
    assert broken == []


def test_the_policy_lets_no_other_script_run(watched: Watched, report: Path) -> None:
    page = watched.page
    page.evaluate("() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s); }")
    page.evaluate("() => fetch('http://127.0.0.1:9/').catch(() => 0)")
    assert page.evaluate("() => window.ran") is None
    refused = [f for f in watched.faults if "Content Security Policy" in f or "violates" in f]
    assert refused, "the browser should have said that it refused"
    watched.faults.clear()


def test_steps_are_filtered_by_station_phase_status_and_words(watched: Watched) -> None:
    page = watched.page
    all_ = shown(page)
    page.select_option("#f-by", "PROP")
    some = shown(page)
    assert 0 < len(some) < len(all_)
    assert set(page.eval_on_selector_all("#step-table tbody tr:not([hidden])", "rows => rows.map(r => r.cells[3].textContent)")) == {"PROP"}
    assert page.text_content("#f-count") == f"{len(some)} of {len(all_)}"
    page.click("#filters button[type=reset]")
    page.wait_for_function(f"() => document.querySelectorAll('#step-table tbody tr:not([hidden])').length === {len(all_)}")
    page.select_option("#f-status", "unanswered")
    assert set(page.eval_on_selector_all("#step-table tbody tr:not([hidden])", "rows => rows.map(r => r.cells[8].textContent)")) == {"no answer"}
    page.select_option("#f-status", "missed")
    page.fill("#f-words", "water deluge")
    assert shown(page) == page.eval_on_selector_all("#step-table tbody tr", "rows => rows.filter(r => r.dataset.sign === 'missed' && r.textContent.includes('water deluge')).map(r => r.dataset.row)")


def test_steps_are_sorted_by_number_with_the_empty_last_either_way(watched: Watched) -> None:
    page = watched.page
    for expected in ("ascending", "descending"):
        page.click("th[data-sort=deviation] button")
        assert page.get_attribute("th[data-sort=deviation]", "aria-sort") == expected
        keys = page.eval_on_selector_all("#step-table tbody tr", "rows => rows.map(r => r.cells[7].dataset.k)")
        numbers = [float(k) for k in keys if k]
        assert numbers == sorted(numbers, reverse=expected == "descending") and len(numbers) > 50
        assert all(not k for k in keys[len(numbers):])
    page.click("th[data-sort=step] button")
    ids = page.eval_on_selector_all("#step-table tbody tr", "rows => rows.map(r => r.cells[1].firstChild.textContent.trim())")
    assert ids.index("1.2") < ids.index("1.10"), "steps sort as people number them"


def test_a_topic_leads_to_its_steps(watched: Watched) -> None:
    page = watched.page
    page.click(".topics a[data-show=missed]")
    assert set(page.eval_on_selector_all("#step-table tbody tr:not([hidden])", "rows => rows.map(r => r.dataset.sign)")) == {"missed"}


def test_chart_and_table_are_linked_both_ways(watched: Watched) -> None:
    page = watched.page
    mark = page.locator("a.mark.late").first
    row = mark.get_attribute("data-row")
    mark.hover()
    assert "lit" in (page.get_attribute(f"#step-{row}", "class") or "")
    assert "late" in page.text_content("#deviation-chart .told")
    page.locator(f"#step-{row}").hover()
    assert "lit" in (mark.get_attribute("class") or "")
    page.select_option("#f-status", "missed")
    mark.click()
    assert page.evaluate("() => location.hash") == f"#step-{row}"
    assert page.locator(f"#step-{row}").is_visible(), "a row that was filtered away comes back when its mark is followed"


def test_the_chart_works_by_keyboard_alone(watched: Watched) -> None:
    page = watched.page
    page.focus("#deviation-chart > svg")
    page.keyboard.press("ArrowRight")
    first = page.evaluate("() => document.activeElement.dataset.row")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("() => document.activeElement.dataset.row") != first
    width = "() => document.querySelector('#deviation-chart .hold').getAttribute('width')"
    before = float(page.evaluate(width))
    page.keyboard.press("+")
    assert float(page.evaluate(width)) == pytest.approx(2 * before, rel=0.01)
    page.keyboard.press("0")
    assert float(page.evaluate(width)) == pytest.approx(before, rel=0.01)
    page.keyboard.press("Enter")
    assert page.evaluate("() => document.activeElement.id").startswith("step-")


def test_zoom_keeps_every_mark_where_its_time_is(watched: Watched) -> None:
    """After a drag over a part, a mark's place is the straight line of its own value."""
    page = watched.page
    box = page.locator("#profile-chart > svg").bounding_box()
    page.locator("#profile-chart > svg").scroll_into_view_if_needed()
    box = page.locator("#profile-chart > svg").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + 150)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.8, box["y"] + 160, steps=4)
    page.mouse.up()
    places = page.eval_on_selector_all("#profile-chart .reading.kept[data-x]", "all => all.map(e => [Number(e.dataset.x), e.transform.baseVal.getItem(0).matrix.e])")
    (x0, p0), (x1, p1) = places[0], places[-1]
    span = float(page.get_attribute("#profile-chart .panel", "width"))
    assert (p1 - p0) > 2 * span, "zoomed"
    for x, p in places:
        assert p == pytest.approx(p0 + (x - x0) / (x1 - x0) * (p1 - p0), abs=0.1)
    on_path = page.evaluate("""() => { const w = document.querySelector('#profile-chart .world').transform.baseVal.consolidate().matrix;
        const [x, y] = document.querySelector('#profile-chart .path').getAttribute('points').trim().split(/\\s+/)[1].split(',').map(Number);
        return [x, w.a * x + w.e]; }""")
    assert on_path[1] == pytest.approx(p0 + (on_path[0] - x0) / (x1 - x0) * (p1 - p0), abs=0.1)


def test_traffic_around_a_finding_is_the_two_minutes_and_marks_the_line(watched: Watched) -> None:
    page = watched.page
    page.locator("#deviations details.traffic summary").first.click()
    times = page.eval_on_selector_all("#deviations details.traffic[open] tbody tr", "rows => rows.map(r => r.cells[0].textContent)")
    focus = page.text_content("#deviations details.traffic[open] tr.focus td")
    seconds = [int(t[:2]) * 3600 + int(t[3:5]) * 60 + int(t[6:8]) for t in times]
    middle = seconds[times.index(focus)]
    assert seconds == sorted(seconds) and all(abs(s - middle) <= 61 for s in seconds) and len(seconds) > 2


def test_a_match_is_settled_and_saved_as_decisions(watched: Watched) -> None:
    page = watched.page
    box = page.locator("#settle-list fieldset").first
    box.locator("input[type=radio]").nth(1).check()
    box.get_by_label("why, for step").fill('heard on the net, "for sure"')
    cite = box.locator("label.choice cite").first.text_content()
    page.locator("[data-settle='0']").click()
    page.locator("#settle-0").get_by_label("it was missed").check()
    page.locator("#settle-list fieldset").nth(1).get_by_label("number of another line").fill("77")
    with page.expect_download() as waiting:
        page.click("#save-decisions")
    assert waiting.value.suggested_filename == "decisions.csv"
    rows = list(csv.DictReader(io.StringIO(Path(waiting.value.path()).read_text(encoding="utf-8"), newline="")))
    first = rows[0]
    assert first["decision"] == "matched" and f"{first['source']}:{first['line']}" == cite
    assert first["note"] == 'heard on the net, "for sure"'
    assert {(r["step"], r["pass"], r["decision"]) for r in rows} >= {("1.1", "1", "missed")}
    assert any(r["line"] == "77" and r["decision"] == "matched" for r in rows)
    page.reload()
    assert page.locator("#settle-list fieldset").first.locator("input[type=radio]").nth(1).is_checked(), "kept in the browser"
    page.locator("#settle-list fieldset").first.get_by_label("leave it as it was judged").check()
    with page.expect_download() as waiting:
        page.click("#save-decisions")
    again = list(csv.DictReader(io.StringIO(Path(waiting.value.path()).read_text(encoding="utf-8"), newline="")))
    assert len(again) == len(rows) - 1


def test_notes_are_written_kept_exported_and_shown_by_the_next_run(watched: Watched, chromium: Any, tmp_path: Path) -> None:
    page = watched.page
    text = 'He said "wait"\\ and\nwe waited: \u00e9\u4e2d \U0001f680 # [x]'
    assert not page.locator("#note-0 [name=why]").is_visible(), "a note is folded until wanted"
    page.locator(".topics a[href='#note-0']").click()
    page.locator("#note-0 [name=why]").fill(text)
    page.locator("#note-0 [name=owner]").fill("PROP")
    page.locator("#note-0 [name=due]").fill("2031-04-25")
    page.fill("#new-topic", "Loop discipline")
    page.click("#add-note")
    page.locator("#note-form fieldset").last.locator("[name=next]").fill("drill the roll call")
    with page.expect_download() as waiting:
        page.click("#save-notes")
    saved = tmp_path / "notes.toml"
    waiting.value.save_as(saved)
    notes = tomllib.loads(saved.read_text(encoding="utf-8"))["topic"]
    assert [n["title"] for n in notes] == ["Unplanned hold at T-00:00:31", "Loop discipline"]
    assert notes[0]["why"] == text and notes[0]["owner"] == "PROP" and notes[0]["due"] == "2031-04-25"
    page.reload()
    assert page.input_value("#note-0 [name=why]") == text, "kept in the browser"
    later = tmp_path / "later.html"
    later.write_text(render_page(data_of(make_review()), notes=saved), encoding="utf-8")
    fresh = Watched(chromium)
    fresh.open(later)
    assert fresh.page.input_value("#note-0 [name=why]") == text
    assert fresh.page.input_value("#note-form fieldset:last-of-type [name=next]") == "drill the roll call"
    fresh.quiet(later)
    fresh.context.close()


@pytest.mark.parametrize("options", [
    {"viewport": {"width": 1280, "height": 900}}, {"viewport": {"width": 390, "height": 844}}, {"color_scheme": "dark"},
], ids=["wide", "narrow", "dark"])
def test_the_accessibility_engine_finds_nothing_serious(chromium: Any, axe: str, report: Path, options: dict[str, Any]) -> None:
    # bypass_csp only lets the engine itself in; what it looks at is the page as it is.
    watched = Watched(chromium, bypass_csp=True, **options)
    page = watched.open(report)
    for summary in page.locator("details.traffic summary").all()[:2]:
        summary.click()
    page.evaluate(axe)
    found = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    serious = [(v["id"], v["impact"], v["nodes"][0]["html"][:200]) for v in found["violations"] if v["impact"] in ("serious", "critical")]
    assert serious == []
    assert len(found["passes"]) > 20, "the engine looked"
    watched.context.close()


@pytest.mark.parametrize("width", [320, 390, 768, 1024, 1280, 1366, 1440])
def test_a_screen_never_scrolls_sideways(chromium: Any, report: Path, width: int) -> None:
    watched = Watched(chromium, viewport={"width": width, "height": 800})
    page = watched.open(report)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    watched.context.close()


def test_it_follows_the_system_into_the_dark_and_can_be_told(chromium: Any, report: Path) -> None:
    watched = Watched(chromium, color_scheme="dark")
    page = watched.open(report)
    ground = "() => getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(16, 32, 43)"
    page.click("#theme")
    assert page.evaluate(ground) == "rgb(250, 248, 243)"
    page.emulate_media(media="print")
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    watched.context.close()


def test_it_prints_to_a_clean_pdf(chromium: Any, report: Path) -> None:
    watched = Watched(chromium, color_scheme="dark")
    page = watched.open(report)
    page.emulate_media(media="print")
    for gone in ("nav", "#theme", "#filters", "#settle", "[data-settle]", "#save-notes"):
        assert not page.locator(gone).first.is_visible(), gone
    pdf = page.pdf(prefer_css_page_size=True, print_background=True)
    assert pdf.startswith(b"%PDF-") and 3 <= pdf.count(b"/Type /Page\n") <= 40
    watched.context.close()


def test_a_hostile_log_is_text_everywhere_in_the_page(chromium: Any, tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text(render_page(data_of(make_review(steps=30, chatter=20, say=HOSTILE))), encoding="utf-8")
    watched = Watched(chromium)
    page = watched.open(path)
    for summary in page.locator("details.traffic summary").all()[:3]:
        summary.click()
    page.locator("[data-settle='0']").click()
    page.locator("a.mark").first.hover()
    seen = page.text_content("body")
    as_text = HOSTILE.replace("\u202e", "<U+202E>").replace("\x1b", "<U+001B>")
    assert as_text in page.text_content("#deviations") and as_text in page.text_content("#steps") and as_text in page.text_content("#settle-list")
    assert as_text in page.text_content("#deviation-chart .told")
    assert "\u202e" not in seen and "\x1b" not in seen and "{{7*7}}" in seen
    assert page.evaluate("() => window.ran") is None and page.locator("img").count() == 0
    watched.quiet(path)
    watched.context.close()


def test_the_pdf_is_printed_by_the_browser_and_has_the_words(chromium: Any, report: Path) -> None:
    from aftercount.report.pdf import pdf_bytes

    page = report.read_text(encoding="utf-8")
    made = pdf_bytes(page)
    assert made.startswith(b"%PDF-") and made.rstrip().endswith(b"%%EOF") and b"(D:20000101000000" in made
    # A browser on a busy machine now and then puts a line a quarter of a pixel lower (3 prints of 60, six at a time): two of three are the same.
    again = pdf_bytes(page)
    assert again == made or pdf_bytes(page) in (made, again), "the same page gives the same bytes"


def test_no_browser_is_one_clear_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    from aftercount.errors import InputError
    from aftercount.report.pdf import pdf_bytes

    monkeypatch.setenv("PATH", "")
    with pytest.raises(InputError) as caught:
        pdf_bytes("<p>x")
    assert caught.value.problems[0].code == "pdf-no-browser"
