"""How a count ended whose logs end with it."""

from __future__ import annotations

import pytest

from timeline.heard import Heard, seconds

TOLD = """
    net 14:20:00 | T-00:10:00
    net 14:25:00 | T-00:05:00
    net 14:29:00 | T-00:01:00
    net 14:29:50 | T-00:00:10
"""


@pytest.mark.parametrize(("last", "outcome", "at_s"), [
    ("net 14:30:00 | main stage ignition", "liftoff", 0.0),
    ("net 14:29:59 | engines ignited", "liftoff", 0.0),
    ("net 14:29:58 | all is well", "unresolved", 0.0),
    ("net 14:30:00 | no ignition", "unresolved", 0.0),
    ("net 14:29:55 | ignition of the first ring", "unresolved", None),
    ("net 14:29:40 | still nothing", "unresolved", None),
    ("net 14:30:01 | ignition\n net 14:30:02 | cutoff", "cutoff", 2.0),
    ("net 14:30:06 | a few words more", "liftoff", 0.0),
    ("net 14:29:57 | ~cutoff\n net 14:30:20 | a few words more", "liftoff", 0.0),
    ("net 14:29:57 | ~cutoff\n net 14:29:59 | ~cutoff\n net 14:30:20 | a few words more", "cutoff", -3.0),
    ("net 14:30:03 | a word more", "unresolved", 0.0),
    ("net 14:29:57 | ~cutoff\n net 14:30:06 | a few words more", "unresolved", 0.0),
])
def test_logs_that_end_at_t_0(last: str, outcome: str, at_s: float | None) -> None:
    of = Heard("14:30:00", TOLD + last)
    got = of.timeline()
    assert got.outcome == outcome
    at = None if got.outcome_us is None else (got.outcome_us - of.t0_us) / 1e6
    assert at == (None if at_s is None else pytest.approx(at_s, abs=1.0))
    assert seconds(got.clock["end_utc"].max(), of) >= -10.5


AGAIN = TOLD + """
    net 14:29:55 | cutoff
    net 14:31:00 | recycle -00:05:00
    net 14:40:00 | resume
    net 14:40:00 | T-00:05:00
"""


@pytest.mark.parametrize(("last", "outcome"), [
    ("net 14:45:00 | ignition", "liftoff"), ("net 14:44:00 | all is well", "unresolved"), ("net 14:44:00 | cutoff", "cutoff")])
def test_a_cutoff_that_was_counted_from_again_did_not_end_the_count(last: str, outcome: str) -> None:
    assert Heard("14:30:00", AGAIN + last).timeline().outcome == outcome


def test_what_stops_a_count_after_t_0_is_no_hold() -> None:
    got = Heard("14:30:00", TOLD + "net 14:30:01 | ignition\n net 14:30:02 | cutoff").timeline()
    assert got.outcome == "cutoff" and got.holds.empty
    assert len(Heard("14:30:00", TOLD + "net 14:29:57 | cutoff").timeline().holds) == 1
