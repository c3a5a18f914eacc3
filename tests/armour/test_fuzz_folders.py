"""Whole count folders at random: whatever is in one, there is a review that can be read back, or one clear refusal.

A short run here; ARMOUR=full draws thousands.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercount import cli, tables
from aftercount.report.data import TABLE_NAMES
from aftercount.report.load import load_folder
from armour.folders_drawn import Files, folders
from armour.full import times
from armour.grammar import MEDIA, say, understand
from armour.words import WORDS

SLOW = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


def reviewed(files: Files, place: Path) -> tuple[int, Path]:
    folder, out = place / "in", place / "out"
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return cli.run(["review", str(folder), "--out", str(out), "--csv"]), out


@settings(max_examples=times(12, 3000), suppress_health_check=SLOW, deadline=None, derandomize=times(1, 0) == 1, database=None)
@given(files=folders())
def test_a_folder_is_reviewed_or_refused(files: Files, capsys: pytest.CaptureFixture[str]) -> None:
    place = Path(tempfile.mkdtemp())
    try:
        status, out = reviewed(files, place)
        shown = capsys.readouterr()
        assert "Traceback" not in shown.err and "internal fault" not in shown.err, shown.err
        assert status in (0, 1) and out.is_dir() == (status == 0)
        if status == 1:
            assert shown.err.startswith(("aftercount: ", "warning: "))
            return
        made, summary = load_folder(out)
        sound(made, summary)
    finally:
        shutil.rmtree(place)


UNSURE_MATCH: Files = {
    "count.toml": '[count]\nid = "drawn-1"\nt0 = 2031-04-18T14:30:00Z\n', "plan.csv": "step,t,action,kind,to\n1.0,T-00:00,Close the vent,poll,TC\n",
    "notes.txt": "", "seq.jsonl": '{"time": "2031-04-18T14:00:00Z", "station": null, "message": "t t t t t t t poll t"}\n',
}


def test_folders_that_were_once_too_much(tmp_path: Path) -> None:
    """A lone match that is too unsure to tell the time: no moment is made of it."""
    status, out = reviewed(UNSURE_MATCH, tmp_path)
    assert status == 0
    sound(*load_folder(out))


def sound(made: dict[str, object], summary: dict[str, object]) -> None:
    """What the contract says of the tables of one review."""
    frames = {name: made[name] for name in TABLE_NAMES}
    events, steps, rejects, sources, matches = (frames[n] for n in ("events", "steps", "rejects", "sources", "matches"))  # type: ignore[misc]
    assert (sources["rejected"].sum()) == len(rejects) and summary["rejected"] == len(rejects)  # type: ignore[index]
    assert events["event"].tolist() == list(range(len(events)))  # type: ignore[index]
    for source in sources.to_dict("records"):  # type: ignore[attr-defined]
        told = events.loc[events["source"] == source["source"], "line"].nunique()  # type: ignore[attr-defined]
        assert told <= source["entries"] and (told > 0) == (source["entries"] > 0), "an entry without an event"
    done = steps[steps["status"] == "done"]  # type: ignore[index]
    assert done["confidence"].between(0, 1).all()
    assert (done["decided"] | done["event"].isna() | done["evidence"].notna()).all(), "a step that is done says by what"
    assert steps.loc[steps["status"] != "done", "timing"].isna().all()  # type: ignore[attr-defined]
    assert matches["event"].isin(events["event"]).all()  # type: ignore[index]
    inferred = frames["holds"][frames["holds"]["basis"] == "inferred"]  # type: ignore[index]
    assert (inferred["t_low_s"].notna() & inferred["t_high_s"].notna()).all(), "a hold that nobody called says where it can lie"
    json.dumps(summary, allow_nan=False)
    assert set(frames) == {t.name for t in tables.REVIEW_TABLES}


@settings(max_examples=times(150, 20_000), suppress_health_check=SLOW, deadline=None, derandomize=times(1, 0) == 1, database=None)
@given(st.lists(st.sampled_from(WORDS) | st.text(max_size=3), min_size=1, max_size=25).map(" ".join), st.sampled_from(MEDIA))
def test_whatever_is_said_is_heard(text: str, medium: str) -> None:
    text = " ".join(text.replace("\0", " ").split()) or "x"
    say(text, medium)


@settings(max_examples=times(20, 2000), suppress_health_check=SLOW, deadline=None, derandomize=times(1, 0) == 1, database=None)
@given(st.lists(st.lists(st.sampled_from(WORDS), min_size=1, max_size=15).map(" ".join), min_size=1, max_size=6), st.sampled_from(MEDIA))
def test_whatever_is_said_is_kept(said: list[str], medium: str) -> None:
    understand(said, medium)
