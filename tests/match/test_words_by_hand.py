"""Words in figures: what each is worth in a plan, how like one is to another, how much of a step a text says; and what a decision does."""

from __future__ import annotations

from math import log

import numpy as np
import pandas as pd
import pytest

from aftercount.match import conflict, decide, lexicon, likeness, wordlikeness
from match.small import a_count, a_log, a_plan, due_of, matched

VENTS = a_plan("1 | -60 | TC>PROP | Open north vent valve 1", "2 | -50 | TC>PROP | Open north vent valve 2", "3 | -40 | TC>RNG | Arm igniter")


def by_word(values: np.ndarray, lex: lexicon.Lexicon) -> dict[str, float]:
    return {w: round(float(v), 6) for w, v in zip(lex.vocabulary, values, strict=True) if v}


def test_the_number_of_a_step_is_no_unit() -> None:
    lex = lexicon.build(VENTS, a_count())
    assert lex.stems("Step 7. Open north vent valve two") == lex.stems("7. Open north vent valve two") == lex.stems("open north vent valve 2")
    assert "7" in lex.stems("vent 7 open")
    assert lexicon.stems_of("Zero load cells") == lexicon.stems_of("zeroing load cells")


def test_numbers_parted_by_a_comma_stay_two() -> None:
    assert lexicon.stems_of("open valve three, two turns", frozenset(("valve",))) == ("open", "valv", "3", "2", "turn")
    assert wordlikeness.mended_number("twanty,") == "twenty,"


def test_a_word_is_worth_what_few_steps_share_and_most_what_tells_rivals_apart() -> None:
    """Of three steps: a word of one is worth 1, of two log(4/2)/log 4 = a half. The vents share four such words, so they are rivals and the number counts twice."""
    lex = lexicon.build(VENTS, a_count())
    assert by_word(lex.idf, lex) == {"1": 1.0, "2": 1.0, "arm": 1.0, "ignit": 1.0, "north": 0.5, "open": 0.5, "valv": 0.5, "vent": 0.5}
    assert by_word(lex.weights[0], lex) == {"1": 0.5, "north": 0.125, "open": 0.125, "valv": 0.125, "vent": 0.125}
    assert by_word(lex.weights[2], lex) == {"arm": 0.5, "ignit": 0.5}
    assert lex.step_of.tolist() == [0, 1, 2] and lex.rows == 3 and lex.present.sum() == 12


def test_steps_that_share_little_are_no_rivals() -> None:
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Open valve", "2 | -50 | TC>PROP | Close valve", "3 | -40 | TC>RNG | Arm igniter"), a_count())
    assert by_word(lex.weights[0], lex) == {"open": pytest.approx(2 / 3), "valv": pytest.approx(1 / 3)}


def test_words_of_every_step_call_signs_and_progress_say_little() -> None:
    steps = [f"{k} | -{60 - k} | TC>PROP | Verify PROP gauge {k}" for k in range(10)]
    lex = lexicon.build(a_plan(*steps), a_count())
    worth = by_word(lex.idf, lex)
    assert worth["gaug"] == pytest.approx(0.15) and worth["verifi"] == pytest.approx(0.15 * 0.3) and worth["propel"] == pytest.approx(0.15 * 0.35) and worth["7"] == 1.0


def test_each_other_wording_is_a_row_of_its_own_and_none_twice() -> None:
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Open vent | crack the vent; open the vent; vents opened", "2 | -50 | TC>PROP | Stand by", "3 | -40 | TC>PROP | The"), a_count())
    assert lex.wordings == (("open", "vent"), ("crack", "vent"), ("vent", "open"), ("stand", "by"), ("the",)) and lex.step_of.tolist() == [0, 0, 0, 1, 2]


@pytest.mark.parametrize(("action", "told"), [
    ("start nitrogen purge", "nitrogen purge is flowing"), ("begin the nitrogen purge", "purge running, nitrogen"), ("start nitrogen purge", "nitrogen purge underway"), ("stop oxygen topping", "oxygen topping is off"),
    ("terminate oxygen topping", "oxygen topping off")])
