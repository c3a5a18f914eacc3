"""Who speaks to whom, sentence by sentence, and the roll of a poll."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercount.speech import understand
from aftercount.speech.directory import Directory
from aftercount.speech.sentences import pieces, shares
from aftercount.speech.words import scan
from speech.conftest import START_US, STATIONS, Heard, count, plan, records

Hear = Callable[..., Heard]


def test_an_exchange(hear: Hear) -> None:
    heard = hear("""
        PROP, TC.
        Go ahead, TC.
        PROP, TC, start LOX load.
        Copy, in work.
        TC, PROP, LOX load complete.
        Copy, PROP.
    """)
    assert heard.who() == ["TC>PROP", "PROP>TC", "TC>PROP", "PROP>TC", "PROP>TC", "TC>PROP"]
    assert heard.kinds()[2:] == ["call", "response", "report", "response"]


@pytest.mark.parametrize("head", [
    "PROP, TC,", "prop tc", "propulsion test conductor", "papa romeo oscar papa tango charlie", "propp tc", "PROP this is TC,", "prop tee see",
    "PROP from TC,", "prop this as tc", "PROP this it's test conductor", "prop this tc", "prop his is tc", "propulsion is test conductor", "prop to this is tc", "TC to PROP,", "TC for PROP,", "TC calling PROP,", "p r o p t c",
])
def test_call_signs_however_they_are_heard(hear: Hear, head: str) -> None:
    assert hear(f"{head} open the fuel vent").who() == ["TC>PROP"]


def test_this_is_names_the_caller() -> None:
    said = understand(
        records(["Alfa One Six Two THIS IS Mike One Five Bravo OVER"], "speech"), count(stations={"A162": (), "M15B": ()}), plan())
    assert said.utterances[["station", "to"]].values.tolist() == [["M15B", "A162"]]


def test_an_ordinary_word_is_no_call_sign(hear: Hear) -> None:
    assert hear("drop the pressure\nthe range is clear").who() == ["?>?", "?>?"]


def test_a_voice_tag_wins(hear: Hear) -> None:
    assert hear("PROP, go for step four", station="test conductor").who() == ["TC>PROP"]


def test_an_old_call_is_not_answered(hear: Hear) -> None:
    heard = hear("PROP, TC, start LOX load.\n" + "quiet here\n" * 6 + "Copy, in work.")
    assert heard.who()[-1] == "?>?"


def test_the_station_called_names_itself_though_others_spoke_in_between(hear: Hear) -> None:
    """It tells how something is in its own name; who calls out the count is no turn in between; who orders reads nothing back."""
    told = hear("PROP, TC, leak check valve two.\nGNC, TC, noise on camera three.\nPROP, valve two tight.")
    assert told.who() == ["TC>PROP", "TC>GNC", "PROP>TC"]
    back = hear("PROP, TC, run your valve check.\nT minus thirty five minutes.\nRun your valve check, PROP.")
    assert back.who() == ["TC>PROP", "?>?", "PROP>TC"]
    assert hear("PROP, TC, open the valve.\nGNC, TC, noise on camera three.\nPROP, close the valve.").who()[-1] != "PROP>TC"


@pytest.mark.parametrize(("text", "kind"), [
    ("PROP, safe and arm is armed", "report"), ("PROP, vent side is tight", "report"), ("PROP, TC, safe the igniter", "call"), ("PROP, TC, verify the vent is open", "call"),
    ("PROP, this is TC, firing key to enable", "call"), ("PROP, TC, fairing cleanliness", "call"), ("TC, PROP, opening the vent", "response")])
def test_what_tells_and_what_orders(hear: Hear, text: str, kind: str) -> None:
    assert hear(text).kinds() == [kind]


@pytest.mark.parametrize("answer", ["Copy, PROP.", "Roger that, propulsion.", "Open the fuel vent, PROP."])
def test_the_station_called_signs_its_answer(hear: Hear, answer: str) -> None:
    assert hear(f"PROP, TC, open the fuel vent.\n{answer}").who() == ["TC>PROP", "PROP>TC"]
    assert hear(f"PROP, TC, open the fuel vent. {answer}").who() == ["TC>PROP", "PROP>TC"]


@pytest.mark.parametrize("report", ["PROP, valve two tight.", "propulsion, on vehicle power"])
def test_the_station_called_names_itself_before_its_report(hear: Hear, report: str) -> None:
    for heard in (hear(f"PROP, TC, open the fuel vent.\n{report}"), hear(f"PROP, TC, open the fuel vent. {report}")):
        assert (heard.who(), heard.kinds()) == (["TC>PROP", "PROP>TC"], ["call", "report"])
    assert hear("PROP, TC, open the fuel vent.\nPROP, close the drain.").who()[-1] == "TC>PROP"


def test_nobody_orders_himself(hear: Hear) -> None:
    assert hear("PROP, safe and arm is armed", station="PROP").kinds() == ["report"]
    assert hear("PROP, TC, open the fuel vent.\nOpen the fuel vent, PROP.").kinds() == ["call", "response"]


@pytest.mark.parametrize("text", ["And PROP, open the fuel vent.", "Okay, PROP, open the fuel vent.", "alright, uh, propulsion, open the fuel vent"])
def test_words_that_lead_up_to_a_call(hear: Hear, text: str) -> None:
    heard = hear(text)
    assert (heard.who()[-1], heard.kinds()[-1]) == ("?>PROP", "call")


def test_okay_and_a_name_is_an_answer(hear: Hear) -> None:
    assert hear("TC, PROP, LOX load complete.\nOkay, PROP.").who() == ["PROP>TC", "TC>PROP"]


def test_an_order_that_goes_on_is_to_whom_it_began(hear: Hear) -> None:
    heard = hear("PROP, TC here, whenever you're ready. Go ahead and open the fuel vent.", station="TC")
    assert heard.who()[-1] == "TC>PROP"


def test_a_run_of_words_is_split_where_call_signs_change_hands(hear: Hear) -> None:
    heard = hear("prop tc start lox load prop copy in work tc prop lox load complete")
    assert heard.texts() == ["prop tc start lox load", "prop copy in work", "tc prop lox load complete"]
    assert heard.who() == ["TC>PROP", "PROP>TC", "PROP>TC"]


def test_a_cues_time_is_shared_by_words(hear: Hear) -> None:
    own = hear("Start LOX load. In work now.").speech.utterances["own_us"].tolist()
    assert own == [START_US, START_US + 2_000_000]


def test_a_head_of_call_signs_stays_with_its_sentence(hear: Hear) -> None:
    assert hear("PROP, TC. Start LOX load. Gauge No. 2 reads 4.5 bar.").texts() == ["PROP, TC. Start LOX load.", "Gauge No. 2 reads 4.5 bar."]


def test_a_roll_call(hear: Hear) -> None:
    heard = hear("""
        All stations, this is TC, give me a go/no-go for launch. PROP?
        Go.
        Guidance?
        No go.
        RANGE is go. ECS, go.
        launch director
        we are go for launch
    """)
    assert heard.answers() == [("PROP", "go"), ("GNC", "no go"), ("RANGE", "go"), ("ECS", "go"), ("LD", "go")]
    assert heard.kinds()[0] == "poll"


def test_a_roll_that_nobody_announced_is_a_poll(hear: Hear) -> None:
    assert hear("Guidance?\nGo.\nPROP go.\nECS?\nECS is go.").kinds() == ["poll", "response", "response", "call", "response"]
    assert hear("GNC go.\nPROP go.\nECS is go.").kinds() == ["poll", "response", "response"]
    assert "poll" not in hear("GNC is go.\nPROP go.").kinds()
    assert hear("All stations, poll for launch.\nGNC go.\nPROP go.\nECS is go.").kinds().count("poll") <= 1


def test_what_calls_a_poll_is_no_answer(hear: Hear) -> None:
    assert hear("All stations, TC, go for launch poll").answers() == []


@pytest.mark.parametrize("medium", ["speech", "typed"])
def test_one_entry_with_many_answers(hear: Hear, medium: str) -> None:
    assert hear("PROP go, GNC no go, RANGE is go", medium=medium).answers() == [("PROP", "go"), ("GNC", "no go"), ("RANGE", "go")]


@pytest.mark.parametrize(("text", "answers"), [
    ("arrange is go.", [("RANGE", "go")]), ("prope no go", [("PROP", "no go")]), ("pro pulsion is go", [("PROP", "go")]),
    ("guy dance go", [("GNC", "go")]), ("pro p, go", [("PROP", "go")]), ("everybody is go", []), ("arrange is go for a walk", []),
    ("we are no go", []), ("weather is go", []), ("hose is go", [])])
def test_a_call_sign_misheard_in_a_roll_call(hear: Hear, text: str, answers: list[tuple[str, str]]) -> None:
    """Where the sentence is a name and an answer, the name is the station it is most like, if it is like one at all."""
    assert hear(text).answers() == answers


def test_whoever_the_log_names_answers_whatever_was_misheard(hear: Hear) -> None:
    assert hear("arrange is go", station="ECS").answers() == [("ECS", "go")]


@pytest.mark.parametrize(("text", "who"), [("pro p, tc, start LOX load", "TC>PROP"), ("tc, guid ance, aligned", "GNC>TC"), ("range control, tc, report", "TC>RANGE")])
def test_a_call_sign_in_pieces(hear: Hear, text: str, who: str) -> None:
    assert hear(text).who() == [who]


@pytest.mark.parametrize("text", ["PROP, TC, go ahead", "PROP, go to channel two", "TC, PROP, go for step four?", "PROP go/no-go for launch"])
def test_not_an_answer(hear: Hear, text: str) -> None:
    assert hear(text).answers() == []


@pytest.mark.parametrize(("text", "who", "kind"), [
    ("PROP, go open the vent valve", "?>PROP", "call"),
    ("PROP go start LOX load", "?>PROP", "call"),
    ("PROP, you are go to open the vent valve", "?>PROP", "call"),
    ("PROP go", "PROP>?", "response"),
    ("PROP go for LOX load", "PROP>?", "response"),
    ("PROP go vent valve closed", "PROP>?", "report"),
    ("PROP go vent valve is open", "PROP>?", "report"),
    ("PROP go open is confirmed", "PROP>?", "report"),
])
def test_who_is_told_to_go_and_do_something_does_not_answer_go(hear: Hear, text: str, who: str, kind: str) -> None:
    said = hear(text)
    assert (said.who(), said.kinds()) == ([who], [kind])


def test_a_note_names_who_reports(hear: Hear) -> None:
    assert hear("PROP reports LOX load complete\nPROP LOX load complete", medium="typed").who() == ["PROP>?", "PROP>?"]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.one_of(st.text(max_size=60), st.sampled_from(["PROP, TC, hold", "T minus", "ten nine eight", "go", "12:", "T-", "l minus one hundred"])), max_size=6),
       st.sampled_from(["speech", "typed", "machine"]))
def test_every_record_is_heard(lines: list[str], medium: str) -> None:
    said = understand(records(lines, medium), count(), plan())
    assert said.utterances["utterance"].tolist() == list(range(len(said.utterances)))
    assert set(said.utterances["record"]) == set(range(len(lines)))
    for frame in (said.marks, said.calls, said.poll_answers):
        assert set(frame["utterance"]) <= set(said.utterances["utterance"])
    assert set(said.marks["grade"]) <= {"certain", "likely", "doubtful"}


@given(st.text(alphabet="ab .?!;\nPROPTC,go", max_size=80))
@settings(max_examples=150, deadline=None)
def test_pieces_cover_the_words_in_order(text: str) -> None:
    parts = pieces(text, "speech", Directory(STATIONS))
    assert all(a < b or not text for a, b in parts)
    assert all(left[1] <= right[0] for left, right in zip(parts, parts[1:], strict=False))
    assert sum(len([t for t in scan(text[a:b]) if t.isalnum()]) for a, b in parts) == len([t for t in scan(text) if t.isalnum()])
    spread = shares(text, parts)
    assert spread[0][0] == 0 and spread[-1][1] == pytest.approx(1)


def test_an_answer_signed_by_who_gives_it(hear: Hear) -> None:
    heard = hear("PROP, TC, open the fuel vent.\nOpening the fuel vent, PROP.\nTC, PROP, fuel vent is open.\nCopy, PROP.")
    assert heard.who() == ["TC>PROP", "PROP>TC", "PROP>TC", "TC>PROP"]
    assert heard.kinds() == ["call", "response", "report", "response"]


@pytest.mark.parametrize("answer", ["PROP, aye.", "PROP, aye, opening the fuel vent.", "Aye aye, PROP."])
def test_aye_is_an_answer(hear: Hear, answer: str) -> None:
    heard = hear(f"PROP, TC, open the fuel vent.\n{answer}")
    assert heard.who() == ["TC>PROP", "PROP>TC"]
    assert heard.kinds() == ["call", "response"]


def test_a_letter_that_names_a_unit_may_end_a_sentence(hear: Hear) -> None:
    assert hear("PROP, test transmitter B. Testing transmitter A.").texts() == ["PROP, test transmitter B.", "Testing transmitter A."]
    assert hear("This is J. Hale at the pad, U. S. side.").texts() == ["This is J. Hale at the pad, U. S. side."]


def test_a_voice_tags_answer_goes_to_the_caller(hear: Hear) -> None:
    lines = records(["PROP, TC, open the fuel vent.", "In work, PROP."], "speech").assign(station=["TC", "PROP"])
    said = understand(lines, count(), plan()).utterances
    assert said[["station", "to"]].values.tolist() == [["TC", "PROP"], ["PROP", "TC"]]


def test_all_of_something_are_not_all_stations(hear: Hear) -> None:
    assert hear("all valves open\nall, TC, stand by\nall stations stand by").who() == ["?>?", "TC>ALL", "?>ALL"]


@pytest.mark.parametrize(("line", "kind"), [
    ("GNC, TC, heading and roll", "call"), ("TC, GNC, opening the vent", "response"), ("GNC, TC. Step four, is the range ready", "call"),
    ("GNC, anybody outside", "call"), ("okay test conductor, nobody outside", "report"), ("okay PROP, nobody outside", "call"),
])
def test_who_orders_reads_nothing_back_and_nobody_orders_who_takes_none(hear: Hear, line: str, kind: str) -> None:
    assert hear(line).kinds() == [kind]


def test_a_reading_of_the_count_between_a_call_and_its_answer_is_no_turn(hear: Hear) -> None:
    assert hear("PROP, TC, open the vent.\nT minus five minutes.\nCopy, in work.").who() == ["TC>PROP", "?>?", "PROP>TC"]


@pytest.mark.parametrize(("lines", "who", "kinds"), [
    ("PROP, fuel vent closed.\nVent closed.", ["?>PROP", "PROP>?"], ["call", "report"]),
    ("PROP, fuel vent closed.\nPROP copies.", ["?>PROP", "PROP>?"], ["call", "response"]),
    ("PROP, fuel vent closed.\nCopy, PROP.", ["PROP>?", "?>PROP"], ["report", "response"]),
    ("PROP, fuel vent is closed.\nVent closed.", ["PROP>?", "?>?"], ["report", "report"]),
    ("PROP, TC, close the fuel vent.\nPROP, fuel vent closed.\nCopy.", ["TC>PROP", "PROP>TC", "TC>PROP"], ["call", "report", "response"]),
    ("PROP, core slow fill.\nPROP, core in slow fill.", ["?>PROP", "PROP>?"], ["call", "report"]),
])
def test_who_names_a_station_and_a_state_orders_it_if_that_station_answers(hear: Hear, lines: str, who: list[str], kinds: list[str]) -> None:
    heard = hear(lines)
    assert (heard.who(), heard.kinds()) == (who, kinds)


@pytest.mark.parametrize(("line", "who", "kind"), [
    ("TC, in slow fill", "?>TC", "report"), ("PROP in slow fill", "PROP>?", "note"), ("vent closed", "?>?", "report"), ("purge is on", "?>?", "report"), ("power on", "?>?", "call"), ("PROP, in work", "PROP>?", "response"), ("PROP understands shut the fuel vent", "PROP>?", "response"), ("PROP acknowledges", "PROP>?", "response"), ("yeah copy, working it", "?>?", "response"),
    ("yeah, fuel vent closed", "?>?", "report"), ("yeah", "?>?", "note"),
])
def test_what_a_station_is_told_and_what_it_says_of_itself(hear: Hear, line: str, who: str, kind: str) -> None:
    heard = hear(line)
    assert (heard.who(), heard.kinds()) == ([who], [kind])


def test_what_a_count_comes_down_to_is_read_out_under_no_number(hear: Hear) -> None:
    assert hear("Two. One. We have ignition.").texts() == ["Two.", "One.", "We have ignition."]
    assert hear("PROP, fans on. One. We have ignition.").texts()[-1] == "We have ignition."


@pytest.mark.parametrize("line", ["range control this is and conductor close the gate", "range control this is or okay close the gate"])
def test_who_calls_though_his_own_name_is_lost_is_not_the_station_called(hear: Hear, line: str) -> None:
    heard = hear(line)
    assert (heard.who(), heard.kinds()) == (["?>RANGE"], ["call"])


@pytest.mark.parametrize(("line", "who", "kind"), [
    ("PROP, TC, cleared to open the vent", "TC>PROP", "call"), ("PROP, TC, you can open the vent", "TC>PROP", "call"), ("again, you may now start the load", "?>?", "call"),
    ("TC, PROP, cleared to load", "PROP>TC", "report"), ("PROP, TC, you can see the vent is open", "TC>PROP", "report"),
    ("PROP, TC, negative, I say again, open the vent", "TC>PROP", "call"), ("PROP, TC, negative on the vent", "TC>PROP", "response"),
    ("TC, PROP, complete here", "PROP>TC", "report"), ("complete here", "?>?", "report"), ("PROP, TC, complete the leak check", "TC>PROP", "call"),
    ("uh proceed as briefed", "?>?", "call"), ("we proceed at dawn", "?>?", "note"), ("uncover the racks", "?>?", "call"),
])
def test_what_leaves_an_act_to_who_is_told_is_an_order(hear: Hear, line: str, who: str, kind: str) -> None:
    heard = hear(line)
    assert (heard.who(), heard.kinds()) == ([who], [kind])


@pytest.mark.parametrize(("line", "who", "kind"), [
    ("vent is tight, PROP", "PROP>?", "report"), ("line is at six bar, propulsion", "PROP>?", "report"),
    ("open the vent, PROP", "?>PROP", "call"), ("copy, PROP", "?>PROP", "response"), ("vent is tight, TC", "?>TC", "report"),
])
def test_who_takes_orders_signs_what_he_tells(hear: Hear, line: str, who: str, kind: str) -> None:
    heard = hear(line)
    assert (heard.who(), heard.kinds()) == ([who], [kind])


def test_a_completion_signed_after_a_signed_answer_is_of_the_same_station(hear: Hear) -> None:
    heard = hear("PROP, TC, open the fuel vent\non it, PROP\nfuel vent is open, PROP")
    assert heard.who()[1:] == ["PROP>TC", "PROP>?"]


def test_a_planned_act_with_the_countdown_in_its_name_is_no_call_on_the_count() -> None:
    table = plan(("1", -60.0, "Start countdown jingle", "step", "PROP", "TC"), ("2", 0.0, "Go", "step", "PROP", "TC"))
    said = understand(records(["PROP, TC, start countdown jingle please", "PROP, TC, resume the count"], "speech"), count(), table)
    assert said.utterances["kind"].tolist() == ["call", "resume"]


@pytest.mark.parametrize("answer", ["in work", "PROP copies", "TC, PROP, roger"])
@pytest.mark.parametrize("report", ["fuel vent is open", "PROP, two tight on the meter"])
def test_who_took_an_order_up_goes_on_to_report_it(hear: Hear, answer: str, report: str) -> None:
    heard = hear(f"PROP, TC, open the fuel vent\n{answer}\n{report}\nPROP, TC, close the fuel vent")
    assert heard.who() == ["TC>PROP", "PROP>TC", "PROP>TC", "TC>PROP"]
    assert heard.kinds()[2:] == ["report", "call"]


@pytest.mark.parametrize(("next_said", "who"), [("copy, PROP", "TC>PROP"), ("PROP, close the drain", "TC>PROP"), ("GNC, two tight on the meter", "?>GNC")])
def test_who_had_an_answer_goes_on_to_others(hear: Hear, next_said: str, who: str) -> None:
    assert hear(f"PROP, TC, open the fuel vent\nTC, PROP, roger\n{next_said}").who()[-1] == who


@pytest.mark.parametrize("line", ["PROP is RANGE clear", "PROP, is TC ready for the fuel load"])
def test_how_another_station_is_names_no_caller(hear: Hear, line: str) -> None:
    assert hear(line).who()[0].startswith(("?>", "PROP>"))


@pytest.mark.parametrize(("entry", "who"), [
    ("TC told PROP to open the fuel vent.", "TC>PROP"), ("test conductor called for propulsion to shake out the fuel vent", "TC>PROP"), ("PROP was asked to shake out the fuel vent.", "TC>PROP"),
    ("open the fuel vent (PROP)", "?>PROP"), ("fuel vent is open - PROP", "PROP>?"), ("fuel vent is open [propulsion].", "PROP>?"), ("shut the fuel vent (two turns)", "?>?"),
    ("somebody told PROP to open it", "?>?"),
])
def test_what_a_keeper_typed_has_the_stations_that_it_names(entry: str, who: str) -> None:
    assert Heard(understand(records([entry], "typed"), count(), plan())).who() == [who]


def test_who_told_whom_is_a_tale_on_the_loop(hear: Hear) -> None:
    assert hear("TC told PROP to open the fuel vent.").who() != ["TC>PROP"]


@pytest.mark.parametrize(("lines", "who"), [
    # who answered in words of no known form goes on
    ("PROP, TC, open the vent.\nPROP, eye, in hand.\nFuel vent is open.", ["TC>PROP", "PROP>TC", "PROP>TC"]),
    # nobody accepts the order that he has just given, nor the one before it
    ("PROP, TC, are the fans on? Start them if not. Propulsion, proceeding.", ["TC>PROP", "TC>PROP", "PROP>TC"]),
    ("PROP, TC, open the vent. GNC, TC, point the dish. PROP, opening the vent.", ["TC>PROP", "TC>GNC", "PROP>TC"]),
    ("PROP, TC, open the vent.\nTC, PROP, vent is open.\nCopy, PROP.", ["TC>PROP", "PROP>TC", "TC>PROP"]),
    ("PROP, TC, open the vent. Doing it.", ["TC>PROP", "PROP>TC"])])
def test_who_answers_an_order(hear: Hear, lines: str, who: list[str]) -> None:
    assert hear(lines).who() == who


@pytest.mark.parametrize(("text", "kind"), [
    ("rog", "response"), ("yep", "response"), ("sure thing", "response"), ("sure is windy", "report"), ("doing it", "response"), ("doing that", "response"), ("doing it tomorrow", "note"),
    ("go ahead", "response"), ("go ahead open the vent", "call"), ("go ahead an open the vent", "call"), ("coming up on LOX load", "note"), ("coming up to speed", "response")])
def test_what_accepts_and_what_orders(hear: Hear, text: str, kind: str) -> None:
    assert hear(text).kinds() == [kind]
