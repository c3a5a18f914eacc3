"""The polls, answer by answer, and what was wrong with each: who was not heard, who was no go, whether the count went on.

Conventions: from the tables of polls, events and clock; a station that was never heard in a poll has no place in its order.
It does not judge whether the count should have gone on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page.lines import Lines, Quote


@dataclass(frozen=True)
class PollAnswer:
    """order: its place among the answers that were heard, or None. fault: whether it is no plain go. note: what the answer leaves out."""

    order: int | None
    station: str
    answer: str
    time: str
    quote: Quote | None
    fault: bool
    note: str


@dataclass(frozen=True)
class Poll:
    """silent: not heard, or not to be made out. refused: whose last answer was no go. trouble: both in one sentence, or nothing."""

    number: int
    step: str
    pass_: int | None
    answers: tuple[PollAnswer, ...]
    silent: tuple[str, ...]
    refused: tuple[str, ...]
    trouble: str

    @property
    def changed(self) -> bool:
        return any(a.note for a in self.answers)


def polls(data: ReviewData, lines: Lines) -> list[Poll]:
    groups: dict[int, list[dict[str, Any]]] = {}
    for answer in rows(data.polls):
        groups.setdefault(answer["poll"], []).append(answer)
    return [_poll(number, group, data, lines) for number, group in groups.items()]


def _poll(number: int, group: list[dict[str, Any]], data: ReviewData, lines: Lines) -> Poll:
    ordered = sorted(group, key=lambda a: a["order"])
    last = {a["station"]: a["answer"] for a in ordered}
    silent = tuple(s for s, a in last.items() if a in ("missing", "unclear"))
    refused = tuple(s for s, a in last.items() if _no_go(a))
    name = f"poll {number}" + (f" (step {group[0]['step']})" if group[0]["step"] else "")
    unclear = tuple(s for s, a in last.items() if a == "unclear")
    wanting = [s for s in (*silent, *refused) if s not in unclear]
    trouble = _trouble(name, (tuple(s for s in silent if s not in unclear), refused, unclear), bool(wanting) and _went_on(group, data, set(wanting)))
    return Poll(number, group[0]["step"] or "", group[0]["pass"], _answers(ordered, lines), silent, refused, trouble)


def _trouble(name: str, who: tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]], went_on: bool) -> str:
    """who: not heard, no go, answered and not made out."""
    silent, refused, unclear = who
    told = [f"{wording.listed(list(silent))} {'was' if len(silent) == 1 else 'were'} not heard"] if silent else []
    told += [f"{wording.listed(list(refused))} {'was' if len(refused) == 1 else 'were'} no go"] if refused else []
    mumbled = f"what {wording.listed(list(unclear))} answered could not be made out" if unclear else ""
    if not told:
        return f"In {name} {mumbled}." if mumbled else ""
    after = f", and the count went on without {'it' if len(silent + refused) == 1 else 'them'}" if went_on else ""
    return f"In {name} {' and '.join(told)}{after}{'; ' if mumbled else ''}{mumbled}."


def _went_on(group: list[dict[str, Any]], data: ReviewData, who: set[str]) -> bool:
    """Whether the count ran on after the poll, with no go from those stations in any later answer."""
    end = max((a["utc"] for a in group if a["utc"] is not None), default=None)
    if end is None:
        return False
    counting = data.clock[(data.clock["state"] == "counting") & (data.clock["end_utc"] > end)]
    later = data.polls[(data.polls["utc"] > end) & (data.polls["answer"] == "go")]
    return len(counting) > 0 and not who & set(later["station"].tolist())


def _no_go(answer: str) -> bool:
    return answer.lower().replace("_", " ").startswith("no")


def _answers(ordered: list[dict[str, Any]], lines: Lines) -> tuple[PollAnswer, ...]:
    given: dict[str, str] = {}
    made: list[PollAnswer] = []
    for a in ordered:
        changed = given.get(a["station"]) not in (None, a["answer"])
        given[a["station"]] = a["answer"]
        words = {"missing": "not heard", "unclear": "not made out"}.get(a["answer"], a["answer"].replace("_", " "))
        fault = changed or words in ("not heard", "not made out") or _no_go(a["answer"])
        order = a["order"] if a["event"] is not None else None
        made.append(PollAnswer(order, a["station"], words, wording.clock_time(a["utc"]), lines.quote(a["event"]), fault, "changed its answer" if changed else ""))
    return tuple(made)
