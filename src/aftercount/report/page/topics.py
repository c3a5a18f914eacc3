"""What is worth talking about: three to seven things, the weightiest first, each with a link to its evidence.

Chosen from the tables by kind and size, never by a step's name. `key` names a topic across runs of the same count, so
that notes written to it find it again. It does not judge steps or holds: it only chooses among what was found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.page import weight as weigh
from aftercount.report.summary_text import hold_sentence, named, ran_to, t0_lines
from aftercount.report.told import told_holds

LEAST, MOST = 3, 7
_OVERRAN_S = 60.0  # a built-in hold that ran over by less is not a topic
_MOST_HOLDS = 3  # holds among the topics before they crowd out everything else
_NAMED = 6  # steps named in one topic
_MOST_TOLD = 3  # findings told in one topic
_MOST_STORIES = 2  # steps that are topics of their own


@dataclass(frozen=True)
class Topic:
    """key: stable name. href: an anchor of the page. show: the status to filter the steps by there, or nothing.

    rank: how serious the findings are that it tells of, 0 the most.
    """

    key: str
    title: str
    text: str
    href: str
    weight: float
    show: str = ""
    rank: int = 0


def topics(data: ReviewData) -> tuple[Topic, ...]:
    """At most seven; fillers (what to settle, what went well) come only where there are fewer than three."""
    steps = rows(data.steps)
    several = _several(steps)
    told = {(s["step"], s["pass"]) for s in several}
    found = [*_outcome(data), *_holds(data), *(_story(s, data) for s in several)]
    found += [*_groups(data, steps, told), *_latest(data, steps, told), *_polls(data), *_authority(data)]
    found.sort(key=lambda t: (t.rank, -t.weight, t.key))
    for filler in _fillers(steps):
        if len(found) < LEAST:
            found.append(filler)
    return tuple(found[:MOST])


def _rank(data: ReviewData, *kinds: str) -> int:
    return weigh.rank(f for f in rows(data.findings) if f["kind"] in kinds)


def _outcome(data: ReviewData) -> Iterator[Topic]:
    outcome = str(data.summary.get("outcome"))
    if outcome in ("scrub", "cutoff"):
        at, stopped = data.summary.get("outcome_utc"), _stopped(data)
        when = f"At {wording.instant(at)}." if at else "When is not in the logs."
        where = f" {hold_sentence(stopped)}" if stopped else ""
        yield Topic("outcome", f"The count was {wording.OUTCOMES[outcome]}", when + where, f"#hold-{stopped['number']}" if stopped else "#profile", weigh.OUTCOME)
    elif outcome == "unresolved":
        yield Topic("outcome", "How the count ended", " ".join(t0_lines(data)) if ran_to(data) else "The logs do not say how the count ended.", "#profile", weigh.OUTCOME)


def _stopped(data: ReviewData) -> dict[str, Any] | None:
    """The hold in which a count ended that was scrubbed or cut off."""
    ended = data.summary.get("outcome") in ("scrub", "cutoff")
    return next((h for h in reversed(told_holds(data)) if h["end_utc"] is None), None) if ended else None


def _holds(data: ReviewData) -> Iterator[Topic]:
    stopped = _stopped(data)
    costly = [h for h in told_holds(data) if (h["kind"] == "unplanned" or (h["excess_s"] or 0.0) >= _OVERRAN_S) and h != stopped]
    costly.sort(key=lambda h: -(h["excess_s"] or h["duration_s"] or 0.0))
    for hold in costly[:_MOST_HOLDS]:
        cost = hold["excess_s"] or hold["duration_s"] or 0.0
        what = "Built-in hold overran" if hold["kind"] == "built_in" else "Unplanned hold"
        title = f"{what} at {wording.count_time(hold['t_s'])}"
        key = f"hold at {wording.count_time(hold['t_s'])} pass {hold['pass']}"
        yield Topic(key, title, hold_sentence(hold), f"#hold-{hold['number']}", weigh.HOLD + min(cost / 3600.0, 9.0), rank=0 if hold["kind"] == "unplanned" else 1)


def _faults(step: dict[str, Any]) -> list[str]:
    """What is wrong with one step, in words."""
    off = step["deviation_s"]
    before = f"begun before {wording.listed(list(step['violates']))}, which had to come first" if step["violates"] else ""
    return [
        *([before] if before else ["out of order"] if step["out_of_order"] else []),
        *([wording.spoken_deviation(off)] if step["timing"] in ("late", "early") and off is not None else []),
        *(["never answered"] if step["response"] == "none" else []),
    ]


def _several(steps: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The steps with the most kinds of fault, at least two: each is one story, not one in every list."""
    found = [s for s in steps if len(_faults(s)) > 1]
    return sorted(found, key=lambda s: -len(_faults(s)))[:_MOST_STORIES]


