"""Why was there a hold: who called it, who ended it, for what reason?

Fills called_by, resumed_by, reason, reason_basis and waiting_for of the hold rows in place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from aftercount.timeline.outcome import Outcome
from aftercount.timeline.path import Floats

if TYPE_CHECKING:
    from aftercount.plan import Plan
    from aftercount.speech import Speech


def name_causes(rows: list[dict[str, Any]], speech: Speech, u: Floats, ending: Outcome, plan: Plan) -> None:
    """rows: as made by holds.hold_rows, with the calls that began and ended each hold."""
    station = speech.utterances["station"].tolist()
    by, reason = speech.calls["by"].tolist(), speech.calls["reason"].tolist()
    for row in rows:
        begun, ended = row.pop("call"), row.pop("resume")
        row["called_by"] = _text(by[begun.row]) if begun else None
        if row["called_by"] is None and row["event"] is not None:
            row["called_by"] = _text(station[row["event"]])
        row["resumed_by"] = (_text(by[ended.row]) or _text(station[ended.utterance])) if ended else None
        row["reason"] = _text(reason[begun.row]) if begun else None
        row["reason_basis"] = "called" if row["reason"] else None


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) and value else None
