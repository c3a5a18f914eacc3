"""Written times against published examples. RFC 3339 section 5.8 (Klyne and Newman, July 2002); CCSDS 301.0-B-4 section 3.5.1;
ISO 8601 ordinal dates as RFC 3339 appendix A has them; leap seconds by the IERS table. Epoch numbers were recomputed."""

from __future__ import annotations

import hashlib

import pytest

from aftercount.logs.leapseconds import INSERTED, TABLE, elapsed_si, tai_minus_utc
from aftercount.logs.walltime import DAY_US, US, Frame, Stamp, ordinal_day, read_stamp, rfc3339

FRAME = Frame(1_934_289_000_000_000)  # T-0 2031-04-18T14:30:00Z


def us_of(text: str, frame: Frame = FRAME) -> int:
    stamp = read_stamp(text, frame)
    assert isinstance(stamp, Stamp), stamp
    return stamp.us


@pytest.mark.parametrize(("text", "us"), [
    ("1985-04-12T23:20:50.52Z", 482196050_520000),
    ("1996-12-19T16:39:57-08:00", 851042397_000000),
    ("1996-12-20T00:39:57Z", 851042397_000000),
    ("1937-01-01T12:00:27.87+00:20", -1041337172_130000),
    ("1996-12-19t16:39:57-08:00", 851042397_000000),
    ("1985-04-12T23:20:50.520000000000z", 482196050_520000),
])
def test_rfc_3339_examples(text: str, us: int) -> None:
    for read in (rfc3339, lambda t: read_stamp(t, FRAME)):
        stamp = read(text)
        assert isinstance(stamp, Stamp) and (stamp.kind, stamp.us) == ("utc", us)


@pytest.mark.parametrize("text", ["1990-12-31T23:59:60Z", "1990-12-31T15:59:60-08:00"])
def test_a_leap_second_lies_between_its_neighbours(text: str) -> None:
    stamp = rfc3339(text)
    assert stamp is not None and stamp.leap
    assert 662687999 * US < stamp.us < 662688000 * US


@pytest.mark.parametrize(("text", "real"), [
    ("2016-12-31T23:59:60Z", True), ("2017-01-01T00:59:60+01:00", True), ("2016-12-31T23:59:60.5Z", True),
    ("2020-06-30T23:59:60Z", False), ("2016-12-31T22:59:60Z", False), ("2017-01-01T00:59:60Z", False),
])
def test_second_60_only_where_one_was_inserted(text: str, real: bool) -> None:
    assert (rfc3339(text) is not None) is real
    assert isinstance(read_stamp(text, FRAME), Stamp) is real


@pytest.mark.parametrize("text", [
    "1985-04-12T24:00:00Z", "1985-02-29T10:00:00Z", "1900-02-29T10:00:00Z", "2100-02-29T10:00:00Z", "1985-04-12T23:20:50",
    "1985-04-12T23:20:61Z", "1985-04-12T23:20:50+0800", "1985-04-12T23:20:50,5Z", "1985-04-12T23:20:50.Z", "1985-13-01T00:00:00Z",
    "1985-04-31T00:00:00Z", "1985-04-12T23:60:50Z", "1985-04-12T23:20:50+24:00", "1985-04-12 23:20:50Z trailing",
])
def test_rfc_3339_rejects(text: str) -> None:
    assert rfc3339(text) is None


@pytest.mark.parametrize(("dotted", "colons"), [("14.25.03", "14:25:03"), ("14.25.03,5", "14:25:03.5"), ("2031-04-18 14.25.03", "2031-04-18 14:25:03"),
                                                ("18.04.31 14:25:03", "2031-04-18 14:25:03")])
def test_a_clock_may_be_written_with_dots(dotted: str, colons: str) -> None:
    assert isinstance(read_stamp(dotted, FRAME), Stamp) and read_stamp(dotted, FRAME) == read_stamp(colons, FRAME)


@pytest.mark.parametrize("text", ["14.25", "1.2.3", "14.25.03.5.1", "3.14.25"])
def test_other_dotted_numbers_are_no_clock(text: str) -> None:
    assert read_stamp(text, FRAME) is None


@pytest.mark.parametrize("text", ["2000-02-29T00:00:00Z", "2024-02-29T00:00:00Z"])
def test_leap_days(text: str) -> None:
    assert rfc3339(text) is not None


@pytest.mark.parametrize(("ordinal", "calendar"), [
    ("2000-060", "2000-02-29"), ("1988-018", "1988-01-18"), ("1900-060", "1900-03-01"), ("2016-366", "2016-12-31"),
    ("2100-060", "2100-03-01"), ("2024-366", "2024-12-31"), ("1985-102", "1985-04-12"), ("2023-365", "2023-12-31"),
])
def test_ordinal_dates(ordinal: str, calendar: str) -> None:
    assert us_of(f"{ordinal}T00:00:00Z") == us_of(f"{calendar}T00:00:00Z")


@pytest.mark.parametrize("text", ["2023-366T00:00:00Z", "2023-000T00:00:00Z", "2024-367T00:00:00Z"])
def test_ordinal_days_that_are_not(text: str) -> None:
    assert read_stamp(text, FRAME) == f"no such day: {text}"
    assert ordinal_day(2023, 366) is None


def test_ccsds_codes_a_and_b_are_one_instant() -> None:
    assert us_of("1988-01-18T17:20:43.123456Z") == us_of("1988-018T17:20:43.123456Z") == 569524843_123456
    assert tai_minus_utc(569524843) == 24


