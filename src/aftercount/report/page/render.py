"""report.html from the tables: one file that opens from disk, asks nothing of the network, and runs only its own script.

The page's policy allows exactly two things by their hashes: this package's script and its style. Whatever a log says is
escaped by the template and could not run if it were not.
"""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from pathlib import Path
from typing import Any

from aftercount.report import look, wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.marks import deviation_view
from aftercount.report.notes import Note, load_notes
from aftercount.report.page import drawing, sections
from aftercount.report.page.compare import compare
from aftercount.report.page.findings import Card, cards
from aftercount.report.page.glance import glance
from aftercount.report.page.holds import HoldRow, hold_cards
from aftercount.report.page.lines import Lines
from aftercount.report.page.opening import opening
from aftercount.report.page.polls import polls
from aftercount.report.page.settle import settle_data
from aftercount.report.page.steps import StepRow, step_rows
from aftercount.report.page.topics import topics
from aftercount.report.page.traffic import Traffic, candidates, gather, safe_json
from aftercount.report.profile import profile_view
from aftercount.report.safe import visible
from aftercount.report.summary_text import cautions, eye_lines

_MOST_REJECTS = 200  # shown; all are in rejects.parquet


def render_page(data: ReviewData, *, notes: Path | None = None, baseline: Path | None = None) -> str:
    """Raises InputError when the notes or the baseline cannot be read."""
    environment = _environment()
    lines = Lines(data)
    asked = polls(data, lines)
    steps = step_rows(data, lines, asked)
    found = cards(data, steps, lines)
    held = hold_cards(data, lines, steps)
    offered = candidates(data)
    traffic = gather(lines, _moments(found, held), {e for group in offered.values() for e, _, _ in group})
    stations = sections.station_answers(steps, [r["response"] for r in rows(data.steps[["response"]])])
    written = load_notes(notes) if notes else ()
    style, script = (environment.loader.get_source(environment, name)[0] for name in ("style.css", "page.js"))
    style = style.replace("/*light*/", look.css_variables(look.LIGHT)).replace("/*dark*/", look.css_variables(look.DARK))
    chosen = topics(data)
    return environment.get_template("report.html").render(
        policy=_policy(style, script), style=style, script=script, data=data, summary={"title": None, "kind": None, "delay_s": None} | data.summary, opening=opening(data, asked),
        topics=chosen, notes=_noted(chosen, written), steps=steps, glance=glance(steps), cards=found, holds=held, polls=asked, stations=stations,
        well=sections.went_well(data, stations, asked), comparison=compare(data, baseline) if baseline else None,
        deviation=drawing.deviation(deviation_view(data)), profile=drawing.profile(profile_view(data)), traffic=traffic,
        sources=sections.log_rows(data), rejects=rows(data.rejects)[:_MOST_REJECTS], rejected=len(data.rejects),
        eye=eye_lines(data), cautions=cautions(data), wording=wording, look=look, clock_sigma_s=_clock_sigma(data),
        embedded=safe_json(_embedded(data, steps, traffic, settle_data(data, steps, offered, traffic))),
        flags={"displaced": "out of order", "unanswered": "never answered", "asked": "called, no completion heard", "unclean": "poll not clean", "look": "to be settled", "decided": "settled by hand"},
    ) + "\n"


@lru_cache(maxsize=1)
def _environment() -> Any:
    """Made once in a process, as its templates are compiled once only then."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("aftercount.report", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        finalize=lambda value: visible(value) if type(value) is str else value,
    )
    environment.filters["place"] = lambda value: f"{value:.5f}".rstrip("0").rstrip(".")
    return environment


def _policy(style: str, script: str) -> str:
    return (f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
            "img-src data:; form-action 'none'; base-uri 'none'")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _moments(found: list[Card], held: list[HoldRow]) -> dict[str, int]:
    """Which moments get their traffic: every finding that was heard, every call and resume of a hold."""
    moments = {c.anchor: c.event for c in found if c.event is not None}
    moments |= {f"hold-{h.row['number']}-call": h.row["event"] for h in held if h.row["event"] is not None}
    return moments | {f"hold-{h.row['number']}-resume": h.row["resume_event"] for h in held if h.row["resume_event"] is not None}


def _noted(chosen: tuple[Any, ...], written: tuple[Note, ...]) -> list[Note]:
    """A note for every topic, filled where one was written, and the notes on topics that are no longer there."""
    by_key = {n.about: n for n in written}
    of_topics = [by_key.pop(t.key, Note(t.key, t.title)) for t in chosen]
    return of_topics + list(by_key.values())


def _clock_sigma(data: ReviewData) -> float | None:
    return float(data.clock["sigma_s"].median()) if len(data.clock) else None


def _embedded(data: ReviewData, steps: tuple[StepRow, ...], traffic: Traffic, settle: dict[str, Any]) -> dict[str, Any]:
    return {
        "count": data.summary.get("count"), "t0": data.summary.get("t0_scheduled"), "sources": traffic.sources, "logs": sorted(set(data.sources["source"].tolist())),
        "lines": [[visible(c) if isinstance(c, str) else c for c in line] for line in traffic.lines],
        "windows": traffic.windows, "settle": settle,
    }
