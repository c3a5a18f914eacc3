"""The steps at a glance: how many went how, and which those were, each a link to its row.

The order is that in which people ask. A list too long to read is cut, and says by how many.
"""

from __future__ import annotations

from dataclasses import dataclass

from aftercount.report.page.steps import StepRow

_MOST = 8  # steps named in a line of the glance
_LINES = (
    ("missed", "missed", ("status", "missed")), ("unanswered", "never answered", ("flag", "unanswered")),
    ("unclean", "poll not clean", ("flag", "unclean")), ("displaced", "out of order", ("flag", "displaced")), ("late", "begun late", ("status", "late")),
    ("early", "begun early", ("status", "early")), ("not_reached", "not reached", ("status", "not_reached")),
    ("skipped", "optional, not seen", ("status", "skipped")), ("asked", "called, no completion heard", ("flag", "asked")),
    ("on_time", "begun on time", ("status", "on_time")),
)
_NO_FAULT = frozenset({"not_reached", "skipped", "unclean", "asked", "on_time"})
_UNNAMED = frozenset({"on_time"})  # what went well is counted, not listed


@dataclass(frozen=True)
class GlanceLine:
    """sign, flags: how it is drawn. show: what the table of steps is filtered by. rest: how many more than are named."""

    sign: str
    flags: tuple[str, ...]
    words: str
    show: str
    count: int
    steps: tuple[StepRow, ...]
    rest: int


@dataclass(frozen=True)
class Glance:
    """none: the faults of which there is none, in words; that there are none is an answer too."""

    lines: tuple[GlanceLine, ...]
    none: tuple[str, ...]


def glance(steps: tuple[StepRow, ...]) -> Glance:
    lines, none = [], []
    for show, words, (where, name) in _LINES:
        chosen = tuple(s for s in steps if (s.sign == name if where == "status" else name in s.flags))
        if not chosen:
            none += [words] * (show not in _NO_FAULT)
            continue
        shown = () if show in _UNNAMED else chosen[:_MOST]
        sign, flags = (name, ()) if where == "status" else ("on_time", (name,))
        lines.append(GlanceLine(sign, flags, words, show, len(chosen), shown, 0 if show in _UNNAMED else len(chosen) - len(shown)))
    return Glance(tuple(lines), tuple(none))
