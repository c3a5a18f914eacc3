"""One count written in many ways: the review stays what it was, or changes exactly as it must."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import aftercount as ac
from aftercount import count as counts
from aftercount import logs
from aftercount.countclock import to_us
from aftercount.rehearse.options import RehearsalOptions
from armour.changes import cut, late, moved, with_chatter
from armour.sameness import differences
from armour.scene import US, Scene, as_transcript
from armour.scenes import own, renamed, simulated

DAY_US = 86_400 * US
# A recycle, a hold in it, three logs, one of them a recording of unknown start.
OPTIONS = RehearsalOptions(steps=12, chatter=0.3, story="recycle", logs=("sequencer.csv", "notes.zulu", "transcript.webvtt"), transcript_start=False)
SEED = 6
# A log in two parts has two clocks to estimate, each from half the evidence, and another log may then tell a step's time best:
# figures move by what clocks are good to and by how late people write.
APART_S = 6.0
NEAR_LIMIT = ("clock_disagrees", "response", "response_late", "no_response")
NAMES = ("ALPHA", "PAD CHIEF", "E1", "M/V", "QUARRY", "OPS-3", "AM", "OTTER", "FUELS", "TIN", "WREN", "ZED")


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Scene], ac.Review]:
    @cache
    def review(text: str) -> ac.Review:
        return ac.review(scenes[text].write(tmp_path_factory.mktemp("count") / "count"))

    scenes: dict[str, Scene] = {}

    def of(scene: Scene) -> ac.Review:
        scenes[repr(scene)] = scene
        return review(repr(scene))

    return of


@pytest.fixture(scope="module", params=["own", "simulated"])
def scene(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Scene:
    return own() if request.param == "own" else simulated(tmp_path_factory.mktemp("sim") / "heron-7-t2", SEED, OPTIONS)


Seen = Callable[[Scene], ac.Review]


def test_what_happened_in_the_own_count_is_found(seen: Seen) -> None:
    """The review that the others are held against is a good one, and not an empty one."""
    found = seen(own())
    assert found.summary["outcome"] == "liftoff"
    assert [(h["t_s"], round(h["duration_s"])) for h in found.holds.to_dict("records")] == [(-1800, 600), (-660, 440)]
    status = found.steps.set_index("step")["status"]
    assert status["17"] == "skipped" and (status.drop("17") == "done").all()
    assert [(f["kind"], f["step"]) for f in found.summary["findings"] if f["step"]] == [("late", "12"), ("response_late", "10")]


@pytest.mark.parametrize("days", [-200, 3289])
def test_every_log_moved_by_days(scene: Scene, seen: Seen, days: int) -> None:
    """Into other years, leap days and summer times: only the date changes."""
    before, after = seen(scene), seen(moved(scene, days * DAY_US))
    assert differences(before, after) == []
    assert (to_us(after.clock["start_utc"]) - to_us(before.clock["start_utc"]) == days * DAY_US).all()


@pytest.mark.parametrize("seconds", [7 * 3600, -49_333])
def test_every_log_moved_by_hours(seen: Seen, seconds: int) -> None:
    """Also across midnight. (In the own count nobody says a time of day, which would have to change too.)"""
    before, after = seen(own()), seen(moved(own(), seconds * US))
    assert differences(before, after) == []
    assert (to_us(after.holds["start_utc"]) - to_us(before.holds["start_utc"]) == seconds * US).all()


@pytest.mark.parametrize("seconds", [-400, 18_000])
def test_one_log_moved_is_taken_up_by_its_offset(scene: Scene, seen: Seen, seconds: int) -> None:
    before = seen(scene)
    reference = before.sources.set_index("source")["reference"]
    log = next(log for log in scene.logs if not reference[log.path] and not (log.elapsed and log.start_us is None))
    after = seen(scene.with_log(late(log, seconds * US)))
    assert differences(before, after, within_s=0.5, without=("clock_disagrees",)) == []
    offsets = [review.sources.set_index("source")["offset_s"] for review in (before, after)]
    assert offsets[1][log.path] == pytest.approx(offsets[0][log.path] - seconds, abs=0.5)
    others = offsets[0].index != log.path
    assert np.allclose(offsets[1][others], offsets[0][others], atol=0.5)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_one_log_in_two(scene: Scene, seen: Seen, share: float) -> None:
    """A hold after the first part's end is a hold, and no reset of every other clock."""
    which = 0 if share != 0.7 else 1
    before, after = seen(scene), seen(cut(scene, scene.logs[which].name, share))
    assert differences(before, after, within_s=APART_S, confidence=0.1, without=NEAR_LIMIT) == []
    assert not after.sources["note"].fillna("").str.contains("reset").any()
    assert after.sources["entries"].sum() == before.sources["entries"].sum()


def test_the_order_of_the_logs_in_the_configuration(scene: Scene, seen: Seen) -> None:
    before, after = seen(scene), seen(replace(scene, logs=scene.logs[::-1]))
    assert differences(before, after) == []
    assert after.events["text"].tolist() == before.events["text"].tolist()
    assert after.summary["findings"] == before.summary["findings"]


def test_chatter(scene: Scene, seen: Seen) -> None:
    before, after = seen(scene), seen(with_chatter(scene, scene.logs[0].name, seed=3))
    assert len(after.events) > len(before.events) + 8
    assert differences(before, after, within_s=0.5, confidence=0.1, without=NEAR_LIMIT) == []


def test_stations_of_other_names(scene: Scene, seen: Seen) -> None:
    names = dict(zip(scene.stations, NAMES, strict=False))
    before, after = seen(scene), seen(renamed(scene, names))
    assert differences(before, after, within_s=0.5, confidence=0.05) == []
    assert [names.get(who, who) for who in before.holds["called_by"]] == after.holds["called_by"].tolist()
    heard = before.events["station"].map(names).fillna(before.events["station"])
    assert after.events["station"].fillna("").tolist() == heard.fillna("").tolist()


@pytest.mark.parametrize("form", ["csv", "jsonl"])
def test_notes_as_a_table(scene: Scene, seen: Seen, form: str) -> None:
    log = next(log for log in scene.logs if log.form == "notes")
    before, after = seen(scene), seen(scene.with_log(replace(log, form=form)))
    assert differences(before, after) == []
    assert after.events["text"].tolist() == before.events["text"].tolist()


@pytest.mark.parametrize("form", ["webvtt", "srt"])
def test_notes_as_the_captions_of_a_recording(seen: Seen, form: str) -> None:
    """What a recorder has is not what somebody typed: its times are better, and nothing else is different."""
    scene = own()
    before, after = seen(scene), seen(scene.with_log(as_transcript(scene.log("loop"), form, lead_us=60 * US)))
    assert differences(before, after, within_s=1.0, confidence=0.03) == []


@pytest.mark.parametrize("form", ["notes", "csv", "jsonl", "syslog", "webvtt", "srt"])
def test_reading_back_loses_nothing(form: str, tmp_path: Path) -> None:
    """Every entry that was written is an entry that was read, in every format."""
    log = own().log("loop")
    written = as_transcript(log, form) if form in ("webvtt", "srt") else replace(log, form=form)
    count, _ = counts.load(replace(own(), logs=(written,)).write(tmp_path / "count"))
    assert count is not None
    records, rejects, sources = logs.read(count)
    assert int(sources["entries"][0]) == len(log.entries) and rejects.empty
    assert [(r["station"], r["text"].split(", ")[-1]) for r in records.to_dict("records")] == [(e.who, e.words.split(", ")[-1]) for e in log.entries]
