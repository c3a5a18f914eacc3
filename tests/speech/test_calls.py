"""What was said to be done to the count."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercount.speech import understand
from speech.conftest import Heard, count, plan, records

Hear = Callable[..., Heard]


@pytest.mark.parametrize(("text", "what"), [
    ("Hold, hold, hold.", "hold"),
    ("TC, RANGE, hold the count.", "hold"),
    ("we are holding at T minus nine minutes", "hold"),
    ("the count is holding", "hold"), ("RANGE holds at T-19m, swell at the barge", "hold"),
    ("clock stopped at T minus 52 seconds", "hold"),
    ("RANGE is calling a hold", "hold"),
    ("we are in a planned hold at T minus nine minutes", "hold"),
    ("T minus nine minutes and holding", "hold"),
    ("HOLD: T-4:10", "hold"), ("hold, t minus two minutes ten", "hold"),
    ("count resumed", "resume"),
    ("We have resumed the count at this time", "resume"),
    ("picking up the count at T minus nine minutes", "resume"),
    ("the hold is released", "resume"),
    ("release the hold on my mark", "resume"),
    ("coming out of the hold now", "resume"),
    ("the clock is running", "resume"),
    ("we are counting again from minus twenty one minutes forty seconds", "resume"),
    ("counting down again", "resume"),
    ("we're back in the count", "resume"),
    ("picking it up at T minus nine minutes", "resume"),
    ("the clock's running", "resume"),
    ("the count has resumed", "resume"),
    ("continuing with the count", "resume"),
    ("the countdown clock is moving again", "resume"),
    ("we're resuming", "resume"),
    ("and we're back on the clock", "resume"),
    ("we have a hold", "hold"),
    ("pause the count", "hold"),
    ("freeze the clock", "hold"),
    ("recycle to T minus twenty minutes", "recycle"),
    ("the clock has been set back to T minus 22 minutes", "recycle"),
    ("we will recycle to T minus ten minutes", "recycle"),
    ("will recycle to T minus ten minutes, reset your clocks", "recycle"),
    ("will scrub for today", "scrub"),
    ("Cutoff! We have a cutoff.", "cutoff"),
    ("abort, abort, abort", "cutoff"),
    ("we are scrubbed for today", "scrub"),
    ("We are going to scrub", "scrub"),
    ("launch attempt cancelled due to weather", "scrub"),
    ("standing down for the day", "scrub"),
    ("all stations, we are scrubbing for today", "scrub"),
    ("we are standing down", "scrub"),
    ("we're calling it a day", "scrub"),
    ("that's it for today", "scrub"),
    ("we will not launch today", "scrub"),
    ("the launch is off for today", "scrub"),
    ("count terminated", "scrub"),
    ("we are waving off for today", "scrub"),
    ("recycle for 24 hours", "scrub"),
    ("roll the clock back to T minus ten minutes", "recycle"),
    ("back to T minus twenty minutes", "recycle"),
    ("Lift-off! We have a lift off.", "liftoff"),
    ("T zero", "liftoff"),
    ("cutoff cutoff could", "cutoff"), ("cutoff, could we if a cutoff at T minus twelve", "cutoff"),
    ("automatic sequence started cutoff so cutoff cutoff the", "cutoff"),
    ("cutoffcutoff cutoff", "cutoff"),
    ("are scrubb ed safe the vehicle", "scrub"),
    ("we are scrubbedsafe the it vehicle", "scrub"),
    ("all stations how are scrubbing for today", "scrub"),
    ("the count as resumed", "resume"),
    ("resume the account t minus one forty and counting", "resume"),
    ("resume a the count t minus one forty and counting", "resume"),
])
def test_call(hear: Hear, text: str, what: str) -> None:
    heard = hear(text)
    assert {w for w, grade in heard.calls().items() if grade != "doubtful"} == {what}
    assert what in heard.kinds()


@pytest.mark.parametrize("text", [
    "if we hold we lose the window",
    "ready to resume the count",
    "expect to hold at T minus nine for ten minutes",
    "no hold",
    "coming out of the hold in two minutes",
    "hold short of the gate",
    "hold pressure at 45 psi",
    "PROP, TC, hold LOX tank at flight pressure",
    "should we go into a hold",
    "is the count holding?",
    "we will resume the count at 3:57",
    "we may have to scrub",
    "we had a hold yesterday at T minus nine minutes",
    "negative on the abort",
    "the abort has been cancelled",
    "hold-downs released",
    "is the clock running",
    "resume loading",
    "you are go to resume the count",
    "the pump is running",
    "scrub the deck",
    "standing down the crane",
    "calling it nominal",
    "continue with the chilldown",
    "abort system armed",
    "the criteria for abort are in section three",
    "go for lift-off",
    "thirty seconds to lift-off",
    "after lift-off call the range",
    "hold on",
    "prepare to recycle",
    "when the hold is released call the tower",
    "and we hold at T minus nine until the crew is back",
    "if we hear cutoff cutoff we safe the vehicle",
    "how are we scrubbing the water",
    "hold the tanker on account of the weather",
    "go four resume", "goal for resumed", "verify on to resume", "so for resume",
    "of the hold T minus nine minutes and counting", "then hold T minus nine minutes and counting",
    "now hold for five minutes there and when it is dry then we vent",
    "we have to recycle we go back to T minus twenty minutes", "tomorrow we too recycle we go back to T minus twenty minutes", "we recycled to T minus fourteen minutes",
    "in the long rehearsal we clock stopped at T minus nine minutes",
    "T zero is now fourteen forty two", "revised lift-off at fourteen forty", "T minus zero hours twenty minutes",
])
def test_not_a_call(hear: Hear, text: str) -> None:
    heard = hear(text)
    assert {w for w, grade in heard.calls().items() if grade != "doubtful"} == set()
    assert not {"hold", "resume", "recycle", "cutoff", "scrub", "liftoff"} & set(heard.kinds())


def test_a_word_of_the_plan_s_own_is_no_cutoff_unless_it_is_called() -> None:
    """A plan with an abort drill in it; recognisers leave odd words round the thing's name."""
    table = plan(("1", -1200.0, "Charge the abort squibs", "step", "PROP", "TC"))
    for text, grade in (("prop stations abort squid is charged", "doubtful"), ("port abort squibs", "doubtful"), ("abort", "doubtful"),
                        ("abort abort abort", "certain"), ("we have an abort", "certain")):
        heard = understand(records([text], "speech"), count(), table)
        assert heard.calls.loc[heard.calls["what"] == "cutoff", "grade"].tolist() == [grade], text


