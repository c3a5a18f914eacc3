"""Why a hold was, in the words of the loop; and what the SOURCES table says of each log: every column, every note."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from aftercount import timeline
from aftercount.timeline.evidence import MARK_WEIGHT, gather, spoken
from aftercount.timeline.model import (
    ANY,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    MARK,
    RESUME_CALL,
    TARGET,
)
from timeline.heard import Heard

HELD = """
    loop 14:20:00 | T-00:10:00 counting
    loop 14:22:00 | hold
    loop 14:23:00 | T-00:08:00 holding
    loop 14:25:00 | T-00:08:00 holding
    loop 14:27:00 | resume
    loop 14:28:00 | T-00:07:00 counting
    loop 14:34:00 | T-00:01:00 counting
    loop 14:35:00 | liftoff
"""


def text(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def why(*said: tuple[str, str], kind: str = "note", steps: tuple[tuple[str, float, str], ...] = (), held: str = HELD, holds: str = "") -> tuple[str | None, str | None, str | None]:
    """(reason, basis, step waited for) of the first hold. said: (time, words) on another loop; steps: (step, count time, action)."""
    of = Heard("14:30:00", held + "".join(f"    pad {at} | {words}\n" for at, words in said), holds,
               steps=[{"step": s, "t_s": t, "action": a} for s, t, a in steps])
    speech = of.speech()
    speech.utterances.loc[speech.utterances["source"] == "pad", "kind"] = kind
    made: Any = (speech, of.sources(), of.count(), of.plan())
    row = timeline.rebuild(*made).holds.iloc[0]
    return text(row["reason"]), text(row["reason_basis"]), text(row["waiting_for"])


@pytest.mark.parametrize(("words", "reason"), [
    ("we hold for a boat in the box", "a boat in the box"), ("holding due to upper winds", "upper winds"), ("we hold because of a gull", "a gull"), ("hold was called for swell", "swell"),
    ("due to low bottle pressure. Stand by", "low bottle pressure"), ("because of wind at the tower, and more", "wind at the tower"), ("the reason for this hold is a stuck hatch", "a stuck hatch"),
    ("reason is a stuck hatch", "a stuck hatch"), ("reason: swell at the barge", "swell at the barge"), ("reasons - fog and rain", "fog and rain"), ("reason why we wait comes later", None),
    ("caused by a blown fuse; more later", "a blown fuse"), ("we are waiting on the tide", "the tide"), ("waiting for the barge! now", "the barge"), ("on account of lightning", "lightning"),
    ("this hold is for the range", "the range"), ("working on a sensor issue", "sensor issue"), ("waiting for five minutes", None), ("waiting for about 10 minutes", None),
    ("due to 4.5 bar in the bottle", "4.5 bar in the bottle"),
    ("waiting for one two three four five six seven eight nine ten eleven twelve", "one two three four five six seven eight nine ten eleven twelve"),
    ("waiting for one two three four five six seven eight nine ten eleven twelve more", None), ("nice day for gulls", None)])
def test_how_people_tell_the_cause(words: str, reason: str | None) -> None:
    assert why(("14:22:30", words)) == (reason, "reported" if reason else None, None)


@pytest.mark.parametrize(("at", "found"), [("14:21:45", True), ("14:21:44", False), ("14:25:00", True), ("14:25:01", False)])
def test_a_cause_is_told_within_three_minutes_of_the_call(at: str, found: bool) -> None:
    assert why((at, "holding due to wind"))[0] == ("wind" if found else None)


def test_of_two_causes_the_first_told_counts() -> None:
    assert why(("14:23:30", "due to rain"), ("14:22:30", "due to wind"))[0] == "wind"


@pytest.mark.parametrize(("at", "words", "reason"), [
    ("14:26:00", "the boat is clear", "the boat"), ("14:26:00", "winds have been resolved", "winds"), ("14:26:00", "leak fixed", None), ("14:26:00", "leak now fixed", "leak"), ("14:26:00", "hatch was closed out", "hatch"),
    ("14:26:00", "bottle pressure is back in limits", "bottle pressure"), ("14:26:00", "no more issues with the hatch", "the hatch"), ("14:26:00", "no longer a concern on wind", "wind"),
    ("14:25:00", "the boat is clear", "the boat"), ("14:24:59", "the boat is clear", None), ("14:27:01", "the boat is clear", None)])
def test_what_was_cleared_in_the_two_minutes_before_the_resume_was_the_cause(at: str, words: str, reason: str | None) -> None:
    assert why((at, words))[0] == reason


def test_of_what_was_cleared_the_latest_counts_and_a_told_cause_comes_before_it() -> None:
    assert why(("14:25:30", "the boat is clear"), ("14:26:30", "the hatch is clear"))[0] == "the hatch"
    assert why(("14:22:30", "due to wind"), ("14:26:30", "the hatch is clear"))[0] == "wind"


@pytest.mark.parametrize(("at", "basis"), [("14:21:30", "reported"), ("14:21:29", None), ("14:23:00", "reported"), ("14:23:01", "worked"), ("14:27:00", "worked"), ("14:27:01", None)])
def test_trouble_told_half_a_minute_before_or_a_minute_after_the_call_is_likely_why_and_later_in_the_hold_what_was_worked(at: str, basis: str | None) -> None:
    assert why((at, "vent flow dropping"))[:2] == ("vent flow dropping" if basis else None, basis)


@pytest.mark.parametrize(("words", "reason"), [
    ("bearing sensor is reading high", "bearing sensor is reading high"), ("somebody is on the haul road", "somebody is on the haul road"), ("somebody on the haul road", "somebody on the haul road"),
    ("TC, PROP, haul road is empty again", "haul road"), ("bilge level is back in the band", "bilge level"), ("hatch indicates closed now", "hatch"),
    ("that is good now", None), ("count is good now", None), ("lunch is good", None), ("leak fixed", None)])
def test_what_was_talked_of_in_the_hold_as_wrong_or_as_right_again(words: str, reason: str | None) -> None:
    assert why(("14:24:30", words))[0] == reason


@pytest.mark.parametrize("at", ["14:22:", "14:24:"])
def test_what_is_wrong_by_who_called_the_hold_comes_before_what_others_talk_of(at: str) -> None:
    heard = HELD.replace("    loop 14:25:00", f"    aux {at}10 | printer is broken\n    loop {at}30 | vent flow dropping\n    loop 14:25:00")
    of = Heard("14:30:00", heard, stations={"loop": "PROP", "aux": "TC"})
    made: Any = (of.speech(), of.sources(), of.count(), of.plan())
    assert timeline.rebuild(*made).holds.iloc[0]["reason"] == "vent flow dropping"


def test_what_was_wrong_comes_before_what_is_right_again() -> None:
    assert why(("14:24:10", "haul road is empty again"), ("14:24:30", "vent flow dropping"))[0] == "vent flow dropping"


@pytest.mark.parametrize(("call", "reason"), [("hold leaking valve", "leaking valve"), ("hold leaking valve, we are working it", "leaking valve"), ("hold somebody is calling a hold", None),
                                              ("hold stopped clock", None), ("hold wind looking at it", "wind")])
def test_what_the_call_itself_names(call: str, reason: str | None) -> None:
    got = why(held=HELD.replace("| hold\n", f"| {call}\n"))
    assert got[:2] == (reason, "called" if reason else None)


def test_another_call_of_the_hold_that_names_its_cause() -> None:
    assert why(held=HELD.replace("    loop 14:23:00 |", "    pad 14:22:40 | hold ice on the mast\n    loop 14:23:00 |"))[:2] == ("ice on the mast", "reported")
    assert why(held=HELD.replace("    loop 14:22:00 |", "    pad 14:21:50 | hold ice on the mast\n    loop 14:22:00 |"))[0] == "ice on the mast"


MAST = ("M", -480.0, "Swing the umbilical mast")


@pytest.mark.parametrize(("cause", "steps", "step"), [
    ("hold umbilical mast jammed", (MAST,), "M"), ("hold mast jammed", (MAST,), None), ("hold umbilical mast jammed", (("M", -420.0, "Swing the umbilical mast"),), "M"),
    ("hold umbilical mast jammed", (("M", -419.0, "Swing the umbilical mast"),), None), ("hold umbilical mast jammed", (("M", -900.0, "Swing umbilical mast"), ("N", -450.0, "Check umbilical mast")), "N"),
    ("hold umbilical mast jammed", (("M", -600.0, "Swing umbilical mast"), ("N", -450.0, "Check umbilical mast")), "M"),
    ("hold umbilical mast jammed", (("M", -601.0, "Swing umbilical mast"), ("N", -450.0, "Check umbilical mast")), "N"),
    ("hold umbilical mast jammed", (("M", -900.0, "Swing umbilical mast out of the way slowly"), ("N", -500.0, "Arm it")), None),
    ("hold mast retracted umbilical", (("M", -900.0, "Retract the umbilical mast"),), "M"), ("hold the mast is on it now", (("M", -900.0, "Now it is on the mast"),), None)])
def test_the_step_that_the_hold_was_waiting_for(cause: str, steps: tuple, step: str | None) -> None:
    """Due by a minute after the hold's T-8:00; half of its words, two at least; one due within two minutes before comes first, else the latest."""
    assert why(held=HELD.replace("| hold\n", f"| {cause}\n"), steps=steps)[2] == step


