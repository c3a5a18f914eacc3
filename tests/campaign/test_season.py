"""Seasons whose truth is known: slopes, signals, the gate, gaps, plans that change."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from aftercount import count as counts
from aftercount.campaign import gate as gates
from aftercount.campaign.expect import expect
from aftercount.campaign.folder import trend_files, write_trend
from aftercount.campaign.gather import CountData, deciding
from aftercount.campaign.join import join, likeness
from aftercount.campaign.load import load_trend
from aftercount.campaign.newplan import suggested_plan
from aftercount.campaign.season import build
from aftercount.campaign.tables import TREND_TABLES
from aftercount.campaign.trend import trend_of
from aftercount.errors import InputError
from aftercount.plan.reading import load
from aftercount.report.exports.plan import plan_csv
from folders import COUNT, write_folder
from seasons import SeasonSpec, season

SLIPPED = 20
SLIP = SeasonSpec(counts=13, steps=30, sigma=(1.0, 3.0), slips={SLIPPED: (12, 25.0)})


def test_a_slope_a_slip_and_a_steady_step_are_told_apart() -> None:
    made = trend_of(build(season(5, SeasonSpec(slopes={3: -1.5}, slips={SLIPPED: (9, 20.0)}, sigma=(1, 3)))))
    steps = made.trend.set_index("step")
    assert steps.loc["1.4", "slope_low_s"] <= -1.5 <= steps.loc["1.4", "slope_high_s"] and steps.loc["1.4", "q"] < 0.05
    assert "1.4" in made.summary["improving"]
    signals = made.signals[made.signals["step"] == "3.1"]
    assert signals["rehearsal"].min() == 10 and "later" in signals["text"].iloc[0]
    assert steps.loc["3.1", "change_count"] == "heron-7-r10" or pd.isna(steps.loc["3.1", "change_count"])


def test_the_tables_have_their_columns_and_types() -> None:
    made = trend_of(build(season(1, SeasonSpec(counts=6, steps=8))))
    for table in TREND_TABLES:
        assert made.tables[table.name].equals(table.conform(made.tables[table.name]))
    assert made.trend["n"].tolist() == [6] * 8 and made.summary["small"] is True


def test_one_review_is_a_season_too() -> None:
    made = trend_of(build(season(1, SeasonSpec(counts=1, steps=8))))
    assert made.signals.empty and made.trend["slope_s"].isna().all() and len(trend_files(made)) == len(TREND_TABLES) + 6


def test_a_step_that_was_not_reached_is_a_gap_and_not_a_zero() -> None:
    counts = season(2, SeasonSpec(counts=9, steps=8, miss_rate=0.0))
    counts[4].steps.loc[7, ["status", "deviation_s", "timing"]] = ["not_reached", np.nan, None]
    built = build(counts)
    assert np.isnan(built.matrix("deviation_s")[7, 4])
    row = trend_of(built).trend.iloc[7]
    assert (row["n"], row["done"], row["missed"]) == (8, 8, 0)


def test_the_pass_that_decided_a_step_is_the_last_that_reached_it() -> None:
    steps = pd.DataFrame({"step": ["1", "2", "3", "2", "3"], "pass": [1, 1, 1, 2, 2],
                          "status": ["done", "done", "not_reached", "missed", "not_reached"]})
    found = deciding(steps)
    assert found[["step", "pass", "status"]].values.tolist() == [["1", 1, "done"], ["2", 2, "missed"], ["3", 2, "not_reached"]]


def test_steps_of_an_earlier_plan_are_joined_by_id_then_by_likeness() -> None:
    earlier = (("1", "Chill the LOX lines"), ("2", "Open the vent valve"), ("3", "Arm the range safety system"), ("4", "Rotate the mast"))
    last = (("1", "Chill LOX lines"), ("2", "Check the weather"), ("5", "Open the vent valve"), ("3", "Arm range safety system"))
    joined, changes = join(earlier, last)
    assert joined == {"1": "1", "2": "5", "3": "3"}
    assert [(c["what"], c["step"], c["step_there"]) for c in changes] == [("joined", "5", "2"), ("dropped", None, "4"), ("added", "2", None)]
    assert likeness("Open valve 1", "open VALVE 1") == 1.0 and likeness("a", "b") == 0.0


def test_a_renumbered_plan_is_joined_by_what_the_steps_are() -> None:
    valves = [f"Open stage {n} {what} vent" for n in (1, 2) for what in ("LOX", "fuel")]
    earlier = tuple((f"2.{i}", action) for i, action in enumerate(["Check valve A", *valves, "Check valve B"], 1))
    last = tuple((f"2.{i}", action) for i, action in enumerate([*valves, "Check pump 7", "Check valve B"], 1))
    joined, changes = join(earlier, last)
    assert joined == {"2.2": "2.1", "2.3": "2.2", "2.4": "2.3", "2.5": "2.4", "2.6": "2.6"}
    assert [(c["what"], c["step_there"] or c["step"]) for c in changes[4:]] == [("dropped", "2.1"), ("added", "2.5")]


def test_a_reworded_step_keeps_its_id_and_one_of_several_alike_its_own() -> None:
    assert join((("1", "Chill the line"),), (("1", "Chill down line"),))[0] == {"1": "1"}
    assert join((("1", "Chill the LOX line"), ("2", "Vent the tank")), (("2", "Chill LOX line"), ("1", "Rotate mast")))[0] == {"1": "2"}
    twice = (("1", "Poll the team"), ("2", "Poll the team"), ("3", "Arm"))
    assert join(twice, (("2", "Poll the team"), ("4", "Poll the team")))[0] == {"2": "2", "1": "4"}
    assert join((("1", "Verify measurement channel 3"),), (("2", "Verify measurement channel 4"),))[0] == {}


def test_expectations_follow_a_team_that_learns_and_forget_one_outlier() -> None:
    rng = np.random.default_rng(8)
    values = 60 * np.arange(1, 13) ** -0.7 + rng.normal(0, 2, size=(30, 12))
    values[0, 6] += 90
    found = expect(values)
    assert np.median(found.sigma) < 6 and found.sigma[0] < 3 * np.median(found.sigma)
    assert np.median(found.level) == pytest.approx(60 * 13**-0.7, abs=1) and set(found.course) == {"learning"}
    assert found.aside[0, 6] and found.strays.sum() == 1


# --- the gate ---


def test_a_slip_fails_the_gate_and_is_named() -> None:
    counts = season(31, SLIP)
    verdict = gates.judge(counts[-1], build(counts[:-1]))
    named = {w.step: w for w in verdict.worse if w.kind == "later"}
    assert not verdict.passed and "3.1" in named and len(named) <= 2
    assert named["3.1"].text.startswith("step 3.1: ") and named["3.1"].value > named["3.1"].limit


def test_a_count_that_is_earlier_passes() -> None:
    counts = season(32, SeasonSpec(counts=13, slips={SLIPPED: (12, -60.0)}, miss_rate=0.0))
    assert gates.judge(counts[-1], build(counts[:-1])).passed


def test_a_first_miss_in_a_clean_record_fails_and_is_named() -> None:
    counts = season(33, SeasonSpec(counts=12, miss_rate=0.0))
    counts[-1].steps.loc[4, ["status", "deviation_s", "timing"]] = ["missed", np.nan, None]
    verdict = gates.judge(counts[-1], build(counts[:-1]))
    assert [(w.kind, w.step) for w in verdict.worse] == [("missed", "1.5")]


def test_a_miss_among_many_is_only_noted() -> None:
    counts = season(34, SeasonSpec(counts=12, miss_rate=0.05))
    verdict = gates.judge(counts[-1], build(counts[:-1]))
    assert not [w for w in verdict.worse if w.kind == "missed"] and [n for n in verdict.notes if n.kind == "missed"]


def test_slower_answers_and_longer_holds_fail() -> None:
    counts = season(35, SeasonSpec(counts=12, miss_rate=0.0))
    counts[-1].steps["response_s"] *= 3
    counts[-1].summary["unplanned_hold_s"] = 90_000.0
    kinds = {w.kind for w in gates.judge(counts[-1], build(counts[:-1])).worse}
    assert kinds == {"answers", "holds"}


@pytest.mark.parametrize("before", [1, 2, 3])
def test_a_small_baseline_shows_a_large_slip_and_says_that_it_is_small(before: int) -> None:
    spec = SeasonSpec(counts=before + 1, sigma=(1.0, 3.0), miss_rate=0.0)
    counts = season(36, replace(spec, slips={SLIPPED: (before, 90.0)}))
    verdict = gates.judge(counts[-1], build(counts[:-1]))
    assert [w.step for w in verdict.worse if w.kind == "later"] == ["3.1"] and verdict.small
    assert f"baseline of {before} count" in verdict.sentence() and "small" in verdict.sentence()
    counts = season(36, spec)
    assert gates.judge(counts[-1], build(counts[:-1])).passed


def test_a_count_is_not_held_against_itself_or_nothing() -> None:
    counts = season(36, SeasonSpec(counts=1))
    with pytest.raises(InputError, match="at least one other count"):
        gates.judge(counts[0], build(counts).without(counts[0].id))


def test_a_small_slip_is_named_when_it_comes_twice() -> None:
    counts = season(37, SeasonSpec(counts=14, sigma=(3.0, 3.0), slips={SLIPPED: (12, 11.0)}, miss_rate=0.0))
    first = gates.judge(counts[12], build(counts[:12]))
    second = gates.judge(counts[13], build(counts[:13]))
    assert "3.1" not in {w.step for w in first.worse} and "3.1" in {w.step for w in second.worse}


def test_later_all_round_fails_though_no_step_is_late_by_itself() -> None:
    counts = season(38, SeasonSpec(counts=13, miss_rate=0.0))
    counts[-1].steps["deviation_s"] += 5.0
    assert [w.kind for w in gates.judge(counts[-1], build(counts[:-1])).worse] == ["later_all_round"]


@pytest.mark.parametrize("outliers", [0.0, 0.03])
def test_steady_seasons_seldom_fail_the_gate(outliers: float) -> None:
    spec = SeasonSpec(counts=13, steps=30, outlier_rate=outliers)
    failed = 0
    for seed in range(25):
        counts = season(400 + seed, spec)
        failed += not gates.judge(counts[-1], build(counts[:-1])).passed
    # At the 5 % that is promised, five and more of 25 would come once in 140 times.
    assert failed < 5


# --- the folder ---


def test_the_folder_is_whole_the_same_every_time_and_read_back_as_the_season(tmp_path: Path) -> None:
    counts = season(31, SLIP)
    made = trend_of(build(counts[:-1]))
    out = tmp_path / "trend"
    write_trend(made, out)
    assert {p.name: p.read_bytes() for p in out.iterdir()} == trend_files(trend_of(build(counts[:-1])))
    again = gates.judge(counts[-1], load_trend(str(out)))
    assert again == gates.judge(counts[-1], build(counts[:-1]))


def test_text_of_the_input_is_escaped_on_the_page_and_in_the_plan() -> None:
    counts = season(3, SeasonSpec(counts=3, steps=8))
    for count in counts:
        count.steps.loc[0, "action"] = "=cmd() <script>alert(1)</script>"
    made = trend_of(build(counts))
    page = trend_files(made)["trend.html"].decode()
    assert "<script" not in page and "&lt;script&gt;" in page
    assert "\n1.1,T-01:00:00,'=cmd()" in suggested_plan(made.trend)


def test_planned_times_that_never_hold_are_suggested_anew() -> None:
    made = trend_of(build(season(9, SeasonSpec(counts=12, sigma=(1, 2), slips={5: (0, 40.0)}, miss_rate=0.0))))
    row = made.trend.iloc[5]
    assert row["suggested_t_s"] - row["planned_t_s"] == pytest.approx(row["median_deviation_s"], abs=3)
    assert row["suggested_late_s"] <= 10 and made.trend["suggested_t_s"].notna().sum() < 20


def test_the_suggested_plan_is_a_plan(tmp_path: Path) -> None:
    made = trend_of(build(season(9, SeasonSpec(counts=12, sigma=(1, 2), slips={5: (0, 40.0)}, miss_rate=0.0))))
    folder = write_folder(tmp_path / "count", {"count.toml": COUNT, "plan.csv": suggested_plan(made.trend)})
    count, problems = counts.load(folder)
    assert count is not None and problems == []
    plan, problems = load(count)
    assert plan is not None and [p for p in problems if p.severity == "error"] == []
    row = plan.steps.set_index("step").loc["1.6"]
    assert row["t_s"] == made.trend["suggested_t_s"].iloc[5] and row["late_s"] == made.trend["suggested_late_s"].iloc[5]
    assert row["by"] == "AVN" and len(plan.steps) == 30 + 10


PLAN = '''step,t,action,kind,duration,into_hold,by,to,early_s,late_s,after,response_s,says,must,phase,paper
1,T-00:20:00,open the relief valve,step,,,PROP,TC,10,10,,30,relief valve to open; relief open,yes,fill,p 4
H1,T-00:10:00,built-in hold,hold,300,,,,10,10,,,,yes,,
2,T-00:10:00,check the seals,step,,120,PROP,TC,10,10,1,,,no,fill,p 5
3,T-00:01:00,"arm, and tell",poll,,,TC,,5.5,1234567,1 2,,,yes,,
'''


def test_a_plan_written_with_a_review_is_the_plan_that_was_read(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "count", {"count.toml": COUNT, "plan.csv": PLAN})
    count, _ = counts.load(folder)
    assert count is not None
    plan, _ = load(count)
    assert plan is not None and plan_csv(plan).decode() == PLAN


def test_a_suggested_plan_keeps_all_that_the_record_does_not_speak_of() -> None:
    made = trend_of(build(season(9, SeasonSpec(counts=12, sigma=(1, 2), slips={5: (0, 40.0)}, miss_rate=0.0)))).trend.iloc[[4, 5, 6]]
    steps = made.assign(step=["1", "2", "3"], planned_t_s=[-1200.0, -600.0, -60.0], suggested_t_s=[np.nan, -560.0, np.nan])
    rows = [line.split(",") for line in suggested_plan(steps, PLAN).splitlines()]
    before = [line.split(",") for line in PLAN.splitlines()]
    assert rows[0] == [*before[0], "planned_t", "evidence"]
    assert [row[:len(old)] for row, old in zip(rows, before, strict=True) if old[0] != "2"] == [old for old in before if old[0] != "2"]
    assert rows[3][1] == "T-00:10:00" and rows[3][5] == "160" and ", ".join(rows[3]).endswith("level now +38 s\"")
    assert rows[1][-1] == ""


def test_a_regression_of_three_counts_is_not_suggested_as_the_plan() -> None:
    made = trend_of(build(season(9, SeasonSpec(counts=12, sigma=(1, 2), slips={5: (9, 45.0)}, miss_rate=0.0))))
    assert np.isnan(made.trend["suggested_t_s"].iloc[5])
    assert made.signals[(made.signals["kind"] == "change") & (made.signals["step"] == "1.6")]["count"].tolist() == ["heron-7-r10"]


def test_a_season_goes_on_through_a_plan_that_was_renumbered_and_reworded() -> None:
    reviews = season(12, SeasonSpec(counts=9, steps=20, sigma=(1, 2), slips={4: (0, 30.0)}, miss_rate=0.0))
    for review in reviews[:5]:
        steps = review.steps.copy()
        steps.loc[4, "action"] = "open the valve number 4 on line 4"
        steps["step"] = [f"9{step}" for step in steps["step"]]
        reviews[reviews.index(review)] = replace(review, steps=steps.drop(index=[19]).reset_index(drop=True))
    made = trend_of(build(reviews))
    steps = made.trend.set_index("step")
    assert steps.loc["1.5", "n"] == 9 and steps.loc["2.10", "n"] == 4 and steps.loc["1.5", "median_deviation_s"] > 15
    changes = made.plan_changes
    assert set(changes["what"]) == {"joined", "added"} and changes[changes["what"] == "added"]["step"].tolist() == ["2.10"]
    assert ("1.5", "91.5") in set(zip(changes["step"], changes["step_there"], strict=True))


def test_counts_of_one_name_are_refused(tmp_path: Path) -> None:
    from aftercount.campaign.trend import trend

    with pytest.raises(InputError) as caught:
        trend([str(tmp_path / "a"), str(tmp_path / "b")])
    assert [p.code for p in caught.value.problems] == ["trend-no-review"] * 2


def test_the_order_of_counts_is_by_scheduled_t0() -> None:
    reviews: list[CountData] = season(1, SeasonSpec(counts=3, steps=8))
    built = gates.baseline_of(reviews[::-1])
    assert built.counts["count"].tolist() == ["heron-7-r01", "heron-7-r02", "heron-7-r03"]


def test_a_level_that_changed_is_drawn_beside_a_step_too_new_to_tell() -> None:
    counts = season(12, SeasonSpec(counts=16, steps=12, sigma=(1, 2), slips={3: (8, 60.0)}, miss_rate=0.0))
    for count in counts[:-2]:
        count.steps.loc[7, ["status", "deviation_s", "timing"]] = ["not_reached", np.nan, None]
    made = trend_of(build(counts))
    assert made.trend.set_index("step")["course"]["1.4"] == "step" and made.trend["change_count"].isna().any()
    assert "trend.html" in trend_files(made)