def test_a_resume_on_a_mark_to_come_is_less_sure_than_one_told(hear: Hear) -> None:
    heard = hear("well resume the count at T minus nine on my mark\nresume the count, T minus nine and counting")
    assert (heard.call("resume", 1)["grade"], heard.call("resume", 2)["grade"]) == ("likely", "certain")


@pytest.mark.parametrize(("text", "what", "t_s"), [
    ("HOLD T-00:09:00", "hold", -540),
    ("CLOCK HOLD AT T-540 S", "hold", -540),
    ("COUNT RESUMED T-00:09:00", "resume", -540),
    ("CUTOFF T-0:31", "cutoff", -31),
    ("hold start t=-00:09:00 type=built_in", "hold", -540),
    ("seq: state COUNTING -> HOLDING at T-00:09:00", "hold", -540),
    ("LIFTOFF", "liftoff", 0),
])
def test_a_sequencers_words(hear: Hear, text: str, what: str, t_s: float) -> None:
    call = hear(text, medium="machine").call(what)
    assert (call["grade"] != "doubtful", call["t_s"]) == (True, t_s)


@pytest.mark.parametrize("text", ["LOX TANK PRESS HOLD 45 PSI", "ABORT GATE ARMED", "HOLD DOWN CLAMPS LOCKED", "LIFTOFF SWITCH CLOSED", "CLK T-00:09:00 HOLD", "T-00:09:00 HOLDING"])
def test_a_machines_other_words(hear: Hear, text: str) -> None:
    assert hear(text, medium="machine").calls() == {}


def test_recycle_from_and_to(hear: Hear) -> None:
    heard = hear("RECYCLE T-00:00:30 -> T-00:22:00\nRECYCLE TO T-00:20:00", medium="machine")
    first, second = heard.call("recycle", 1), heard.call("recycle", 2)
    assert (first["t_s"], first["to_t_s"], second["to_t_s"]) == (-30, -1320, -1200)


