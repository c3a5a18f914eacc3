"""A simulated count folder keeps the contract, and its truth agrees with its files."""

from __future__ import annotations

import csv
import json
import re
import tomllib
from collections import Counter
from datetime import datetime
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest

from aftercount.errors import UsageError
from aftercount.rehearse.options import RehearsalOptions, RehearsalTruth
from aftercount.rehearse.procedure import HOLD_CLEAR_S, build
from aftercount.rehearse.scenario import FITTING, HELD_BACK, SCENARIOS, multiply, scenario
from aftercount.rehearse.write import rehearse

PLAN_COLUMNS = {"step", "t", "action", "kind", "duration", "into_hold", "by", "to", "early_s", "late_s", "after", "response_s", "says",
                "must", "phase"}


def _us(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


def _made(tmp_path: Path, seed: int = 3, **options: Any) -> RehearsalTruth:
    return rehearse(tmp_path / f"count-{seed}", seed=seed, options=RehearsalOptions(**options))


def _bytes(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())}


def test_same_seed_same_bytes_other_seed_other_count(tmp_path: Path) -> None:
    options = RehearsalOptions(scenario="siskin", nets=2, word_error=0.2)
    for place, seed in (("a", 5), ("b", 5), ("c", 6)):
        rehearse(tmp_path / place / "count", seed=seed, options=options)
    assert _bytes(tmp_path / "a" / "count") == _bytes(tmp_path / "b" / "count")
    assert (tmp_path / "a" / "count.truth.json").read_bytes() == (tmp_path / "b" / "count.truth.json").read_bytes()
    assert (tmp_path / "a" / "count" / "net1.vtt").exists() or (tmp_path / "a" / "count" / "net1.srt").exists()
    assert _bytes(tmp_path / "a" / "count") != _bytes(tmp_path / "c" / "count")


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_scenario_makes_a_count_folder(tmp_path: Path, name: str) -> None:
    truth = _made(tmp_path, scenario=name, list_logs=True)
    count = tomllib.loads((truth.folder / "count.toml").read_text(encoding="utf-8"))
    assert count["count"]["id"] == truth.folder.name
    assert {e["path"] for e in count["log"]} == {p.name for p in truth.folder.iterdir()} - {"count.toml", "plan.csv"}
    with (truth.folder / "plan.csv").open(encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(f))
    assert set(rows[0]) == PLAN_COLUMNS
    ids = [r["step"] for r in rows]
    assert len(ids) == len(set(ids))
    stations = set(count["stations"])
    assert {r["by"] for r in rows if r["by"]} | {r["to"] for r in rows if r["to"]} <= stations
    known = set(ids)
    assert all(set(r["after"].split()) <= known for r in rows)
    assert {s["step"] for s in truth.steps} == {r["step"] for r in rows if r["kind"] != "hold"}


@pytest.mark.parametrize("size", [20, 60, 82, 150, 300])
def test_size_is_met_and_plan_does_not_hang_on_the_seed(size: int) -> None:
    for name in SCENARIOS:
        assert len(build(scenario(name), size).steps) == size
        assert build(scenario(name), size) == build(scenario(name), size)


def test_fitting_and_held_back_share_no_wording() -> None:
    """No step of a held-back plan is worded as one that weights are fitted on, and few words tell of both."""
    assert not set(FITTING) & set(HELD_BACK) and len(SCENARIOS) >= 12
    fitted = {s.text for name in FITTING for s in build(scenario(name), 100).steps if s.kind == "step"}
    held = {s.text for name in HELD_BACK for s in build(scenario(name), 100).steps if s.kind == "step"}
    assert len(held & fitted) <= 0.01 * len(held)
    assert {scenario(n).habit.call for n in HELD_BACK} - {scenario(n).habit.call for n in FITTING}


@pytest.mark.parametrize(("story", "outcome"), [("clean", "liftoff"), ("hold", "liftoff"), ("recycle", "liftoff"), ("scrub", "scrub"),
                                                ("cutoff", "cutoff")])
def test_story_decides_the_outcome(tmp_path: Path, story: str, outcome: str) -> None:
    for seed in range(6):
        truth = _made(tmp_path, seed, story=story)
        assert truth.outcome == outcome
        passes = {s["pass"] for s in truth.data["clock"]}
        assert passes == ({1, 2} if story == "recycle" else {1})
        assert ("not_reached" in {s["status"] for s in truth.steps}) == (story not in ("clean", "hold"))
        unplanned = [h for h in truth.holds if h["kind"] == "unplanned"]
        assert bool(unplanned) == (story != "clean")
        if outcome != "liftoff":
            assert truth.data["t0_actual"] is None and truth.holds[-1]["end_utc"] is None


