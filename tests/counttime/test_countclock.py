"""The clock arithmetic: held to a second-by-second walk over the same segments."""

from __future__ import annotations

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.countclock import at, from_us, to_us, utc_of
from aftercount.tables import CLOCK
from folders import clock_of

CLOCK_TEXT = """
    1 counting 13:30:00 13:50:00 T-50:00 T-30:00
    1 holding  13:50:00 14:00:00 T-30:00 T-30:00
    1 counting 14:00:00 14:20:00 T-30:00 T-10:00
    2 holding  14:20:00 14:25:00 T-20:00 T-20:00
    2 counting 14:25:00 14:45:00 T-20:00 T-0
"""


def us(text: str) -> int:
    return int(pd.Timestamp(f"2031-04-18T{text}Z").value // 1000)


def test_the_clock_reads_in_counting_and_holding_and_across_a_recycle() -> None:
    clock, _ = clock_of(CLOCK_TEXT)
    when = ["13:29:59", "13:30:00", "13:40:00", "13:50:00", "13:55:00", "14:00:00", "14:19:59", "14:20:00", "14:45:00", "14:45:01"]
    t_s, state, pass_, sigma = at(clock, np.array([us(w) for w in when]))
    np.testing.assert_allclose(t_s, [np.nan, -3000, -2400, -1800, -1800, -1800, -601, -1200, 0, np.nan])
    assert list(state) == [None, "counting", "counting", "holding", "holding", "counting", "counting", "holding", "counting", None]
    assert list(pass_) == [0, 1, 1, 1, 1, 1, 1, 2, 2, 0]
    assert np.isnan(sigma[[0, -1]]).all() and (sigma[1:-1] == 0.5).all()


def test_a_count_time_is_dated_in_each_pass_by_its_first_reading() -> None:
    clock, _ = clock_of(CLOCK_TEXT)
    found = utc_of(clock, np.array([-3000.5, -1800, -1799, -1200, -600, -599]), 1)
    assert list(found.fillna(0)) == [0, us("13:50:00"), us("14:00:01"), us("14:10:00"), us("14:20:00"), 0]
    found = utc_of(clock, np.array([-1201, -1200, -600, 0, 1]), 2)
    assert list(found.fillna(0)) == [0, us("14:20:00"), us("14:35:00"), us("14:45:00"), 0]


def test_a_count_time_that_the_clock_was_set_ahead_over_is_dated_by_the_setting() -> None:
    clock, _ = clock_of("""
        1 counting 13:30:00 13:40:00 T-50:00 T-40:00
        1 counting 13:40:00 13:50:00 T-20:00 T-10:00
    """)
    assert list(utc_of(clock, np.array([-1800.0]), 1)) == [us("13:40:00")]


def test_timestamps_and_microseconds_are_the_same_instants() -> None:
    times = from_us([0, None, 1_934_289_000_000_001])
    assert times.isna().tolist() == [False, True, False]
    assert to_us(times.dropna()).tolist() == [0, 1_934_289_000_000_001]


def test_no_clock_has_no_reading() -> None:
    assert np.isnan(at(CLOCK.empty(), np.array([0]))[0]).all()
    assert utc_of(CLOCK.empty(), np.array([0.0]), 1).isna().all()


@st.composite
def clocks(draw: st.DrawFn) -> pd.DataFrame:
    """A few passes of counting and holding, whole seconds."""
    rows, now = [], 1_900_000_000
    for number in range(1, draw(st.integers(1, 3)) + 1):
        t = draw(st.integers(-60, -20))
        for _ in range(draw(st.integers(1, 4))):
            holding, length = draw(st.booleans()), draw(st.integers(1, 15))
            end = t if holding else t + length
            rows.append({"segment": len(rows), "pass": number, "state": "holding" if holding else "counting", "start_t_s": t,
                         "end_t_s": end, "start_utc": pd.Timestamp(now, unit="s", tz="UTC"),
                         "end_utc": pd.Timestamp(now + length, unit="s", tz="UTC"), "sigma_s": 0.0})
            now, t = now + length, end
    return CLOCK.from_rows(rows)


@given(clocks())
@settings(max_examples=60, deadline=None)
def test_dating_a_count_time_finds_the_first_second_at_which_the_clock_read_it(clock: pd.DataFrame) -> None:
    seconds = np.arange(int(to_us(clock["start_utc"])[0]), int(to_us(clock["end_utc"])[-1]) + 1, 1_000_000)
    t_s, _, pass_, _ = at(clock, seconds)
    for number in clock["pass"].unique():
        asked = np.arange(-65, 45)
        found = utc_of(clock, asked, int(number))
        for wanted, instant in zip(asked, found, strict=True):
            walk = seconds[(t_s == wanted) & (pass_ == number)]
            last = clock[clock["pass"] == number].iloc[-1]
            if len(walk):
                assert instant == walk[0]
            elif wanted == last["end_t_s"]:  # read only at the instant at which the next pass began
                assert instant == to_us(pd.Series([last["end_utc"]]))[0]
            else:
                assert instant is pd.NA
