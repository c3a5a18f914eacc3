"""Count readings, and what only looks like one."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech import understand
from speech.conftest import T0_US, Heard, count, plan, records

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("text", "t_s"), [
    ("T minus five minutes and counting", -300),
    ("tea minus five minutes and counting", -300),
    ("thirteen minus nine minutes", -540),
    ("T minus to minutes", -120),
    ("t minus ate minutes thirty seconds", -510),
    ("tminus twenty minutes", -1200),
    ("T-31 s", -31),
    ("T-00:05:00", -300),
    ("T-90:00", -5400),
    ("-18:17", -1097),  # typed without its letter
    ("count -12:00", -720),
    ("clock stopped at -2:03:04", -7384),
    ("holding -18:05", -1085),
    ("T - 10 sec", -10),
    ("minus nine and holding", -540),
    ("one minute thirty", -90),
    ("ninety seconds", -90),
    ("Five minutes and counting.", -300),
    ("two minutes to lift-off", -120),
    ("ten, nine, eight, seven", -10),
    ("T minus ten nine eight seven", -10),
    ("five four three two one zero", -5),
    ("T plus twelve seconds", 12),
    ("T minus sixteen thirty", -990),
    ("This is launch control, we are now at T minus one hour, ten minutes, all is well.", -4200),
    ("Mark, T minus five minutes.", -300),
    ("T minus one hour and seventeen minutes and forty eight and counting", -4668),
    ("T minus nine minutes and thirty", -570),
    ("T minus nine minutes and two visitors at the gate", -540),
])
def test_reading(hear: Hear, text: str, t_s: float) -> None:
    assert hear(text).best() == t_s


@pytest.mark.parametrize(("text", "t_s"), [("hold T-2:30:00 (20 min)", -9000), ("entered planned hold T-9:00, 10 min", -540), ("T-4:00 3 sec late", -240)])
def test_a_typed_time_is_whole(hear: Hear, text: str, t_s: float) -> None:
    assert hear(text, medium="typed").best() == t_s


@pytest.mark.parametrize("text", [
    "coming up on T minus five minutes",
    "approaching the T minus five minute point",
    "T minus five minutes in about twenty seconds",
    "at T minus thirty one seconds we will go to internal",
    "we expect T minus nine minutes at half past",
    "if we hold at T minus nine minutes",
    "when we get to T minus four minutes, arm",
    "the clock had stopped since T minus nine minutes",
    "after T minus nine minutes the gate was closed",
    "planned for T minus four minutes",
    "step nine reads arm at T minus four minutes",
    "are we at T minus four minutes?",
    "hold for five minutes",
    "in five minutes",
    "five minutes remaining in the hold",
    "radio check five four three two one",
    "temperature is minus forty degrees",
    "stand by to resume, three two one mark",
    "T-0 is now 15:02:30",
])
def test_impostor_is_not_believed(hear: Hear, text: str) -> None:
    assert hear(text).best() is None


def test_graded_not_dropped(hear: Hear) -> None:
    assert hear("coming up on T minus five minutes").marks() == [(-300, "doubtful", "either")]


@pytest.mark.parametrize(("text", "says"), [
    ("T minus five minutes and counting", "counting"),
    ("T minus five minutes and county", "counting"),
    ("T minus nine minutes and holding", "holding"),
    ("holding at T minus nine minutes", "holding"),
    ("The clock is back at T minus 22 minutes and is holding there", "holding"),
    ("T minus four minutes", "either"),
])
def test_says(hear: Hear, text: str, says: str) -> None:
    assert hear(text).marks()[0][2] == says


def test_planned_hold_settles_an_ambiguous_number(hear: Hear) -> None:
    assert hear("T minus nine").best() == -540
    assert hear("T minus thirty one").best() == -31


def test_the_count_so_far_settles_an_ambiguous_number(hear: Hear) -> None:
    late = hear("T minus twenty seconds\nT minus fifteen\nT minus nine")
    assert (late.best(2), late.best(3)) == (-15, -9)
    early = hear("T minus thirty two minutes and counting\n" + "chatter\n" * 11 + "T minus thirty one")
    assert early.best(13) == -1860


def test_both_readings_are_given(hear: Hear) -> None:
    assert sorted(hear("T minus thirty").marks()) == [(-1800, "doubtful", "either"), (-30, "likely", "either")]


def test_lift_off_clock(hear: Hear) -> None:
    marks = hear("L minus forty").speech.marks
    assert marks.loc[marks["grade"] == "likely", ["clock", "t_s"]].values.tolist() == [["L", -2400.0]]


@pytest.mark.parametrize(("text", "zone", "after_s"), [
    ("new T-0 is 15:02:30 zulu", "UTC", 1950),
    ("T zero is now fourteen thirty five", "UTC", 300),
    ("retarget T zero to one five zero two", "UTC", 1920),
    ("new T-0 10:40", "America/New_York", 600),
])
def test_announced_t0(text: str, zone: str, after_s: int) -> None:
    said = understand(records([text], "speech"), count(zone=zone), plan())
    row = said.marks.iloc[0]
    assert (row["clock"], row["t0_us"], len(said.marks)) == ("T0", T0_US + after_s * 1_000_000, 1)
    assert said.calls.empty


def test_a_machines_key_is_in_seconds(hear: Hear) -> None:
    heard = hear("count_state=holding count=-540", medium="machine")
    assert heard.marks() == [(-540, "certain", "holding")]


def test_a_machine_writes_its_seconds(hear: Hear) -> None:
    assert [t for t, _, _ in hear("COUNT T-0:01 HOLD", medium="machine").marks()] == [-1]
    assert {t for t, _, _ in hear("T-1:30 and holding", medium="typed").marks()} <= {-90, -5400}


def test_rough_words_widen_sigma(hear: Hear) -> None:
    said = hear("about T minus forty minutes\nT minus forty minutes, mark").speech.marks
    assert said["sigma_s"].iloc[0] > 10 > 2 > said["sigma_s"].iloc[1]


@pytest.mark.parametrize(("text", "t_s"), [
    ("t my nose five minutes and counting", -300),
    ("t five minutes and county", -300),
    ("key minus won minute thirty", -90),
    ("t minus twe nty six ninutes", -1560),
    ("t minussixteen minutes fifty fiveseconds", -1015),
    ("t minus four might twenty seconds", -260),
    ("mark t minoz thilky segments", -30),
    ("t minus 47s minutes", -2820),
    ("t minus 33s 49", -2029),
    ("t minus 33s", -33),
    ("t minus 33s 49 seconds", -2029),
])
def test_badly_heard_reading(hear: Hear, text: str, t_s: float) -> None:
    assert hear(text).best() == t_s


def test_a_reading_with_a_part_lost_is_doubtful(hear: Hear) -> None:
    assert hear("t minus four minutes gronk blah seconds").best() is None


def test_numbers_alone_follow_the_count_down(hear: Hear) -> None:
    heard = hear("T minus twenty seconds\nfifteen\nten\nseven hundred\neight")
    assert (heard.best(2), heard.best(3), heard.best(4), heard.best(5)) == (-15, -10, None, None)


@pytest.mark.parametrize(("text", "t_s"), [
    ("Coming up on T minus six minutes, three, two, one, mark.", -366), ("approaching t minus thirty seconds three two one mark", -35),
    ("stand by for T minus ten minutes three two one mark", -606),
])
def test_a_mark_that_is_counted_down_to_is_read_from_where_the_words_begin(hear: Hear, text: str, t_s: int) -> None:
    told = [mark for mark, grade, _ in hear(text).marks() if grade != "doubtful"]
    assert len(told) == 1 and abs(told[0] - t_s) <= 2.0


def test_what_only_comes_up_is_no_mark(hear: Hear) -> None:
    heard = hear("Coming up on T minus six minutes.\nClock will start in three, two, one, mark.")
    assert {grade for line in (1, 2) for _, grade, _ in heard.marks(line)} <= {"doubtful"}


@pytest.mark.parametrize(("text", "t_s"), [
    ("ten nine eigt seven six five four three two one", -10.0), ("ten nen eight seven six five", -10.0), ("ten the crew seven six five four", -7.0), ("ten valve three two one go", -3.0)])
def test_a_count_down_begins_at_its_first_number_though_one_was_garbled(hear: Hear, text: str, t_s: float) -> None:
    assert hear(text).best() == t_s


@pytest.mark.parametrize(("text", "grade"), [
    ("holding at T minus twenty four minutes ten knots", "doubtful"), ("holding at T minus twenty four minutes, wind ten knots", "certain"), ("holding at T minus twenty four minutes ten seconds", "certain"),
    ("T minus twenty four minutes 300 psi", "certain")])
def test_a_time_whose_seconds_became_another_unit_is_doubtful(hear: Hear, text: str, grade: str) -> None:
    assert hear(text).marks()[0][1] == grade