def test_clock_is_contiguous_and_the_slip_is_the_hold_time(tmp_path: Path) -> None:
    """T-0 moves by exactly what holds and recycles cost beyond the plan."""
    for seed in range(12):
        truth = _made(tmp_path, seed, scenario="redshank", story="recycle" if seed % 2 else "hold")
        rows = truth.data["clock"]
        for a, b in zip(rows, rows[1:], strict=False):
            assert a["end_utc"] == b["start_utc"]
            assert a["end_t_s"] == b["start_t_s"] or b["pass"] == a["pass"] + 1
        for row in rows:
            ran = row["end_t_s"] - row["start_t_s"]
            wall = _us(row["end_utc"]) - _us(row["start_utc"])
            assert ran == pytest.approx(wall if row["state"] == "counting" else 0.0, abs=1e-5)
        count = tomllib.loads((truth.folder / "count.toml").read_text(encoding="utf-8"))["count"]
        delay = _us(truth.data["t0_actual"]) - count["t0"].timestamp()
        held = sum(h["duration_s"] - h["planned_s"] for h in truth.holds)
        rerun = sum(h["t_s"] - h["recycled_to_t_s"] for h in truth.holds if h["recycled_to_t_s"] is not None)
        again = sum(h["planned_s"] for h in truth.holds if h["pass"] > 1)
        assert delay == pytest.approx(held + rerun + again, abs=1e-3)


def test_done_steps_carry_the_deviation_their_time_gives(tmp_path: Path) -> None:
    truth = _made(tmp_path, 8, scenario="hoopoe", steps=120, story="clean", deviations=3.0)
    plan = {s.step: s for s in build(scenario("hoopoe"), 120).steps}
    seen: Counter[str] = Counter()
    for row in truth.steps:
        if row["status"] != "done":
            continue
        wall = _us(row["actual_utc"]) - _us(row["due_utc"])
        if plan[row["step"]].into is not None:
            assert row["deviation_s"] == pytest.approx(wall, abs=2e-3)
        p = plan[row["step"]]
        assert row["timing"] == ("early" if row["deviation_s"] < -p.early_s else "late" if row["deviation_s"] > p.late_s else "on_time")
        seen[row["timing"]] += 1
    assert seen["on_time"] > seen["late"] > 0 and seen["early"] > 0