def _story(step: dict[str, Any], data: ReviewData) -> Topic:
    faults = _faults(step)
    title = f"{named([step])[0]} {step['action']}"
    own = [f for f in rows(data.findings) if (f["step"], f["pass"]) == (step["step"], step["pass"])]
    href = f"#finding-{own[0]['finding']}" if own else "#steps"
    return Topic(f"step {step['step']} pass {step['pass']}", title, f"{wording.capital('; '.join(faults))}.", href, weigh.STORY + len(faults) / 10.0, rank=weigh.rank(own))


def _groups(data: ReviewData, steps: list[dict[str, Any]], told: set[tuple[str, int]]) -> Iterator[Topic]:
    """Missed, displaced and unanswered steps, each as one topic, unless all of them were told already."""
    kinds = [
        ("missed", "step", "not seen in any log", "missed", (weigh.MISSED, _rank(data, "missed")), [s for s in steps if s["status"] == "missed"]),
        ("out of order", "step", "done out of order", "displaced", (weigh.ORDER, _rank(data, "out_of_order", "after_violated")),
         [s for s in steps if s["out_of_order"] or s["violates"]]),
        ("unanswered", "call", "never answered", "unanswered", (weigh.SILENT, _rank(data, "no_response")), [s for s in steps if s["response"] == "none"]),
    ]
    for key, noun, words, status, (weight, rank), chosen in kinds:
        if _untold(chosen, told):
            title = f"{wording.capital(wording.counted(len(chosen), noun))} {words}"
            text = f"{wording.capital(wording.listed(_described(chosen), _NAMED))}."
            yield Topic(key, title, text, "#steps", weight + min(len(chosen), 9) / 10.0, status, rank)


def _untold(steps: list[dict[str, Any]], told: set[tuple[str, int]]) -> bool:
    return any((s["step"], s["pass"]) not in told for s in steps)


def _described(steps: list[dict[str, Any]]) -> list[str]:
    return [f"{name} {step['action']}" for name, step in zip(named(steps), steps, strict=True)]


def _latest(data: ReviewData, steps: list[dict[str, Any]], told: set[tuple[str, int]]) -> Iterator[Topic]:
    for timing, words, weight in (("late", "began late", weigh.LATE), ("early", "began early", weigh.EARLY)):
        chosen = [s for s in steps if s["timing"] == timing and s["deviation_s"] is not None]
        if not _untold(chosen, told):
            continue
        chosen.sort(key=lambda s: -abs(s["deviation_s"]))
        title = f"{wording.capital(wording.counted(len(chosen), 'step'))} {words}"
        most = [f"{name}, {wording.duration(s['deviation_s'])}" for name, s in zip(_described(chosen), chosen[:_MOST_TOLD], strict=False)]
        more = f"; and {len(chosen) - len(most)} more" if len(chosen) > len(most) else ""
        yield Topic(timing, title, f"{'; '.join(most)}{more}.", "#steps", weight + min(abs(chosen[0]["deviation_s"]) / 600.0, 5.0), timing, _rank(data, timing))


def _polls(data: ReviewData) -> Iterator[Topic]:
    """Stations that were not heard in a poll, and answers of no go."""
    silent: dict[str, list[str]] = {}
    for a in rows(data.polls):
        if a["answer"] == "missing":
            name = f"poll {a['poll']}" + (f" (step {a['step']})" if a["step"] else "")
            silent.setdefault(name, []).append(a["station"])
    if silent:
        stations = wording.counted(len({s for group in silent.values() for s in group}), "station")
        text = "; ".join(f"{wording.listed(group, _NAMED)} in {name}" for name, group in silent.items())
        yield Topic("poll_missing", f"{wording.capital(stations)} not heard in a poll", f"{text}.", "#polls", weigh.POLL + 0.5, rank=_rank(data, "poll_missing"))
    refused = [f["text"] for f in rows(data.findings) if f["kind"] in ("no_go", "poll_changed")]
    if refused:
        yield Topic("no_go", "No go in a poll", " ".join(refused[:_MOST_TOLD]), "#polls", weigh.POLL, rank=_rank(data, "no_go", "poll_changed"))


def _authority(data: ReviewData) -> Iterator[Topic]:
    chosen = [f for f in rows(data.findings) if f["kind"] == "authority"]
    if chosen:
        text = " ".join(f["text"] for f in chosen[:_MOST_TOLD])
        yield Topic("authority", "A call by a station that may not make it", text, f"#finding-{chosen[0]['finding']}", weigh.AUTHORITY)


def _fillers(steps: list[dict[str, Any]]) -> Iterator[Topic]:
    doubtful = [s for s in steps if s["review"]]
    if doubtful:
        title = f"{wording.capital(wording.counted(len(doubtful), 'step'))} to be settled"
        yield Topic("to settle", title, f"{wording.listed(named(doubtful), _NAMED)}: the logs leave it open.", "#settle", weigh.EYE)
    done = [s for s in steps if s["status"] == "done"]
    on_time = sum(s["timing"] == "on_time" for s in done)
    yield Topic("went well", "What went to plan", f"{on_time} of {len(done)} steps done were begun on time.", "#well", weigh.WELL)
    yield Topic("next time", "What to keep for the next time", "Nothing else stands out; say what made it work.", "#well", 0.0)
