"""A simulated season holds what its truth says: a team that learns, a changed procedure, a step that got worse."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from random import Random
from statistics import median

import pytest

from aftercount.errors import UsageError
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.procedure import build
from aftercount.rehearse.revision import revise
from aftercount.rehearse.scenario import SCENARIOS, scenario
from aftercount.rehearse.season import REGRESSION_S, SeasonTruth, rehearse_season

OPTIONS = RehearsalOptions(scenario="nightjar", steps=40, logs=("sequencer",))


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> SeasonTruth:
    return rehearse_season(tmp_path_factory.mktemp("season") / "counts", 8, seed=3, options=OPTIONS)


def plan(folder: Path) -> dict[str, str]:
    with (folder / "plan.csv").open(encoding="utf-8", newline="") as f:
        return {row["step"]: row["action"] for row in csv.DictReader(f) if row["kind"] != "hold"}


def deviations(folder: Path) -> dict[str, float]:
    """World time off due, seconds, of the steps that were done, by id."""
    from datetime import datetime

    truth = json.loads(folder.with_name(folder.name + ".truth.json").read_text(encoding="utf-8"))
    return {row["step"]: (datetime.fromisoformat(row["world_utc"]) - datetime.fromisoformat(row["due_utc"])).total_seconds()
            for row in truth["steps"] if row["world_utc"] and row["due_utc"]}


def test_the_revision_is_what_the_plans_show(season: SeasonTruth) -> None:
    revision = season.data["revision"]
    names = [f.name for f in season.folders]
    plans = [plan(f) for f in season.folders]
    at = names.index(revision["from"])
    assert all(p == plans[0] for p in plans[:at]) and all(p == plans[at] for p in plans[at:])
    assert len(revision["dropped"]) == len(revision["added"]) == 2 and revision["renumbered"]
    assert {plans[0][old] for old in plans[0]} - set(plans[-1].values()) == {plans[0][old] for old in revision["dropped"]}
    assert all(plans[0][old] == plans[-1][new] for old, new in revision["renumbered"].items())


def test_the_regression_begins_where_the_truth_says(season: SeasonTruth) -> None:
    worse = season.data["regression"]
    at = [f.name for f in season.folders].index(worse["from"])
    off = [deviations(f).get(worse["step"]) for f in season.folders[at:]]
    assert len([d for d in off if d is not None and d > REGRESSION_S - 15]) >= len(off) - 1


def test_the_team_learns(season: SeasonTruth) -> None:
    moved = season.data["revision"]["renumbered"]
    there = {new: old for old, new in moved.items()}
    first, last = deviations(season.folders[0]), deviations(season.folders[-1])
    slow = [s for s in season.data["slow_at_first"] if s in last and there.get(s, s) in first]
    assert median(first[there.get(s, s)] for s in slow) > 15 > 10 > median(last[s] for s in slow)


def test_the_same_seed_the_same_season_and_no_other(season: SeasonTruth, tmp_path: Path) -> None:
    again = rehearse_season(tmp_path / "counts", 8, seed=3, options=OPTIONS)
    files = [{p.relative_to(s.file.parent): p.read_bytes() for p in s.file.parent.rglob("*") if p.is_file()} for s in (season, again)]
    assert files[0] == files[1]
    other = rehearse_season(tmp_path / "other", 4, seed=4, options=OPTIONS)
    assert other.data["regression"] != season.data["regression"]


def test_what_is_no_season(season: SeasonTruth, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="at least 4"):
        rehearse_season(tmp_path / "a", 3)
    with pytest.raises(UsageError, match="new or empty"):
        rehearse_season(season.file.parent, 8)


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_procedure_can_be_revised(name: str) -> None:
    team = scenario(name)
    first = build(team, 60)
    revision = revise(first, team, 2, Random(1))
    ids = [s.step for s in revision.procedure.steps]
    assert len(ids) == len(set(ids)) and not [i for i in ids if "-" in i] and revision.dropped and revision.added
    assert all(prior in ids for s in revision.procedure.steps for prior in s.after)
    assert [s.t for s in revision.procedure.steps] == sorted(s.t for s in revision.procedure.steps)