def test_what_is_started_or_stopped_is_told_by_its_state(action: str, told: str) -> None:
    plan = a_plan(f"1.1 | -900 | A>B | {action}", "1.2 | -800 | A>B | verify range green", "1.3 | -700 | A>B | close helium vent")
    table = lexicon.build(plan, a_count())
    def covered(text: str) -> float:
        words = set(table.canonical(text))
        return max(float(sum(w for w, name in zip(row, table.vocabulary, strict=True) if name in words))
                   for row, step in zip(table.weights, table.step_of.tolist(), strict=True) if step == 0)
    assert covered(told) == pytest.approx(1.0) and covered(told.replace("flowing", "cold").replace("running", "cold").replace("underway", "cold").replace("off", "cold")) < 0.8


@pytest.mark.parametrize("action", ["Power on heater", "Turn the heater on", "heater power on", "bring up heater"])
def test_what_is_switched_on_is_told_by_its_state(action: str) -> None:
    lex = lexicon.build(a_plan(f"1 | -60 | TC>PROP | {action}", "2 | -50 | TC>PROP | Report touch down"), a_count())
    assert {("heater", "on"), ("heater", "up")} < set(lex.wordings)
    assert lex.wordings[-1] == ("touch", "down") and "on" in lex.stated[0]


@pytest.mark.parametrize(("text", "words"), [
    ("T minus 5 minutes, stage two vent opened", ["stage", "2", "vent", "open"]), ("L minus 40 minutes 10 seconds, vent", ["vent"]), ("vent alpha", ["vent", "a"]),
    ("vent bravo", ["vent", "b"]), ("stage ii vent", ["stage", "2", "vent"]), ("first stage", ["1", "stage"]), ("stage second", ["stage", "second"]), ("the second valve", ["the", "2", "valv"]),
    ("ten seconds to vent", ["to", "vent"]), ("purge air's off", ["purg", "air", "off"]), ("Zero all channels", ["zero", "all", "channel"]), ("channels zeroed", ["channel", "zero"]),
    ("vent zero", ["vent", "0"]), ("liquid oxygen vent", ["liquid", "oxygen", "vent"])])
def test_texts_in_canonical_words(text: str, words: list[str]) -> None:
    assert list(lexicon.stems_of(text)) == words


@pytest.mark.parametrize(("text", "words"), [
    ("liquid oxygen vent", ["lox", "vent"]), ("p r o p vent", ["propel", "vent"]), ("t c open vent", ["tc", "open", "vent"]), ("a vent", ["vent"]), ("x y vent", ["vent"]), ("vent x", ["vent", "x"]),
    ("twanty vents", ["20", "vent"]), ("test conductor go", ["tc", "go"])])
def test_glossary_terms_stations_and_stray_letters(text: str, words: list[str]) -> None:
    assert list(lexicon.build(VENTS, a_count()).canonical(text)) == words


def test_a_station_that_is_on_something_is_not_called() -> None:
    """'PROP on battery' says where the thing is, 'PROP, TC' and 'in work, PROP' call somebody."""
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | PROP on internal battery", "2 | -50 | TC>PROP | Arm ignition"), a_count())
    assert lex.canonical("prop on battery", ("PROP",))[0] == "propel"
    assert "propel" not in lex.canonical("prop in work", ("PROP",)) and "propel" not in lex.canonical("in work, prop", ("PROP",))


def test_an_a_beside_a_unit_is_its_name_and_elsewhere_an_article() -> None:
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Check link A", "2 | -50 | TC>PROP | Check link B"), a_count())
    assert list(lex.canonical("check a link")) == ["check", "a", "link"] and list(lex.canonical("a check of link a")) == ["check", "of", "link", "a"]
    assert list(lex.canonical("a gull")) == ["gull"]
    two = lexicon.build(a_plan("1 | -60 | TC>PROP | Check link A", "2 | -50 | TC>PROP | Check pump A"), a_count())
    assert list(two.canonical("link a")) == ["link", "a"] and list(two.canonical("pump a")) == ["pump", "a"]