@pytest.mark.parametrize(("at", "kind", "expected"), [
    ("14:26:00", "report", ("umbilical mast has swung", "worked", "M")), ("14:26:00", "response", ("umbilical mast has swung", "worked", "M")), ("14:26:00", "note", (None, None, None)),
    ("14:24:00", "report", (None, None, None))])
def test_what_was_reported_done_just_before_the_resume_was_waited_for(at: str, kind: str, expected: tuple) -> None:
    assert why((at, "umbilical mast has swung ."), kind=kind, steps=(MAST,)) == expected


@pytest.mark.parametrize(("resumed", "expected"), [("14:32:05", (None, None, None)), ("14:32:10", ("umbilical mast has swung", "worked", "M"))])
def test_a_built_in_hold_that_was_kept_needs_no_cause(resumed: str, expected: tuple) -> None:
    held = f"""
    loop 14:20:00 | T-00:10:00 counting
    loop 14:22:00 | T-00:08:00 holding
    loop 14:25:00 | T-00:08:00 holding
    loop {resumed} | resume
    loop 14:33:{int(resumed[-2:]):02d} | T-00:07:00 counting
    loop 14:40:{int(resumed[-2:]):02d} | liftoff
"""
    assert why(("14:31:30", "umbilical mast has swung"), kind="report", steps=(MAST,), held=held, holds="-00:08:00 0:10:00") == expected


