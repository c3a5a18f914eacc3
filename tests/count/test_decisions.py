"""decisions.csv: what a reviewer settled, and what is wrong with it."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from aftercount import count as counts
from aftercount import plan as plans
from aftercount.errors import Problem
from folders import write_folder

HEAD = "step,pass,decision,source,line,note\n"


def decisions(folder: Path, text: str) -> tuple[pd.DataFrame, list[Problem]]:
    count, problems = counts.load(write_folder(folder, {"decisions.csv": text}))
    assert count is not None and problems == []
    plan, problems = plans.load(count)
    assert plan is not None and problems == []
    return counts.load_decisions(count, plan)


def test_decisions_are_read(tmp_path: Path) -> None:
    frame, problems = decisions(tmp_path, HEAD + "1,1,matched,notes.txt,1,heard it\n\n2,,missed,,,\n")
    assert problems == []
    assert frame["step"].tolist() == ["1", "2"] and frame["pass"].tolist() == [1, 1]
    assert frame["decision"].tolist() == ["matched", "missed"]
    assert frame["source"].iloc[0] == "notes.txt" and pd.isna(frame["source"].iloc[1])
    assert frame["line"].iloc[0] == 1 and pd.isna(frame["line"].iloc[1])
    assert frame["row_line"].tolist() == [2, 4]


def test_columns_in_any_order_without_the_optional_ones(tmp_path: Path) -> None:
    frame, problems = decisions(tmp_path, "decision;step\nIGNORE;2\n")
    assert problems == [] and frame[["step", "decision"]].values.tolist() == [["2", "ignore"]]


def test_no_file_is_no_decision(tmp_path: Path) -> None:
    count, _ = counts.load(write_folder(tmp_path))
    assert count is not None
    plan, _ = plans.load(count)
    frame, problems = counts.load_decisions(count, plan)
    assert frame.empty and problems == [] and "row_line" in frame


@pytest.mark.parametrize(("row", "code"), [
    ("9,1,missed,,,", "unknown-step"), ("1,1,mised,,,", "unknown-decision"), ("1,one,missed,,,", "bad-pass"),
    ("1,0,missed,,,", "bad-pass"), ("1,1,matched,notes.txt,x,", "bad-line"), ("1,1,matched,note.txt,1,", "unknown-source"),
    ("1,1,matched,,,", "no-line"), ("1,1,missed,,,a,b", "row-width"),
])
def test_one_fault(tmp_path: Path, row: str, code: str) -> None:
    _, problems = decisions(tmp_path, f"{HEAD}2,1,missed,,,\n{row}\n")
    assert [(p.line, p.code) for p in problems] == [(3, f"decisions-{code}")]


def test_a_misspelt_column_is_an_error_with_a_suggestion(tmp_path: Path) -> None:
    _, problems = decisions(tmp_path, "step,pass,decison\n1,1,missed\n")
    assert [(p.code, p.hint) for p in problems] == [("decisions-unknown-column", "did you mean 'decision'?")]


def test_a_step_cannot_be_both_matched_and_missed(tmp_path: Path) -> None:
    _, problems = decisions(tmp_path, HEAD + "1,1,missed,,,\n1,1,matched,notes.txt,1,\n1,2,matched,notes.txt,1,\n")
    assert [(p.line, p.code) for p in problems] == [(3, "decisions-contradiction")]