@pytest.mark.parametrize(("said", "meant", "like"), [
    ("valve", "valve", 1.0), ("halium", "helium", 0.85), ("locks", "lox", 0.85), ("begin", "start", 0.7), ("vlv", "valve", 0.85), ("press", "pressurant", 0.85), ("valve", "vlv", 0.85),
    ("lid", "lip", 0.0), ("7", "seven", 0.0), ("b", "bravo", 0.0), ("gull", "igniter", 0.0)])
def test_how_like_two_words_are(said: str, meant: str, like: float) -> None:
    """A homophone 0.85, a short form 0.85, a word of like meaning 0.7."""
    assert wordlikeness.likeness([said], [meant])[0, 0] == pytest.approx(like, abs=1e-6)


def test_a_word_of_the_plan_is_half_as_like_to_others() -> None:
    table = wordlikeness.likeness(["start", "begin", "valve"], ["start", "begin"])
    assert table[0].tolist() == pytest.approx([1.0, 0.7 * 0.55]) and table[1].tolist() == pytest.approx([0.7 * 0.55, 1.0]) and table[2].tolist() == [0.0, 0.0]
    assert wordlikeness.likeness([], ["a"]).shape == (0, 1) and wordlikeness.likeness(["a"], []).shape == (1, 0)


@pytest.mark.parametrize(("short", "full", "is_one"), [
    ("pr", "press", False), ("prs", "press", True), ("vl", "valve", True), ("vae", "valve", False), ("val", "valve", True), ("va", "valve", False), ("v", "valve", False), ("vlv2", "valve", False),
    ("vlv", "valve2", False), ("valve", "valve", False), ("vkv", "valve", False), ("igntr", "igniter", True), ("ign", "igniter", True), ("abt", "abort", True), ("art", "abort", True), ("lvv", "valve", False)])
def test_what_abbreviates_a_word(short: str, full: str, is_one: bool) -> None:
    assert wordlikeness.abbreviates(short, full) == is_one


@pytest.mark.parametrize(("heard", "mended"), [("twanty", "twenty"), ("thrity", "thirty"), ("fourteen", "fourteen"), ("light", "light"), ("five", "five"), ("valve", "valve"), ("fifdy", "fifty"), ("sevn", "sevn")])
def test_a_word_that_is_nearly_a_number_and_nothing_else_is_that_number(heard: str, mended: str) -> None:
    assert wordlikeness.mended_number(heard) == mended


def compared(*texts: str, logs: list[int] | None = None) -> likeness.Likeness:
    return likeness.compare([(t, ()) for t in texts], np.array(logs or [0] * len(texts)), lexicon.build(VENTS, a_count()))


def of(table: np.ndarray, alike: likeness.Likeness, utterance: int = 0) -> list[float]:
    return [round(float(v), 5) for v in table[alike.text_of[utterance]]]


def test_every_figure_of_a_text_that_says_just_one_step() -> None:
    a = compared("open north vent valve 1")
    two = log(2)  # one text in the log: each word is heard once of one, so it tells log(1 + 1)
    assert of(a.coverage, a) == [1.0, 0.5, 0.0] and of(a.explained, a) == [1.0, round(2 / 3, 5), 0.0] and of(a.conflict, a) == [0.0, 1.0, 0.0]
    assert of(a.evidence, a) == pytest.approx([5 * two, 4 * two, 0.0], abs=1e-4) and of(a.lacking, a) == pytest.approx([0.0, two, 2 * two], abs=1e-4)
    assert (a.content.tolist(), a.repeats.tolist(), a.garbled.tolist()) == ([3.0], [1.0], [0.0])


