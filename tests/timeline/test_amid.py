"""Entries that tell only the count, in a log that tells the time of day else."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from aftercount.timeline.amid import between
from aftercount.timeline.sureness import Readings, sure
from timeline.heard import Heard, seconds

NAN = np.nan


@pytest.mark.parametrize(("own", "told", "laid"), [
    ([0, NAN, NAN, 60], [NAN, -300, -290, NAN], [0, 25, 35, 60]),  # as far apart as they tell, in the middle
    ([0, NAN, NAN, 60], [NAN, -300, -300, NAN], [0, 30, 30, 60]),
    ([0, NAN, NAN, 60], [NAN, -300, -600, NAN], [0, 20, 40, 60]),  # the clock was set between them: evenly
    ([0, NAN, NAN, 60], [NAN, -300, -200, NAN], [0, 20, 40, 60]),  # no room for that
    ([NAN, 0, 60, NAN], [-300, NAN, NAN, -100], [NAN, 0, 60, NAN]),  # nothing before, or behind
    ([60, NAN, 0], [NAN, -300, NAN], [60, NAN, 0]),  # out of order
])
def test_laid_between_the_others(own: list[float], told: list[float], laid: list[float]) -> None:
    got = between(np.array(own), np.array(told, dtype=float), np.zeros(len(own), dtype=np.int64))[0]
    assert got.tolist() == pytest.approx(laid, nan_ok=True)


def test_how_far_off_is_what_room_there_is() -> None:
    own, told = np.array([0.0, NAN, NAN, 60.0]), np.array([NAN, -300.0, -250.0, NAN])
    assert between(own, told, np.zeros(4, dtype=np.int64))[1].tolist() == pytest.approx([0, 10 / 12**0.5, 10 / 12**0.5, 0])


MIXED = """
    pad 14:10:00 | T-00:20:00 counting
    pad T-00:19:10 | note
    pad 14:12:00 | T-00:18:00 counting
    pad 14:15:00 | T-00:15:00 counting
    pad T-00:13:00 | hold a boat
    pad T-00:13:00 | T-00:13:00 holding
    pad 14:17:20 | note
    pad 14:25:00 | note
    pad T-00:40:00 | recycle T-00:40:00
    pad T-00:40:00 | T-00:40:00 holding
    pad 14:28:00 | note
    pad 14:32:00 | T-00:38:00 counting
    pad T-00:37:10 | note
    pad 14:35:00 | T-00:35:00 counting
    pad 14:40:00 | T-00:30:00 counting
"""


def test_they_tell_of_the_clock_as_the_others_do() -> None:
    of = Heard("14:30:00", MIXED)
    got = of.timeline()
    hold = got.holds.iloc[0]
    assert (hold["t_s"], hold["recycled_to_t_s"], hold["reason"]) == (pytest.approx(-780, abs=0.1), -2400, "a boat")
    assert seconds(hold["start_utc"], of) == pytest.approx(-780, abs=2)  # by the count, not by the middle of the gap


def test_their_instants_are_by_the_clock_where_it_ran() -> None:
    of = Heard("14:30:00", MIXED)
    got = of.timeline()
    at = [seconds(v, of) for v in pd.to_datetime(got.utc_us.iloc[[1, 12]].astype("int64"), unit="us", utc=True)]
    assert at == pytest.approx([-1150, 170], abs=2) and (got.utc_sigma_s[[1, 12]] < 5).all()
    held = [seconds(v, of) for v in pd.to_datetime(got.utc_us.iloc[[4, 8]].astype("int64"), unit="us", utc=True)]
    assert -900 < held[0] < -760 and -300 < held[1] < -120 and (got.utc_sigma_s[[4, 8]] > 20).all()


def test_where_another_log_tells_the_clock_they_tell_nothing() -> None:
    """In a gap of ten minutes a hold noted down at a wrong count: the other log has the clock, minute by minute."""
    net = "".join(f"    net 14:{m:02d}:00 | T-00:{30 - m:02d}:00 counting\n" for m in range(1, 29))
    pad = "    pad 14:05:00 | T-00:25:00 counting\n    pad T-00:16:40 | hold\n    pad T-00:16:40 | T-00:16:40 holding\n    pad 14:22:00 | T-00:08:00 counting\n"
    assert Heard("14:30:00", net + pad).timeline().holds.empty


@pytest.mark.parametrize("coarse", [0, 1, 3])
def test_readings_to_the_second_are_as_sure_beside_coarse_ones(coarse: int) -> None:
    """A keeper who writes some entries to the minute: what those cut off is no error of the others."""
    value = np.append(np.tile([0.4, -0.4], 6), np.full(coarse, -20.0))
    cut = np.append(np.zeros(12), np.full(coarse, 17.0))
    (reading, sigma), = sure([Readings(value, np.hypot(1.5, cut), np.zeros(len(value), dtype=np.int64), 0.0, cut)])
    assert abs(reading) < 0.2 and sigma < 0.6