@pytest.mark.parametrize(("words", "reason"), [
    ("hold extended, no lock on the beacon", "no lock on the beacon"), ("we will extend the hold, surf is swapping the beacon", "surf is swapping the beacon"),
    ("remaining in the hold due to fog", "fog"), ("we'll stay in the hold for now, visitor at the fence", "visitor at the fence"), ("staying in the hold for now", None), ("hold is extended ten minutes", None), ("we extend the hold by five minutes", None)])
def test_why_a_built_in_hold_went_on(words: str, reason: str | None) -> None:
    held = """
    loop 14:20:00 | T-00:10:00 counting
    loop 14:22:00 | T-00:08:00 holding
    loop 14:25:00 | T-00:08:00 holding
    loop 14:39:00 | resume
    loop 14:40:00 | T-00:07:00 counting
    loop 14:47:00 | liftoff
"""
    assert why(("14:31:30", words), held=held, holds="-00:08:00 0:10:00")[:2] == (reason, "reported" if reason else None)
    assert why(("14:45:30", words), held=held, holds="-00:08:00 0:10:00")[0] is None  # said when it was over


def test_a_call_of_nobody_known_is_not_the_machines() -> None:
    """A machine's record says that the clock stopped; somebody was heard calling it, and who that was no log tells."""
    of = Heard("14:30:00", HELD + "    seq 14:22:00 | hold\n    seq 14:27:00 | resume\n", stations={"seq": "CLK"}, media={"seq": "machine"})
    row = of.timeline().holds.iloc[0]
    assert (text(row["called_by"]), text(row["resumed_by"])) == (None, None)


