"""The words of the path's model: what a node, a candidate field, a cost and a path are.

Instants are seconds after the scheduled T-0, count times seconds. What they cost together is stated in path.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MARK, HOLD_CALL, RESUME_CALL, TARGET, STEP = 0, 1, 2, 3, 4
ANY, COUNTING, HOLDING = 0, 1, 2
STAY, HOLD, RESUME, SILENT, RUN, JUMP, BEGIN = 0, 1, 2, 3, 4, 5, 6


@dataclass(frozen=True)
class Costs:
    """What each thing costs, in nats: about -ln of how likely it is at any one place of a count."""

    hold: float = 7.0  # nobody's plan: one in a thousand marks follows one, at a place of its own
    builtin: float = 2.0
    resume: float = 2.0  # more than a doubtful resume call is worth, or one would end a hold
    silent: float = 6.5  # a hold that no mark saw, with the resume that goes with it
    silent_builtin: float = 4.0
    on_plan: float = 0.5  # a planned hold that ends when planned, as more than half do, whether or not that was heard
    silent_on_plan: float = 2.5
    skip: float = 4.0  # a planned hold that the count ran through
    jump: float = 18.0  # a recycle that nobody was heard to call: they are rare, and told to everybody
    jump_called: float = 4.0
    jump_resumed: float = 9.0  # of a recycle, no more may be heard than that the count goes on: few resumes are one
    late: float = 5.5  # the first word of a planned hold comes late: most are announced within seconds, any other moment of minutes is one in many
    late_shout: float = 2.0  # of a hold nobody planned: who calls one calls at once and more than once; but one that nobody called may be read of later
    late_call: float = 0.5  # of a hold call's weight, when the clock had stood still for longer than a voice takes to call it
    unheard: float = 2.0  # a resume that nobody was heard to call
    running: float = 3.0  # a clock is set while it is held, as a rule
    past: float = 6.0  # a clock that is set after it counted past T-0: a count that gets there is over
    forward: float = 12.0  # clocks are set back, hardly ever on
    disagree: float = 3.0  # 'and counting' while holding, or the other way about
    disagree_sure: float = 0.5  # of the reading's weight, if that is more: who typed 'holding' seldom meant 'counting'
    repeat: float = 0.4
    misnamed: float = 0.6  # of a hold call's weight, when it named another count time than that of the hold
    target_in_hold: float = 0.7  # an announced T-0 says little while the clock is held
    off_schedule: float = 2.0  # the first state is not the plan's
    least_hold_s: float = 2.0  # shorter than speech can tell
    slack_s: float = 2.0  # how far a kept node may lie beyond the instant of a move


@dataclass(frozen=True)
class Nodes:
    """The evidence in order of time. A run of equal machine marks is one node from `start` to `end`.

    t: count reading at `start`; for a TARGET the announced T-0. sigma: of it against the wall time; read: of it alone. says: which state the words claim; a run is `strict`.
    """

    start: Floats
    end: Floats
    t: Floats
    sigma: Floats
    weight: Floats
    slack: Floats
    kind: Ints
    says: Ints
    strict: NDArray[np.bool_]
    read: Floats

    def __len__(self) -> int:
        return len(self.start)


@dataclass(frozen=True)
class Field:
    """The candidates and the prior: Zs and Ts sorted; planned holds with their lengths; recycle and resume calls by time."""

    z: Floats
    t: Floats
    builtin_t: Floats
    builtin_s: Floats
    recycles: Floats
    resumes: Floats

    def remaining(self, t: Floats) -> Floats:
        """Planned hold time still to come after count time t: what an announced T-0 already includes."""
        tail = np.concatenate([np.cumsum(self.builtin_s[::-1])[::-1], [0.0]])
        return np.asarray(tail[np.searchsorted(self.builtin_t, t + NEAR_S, side="right")])

    def passed(self, t: Floats) -> Floats:
        """How many planned holds lie before count time t."""
        return np.searchsorted(self.builtin_t, t - NEAR_S, side="left").astype(float)

    def is_builtin(self, t: Floats) -> NDArray[np.bool_]:
        if not len(self.builtin_t):
            return np.zeros(len(t), dtype=bool)
        return np.asarray(np.abs(t[:, None] - self.builtin_t[None, :]).min(axis=1) <= NEAR_S)

    def planned(self, t: Floats) -> Floats:
        """The planned length of the planned hold nearest each count time; there must be one."""
        if not len(t):
            return np.zeros(0)
        return np.asarray(self.builtin_s[np.abs(t[:, None] - self.builtin_t[None, :]).argmin(axis=1)])


LATE_S = 10.0  # s: a hold is announced within so long of its beginning (CALL_SLACK_S of evidence.py)
ON_PLAN_S = 5.0  # s: a hold as long as planned, by spoken marks before and after it that are good to a second or two
SHORT_S = 10.5  # s: a count enters a planned hold from so far short of it: further than a resume call may precede its end
BACK_S = 5.0  # s: a recycle sets the count back by more than marks are apart
PAST_S = 10.0  # s: so far beyond T-0 a count has got there, whatever its marks are good to
CALL_NEAR_S = 5.0  # s: a hold call names the count to the second, and the clock may run on a few seconds
NEAR_S = 1.0  # s: two count times this close are the same hold; built-in holds are planned minutes apart


@dataclass(frozen=True)
class Path:
    """Kept nodes in order: node index, state index (Zs first, then Ts) and the move that led there."""

    node: list[int]
    state: list[int]
    move: list[int]
    cost: float