@pytest.mark.parametrize(("text", "to_t_s"), [
    ("recycle to T-20", -1200), ("we are recycling to twenty minutes", -1200), ("clock reset to T minus ten", -600),
])
def test_a_clock_is_set_back_by_minutes(hear: Hear, text: str, to_t_s: float) -> None:
    assert hear(text).call("recycle")["to_t_s"] == to_t_s


@pytest.mark.parametrize(("text", "why"), [
    ("We are holding at T minus nine minutes due to a range boat.", "a range boat"),
    ("LD requests a hold for upper level winds", "upper level winds"),
    ("TC, RANGE, hold, hold, hold, boat in the box", "boat in the box"),
    ("hold for five minutes", None),
    ("scrub for today because of weather", "weather"),
    ("cutoff, chamber pressure low", "chamber pressure low"),
    ("due to a leak in the vent line we are holding the count", "a leak in the vent line"),
    ("built in hold, minus forty. fifteen minutes", None),
    ("hold at minus ten, twenty minutes", None),
    ("holding because of a trawler 2.5 miles south of the mole", "a trawler 2.5 miles south of the mole"),
    ("hold hold hold this is propulsion vent door did not open", "vent door did not open"),
    ("swing arm jammed, minus six and holding", "swing arm jammed"),
    ("bottle level is low, hold at T-2:00", "bottle level is low"),
    ("HOLD at T-11:20 - oil leak, pump 3 (called by RANGE)", "oil leak"),
    ("HOLD T-4:00 GNC bleed temp low", "GNC bleed temp low"),
    ("HOLD T-4:00 as planned", None), ("TC, RANGE, hold, hold, hold, we've got a trawler in the box", "a trawler in the box"), ("hold, hold, we have lost the downlink", "lost the downlink"),
    ("hold the count, we have stopped the clock", None), ("hold, we have a hold", None),
    ("hold at T-4 minutes", None),
    ("HOLD T-6:10 (hatch ajar)", "hatch ajar"),
    ("hold called by RANGE, hatch ajar", "hatch ajar"), ("clock stopped T-6:10, RANGE, hatch ajar", "hatch ajar"), ("clock stopped -6:10, hatch ajar", "hatch ajar"),
    ("HOLD T-6:10 (RANGE): hatch ajar", "hatch ajar"), ("planned hold T-9:00 started", None),
    ("HOLD T-6:10 (built in)", None),
])
def test_reason(hear: Hear, text: str, why: str | None) -> None:
    rows = hear(text).speech.calls
    got = rows[rows["grade"] != "doubtful"]["reason"].tolist()
    assert [g if isinstance(g, str) else None for g in got] == [why]


@pytest.mark.parametrize(("text", "by"), [
    ("TC, RANGE, hold the count", "RANGE"), ("hold called by range control at T minus nine minutes", "RANGE"),
    ("launch director calls a hold", "LD"), ("hold hold this is range control a boat is in the corridor", "RANGE"),
])
def test_by(hear: Hear, text: str, by: str) -> None:
    assert hear(text).call("hold")["by"] == by


@pytest.mark.parametrize(("text", "by"), [
    ("HOLD T-6:10 (RANGE): hatch ajar", "RANGE"), ("clock stopped T-6:10, RANGE, hatch ajar", "RANGE"), ("RANGE hold at T-6:10 for a hatch", "RANGE"),
    ("range control hold at -6:10 for a hatch", "RANGE"), ("HOLD T-6:10 (hatch ajar)", None), ("cutoff T-0:04 (PROP)", "PROP"), ("hold T-6:10, GNC to check the platform", None),
])
def test_by_as_keepers_write_it(hear: Hear, text: str, by: str | None) -> None:
    calls = hear(text, medium="typed").speech.calls
    assert [b if isinstance(b, str) else None for b in calls["by"]] == [by]


@pytest.mark.parametrize("text", ["give me a hold please", "give us a short hold", "take a hold"])
def test_a_hold_is_asked_for(hear: Hear, text: str) -> None:
    assert hear(text).calls()["hold"] != "doubtful"


@pytest.mark.parametrize(("text", "length_s"), [
    ("hold for ten minutes", 600), ("this is a five minute hold", 300), ("we are in a hold for about 90 seconds", 90), ("hold the count", None),
])
def test_length(hear: Hear, text: str, length_s: float | None) -> None:
    got = hear(text).call("hold")["length_s"]
    assert (None if got != got else got) == length_s


