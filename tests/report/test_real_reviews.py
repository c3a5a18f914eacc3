"""Reports of real reviews: quotes are what stands in the logs, decisions and notes come back with the next run."""

from __future__ import annotations

import gzip
import json
import shutil
from pathlib import Path

import pytest

from aftercount import review
from aftercount.report.folder import write_folder
from report.browser import Watched
from report.reading import read

SAMPLES = sorted(p for p in (Path(__file__).parents[2] / "sample_logs").iterdir() if (p / "count.toml").is_file())


@pytest.fixture(scope="module", params=SAMPLES[:1] + SAMPLES[-1:], ids=lambda p: p.name)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """(count folder, review folder)"""
    return request.param, write_folder(review(request.param), tmp_path_factory.mktemp("out") / "r")


def log_lines(path: Path) -> list[str]:
    content = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
    return content.decode("utf-8", errors="replace").splitlines()


def folded(text: str) -> str:
    return " ".join(text.split())


def test_every_quoted_line_stands_in_its_log_where_the_page_says(made: tuple[Path, Path]) -> None:
    """Character for character, but for line breaks and runs of blanks. A quote may be part of an entry, and an entry may
    run over a few lines; it must begin at the line given."""
    folder, out = made
    page = read((out / "report.html").read_text(encoding="utf-8"))
    quotes = [(q.all("p")[0].text, q.all("cite")[0].text) for q in page.all("blockquote", "quote")]
    quotes += [(td.all("q")[0].text, td.all("cite")[0].text) for td in page.all("td") if td.all("q")]
    assert len(quotes) > 40
    embedded = json.loads("".join(c for c in page.by_id("data").children if isinstance(c, str)))
    quotes += [(text, f"{embedded['sources'][source]}:{line}") for source, line, _, _, _, text in embedded["lines"]]
    logs = {p.name: log_lines(p) for p in folder.iterdir() if p.is_file()}
    for text, where in quotes:
        source, _, line = where.rpartition(":")
        entry = " ".join(logs[source][int(line) - 1:int(line) + 7])
        assert folded(text) in folded(entry), (text, where)


def test_a_choice_made_in_the_page_is_honoured_and_shown_by_the_next_run(chromium: object, tmp_path: Path) -> None:
    folder = tmp_path / "count"
    shutil.copytree(SAMPLES[0], folder)
    first = write_folder(review(folder), tmp_path / "one")
    watched = Watched(chromium)
    page = watched.open(first / "report.html")
    page.locator("[data-settle='5']").click()
    page.locator("#settle-5").get_by_label("it was missed").check()
    page.locator("#settle-5").get_by_label("why, for step").fill("the lamp was seen to stay dark")
    page.locator("#note-0 summary").click()
    page.locator("#note-0 [name=why]").fill("a worn relay")
    for button, name in (("#save-decisions", "decisions.csv"), ("#save-notes", "notes.toml")):
        with page.expect_download() as waiting:
            page.click(button)
        waiting.value.save_as(folder / name)
    watched.quiet(first / "report.html")
    watched.context.close()
    again = review(folder)
    step = again.steps.iloc[5]
    assert (step["status"], bool(step["decided"])) == ("missed", True)
    second = write_folder(again, tmp_path / "two")
    fresh = Watched(chromium)
    page = fresh.open(second / "report.html")
    assert "settled by hand" in page.locator("#step-5").text_content()
    assert page.locator("#settle-5").get_by_label("it was missed").is_checked()
    assert page.locator("#settle-5").get_by_label("why, for step").input_value() == "the lamp was seen to stay dark"
    assert "a worn relay" in page.eval_on_selector_all("#note-form [name=why]", "all => all.map(e => e.value)")
    with page.expect_download() as waiting:
        page.click("#save-decisions")
    assert Path(waiting.value.path()).read_bytes() == (folder / "decisions.csv").read_bytes(), "what was settled before is saved again"
    fresh.quiet(second / "report.html")
    fresh.context.close()