def test_the_leap_second_table_is_whole() -> None:
    """The distributed file's own SHA-1 over update and expiry stamps and every row (NTP second, TAI-UTC)."""
    rows = "".join(f"{posix + 2208988800}{dtai}" for posix, dtai in TABLE)
    digest = hashlib.sha1(f"39923126974023129600{rows}".encode()).hexdigest()
    assert digest == "a9bad14584c31c70758402aab37bfd545923836a"
    assert len(INSERTED) == 27


def test_elapsed_seconds_over_a_leap_second() -> None:
    def between(a: str, b: str) -> float | None:
        return elapsed_si(us_of(a), us_of(b))

    assert between("1990-12-31T23:59:59Z", "1991-01-01T00:00:00Z") == 2
    assert between("2016-12-31T23:59:50Z", "2017-01-01T00:00:10Z") == 21


CLOCK = ((14 * 60 + 25) * 60 + 3) * US


@pytest.mark.parametrize(("text", "kind", "us", "resolution"), [
    ("14:25:03", "day_utc", CLOCK, 1.0), ("1425:03Z", "day_utc", CLOCK, 1.0), ("142503", "day_utc", CLOCK, 1.0),
    ("14:25Z", "day_utc", CLOCK - 3 * US, 60.0), ("1425Z", "day_utc", CLOCK - 3 * US, 60.0), ("1425", "day_utc", CLOCK - 3 * US, 60.0),
    ("14:25:03.250", "day_utc", CLOCK + 250_000, 0.001), ("14:25:03,25", "day_utc", CLOCK + 250_000, 0.01),
    ("142503.5Z", "day_utc", CLOCK + 500_000, 0.1), ("14h25", "day_utc", CLOCK - 3 * US, 60.0), ("1425 hrs", "day_utc", CLOCK - 3 * US, 60.0),
    ("2:25:03 PM", "day_utc", CLOCK, 1.0), ("12:05 am", "day_utc", 5 * 60 * US, 60.0), ("14:25:03 local", "day_local", CLOCK, 1.0),
    ("14:25:03L", "day_local", CLOCK, 1.0), ("16:25:03+02:00", "day_utc", CLOCK, 1.0),
])
def test_times_of_day(text: str, kind: str, us: int, resolution: float) -> None:
    stamp = read_stamp(text, FRAME)
    assert isinstance(stamp, Stamp)
    assert (stamp.kind, stamp.us) == (kind, us)
    assert stamp.resolution_s == pytest.approx(resolution)


DAY = 1_934_236_800 * US  # 2031-04-18


@pytest.mark.parametrize("text", [
    "2031-04-18 14:25:03", "2031-04-18T14:25:03", "2031/04/18 14:25:03", "108/14:25:03Z", "108:14:25:03", "2031-108T14:25:03Z",
    "2031:108:14:25:03", "2031/108/14:25:03", "18 Apr 2031 14:25:03", "18-APR-2031 14:25:03", "Apr 18, 2031 14:25:03",
    "Apr 18 14:25:03", "18/04/2031 14:25:03", "04/18/2031 14:25:03", "18.04.31 14:25:03", "Friday, 18 April 2031, 14:25:03Z",
    "2031-04-18T16:25:03+02:00", "2031-04-18 1425:03Z",
])
def test_dated_times(text: str) -> None:
    assert us_of(text) == DAY + CLOCK


def test_a_day_of_year_takes_the_year_nearest_t_0() -> None:
    new_year = Frame(1_925_000_000 * US)  # 2031-01-01
    assert us_of("365/23:59:00Z", new_year) < new_year.t0_us < us_of("002/00:00:00Z", new_year)
    assert abs(us_of("365/23:59:00Z", new_year) - new_year.t0_us) < 2 * DAY_US


@pytest.mark.parametrize(("text", "seconds"), [
    ("T-5:00", -300), ("T-00:05:00", -300), ("T-31", -31), ("T-1:30:00", -5400), ("T-90:00", -5400), ("T+12", 12),
    ("T - 5:00", -300), ("T\u22125:00", -300), ("T-31s", -31), ("T-9.3", -9.3), ("T minus 5:00", -300), ("t-0", 0),
])
def test_count_times(text: str, seconds: float) -> None:
    stamp = read_stamp(text, FRAME)
    assert isinstance(stamp, Stamp) and stamp.kind == "count"
    assert stamp.us == round(seconds * US)


@pytest.mark.parametrize("text", ["L-5:00", "10", "tank press", "", "1/2", "T", "Tank 5:00", "4.12", "31s", "-5:00"])
def test_what_is_no_time(text: str) -> None:
    assert read_stamp(text, FRAME) is None


@pytest.mark.parametrize("text", ["25:00:00", "14:60", "14:25:61", "2459:03Z", "240000"])
def test_what_looks_like_a_time_and_is_none(text: str) -> None:
    assert read_stamp(text, FRAME) == f"not a time of day: {text}"


def test_elapsed_and_unsigned_count_only_when_told() -> None:
    assert us_of("1:02:03", Frame(0, "elapsed")) == 3723 * US
    assert us_of("75:00", Frame(0, "elapsed")) == 4500 * US
    assert us_of("5:00", Frame(0, "count")) == -300 * US
    assert us_of("-00:05:00", Frame(0, "count")) == -300 * US
