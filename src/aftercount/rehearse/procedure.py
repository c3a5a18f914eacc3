"""The plan of a scenario at a given size: ids, planned count times, tolerances, order constraints.

Conventions: `t` and `into` in whole seconds. The plan of one scenario and size is always the same, whatever the seed of the
count, so that many simulated counts make a campaign. It does not decide what happens in any one count.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from random import Random

from aftercount.rehearse import verbs
from aftercount.rehearse.scenario import Line, Phase, Scenario, parse
from aftercount.rehearse.speaking import count_text

AUTO_GAP_S = 8       # steps planned closer than this have nobody calling for them: there is no time to talk
DEFAULT_TOL_S = 10   # the plan's own default when it states none
HOLD_CLEAR_S = 20    # no step is planned nearer than this to a built-in hold, except inside it


@dataclass(frozen=True)
class PlanStep:
    step: str
    t: int
    action: verbs.Action | None     # None for a poll
    text: str
    kind: str
    by: str
    to: str | None
    phase: str
    into: int | None = None
    early: int | None = None
    late: int | None = None
    after: tuple[str, ...] = ()
    response: int | None = None
    says: str = ""
    must: bool = True
    auto: bool = False

    @property
    def early_s(self) -> int:
        return DEFAULT_TOL_S if self.early is None else self.early

    @property
    def late_s(self) -> int:
        return DEFAULT_TOL_S if self.late is None else self.late


@dataclass(frozen=True)
class PlanHold:
    step: str
    t: int
    duration: int
    text: str
    phase: str


@dataclass(frozen=True)
class Procedure:
    steps: tuple[PlanStep, ...]
    holds: tuple[PlanHold, ...]
    start_t: int

    @property
    def end_t(self) -> int:
        return max(s.t for s in self.steps)


def build(scenario: Scenario, size: int) -> Procedure:
    rng = Random(f"plan:{scenario.name}:{size}")
    phases, lines = parse(scenario.procedure)
    chosen = _choose(lines, size)
    steps: list[PlanStep] = []
    holds: list[PlanHold] = []
    for number, phase in enumerate(phases, 1):
        mine = [line for line in chosen if line.phase == number - 1]
        if phase.hold_s is not None:
            holds.append(PlanHold(f"{number}.0", phase.start_t, phase.hold_s, f"{phase.name.capitalize()}", phase.name))
        steps += _phase_steps(number, phase, mine, scenario, rng)
    steps = _constrain(steps, chosen, rng)
    return Procedure(tuple(steps), tuple(holds), phases[0].start_t - 60)


def _choose(lines: list[Line], size: int) -> list[Line]:
    """About `size` lines: large procedures use the '+' lines, small ones keep the first few of every family."""
    core = [line for line in lines if not line.extra]
    if size >= len(core):
        return _enlarged(lines, size - len(core))
    rank: dict[int, int] = {}
    ranked = []
    for place, line in enumerate(core):
        rank[line.family] = rank.get(line.family, 0) + 1
        ranked.append((rank[line.family], place))
    kept = sorted(place for _, place in sorted(ranked)[:size])
    return [core[place] for place in kept]


def _enlarged(lines: list[Line], more: int) -> list[Line]:
    """All core lines and `more` of the extra ones, evenly taken; short of these, each is done on several sides."""
    extra = sum(line.extra for line in lines)
    sides = max(1, -(-more // extra)) if extra else 1
    step = more / (extra * sides) if extra else 0.0
    out, owed = [], 0.0
    for line in lines:
        if not line.extra:
            out.append(line)
            continue
        for side in range(sides):
            owed += step
            if owed >= 1 - 1e-9:
                owed -= 1
                action = line.action if sides == 1 else _on_side(line.action, "ABCDEFGHJKLM"[side % 12])
                out.append(replace(line, action=action))
    return out


def _on_side(action: str, side: str) -> str:
    head, mark, tail = action.partition("~")
    return f"{head.strip()} side {side}" + (f" ~{tail}" if mark else "")


def _phase_steps(number: int, phase: Phase, lines: list[Line], scenario: Scenario, rng: Random) -> list[PlanStep]:
    if not lines:
        return []
    hold = phase.hold_s
    span = (60, hold - 90) if hold is not None else (phase.start_t, phase.end_t or 0)
    times = _spread(span[0], span[1], len(lines), rng)
    made = []
    for i, (line, t) in enumerate(zip(lines, times, strict=True), 1):
        gap = min((abs(t - other) for other in times if other != t), default=999)
        poll = "poll" in line.flags
        action = None if poll else verbs.parse(line.action)
        step = PlanStep(
            step=f"{number}.{i}", t=phase.start_t if hold is not None else t, action=action,
            text="Poll the team" if action is None else action.plain[0].upper() + action.plain[1:],
            kind="poll" if poll else "step", by=line.by, phase=phase.name,
            to=None if "auto" in line.flags or gap < AUTO_GAP_S or line.to == line.by else line.to,
            into=t if hold is not None else None,
            must="opt" not in line.flags, auto="auto" in line.flags,
        )
        made.append(_tolerances(step, line, rng))
    return made


def _tolerances(step: PlanStep, line: Line, rng: Random) -> PlanStep:
    if "wide" in line.flags:
        step = replace(step, early=60, late=90)
    elif "tight" in line.flags:
        step = replace(step, early=3, late=3)
    elif step.to and rng.random() < 0.25:
        early, late = rng.choice([(30, 60), (15, 30), (20, 20), (5, 15)])
        step = replace(step, early=early, late=late)
    for flag in line.flags:
        if flag[0] == "r" and flag[1:].isdigit() and step.to:
            step = replace(step, response=int(flag[1:]))
    if step.to and step.action and step.response is None and rng.random() < 0.25:
        step = replace(step, response=rng.choice([15, 20, 30, 45, 60]))
    if step.action and rng.random() < 0.15 and verbs.VERBS[step.action.verb].others:
        step = replace(step, says=step.action.other(rng.randrange(3)))
    return step


def _spread(start: int, end: int, count: int, rng: Random) -> list[int]:
    """`count` increasing times over a span, on round seconds where there is room."""
    span = end - start
    gap = span / max(count, 1)
    grid = next(g for g in (60, 30, 15, 10, 5, 2, 1) if g <= gap / 2 or g == 1)
    times: list[int] = []
    for i in range(count):
        ideal = start + gap * (i + 0.5) + rng.uniform(-0.3, 0.3) * gap
        t = int(round(ideal / grid) * grid)
        times.append(max(t, times[-1] + 1) if times else t)
    return times


def _constrain(steps: list[PlanStep], lines: list[Line], rng: Random) -> list[PlanStep]:
    """Some steps must come after an earlier one on a like object (open, then fill): the plan says so."""
    out: list[PlanStep] = []
    for i, step in enumerate(steps):
        after: tuple[str, ...] = ()
        if step.action and step.into is None:
            words = set(step.action.object.split())
            like = [
                s for s in steps[max(0, i - 25):i]
                if s.action and s.by == step.by and s.into is None and step.t - s.t >= 15 and len(words & set(s.action.object.split())) >= 2
            ]
            if like and rng.random() < 0.2:
                after = (like[-1].step,)
        out.append(replace(step, after=after))
    return out


def plan_csv(procedure: Procedure, rng: Random) -> str:
    """plan.csv, holds among the steps by count time."""
    style = rng.choice(["hms", "signed", "short"])
    header = ["step", "t", "action", "kind", "duration", "into_hold", "by", "to", "early_s", "late_s", "after", "response_s",
              "says", "must", "phase"]
    rows: list[tuple[int, int, list[str]]] = []
    for hold in procedure.holds:
        rows.append((hold.t, -1, [hold.step, count_text(hold.t, style), hold.text, "hold", _hms(hold.duration)] + [""] * 9
                     + [hold.phase]))
    for s in procedure.steps:
        rows.append((s.t, s.into or 0, [
            s.step, count_text(s.t, style), s.text, s.kind, "", "" if s.into is None else _hms(s.into), s.by, s.to or "",
            "" if s.early is None else str(s.early), "" if s.late is None else str(s.late), " ".join(s.after),
            "" if s.response is None else str(s.response), s.says, "" if s.must else "no", s.phase]))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(row for _, _, row in sorted(rows, key=lambda r: (r[0], r[1])))
    return out.getvalue()


def _hms(seconds: int) -> str:
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
