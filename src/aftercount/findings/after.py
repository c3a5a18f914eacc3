"""Which steps came before a step that had to come first?

Conventions: instants in POSIX microseconds UTC, else count seconds. A pair (step, needed) is violated when the step was
begun before the needed one by more than `SURE_SIGMAS` standard deviations of the difference; two utterances of one log
share its clock error, so only their own reading errors count. A needed step that was not seen is not listed here: it is
missed, and says so itself. It does not decide the order of the rest of the plan.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.findings.facts import Fact
from aftercount.findings.heard import Utterance, apart_s, apart_sigma_s
from aftercount.findings.steps import Timed

# One-sided 95 %: the pair is named in the plan, so there is no search over many pairs to guard against.
SURE_SIGMAS = 1.645


def violations(facts: Sequence[Fact], times: Sequence[Timed], sure: Sequence[bool]) -> list[list[str]]:
    """For each step, the `after` ids it came before. sure: whether its match can bear such a finding (see `placing`)."""
    begun = {(f.step, f.in_pass): t.begun for f, t, s in zip(facts, times, sure, strict=True) if t.begun is not None and s}
    out: list[list[str]] = []
    for fact, time, bears in zip(facts, times, sure, strict=True):
        if time.begun is None or not bears:
            out.append([])
            continue
        out.append([n for n in fact.after if _violated(time.begun, _needed(n, fact.in_pass, begun))])
    return out


def _needed(step: str, in_pass: int, begun: dict[tuple[str, int], Utterance]) -> Utterance | None:
    """The needed step's beginning in this pass, else in the latest pass before it."""
    for earlier in range(in_pass, 0, -1):
        if (step, earlier) in begun:
            return begun[(step, earlier)]
    return None


def _violated(begun: Utterance, needed: Utterance | None) -> bool:
    if needed is None or needed.event == begun.event:
        return False
    lead = lead_s(begun, needed)
    return lead is not None and lead > SURE_SIGMAS * apart_sigma_s(begun, needed)


def lead_s(begun: Utterance, needed: Utterance) -> float | None:
    """By how many seconds `begun` came before `needed`; None when they cannot be compared."""
    apart = apart_s(needed, begun)
    if apart is not None:
        return apart
    if begun.t_s is not None and needed.t_s is not None and begun.in_pass == needed.in_pass:
        return needed.t_s - begun.t_s
    return None