def test_who_called_and_who_resumed() -> None:
    of = Heard("14:30:00", HELD + "    pad 14:21:50 | hold\n    pad 14:27:09 | resume\n    seq 14:21:46 | hold\n    seq 14:26:50 | resume\n", stations={"loop": "TC", "pad": "PROP", "seq": "CLK"},
               media={"seq": "machine"})
    row = of.timeline().holds.iloc[0]
    assert (row["called_by"], row["resumed_by"]) == ("PROP", "TC")  # people call; of two the first
    machine = Heard("14:30:00", HELD, stations={"loop": "CLK"}, media={"loop": "machine"}).timeline().holds.iloc[0]
    assert (machine["called_by"], machine["resumed_by"]) == ("CLK", "CLK")


def test_who_called_may_be_a_minute_off_in_a_log_kept_to_the_minute() -> None:
    of = Heard("14:30:00", HELD + "    pad 14:21:10 | hold\n", stations={"pad": "PROP"}, stamps={"pad": 30.0}, media={"loop": "machine"})
    assert of.timeline().holds.iloc[0]["called_by"] == "PROP"
    exact = Heard("14:30:00", HELD + "    pad 14:21:10 | hold\n", stations={"pad": "PROP"}, media={"loop": "machine"})
    assert exact.timeline().holds.iloc[0]["called_by"] != "PROP"


# --- sources ---

COUNTED = [("14:20:00", "-00:10:00"), ("14:22:00", "-00:08:00"), ("14:24:00", "-00:06:00"), ("14:26:00", "-00:04:00"), ("14:28:00", "-00:02:00"), ("14:29:00", "-00:01:00"), ("14:30:30", "+00:00:30")]
LOOP = "".join(f"    seq {at} | stamp T{t}\n" for at, t in COUNTED)


def shifted(at: str, s: float) -> str:
    moved = pd.Timestamp(f"2031-04-18T{at}Z") + pd.Timedelta(seconds=s)
    return moved.strftime("%H:%M:%S.%f")


def source(name: str, heard: str, **options: Any) -> dict[str, Any]:
    got = Heard("14:30:00", LOOP + heard, media={"seq": "machine"}, **options).timeline().sources.set_index("source").loc[name]
    return {k: None if pd.isna(v) else v for k, v in got.items()}


def test_every_column_of_a_log_that_is_off_by_forty_seconds() -> None:
    row = source("pad", "".join(f"    pad {shifted(at, -40)} | T{t} counting\n" for at, t in COUNTED))
    assert (row["format"], row["time"], row["entries"], row["rejected"], row["reference"], row["note"]) == ("notes", "utc", 7, 0, False, None)
    assert row["offset_s"] == pytest.approx(40.6, abs=0.5)  # a keeper is late, if by little where he is so evenly, so the clock is off by that more than the entries
    assert abs(row["drift_ppm"]) < 1.0 and 0.0 < row["offset_sigma_s"] < 1.5
    assert abs((row["offset_at_utc"] - pd.Timestamp("2031-04-18T14:20:00Z")).total_seconds()) < 2.0
    ref = source("seq", "")
    assert (ref["reference"], ref["offset_s"], ref["note"], ref["drift_ppm"]) == (True, 0.0, None, 0.0)


@pytest.mark.parametrize(("hours", "note"), [(1.0, "wrong by -1.0 h: another zone?"), (-5.5, "wrong by +5.5 h: another zone?"), (0.2, "wrong by -720 s"), (0.1, None)])
def test_a_log_in_another_zone(hours: float, note: str | None) -> None:
    moved = "".join(f"    pad {shifted(at, -3600 * hours)} | T{t} counting\n" for at, t in COUNTED)
    assert source("pad", moved)["note"] == note


def test_logs_that_cannot_be_checked_or_placed() -> None:
    lone = source("pad", "    pad 14:25:00 | note\n    pad 14:26:00 | note\n")
    assert (lone["note"], lone["offset_s"], lone["offset_sigma_s"]) == ("shares nothing with another log: taken at its word", 0.0, 5.0)
    lost = source("rec", "    rec 25 | note\n    rec 60 | note\n", kinds={"rec": "elapsed"})
    assert (lost["note"], lost["offset_s"], lost["offset_sigma_s"], lost["drift_ppm"], lost["offset_at_utc"]) == ("no wall time and nothing shared with another log: not placed", None, None, None, None)
    counts = source("pad", "    pad T-00:05:00 | note\n", kinds={"pad": "count"})
    assert (counts["note"], counts["offset_s"]) == ("tells count time only: placed by the rebuilt clock", None)
    recorder = source("rec", "".join(f"    rec {60 + 120 * k} | T{t} counting\n" for k, (_, t) in enumerate(COUNTED[:5])), kinds={"rec": "elapsed"}, starts={})
    assert recorder["note"] is None and recorder["offset_s"] == pytest.approx(pd.Timestamp("2031-04-18T14:19:00Z").timestamp(), abs=1.5)


