"""Which day a time of day belongs to, and local time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercount.logs.dating import LATE_NOTE_US, Times, counts_from_zero, place
from aftercount.logs.walltime import DAY_US, US, Frame, Stamp, read_stamp

T0 = 1_934_289_000 * US  # 2031-04-18T14:30:00Z


def instants(stamps: list[Stamp | None], t0_us: int = T0, zone: str = "UTC") -> list[int]:
    times = Times.of(stamps)
    assert place(times, t0_us, zone) == {}
    return times.us.tolist()


def placed(texts: list[str], *, zone: str = "UTC", t0_us: int = T0, bare: str = "utc") -> list[int]:
    stamps = [read_stamp(t, Frame(t0_us, bare)) if t else None for t in texts]
    assert not any(isinstance(s, str) for s in stamps)
    return instants(stamps, t0_us, zone)  # type: ignore[arg-type]


def since_first(texts: list[str]) -> list[float]:
    us = placed(texts)
    return [(u - us[0]) / US for u in us]  # type: ignore[operator]


@pytest.mark.parametrize(("texts", "seconds"), [
    (["23:59:58", "00:00:03"], [0, 5]),
    (["23:50:00", "23:49:58", "23:50:05"], [0, -2, 5]),
    (["22:00", "02:00", "06:00"], [0, 4 * 3600, 8 * 3600]),
    (["00:00:03", "23:59:58", "00:00:05"], [0, -5, 2]),
    (["06:00", "20:00"], [0, 14 * 3600]),
    (["14:00", "13:59", "13:58"], [0, -60, -120]),
])
def test_midnight_and_late_notes(texts: list[str], seconds: list[float]) -> None:
    assert since_first(texts) == seconds


def test_bare_times_fall_on_the_days_nearest_t_0() -> None:
    after_midnight = 1_934_323_800 * US  # 2031-04-19T00:10:00Z
    us = placed(["22:00:00", "23:59:00", "00:09:50"], t0_us=after_midnight)
    assert us[2] == after_midnight - 10 * US
    assert placed(["14:29:50"]) == [T0 - 10 * US]


def test_a_date_anywhere_dates_its_neighbours() -> None:
    us = placed(["23:59:00", "2031-05-02 00:00:10", "00:01:00"])
    assert [u - us[1] for u in us] == [-70 * US, 0, 50 * US]  # type: ignore[operator]


def test_local_time_goes_by_its_zone_and_its_date() -> None:
    stamp = read_stamp("2026-12-31 23:30", Frame(T0, "local"))
    assert isinstance(stamp, Stamp)
    us = instants([stamp], T0, "Etc/GMT+8")[0]
    assert us == int(datetime(2027, 1, 1, 7, 30, tzinfo=UTC).timestamp()) * US


def test_the_hour_that_a_clock_shows_twice_keeps_file_order() -> None:
    """New York, 2031-11-02: 01:59:59 EDT is followed by 01:00:00 EST."""
    t0 = int(datetime(2031, 11, 2, 7, 0, tzinfo=UTC).timestamp()) * US
    us = placed(["01:30:00", "01:50:00", "01:10:00", "01:40:00", "02:05:00"], zone="America/New_York", t0_us=t0, bare="local")
    steps = [(b - a) / US for a, b in zip(us, us[1:], strict=False)]  # type: ignore[operator]
    assert steps == [1200, 1200, 1800, 1500]


def test_a_leap_second_by_time_of_day() -> None:
    stamps = [read_stamp("23:59:60", Frame(T0))]
    assert place(Times.of(stamps), T0, "UTC") == {0: "no leap second was inserted then"}  # type: ignore[arg-type]
    then = 1_483_228_800 * US
    assert instants(stamps, then) == [then - 1]  # type: ignore[arg-type]


@given(st.lists(st.integers(-int(LATE_NOTE_US // US), 21 * 3600), min_size=1, max_size=30), st.integers(0, 86399))
def test_any_run_without_long_silence_is_followed(steps: list[int], start: int) -> None:
    """Times of day made from known instants come back as those instants, whole days apart at most."""
    at, truth = start, []
    for step in steps:
        at += step
        truth.append(at)
    stamps = [Stamp("day_utc", t % 86400 * US, 1.0) for t in truth]
    us = instants(stamps)  # type: ignore[arg-type]
    assert [u - us[0] for u in us] == [(t - truth[0]) * US for t in truth]  # type: ignore[operator]
    assert us[0] % DAY_US == truth[0] % 86400 * US  # type: ignore[operator]


@given(st.datetimes(datetime(1975, 1, 1), datetime(2037, 1, 1)), st.sampled_from(["America/New_York", "Asia/Kolkata", "Pacific/Auckland", "UTC"]))
def test_local_there_and_back(instant: datetime, zone: str) -> None:
    whole = instant.replace(microsecond=0, tzinfo=UTC)
    shown = whole.astimezone(ZoneInfo(zone))
    us = placed([shown.strftime("%Y-%m-%d %H:%M:%S")], zone=zone, bare="local")[0]
    want = int(whole.timestamp()) * US
    if shown.fold == 0:
        assert us == want
    else:  # alone in the file, a repeated hour is read as its first showing
        assert us == want - int(timedelta(hours=1).total_seconds()) * US


@pytest.mark.parametrize(("texts", "zone", "zero"), [
    (["00:04:10", "01:30:00", "03:14:00"], "America/New_York", False),  # a count in the small hours of its own zone: T-0 is at 03:15 there
    (["00:04:10", "01:30:00", "03:14:00"], "UTC", True),  # by UTC it ends four hours short of T-0
    (["00:00:05", "00:30:00", "00:41:00"], "America/New_York", False),
    (["00:00:05", "00:20:00"], "Asia/Tokyo", True),
    (["00:30:00", "01:30:00", "03:14:00"], "UTC", False),
])
def test_times_soon_after_midnight_are_a_stopwatchs_only_where_the_zone_is_far_from_t_0(texts: list[str], zone: str, zero: bool) -> None:
    t0 = 1_936_336_500 * US  # 2031-05-12T07:15:00Z
    times = Times.of([read_stamp(t, Frame(t0, "utc" if zone == "UTC" else "local")) for t in texts])  # type: ignore[misc]
    assert counts_from_zero(times, t0, zone) is zero
