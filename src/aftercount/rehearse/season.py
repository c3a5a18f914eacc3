"""A season of simulated rehearsals of one procedure: a team that learns, a procedure that changes, a step that gets worse.

Conventions: rehearsals are numbered from 1; slowness is in seconds late beyond the habit. The truth of the season lies beside
its folders as `season.truth.json`: which steps were slow at first, what was revised, what got worse and from when.
It does not decide what happens within one rehearsal: `write` does.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from aftercount.errors import UsageError
from aftercount.rehearse import procedure as procedures
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.procedure import PlanStep, Procedure
from aftercount.rehearse.revision import Revision, revise
from aftercount.rehearse.scenario import scenario
from aftercount.rehearse.write import Chapter, Made, scheduled, write

LEAST_COUNTS = 4         # fewer show neither learning nor a change
SLOW_SHARE = 0.3         # of the steps that somebody calls for are slow at first
SLOW_S = (15.0, 50.0)    # so much in the first rehearsal
LEARNING = 0.8           # exponent of the learning curve: slowness goes as rehearsal ** -LEARNING
FIRST_FAULTS = 2.0       # misses, late and early steps of the first rehearsal, in the simulator's usual rates
REGRESSION_S = 45.0      # the step that gets worse is late by so much from then on
REVISED_STEPS = 2        # dropped, and as many added
GAP_DAYS = (4, 12)       # between rehearsals
STORIES = ("hold", "clean", "recycle", "scrub")
STORY_WEIGHTS = (5, 3, 2, 1)
UNBROKEN = 2             # the last ones are not cut short: they show where the season has come to


@dataclass(frozen=True)
class SeasonTruth:
    """What was made: the count folders in order, and the truth file's content."""

    folders: tuple[Path, ...]
    file: Path
    data: dict[str, object]


@dataclass(frozen=True)
class _Course:
    """What is drawn once for the whole season. revised_from, worse_from: numbers of rehearsals; ids of the first plan."""

    first: Procedure
    revision: Revision
    revised_from: int
    slow: dict[str, float]
    worse: str
    worse_from: int

    def procedure(self, number: int) -> Procedure:
        return self.first if number < self.revised_from else self.revision.procedure

    def id(self, step: str, number: int) -> str:
        """The id that a step of the first plan has in a rehearsal."""
        return step if number < self.revised_from else self.revision.moved.get(step, step)

    def slowness(self, number: int) -> dict[str, float]:
        slow = {step: first * number**-LEARNING for step, first in self.slow.items()}
        slow |= {self.worse: REGRESSION_S} if number >= self.worse_from else {}
        return {self.id(step, number): s for step, s in slow.items() if number < self.revised_from or step in self.revision.moved}


def rehearse_season(out: str | Path, counts: int = 12, seed: int = 0, options: RehearsalOptions | None = None) -> SeasonTruth:
    """Write `counts` simulated count folders into `out`, their truths beside them, and the truth of the season.

    Raises UsageError when `out` is there already and not empty, or there are too few counts for a season.
    """
    if counts < LEAST_COUNTS:
        raise UsageError(f"a season of {counts}: expected at least {LEAST_COUNTS} rehearsals")
    folder, wanted = Path(out), options or RehearsalOptions()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UsageError(f"{folder}: expected a folder that is new or empty")
    course = _drawn(counts, seed, wanted)
    folders = []
    for number, (story, when) in enumerate(_calendar(counts, seed, wanted), 1):
        name = f"{wanted.scenario}-r{number:0{len(str(counts))}d}"
        mine = replace(wanted, story=story, deviations=wanted.deviations * FIRST_FAULTS * number**-LEARNING)
        chapter = Chapter(course.procedure(number), when, course.slowness(number))
        folders.append(write(Made(seed * 1000 + number, mine, name, chapter), folder / name).folder)
    data = _truth(course, [f.name for f in folders])
    file = folder / "season.truth.json"
    file.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    return SeasonTruth(tuple(folders), file, data)


def _drawn(counts: int, seed: int, options: RehearsalOptions) -> _Course:
    rng = Random(f"season:{seed}:{options.scenario}:{options.steps}")
    team = scenario(options.scenario)
    first = procedures.build(team, options.steps)
    called = [s for s in first.steps if s.to and s.action]
    slow = {s.step: round(rng.uniform(*SLOW_S), 1) for s in rng.sample(called, round(SLOW_SHARE * len(called)))}
    worse = _to_get_worse([s for s in called if s.step not in slow], rng)
    revision = revise(first, team, REVISED_STEPS, rng, frozenset({worse}))
    return _Course(first, revision, counts // 2 + 1, slow, worse, counts - max(2, counts // 4) + 1)


def _to_get_worse(steps: list[PlanStep], rng: Random) -> str:
    """A step with the plan's default tolerance or a tighter one, outside the holds, where 45 s more is certainly late."""
    fitting = [s for s in steps if s.into is None and s.must and s.late_s <= procedures.DEFAULT_TOL_S and -s.t > 2 * REGRESSION_S]
    return rng.choice(fitting or steps).step


def _calendar(counts: int, seed: int, options: RehearsalOptions) -> Iterator[tuple[str, datetime]]:
    """Story and scheduled T-0 of each rehearsal."""
    rng = Random(f"calendar:{seed}:{options.scenario}")
    when = scheduled(rng)
    for number in range(1, counts + 1):
        weights = STORY_WEIGHTS if number <= counts - UNBROKEN else (*STORY_WEIGHTS[:2], 0, 0)
        drawn = rng.choices(STORIES, weights)[0]
        yield drawn if options.story == "random" else options.story, when
        when += timedelta(days=rng.randint(*GAP_DAYS))


def _truth(course: _Course, names: list[str]) -> dict[str, object]:
    """Ids are those of the last plan, unless they are of a step that it does not have."""
    last, moved = len(names), course.revision.moved
    return {
        "counts": names,
        "slow_at_first": {course.id(step, last): s for step, s in course.slow.items() if step in moved},
        "regression": {"step": course.id(course.worse, last), "from": names[course.worse_from - 1], "by_s": REGRESSION_S},
        "revision": {"from": names[course.revised_from - 1], "dropped": list(course.revision.dropped), "added": list(course.revision.added),
                     "renumbered": {old: new for old, new in moved.items() if old != new}},
    }