def test_a_clock_set_anew_half_way() -> None:
    early = "".join(f"    pad {shifted(f'14:2{m}:{s:02d}', -10)} | T-00:0{9 - m}:{60 - s if s else 0:02d} counting\n" if s else f"    pad {shifted(f'14:2{m}:00', -10)} | T-00:{10 - m:02d}:00 counting\n"
                    for m in range(5) for s in (0, 20, 40))
    late = "".join(f"    pad {shifted(f'14:2{m}:{s:02d}', -90)} | T-00:0{9 - m}:{60 - s if s else 0:02d} counting\n" if s else f"    pad {shifted(f'14:2{m}:00', -90)} | T-00:{10 - m:02d}:00 counting\n"
                   for m in range(5, 10) for s in (0, 20, 40))
    row = source("pad", early + late)
    assert row["note"] is not None and row["note"].startswith("its clock was reset by -80.") or row["note"].startswith("its clock was reset by -79.")
    assert row["offset_s"] == pytest.approx(90.0, abs=1.0)  # as it is since it was last set


def test_no_log_tells_utc() -> None:
    of = Heard("14:30:00", "".join(f"    rec {60 + 120 * k} | T{t} counting\n" for k, (_, t) in enumerate(COUNTED[:5])), kinds={"rec": "elapsed"})
    got = of.timeline()
    assert got.sources["note"].tolist() == ["no log tells UTC: laid on the scheduled T-0"] and not got.utc_known


# --- marks ---

def test_every_column_of_the_marks() -> None:
    """Ten marks a minute apart that agree, one false by three and a half minutes, and an L-time, which is no reading of the count."""
    minutes = [(f"14:{20 + k}:00", f"T-00:{10 - k:02d}:00 counting") for k in range(10)]
    lines = sorted([*minutes, ("14:24:30", "~T-00:09:00 holding"), ("14:25:30", "L-00:04:30")])
    of = Heard("14:30:00", "".join(f"    loop {at} | {words}\n" for at, words in lines))
    marks = of.timeline().marks
    assert marks["mark"].tolist() == marks["event"].tolist() == list(range(12)) and marks["form"].unique().tolist() == ["minus"]
    assert [f"{t:%H:%M:%S}" for t in marks["utc"]] == [at for at, _ in lines]
    assert marks["kept"].tolist() == [at != "14:24:30" for at, _ in lines]
    assert marks["clock"].tolist() == ["L" if words.startswith("L") else "T" for _, words in lines] and marks["sigma_s"].unique().tolist() == [1.0]
    assert marks["grade"].tolist() == ["doubtful" if words.startswith("~") else "certain" for _, words in lines]
    assert marks["says"].tolist() == ["either" if words.startswith("L") else words.split()[1] for _, words in lines]
    assert marks["t_s"].tolist() == [*(-600.0 + 60 * k for k in range(5)), -540.0, -300.0, -270.0, *(-240.0 + 60 * k for k in range(4))]
    assert marks["residual_s"].tolist() == pytest.approx([*[0.0] * 5, -210.0, 0.0, float("nan"), *[0.0] * 4], abs=0.01, nan_ok=True)


# --- evidence ---

def evidence(heard: str, **options: Any) -> pd.DataFrame:
    """Every item as a row, in order of utterance."""
    of = Heard("14:30:00", heard, **options)
    speech: Any = of.speech()
    got = gather(speech, spoken(speech.utterances, of.sources(), of.t0_us), of.t0_us)
    columns = ("utterance", "own", "t", "sigma", "weight", "slack", "kind", "says", "row")
    return pd.DataFrame({c: getattr(got, c) for c in columns}).sort_values("utterance", ignore_index=True)


