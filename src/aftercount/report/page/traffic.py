"""The loop traffic the page carries: the two minutes around each finding and hold, and the lines a match may be.

Conventions: every line is carried once, in time order; a window is a range of them. Where the page would grow past its
budget the windows are shortened for all alike, and the page says to what. It does not choose what is a finding.
"""

from __future__ import annotations

import json
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page.lines import Lines, speaker

BUDGET_BYTES = 800_000  # of the page's two megabytes; the rest is steps, findings and charts
HALF_WINDOWS_S = (60.0, 40.0, 25.0, 15.0, 8.0, 4.0, 0.0)  # each side of the moment: two minutes, or what fits
_MOST_CANDIDATES = 4  # lines offered to a person who settles a step
_ABOUT_BYTES = 60  # of a line's JSON beside its text and names


@dataclass(frozen=True)
class Traffic:
    """lines: JSON-ready rows. windows: anchor -> (first, last, focus) in lines. place: event -> index in lines."""

    lines: list[list[Any]]
    sources: list[str]
    windows: dict[str, tuple[int, int, int]]
    place: dict[int, int]
    half_s: float


def gather(lines: Lines, moments: dict[str, int], candidates: set[int]) -> Traffic:
    """moments: anchor -> event it is about. candidates: events to carry besides."""
    times = lines.times
    for half in HALF_WINDOWS_S:
        spans = {a: _span(lines, times, event, half) for a, event in moments.items() if lines.position(event) is not None}
        wanted = {i for first, last in spans.values() for i in range(first, last + 1)}
        wanted |= {p for p in map(lines.position, candidates) if p is not None}
        if sum(len(lines.rows[i]["text"].encode()) + _ABOUT_BYTES for i in wanted) <= BUDGET_BYTES:
            break
    kept = sorted(wanted)
    index = {i: n for n, i in enumerate(kept)}
    sources = sorted({lines.rows[i]["source"] for i in kept})
    number = {s: n for n, s in enumerate(sources)}
    windows = {a: (index[f], index[last], index[_place(lines, moments[a])]) for a, (f, last) in spans.items()}
    carried = [_line(lines.rows[i], number) for i in kept]
    return Traffic(carried, sources, windows, {lines.rows[i]["event"]: index[i] for i in kept}, half)


def _place(lines: Lines, event: int) -> int:
    place = lines.position(event)
    assert place is not None
    return place


def _span(lines: Lines, times: list[float], event: int, half_s: float) -> tuple[int, int]:
    """First and last position within half_s of the event; only itself when its time is not known."""
    place = _place(lines, event)
    if times[place] == float("inf"):
        return place, place
    return bisect_left(times, times[place] - half_s), bisect_right(times, times[place] + half_s) - 1


def _line(row: dict[str, Any], sources: dict[str, int]) -> list[Any]:
    return [sources[row["source"]], row["line"], wording.clock_time(row["utc"]), wording.count_time(row["t_s"]),
            speaker(row), row["text"]]


def candidates(data: ReviewData) -> dict[tuple[str, int], list[tuple[int, str, float]]]:
    """For each step and pass the likeliest events: (event, part, score), best first, each event once."""
    found: dict[tuple[str, int], list[tuple[int, str, float]]] = {}
    for m in sorted(rows(data.matches), key=lambda m: (m["rank"], -m["score"], m["event"])):
        offered = found.setdefault((m["step"], m["pass"]), [])
        if len(offered) < _MOST_CANDIDATES and m["event"] not in {e for e, _, _ in offered}:
            offered.append((m["event"], m["part"], m["score"]))
    return found


def safe_json(value: Any) -> str:
    """JSON that cannot end the script element it stands in, whatever a log says."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text
