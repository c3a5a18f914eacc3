"""Count times and durations as people write them."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aftercount.counttime import (
    datetime_us,
    format_count,
    format_duration,
    format_utc,
    parse_count,
    parse_duration,
)


@pytest.mark.parametrize(("text", "t_s"), [
    ("T-01:30:00", -5400), ("T-90:00", -5400), ("T-31s", -31), ("-00:05:00", -300), ("T+12", 12), ("T-9.3", -9.3),
    ("t-2h30m", -9000), ("T - 5:00", -300), ("T-0", 0), ("T0", 0), ("T+00:00:00", 0), ("0", 0), ("+00:00:12.5", 12.5),
    ("T-100:00:00", -360000), ("T\u22125:00", -300), ("\u201305:00", -300), (" T-10m ", -600), ("T-43:00:00", -154800),
])
def test_a_count_time_reads(text: str, t_s: float) -> None:
    assert parse_count(text) == t_s


@pytest.mark.parametrize("text", [
    "", "T", "T-", "5:00", "600", "L-46:40:00", "E-5", "T minus five", "T-5:60", "T-1:75:00", "T-1:5", "T-5:00 hold",
    "T-\u0665", "--5", "T-1e3", "T-inf", "14:25:03Z", "T-1:2:3:4",
])
def test_what_is_not_a_count_time_is_none(text: str) -> None:
    assert parse_count(text) is None


@pytest.mark.parametrize(("text", "s"), [
    ("00:10:00", 600), ("10:00", 600), ("600", 600), ("10m", 600), ("1h30m", 5400), ("90 s", 90), ("2 hours 5 minutes", 7500),
    ("0", 0), ("1:02:03.5", 3723.5), ("90:00", 5400), ("0.25", 0.25), ("1d", 86400), ("5 min", 300), ("27:26:46", 98806),
])
def test_a_duration_reads(text: str, s: float) -> None:
    assert parse_duration(text) == s


@pytest.mark.parametrize("text", ["", "-5", "m", "10:60", "5 parsecs", "1:2", "10:00:60", "nan", "1,5", "s10", "9" * 400])
def test_what_is_not_a_duration_is_none(text: str) -> None:
    assert parse_duration(text) is None


@pytest.mark.parametrize(("t_s", "text"), [
    (-300, "T-00:05:00"), (12, "T+00:00:12"), (12.34, "T+00:00:12.3"), (0, "T-00:00:00"), (-0.04, "T-00:00:00"),
    (-59.97, "T-00:01:00"), (-360000.5, "T-100:00:00.5"),
])
def test_a_count_time_is_written(t_s: float, text: str) -> None:
    assert format_count(t_s) == text


def test_durations_and_instants_are_written() -> None:
    assert [format_duration(s) for s in (600, 3911, -2.5, 98806)] == ["00:10:00", "01:05:11", "-00:00:02.5", "27:26:46"]
    assert format_utc(0) == "1970-01-01T00:00:00Z"
    assert format_utc(1_500_000) == "1970-01-01T00:00:01.5Z"
    assert format_utc(-1) == "1969-12-31T23:59:59.999999Z"


@given(st.integers(-4_000_000, 4_000_000))
def test_count_times_survive_writing_and_reading(tenths: int) -> None:
    assert parse_count(format_count(tenths / 10)) == pytest.approx(tenths / 10, abs=1e-9)


@given(st.datetimes(dt.datetime(1900, 1, 1), dt.datetime(2200, 1, 1), timezones=st.just(dt.UTC)))
def test_instants_survive_writing_and_reading(instant: dt.datetime) -> None:
    assert dt.datetime.fromisoformat(format_utc(datetime_us(instant))) == instant