def test_words_heard_often_tell_less() -> None:
    a = compared("arm igniter", "arm igniter", "arm", "gulls")
    assert a.repeats.tolist() == [2, 2, 1, 1] and of(a.evidence, a) == pytest.approx([0, 0, log(5 / 3) + log(5 / 2)], abs=1e-4)
    assert of(a.coverage, a, 2) == [0, 0, 0.5] and of(a.lacking, a, 2) == pytest.approx([5 * log(5), 5 * log(5), log(5 / 2)], abs=1e-4)  # never heard is as rare as once
    assert of(a.coverage, a, 3) == [0, 0, 0] and of(a.lacking, a, 3) == [0, 0, 0]  # it resembles nothing
    assert a.content.tolist() == [2.0, 2.0, 1.0, 0.5]  # an unknown word may be noise


def test_a_log_is_garbled_by_the_share_of_near_hits() -> None:
    a = compared("arm igniter", "arm ignitor now", "open north vent valve 1", logs=[0, 1, 0])
    assert a.garbled.tolist() == pytest.approx([0.0, 0.5, 0.0])


def test_a_misheard_word_is_worth_its_likeness() -> None:
    a = compared("arm ignita")
    like = float(wordlikeness.likeness(["ignita"], ["ignit"])[0, 0])
    assert of(a.coverage, a)[2] == pytest.approx(0.5 + 0.5 * like, abs=1e-4) and like > 0.6


def test_a_part_of_a_terms_spoken_form_is_part_of_a_hit() -> None:
    """Of 'liquid oxygen' for LOX a recogniser may leave 'oxygen': six tenths of the word."""
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Open LOX", "2 | -50 | TC>RNG | Arm igniter"), a_count())
    got = likeness.compare([("open oxygen", ()), ("open liquid oxygen", ())], np.array([0, 0]), lex)
    assert got.coverage[got.text_of[0]].tolist() == pytest.approx([0.5 + 0.5 * 0.6, 0.0]) and got.coverage[got.text_of[1]].tolist() == pytest.approx([1.0, 0.0])


def test_contradictions_are_counted() -> None:
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Open valve 1", "2 | -50 | TC>PROP | Close link A", "3 | -40 | TC>PROP | Arm igniter"), a_count())
    def clash(text: str) -> list[float]:
        return conflict.clashes([lex.canonical(text)], lex)[0].tolist()

    assert clash("close valve 1") == [1, 0, 0] and clash("open valve 1") == [0, 1, 0] and clash("close valve 2") == [2, 0, 0] and clash("open close valve") == [0, 0, 0]
    assert clash("valve 120") == [0, 0, 0] and clash("valve 12") == [1, 0, 0] and clash("link b") == [0, 1, 0] and clash("disarm igniter") == [0, 0, 1] and clash("close link k") == [1, 0, 0]


def test_the_word_of_a_step_worded_alike_but_for_it() -> None:
    """'Core' speaks against 'upper', however the rest is worded; a unit's number or an opposite is a contradiction already, a word of both says nothing."""
    lex = lexicon.build(a_plan("1 | -60 | TC>PROP | Stop core topping", "2 | -50 | TC>PROP | Stop upper topping | terminate upper fill", "3 | -40 | TC>PROP | Open vent 1", "4 | -30 | TC>PROP | Open vent 2",
                               "5 | -20 | TC>RNG | Close vent 2", "6 | -10 | TC>RNG | Arm igniter"), a_count())

    def other(text: str) -> list[float]:
        got = likeness.compare([(text, ())], np.zeros(1, dtype=np.int64), lex)
        return [round(float(v), 2) for v in got.fellow[got.text_of[0]]]

    assert other("core topping stopped") == [0, 1, 0, 0, 0, 0] and other("terminate core fill") == [0, 1, 0, 0, 0, 0] and other("stop upper topping") == [1, 0, 0, 0, 0, 0]
    assert other("stop core and upper topping") == [0] * 6 and other("stop topping") == [0] * 6 and other("close vent 2") == [0] * 6
    half = other("stop coar topping")
    assert 0.5 < half[1] < 1.0 and half[0] == 0  # misheard, as much as it is like it