def items(heard: str, **options: Any) -> list[tuple]:
    return [tuple(row) for row in evidence(heard, **options).drop(columns="utterance").itertuples(index=False, name=None)]


def test_what_each_thing_said_of_the_clock_tells() -> None:
    got = items("""
        loop 14:20:00 | T-00:10:00 counting
        loop 14:20:10 | ~T-00:09:50 holding
        loop 14:20:20 | hold
        loop 14:20:30 | resume
        loop 14:20:40 | recycle T-00:20:00
        loop 14:20:50 | liftoff
        loop 14:21:00 | L-00:12:00
        loop 14:21:10 | T0 14:40:00
        loop 14:21:20 | scrub
        loop 14:21:30 | recycle
    """)
    nan = float("nan")
    assert [g[:1] + g[2:] for g in got] == [
        (-600.0, 1.0, 8.0, 2.0, MARK, COUNTING, 0), (-590.0, 1.0, 2.0, 2.0, MARK, HOLDING, 1), (-580.0, 1.0, 10.0, 10.0, HOLD_CALL, ANY, 0), (-570.0, 1.0, 10.0, 10.0, RESUME_CALL, ANY, 1),
        (-560.0, 1.0, 5.0, 10.0, MARK, HOLDING, 2), (-550.0, 1.5, 10.0, 10.0, MARK, COUNTING, 3), (-540.0, 5.0, 1.5, 10.0, TARGET, ANY, 2), (-530.0, 5.0, 1.5, 10.0, TARGET, ANY, 3)]
    assert [g[1] for g in got] == pytest.approx([-600, -590, nan, nan, -1200, 0, 180, 600], nan_ok=True)


def test_what_was_heard_weighs_less_than_what_was_typed() -> None:
    heard = "loop 14:20:00 | T-00:10:00 counting\nloop 14:21:00 | ~T-00:09:00"
    assert [g[3] for g in items(heard)] == [8.0, 2.0] and [g[3] for g in items(heard, media={"loop": "speech"})] == [6.0, 2.0]


def test_stamps_of_whole_seconds_are_cut_off() -> None:
    whole = items("seq 14:20:00 | stamp T-00:10:00\nseq 14:20:01 | stamp T-00:09:59\nnote 14:20:01 | note")
    assert [(g[1], g[2], g[3], g[4], g[5], g[6], g[7]) for g in whole] == [(-600.0, 0.58, MARK_WEIGHT["certain"], 1.0, MARK, ANY, -1), (-599.0, 0.58, 8.0, 1.0, MARK, ANY, -1)]
    assert [g[2] for g in items("seq 14:20:00 | stamp T-00:10:00\nseq 14:20:01 | stamp T-00:09:58.9")] == [0.05, 0.05]
    two = items("seq 14:20:00 | stamp T-00:10:00\nrec 14:20:01 | stamp T-00:09:58.9")
    assert [g[2] for g in two] == [0.58, 0.05]


def test_a_logs_kind_of_time_is_that_of_most_of_its_entries() -> None:
    of = Heard("14:30:00", "a 14:20:00 | note\na 14:21:00 | note\na 14:22:00 | note\nb 5 | note", kinds={"b": "elapsed"}, media={"b": "speech"})
    utterances = of.speech().utterances
    utterances.loc[2, "time_kind"] = "elapsed"
    got = spoken(utterances, of.sources(), of.t0_us)
    assert (got.time_kind, got.medium, got.names) == (["utc", "elapsed"], ["typed", "speech"], ["a", "b"])
    assert got.own.tolist() == pytest.approx([-600.0, -540.0, float("nan"), 5.0], nan_ok=True) and got.source.tolist() == [0, 0, 0, 1]
    assert np.isnan(got.counted).all() and (got.spread == 0).all()
    utterances.loc[1, "time_kind"] = "elapsed"  # not the first that comes, nor the last by name, but most
    utterances["own_us"] = utterances["own_us"].mask(utterances["utterance"] == 0)
    most = spoken(utterances, of.sources(), of.t0_us)
    assert most.time_kind == ["elapsed", "elapsed"] and np.isnan(most.own).tolist() == [True, False, False, False]
    utterances["time_kind"] = "none"
    assert spoken(utterances, of.sources(), of.t0_us).time_kind == ["none", "none"]