def test_typed_notes_tell_it_in_the_past(hear: Hear) -> None:
    heard = hear("""
        Hold was called by RANGE at T-9:00, boat in box
        Count was resumed T-9:00
        Last night we had a hold at T-9:00
    """, medium="typed")
    assert heard.calls(1)["hold"] != "doubtful"
    assert heard.call("hold", 1)["reason"] == "boat in box"
    assert heard.calls(2)["resume"] != "doubtful"
    assert set(heard.calls(3).values()) <= {"doubtful"}


SIGNS = {
    "TC": ("test conductor",), "PROP": (), "ABT": ("abort desk",), "RNG": ("range go",), "HC": ("hold control",), "SEQ": ("hold count",),
    "RC": ("recycle",), "MK": ("minus ten",), "SCRUB": (),
}


@pytest.mark.parametrize("medium", ["speech", "typed", "machine"])
@pytest.mark.parametrize("text", [
    "Abort desk, TC, go ahead.", "TC, abort desk, pressure is good.", "Copy, abort desk.", "abort-desk is ready", "we asked the abort desk about it",
    "Hold count, TC, check valve four.", "range go, TC, valve four closed", "Scrub, TC, valve four closed.", "TC, recycle, valve four closed",
    "Minus ten, TC, valve four closed", "hold control",
])
def test_a_call_sign_is_no_call(text: str, medium: str) -> None:
    heard = Heard(understand(records([text], medium), count(stations=SIGNS), plan()))
    assert heard.calls() == {}
    assert heard.marks() == []


@pytest.mark.parametrize(("text", "what"), [
    ("Abort desk, TC, hold the count.", "hold"),
    ("TC, hold control, abort, abort, abort.", "cutoff"),
    ("Abort, abort, abort desk says abort.", "cutoff"),
    ("Recycle to T minus ten minutes", "recycle"),
    ("TC, scrub.", "scrub"),
    ("hold count, TC, the count is resumed", "resume"),
])
def test_a_call_beside_such_a_call_sign(text: str, what: str) -> None:
    heard = Heard(understand(records([text], "speech"), count(stations=SIGNS), plan()))
    assert {w for w, grade in heard.calls().items() if grade != "doubtful"} == {what}


@pytest.mark.parametrize(("text", "sure"), [("count resumes shortly", False), ("clock restarts soon", False), ("count resumed", True)])
def test_a_resume_announced_for_later_is_none_yet(hear: Hear, text: str, sure: bool) -> None:
    grades = hear(text, medium="typed").speech.calls["grade"].tolist()
    assert grades == (["certain"] if sure else ["doubtful"])


def test_the_reason_behind_stop_the_count(hear: Hear) -> None:
    assert hear("TC, RANGE, stop the count, boat in the box").speech.calls["reason"].tolist() == ["boat in the box"]


@pytest.mark.parametrize(("text", "grade"), [
    ("we are holding at T minus one hour ten minutes and thirty seconds as planned", "certain"),
    ("T minus minutes and holding, this his eye planned hold of minutes", "certain"),
    ("lie holding did T minus nine minutes", "likely"),
    ("still holding at T minus nine minutes", "doubtful"),
])
def test_a_hold_that_is_announced_and_one_that_goes_on(hear: Hear, text: str, grade: str) -> None:
    assert hear(text).calls() == {"hold": grade}


@pytest.mark.parametrize("text", ["on back in the at t minus nine minutes"])
def test_a_count_picked_up_again_whose_name_is_lost(hear: Hear, text: str) -> None:
    assert hear(text).calls() == {"resume": "likely"}


@pytest.mark.parametrize("text", ["we are um again from tee minus nine minutes", "we area againfrom t minus nine minutes", "we are counting from tee minus nine minutes"])
def test_a_count_picked_up_again_whose_first_words_are_lost(hear: Hear, text: str) -> None:
    heard = hear(text)
    assert "resume" in {what for what, grade in heard.calls().items() if grade != "doubtful"}
    assert heard.marks() == [(-540, "likely", "counting")]


def test_a_mark_to_come_is_one_with_a_full_stop_behind_it(hear: Hear) -> None:
    assert hear("We war resume the count at T minus nine minutes it in my mark.").calls() == {"resume": "likely"}


