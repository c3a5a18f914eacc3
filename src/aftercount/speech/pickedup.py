"""Does a reading say that the count was picked up, though nobody said so in as many words?

'T minus nine minutes and counting', where the count was told to hold at nine minutes, is how many a resume is called. Conventions: count seconds; own clock
of the log in seconds. It does not decide whether the clock ran: the path does.
"""

from __future__ import annotations

from collections.abc import Sequence

from aftercount.speech.calls import Call
from aftercount.speech.marks import CERTAIN, DOUBTFUL, LIKELY, Mark
from aftercount.speech.triggers import CUTOFF, HOLD, RECYCLE, RESUME, SCRUB

SAME_T_S = 2.0  # count seconds: a count that stands is read to that
AFTER_S = 20.0  # s: who says 'counting' so soon after 'holding' may be of the moment before


class Held:
    """Where one log last told the count to stand, and since when."""

    def __init__(self) -> None:
        self._t_s: float | None = None
        self._own_s = 0.0

    def heard(self, calls: Sequence[Call], marks: Sequence[Mark], own_s: float | None) -> Call | None:
        """The resume that this sentence tells by its reading alone; calls and marks: what it says. None if it says nothing of the kind."""
        firm = {c.what: c for c in calls if c.grade != DOUBTFUL}
        read = [m for m in marks if m.clock == "T" and m.grade != DOUBTFUL]
        told = None
        if self._t_s is not None and own_s is not None and own_s - self._own_s >= AFTER_S and not firm:
            told = next((m for m in read if m.says == "counting" and m.grade == CERTAIN and abs(m.t_s - self._t_s) <= SAME_T_S), None)
        self._remember(firm, read, own_s)
        return None if told is None else Call(RESUME, LIKELY, told.t_s, None, None, None, None)

    def _remember(self, firm: dict[str, Call], read: Sequence[Mark], own_s: float | None) -> None:
        held = firm.get(HOLD) or firm.get(CUTOFF)
        at = [m.t_s for m in read if m.says == "holding"] or [held.t_s for held in (held,) if held and held.t_s is not None]
        back = firm.get(RECYCLE)
        if back is not None and back.to_t_s is not None:
            self._stand(back.to_t_s, own_s)
        elif RESUME in firm or SCRUB in firm or any(m.says == "counting" for m in read):
            self._t_s = None
        elif at:
            self._stand(at[0], own_s)

    def _stand(self, t_s: float, own_s: float | None) -> None:
        if own_s is not None and (self._t_s is None or abs(self._t_s - t_s) > SAME_T_S):
            self._own_s = own_s
        self._t_s = t_s if own_s is not None else None
