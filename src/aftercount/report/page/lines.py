"""What was said, by event number: the quoted line as its source has it, and who said it to whom.

Conventions: a quote is the event's own text, unchanged; `where` is 'source:line' as a person would look it up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows


@dataclass(frozen=True)
class Quote:
    """One line of a log as it is shown."""

    event: int
    text: str
    source: str
    line: int
    time: str
    count: str
    speaker: str
    machine: bool = False
    also: tuple[str, ...] = ()  # where else the same remark stands
    leading: bool = False  # the line a card is about, among those around it

    @property
    def where(self) -> str:
        return f"{self.source}:{self.line}"


class Lines:
    """All events, by number and in time order."""

    def __init__(self, data: ReviewData) -> None:
        self.rows = rows(data.events)
        self.times = [r["utc"].timestamp() if r["utc"] is not None else float("inf") for r in self.rows]
        self._at = {r["event"]: i for i, r in enumerate(self.rows)}

    def position(self, event: int | None) -> int | None:
        """The place of an event in time order."""
        return None if event is None else self._at.get(event)

    def quote(self, event: int | None) -> Quote | None:
        place = self.position(event)
        return None if place is None else quote_of(self.rows[place])


def quote_of(row: dict[str, Any]) -> Quote:
    return Quote(
        row["event"], row["text"], row["source"], row["line"], wording.clock_time(row["utc"]),
        wording.count_time(row["t_s"]), speaker(row), row["medium"] == "machine",
    )


def speaker(row: dict[str, Any]) -> str:
    """'TC to PROP', 'PROP', or that the log does not say; a machine that has no name needs none."""
    station, to = row["station"], row["to"]
    if not station:
        station = NOT_NAMED if to or row["medium"] != "machine" else ""
    return " to ".join(x for x in (station, to) if x)


NOT_NAMED = "not named"