def test_each_stamp_is_the_truth_less_the_offset(tmp_path: Path) -> None:
    truth = _made(tmp_path, 2, logs=("sequencer.jsonl", "transcript.srt"), offsets_s=(12.5, -40.0), drifts_ppm=(100.0, 0.0), transcript_start=True)
    records = [json.loads(line) for line in (truth.folder / "sequencer.jsonl").read_text(encoding="utf-8").splitlines()]
    key = next(k for k in records[0] if k in ("time", "ts", "utc"))
    source = next(s for s in truth.data["sources"] if s["source"] == "sequencer.jsonl")
    assert (source["offset_s"], source["drift_ppm"]) == (12.5, 100.0)
    rows = [r for r in truth.data["lines"] if r["source"] == "sequencer.jsonl"]
    assert len(rows) == len(records)
    for row in rows[:: len(rows) // 20]:
        own = _us(records[row["line"] - 1][key])
        ran = _us(row["utc"]) - _us(source["offset_at_utc"])
        assert _us(row["utc"]) - own == pytest.approx(12.5 + ran * 100e-6, abs=2e-3)


def test_a_clock_set_anew_half_way(tmp_path: Path) -> None:
    truth = _made(tmp_path, 2, logs=("sequencer.csv", "notes.utc"), reset_log=1, clocks_agree=True)
    source = next(s for s in truth.data["sources"] if s["source"] == "notes.txt")
    assert source["reset"]["at_line"] > 5 and abs(source["reset"]["offset_s"]) >= 20


def test_lines_name_what_the_file_holds(tmp_path: Path) -> None:
    truth = _made(tmp_path, 4, logs=("sequencer.parquet", "transcript.webvtt", "notes.zulu"), speakers=True, list_logs=True)
    cues = (truth.folder / "net1.vtt").read_text(encoding="utf-8").splitlines()
    notes = (truth.folder / "notes.txt").read_text(encoding="utf-8").splitlines()
    table = pq.read_table(truth.folder / "sequencer.parquet").to_pylist()
    for row in truth.data["lines"]:
        if row["source"] == "net1.vtt":
            assert "-->" in cues[row["line"] - 1]
            assert any(row["said"] in text for text in cues[row["line"]:row["line_end"]])
        elif row["source"] == "notes.txt":
            assert re.match(r"\d{4}:\d\dZ ", notes[row["line"] - 1])
        elif row["station"] != "CLK":
            assert table[row["line"] - 1]["station"] == row["station"]
    parts = {(r["source"], r["part"]) for r in truth.data["lines"]}
    assert {("net1.vtt", "call"), ("net1.vtt", "response"), ("net1.vtt", "report"), ("sequencer.parquet", "record")} <= parts
    assert any(r["near_miss"] and r["step"] is None for r in truth.data["lines"])


def test_share_of_false_marks(tmp_path: Path) -> None:
    truth = _made(tmp_path, 9, steps=150, false_marks=0.33, logs=("transcript",), story="hold")
    marks = truth.data["marks"]
    assert sum(m["false"] for m in marks) / len(marks) == pytest.approx(0.33, abs=0.06)


def test_called_station_comes_first() -> None:
    """F5: called station, then the calling station; some teams say 'this is', some drop it."""
    forms = {scenario(n).habit.call for n in SCENARIOS}
    assert "{to} this is {by}, {text}" in forms and "{to}, {by}, {text}" in forms
    assert sum(f.index("{to}") < f.index("{by}") for f in forms if "{by}" in f) >= 4


def test_multiply() -> None:
    assert multiply("open {LOX|fuel} vent {1..2}") == ["open LOX vent 1", "open LOX vent 2", "open fuel vent 1", "open fuel vent 2"]


@pytest.mark.parametrize("bad", [{"scenario": "dodo"}, {"story": "epic"}, {"word_error": 0.9}, {"logs": ("diary",)}, {"logs": ("notes.srt",)},
                                 {"steps": 2}, {"nets": 9}])
def test_options_that_cannot_be_met(tmp_path: Path, bad: dict[str, Any]) -> None:
    with pytest.raises(UsageError, match="expected"):
        rehearse(tmp_path / "c", options=RehearsalOptions(**bad))
    assert not (tmp_path / "c").exists()


def test_a_folder_in_use_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(UsageError, match="new or empty"):
        rehearse(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_old_syslog_lines(tmp_path: Path) -> None:
    truth = _made(tmp_path, 7, logs=("sequencer.rfc3164",), steps=20)
    lines = (truth.folder / "sequencer.log").read_text(encoding="utf-8").splitlines()
    assert all(re.match(r"<134>[A-Z][a-z]{2} [ \d]\d \d\d:\d\d:\d\d [\w-]+ [\w-]+: \S", line) for line in lines)
    assert any("COUNTING" in line for line in lines)


def test_truth_file_is_the_truth_returned(tmp_path: Path) -> None:
    truth = _made(tmp_path, 1, scenario="hoopoe", story="scrub")
    assert json.loads(truth.file.read_text(encoding="utf-8")) == json.loads(json.dumps(truth.data))


def test_poll_answers_are_kept(tmp_path: Path) -> None:
    truth = _made(tmp_path, 1, scenario="redshank", story="clean", steps=100)
    polls = {s.step for s in build(scenario("redshank"), 100).steps if s.kind == "poll"}
    asked = {p["step"] for p in truth.data["polls"]}
    assert asked == polls and len(truth.data["polls"]) > 8
    assert {p["answer"] for p in truth.data["polls"]} <= {"go", "no go"}


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_step_is_planned_on_the_edge_of_a_hold(name: str) -> None:
    """Whether such a step falls before or after the hold would be anybody's guess; those inside it end before it does."""
    for size in (20, 60, 120, 300):
        procedure = build(scenario(name), size)
        for hold in procedure.holds:
            assert all(abs(s.t - hold.t) >= HOLD_CLEAR_S for s in procedure.steps if s.into is None)
            assert all(30 <= s.into <= hold.duration - 45 for s in procedure.steps if s.into is not None and s.t == hold.t)
        plain = [s.t for s in procedure.steps if s.into is None]
        assert plain == sorted(plain) and procedure.start_t < plain[0]


@pytest.mark.parametrize("story", ["clean", "hold", "recycle", "cutoff"])
def test_a_wet_dress_never_flies(tmp_path: Path, story: str) -> None:
    for seed in range(4):
        truth = _made(tmp_path, seed, scenario="godwit", story=story)
        assert truth.outcome == "cutoff" and truth.data["clock"][-1]["end_t_s"] < 0
        assert (len({s["pass"] for s in truth.data["clock"]}) == 2) == (story == "recycle")


def test_people_have_words_of_their_own_for_some_steps_and_orders_besides_the_plans(tmp_path: Path) -> None:
    plain, owned = (_made(tmp_path / name, logs=("transcript.srt",), **more) for name, more in (("plain", {}), ("owned", {"own_words": 1.0, "errands": 0.5})))
    actions = {row["action"].lower() for row in csv.DictReader((plain.folder / "plan.csv").read_text().splitlines())}
    words = {word for action in actions for word in action.split() if len(word) > 3}
    shares = []
    for made in (plain, owned):
        spoken = [line["said"].lower().split() for line in made.data["lines"] if line["part"] in ("call", "report") and line["step"] and line.get("said")]
        shares.append(sum(word in words for line in spoken for word in line) / max(1, len(spoken)))
    assert shares[1] < shares[0] / 2
    assert len((owned.folder / "net1.srt").read_text()) > 1.2 * len((plain.folder / "net1.srt").read_text())
    steps = [{k: v for k, v in step.items() if k in ("step", "pass", "status", "due_utc")} for step in plain.steps]
    assert steps == [{k: v for k, v in step.items() if k in ("step", "pass", "status", "due_utc")} for step in owned.steps]