@pytest.mark.parametrize(("text", "calls"), [
    ("T minus nineteen minutes clock is running", {"resume": "doubtful"}),
    ("all stations leadrecycle to tee minus five minutes clock is running", {"recycle": "certain", "resume": "certain"}),
    ("clock is running, T minus nine minutes", {"resume": "certain"}),
])
def test_a_clock_that_is_running_was_set_or_is_read(hear: Hear, text: str, calls: dict[str, str]) -> None:
    assert hear(text).calls() == calls


@pytest.mark.parametrize(("text", "grade"), [("CUTOFF", "certain"), ("cutoff at T-10s", "certain"), ("tanking cutoff valve", None), ("Planned cutoff of the tanking test", "doubtful")])
def test_a_cutoff_alone_is_one_though_the_plan_has_the_word(text: str, grade: str | None) -> None:
    heard = understand(records([text], "typed"), count(), plan(("1", -10.0, "Planned cutoff of the tanking test", "step", "TC", None)))
    told = heard.calls.loc[heard.calls["what"] == "cutoff", "grade"].tolist()
    assert told == ([grade] if grade else [])


@pytest.mark.parametrize(("text", "grade"), [
    ("drop, drop, drop", "likely"), ("release, release, good drop", "likely"), ("sled is away", "likely"), ("release the sled brake", None), ("release, we have a clean release", "likely"), ("we have release of the clamps", None), ("we have a drop in pressure", None), ("release the drop tank", None),
])
def test_a_vehicle_that_is_let_go_has_lifted_off(hear: Hear, text: str, grade: str | None) -> None:
    assert hear(text).calls().get("liftoff") == grade


@pytest.mark.parametrize(("text", "what", "grade"), [
    ("the count will resume on my mark three two one mark", "resume", "likely"),
    ("the count will resume on my mark", "resume", "doubtful"),
    ("the clock starts in four three two one mark", "resume", "likely"),
    ("the clock starts in three minutes", "resume", "doubtful"), ("clock starts in three two one marc", "resume", "likely"),
    ("one minute to the end of the hold", "resume", "doubtful"), ("thirty seconds we end of the hold", "resume", "doubtful"), ("end of the hold, clock is running", "resume", "certain"),
    ("we will be recycling to T minus fifteen minutes", "recycle", "likely"),
    ("the plan is to recycle to T minus fifteen minutes", "recycle", "likely"),
    ("if the wind drops we would be recycling to T minus fifteen minutes", "recycle", "doubtful"),
    ("all stations we're an unplanned hold of a stuck door", "hold", "likely"),
    ("please hold at seven minutes and five seconds", "hold", "likely"), ("with hold at T minus nine minutes", "hold", "likely"),
    ("is recycling to T minus fifteen minutes", "recycle", "certain"), ("stations we need it to recycle to T minus fifteen minutes", "recycle", "likely"),
    ("we're going to call it quits scrub, scrub for today", "scrub", "likely"), ("we're going to say scrub then", "scrub", "doubtful"),
])
def test_what_is_announced_and_done_in_one_breath_or_decided(hear: Hear, text: str, what: str, grade: str) -> None:
    assert hear(text).calls()[what] == grade


@pytest.mark.parametrize(("text", "t_s"), [
    ("stop the clock hold at seven minutes and five seconds a stuck door", -425.0),
    ("hold the count, hold at seven minutes and some seconds", None),
    ("stop the clock, the tank has held its pressure for five minutes", None),
])
def test_a_hold_names_the_count_without_the_letter(hear: Hear, text: str, t_s: float | None) -> None:
    got = hear(text).call("hold")["t_s"]
    assert (None if got != got else got) == t_s


PICKED_UP = ("T minus eight minutes and holding", "a stuck door", "still looking", "door is shut", "all ready", "T minus eight minutes and counting")


@pytest.mark.parametrize(("lines", "told"), [
    (PICKED_UP, True),
    (PICKED_UP[-2:], False),  # no hold was told of
    ((PICKED_UP[0], PICKED_UP[-1]), False),  # it may be of the moment before
    ((*PICKED_UP[:-1], "T minus six minutes and counting"), False),
    (("recycle to T minus eight minutes", *PICKED_UP[1:]), True),
    ((*PICKED_UP[:4], "the count has resumed", PICKED_UP[-1]), False),
])
def test_counting_again_where_the_count_stood_is_how_it_was_resumed(hear: Hear, lines: tuple[str, ...], told: bool) -> None:
    heard = hear("\n".join(lines))
    assert ("resume" in heard.calls(len(lines))) is told