def decisions(*rows: tuple[str, int, str, str | None, int | None]) -> pd.DataFrame:
    return pd.DataFrame([{"step": s, "pass": p, "decision": d, "source": src, "line": line, "note": None, "row_line": k + 2} for k, (s, p, d, src, line) in enumerate(rows)]).astype({"line": "Int64"})


def test_what_a_decision_pins_rules_out_and_settles() -> None:
    log = a_log("-60 | PROP>TC | report | a", "-50 | PROP>TC | report | b", "-40 | PROP>TC | report | c")
    log.loc[1, "line"] = 1  # two sentences of one line
    got = decide.pins(decisions(("1", 1, "matched", "notes.txt", 1), ("2", 1, "missed", None, None), ("3", 1, "ignore", "notes.txt", 3), ("3", 2, "missed", None, None),
                                ("3", 1, "matched", "notes.txt", 99)), due_of(VENTS), log)
    assert (got.pinned, got.excluded, got.settled, got.unseen) == ({(0, 0), (1, 0)}, {(2, 2)}, {0, 1}, {1})
    assert [(p.file, p.line, p.code, p.text) for p in got.problems] == [
        ("decisions.csv", 5, "decision-step-not-due", "step 3 was not due in pass 2"), ("decisions.csv", 6, "decision-no-such-line", "notes.txt has no usable line 99")]
    alone = decide.pins(decisions(("3", 1, "ignore", None, None)), due_of(VENTS), log)
    assert (alone.settled, alone.unseen, alone.excluded) == ({2}, {2}, frozenset())


def test_decisions_outweigh_every_gain() -> None:
    made = decide.Pins(frozenset({(0, 0)}), frozenset({(3, 2)}), frozenset(), frozenset({1}), ())
    pairs = (np.array([0, 1, 0, 2, 3, 4]), np.array([0, 0, 2, 1, 2, 2]))
    assert decide.weigh(pairs, np.array([1.0, 2, 3, 4, 5, 6]), made, 100.0).tolist() == [100, -100, -100, -100, -100, 6]


def test_every_column_of_the_matches_and_verdicts() -> None:
    log = a_log("-59 | TC>PROP | call | PROP, TC, open north vent valve 1", "-55 | PROP>TC | report | north vent valve 1 is open", "-39 | RNG>TC | report | igniter armed", "-20 | TC> | note | gulls")
    got = matched(VENTS, log)
    first = got.verdicts.iloc[0]
    assert (first["step"], first["pass"], first["seen"], first["decided"], first["event_call"], first["event_report"], first["times_seen"]) == ("1", 1, True, False, 0, 1, 1)
    assert pd.isna(first["event_response"]) and pd.isna(first["event_record"]) and 0.9 < first["confidence"] <= 1.0
    assert got.verdicts["seen"].tolist() == [True, False, True] and got.verdicts["times_seen"].tolist() == [1, 0, 1]
    chosen = got.matches[got.matches["rank"] == 1]
    assert chosen[["step", "pass", "event", "part"]].values.tolist() == [["1", 1, 0, "call"], ["1", 1, 1, "report"], ["3", 1, 2, "report"]]
    rivals = got.matches[got.matches["rank"] > 1]
    assert (rivals["score"] >= 0.02).all() and (rivals.groupby("step")["score"].diff().dropna() <= 0).all()
    assert got.beginnings[["step", "pass", "event"]].values.tolist() == [["1", 1, 0], ["1", 1, 1], ["3", 1, 2]] and got.beginnings["confidence"].between(0.9, 1.0).all()
    assert got.beginnings["confidence"].iloc[0] == first["confidence"]
