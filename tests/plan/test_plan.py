"""The plan: CSV and XLSX as people write them, and every fault with its line."""

from __future__ import annotations

import datetime as dt
import io
import math
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from aftercount import count as counts
from aftercount import plan as plans
from aftercount.errors import Problem
from aftercount.plan.model import DTYPES
from folders import COUNT, load_plan, write_folder


def plan_problems(folder: Path, plan: str | bytes, stations: str = "") -> list[Problem]:
    count, _ = counts.load(write_folder(folder, {"plan.csv": plan, "count.toml": COUNT + stations}))
    assert count is not None
    loaded, problems = plans.load(count)
    assert (loaded is None) == any(p.severity == "error" for p in problems)
    return problems


def told(problems: list[Problem]) -> list[tuple[int, str]]:
    return [(p.line, p.code.removeprefix("plan-")) for p in problems]


FULL = """
    step,t,action,kind,duration,into_hold,by,to,early_s,late_s,after,response_s,says,must,phase,cards
    1.1,T-90:00,Chill the lines,,,,PROP,TC,,30,,20,begin chilldown; start chill,,load,7
    1.2,-01:00:00,Hold,hold,10m,,,,,,,,,,load,

    1.3,T-60:00,"Check valves, A and B",,,5:00,PROP,TC,5,,1.1,,,no,load,8
    1.4,T-31s,Poll,poll,,,TC,,,,1.1 1.3,,,yes,terminal,
"""


def test_every_column_of_the_contract_is_read(tmp_path: Path) -> None:
    plan, _ = load_plan(tmp_path, FULL)
    table = plan.table
    assert table.dtypes.astype(str).to_dict() == DTYPES | {"cards": "str"}
    assert table["line"].tolist() == [2, 3, 5, 6] and table["row"].tolist() == [0, 1, 2, 3]
    assert table["t_s"].tolist() == [-5400, -3600, -3600, -31]
    assert table["kind"].tolist() == ["step", "hold", "step", "poll"]
    assert table["duration_s"].iloc[1] == 600 and table["into_hold_s"].iloc[2] == 300 and math.isnan(table["into_hold_s"].iloc[0])
    assert table["early_s"].tolist() == [10, 10, 5, 10] and table["late_s"].tolist() == [30, 10, 10, 10]
    assert table["after"].tolist() == [[], [], ["1.1"], ["1.1", "1.3"]]
    assert table["says"].iloc[0] == ["begin chilldown", "start chill"] and table["must"].tolist() == [True, True, False, True]
    assert table["action"].iloc[2] == "Check valves, A and B" and pd.isna(table["by"].iloc[1]) and table["response_s"].iloc[0] == 20
    assert plan.extra == ("cards",) and table["cards"].iloc[0] == "7" and pd.isna(table["cards"].iloc[1])
    assert plan.steps["step"].tolist() == ["1.1", "1.3", "1.4"] and plan.holds["step"].tolist() == ["1.2"]


SAME = [("1", -600.0, "Close the vent"), ("2", -300.0, "Open the f\u00fcll valve")]


@pytest.mark.parametrize("raw", [
    "step,t,action\n1,T-10:00,Close the vent\n2,T-5:00,Open the f\u00fcll valve\n".encode(),
    "\ufeffstep;t;action\r\n1;T-10:00;Close the vent\r\n2;T-5:00;Open the f\u00fcll valve\r\n".encode(),
    "\n , ,\nSTEP\tT\tAction\n1\tT-600s\tClose the vent\n\t\t\n2\tT-300\tOpen the f\u00fcll valve\n".encode("utf-16"),
    'action,step,t\n"Close the vent",1, "T-10m"\nOpen the f\u00fcll valve , 2,T\u22125m\n'.encode(),
])
def test_one_plan_however_it_was_saved(tmp_path: Path, raw: bytes) -> None:
    assert plan_problems(tmp_path, raw) == []
    count, _ = counts.load(tmp_path)
    assert count is not None
    plan, _ = plans.load(count)
    assert plan is not None
    assert list(plan.table[["step", "t_s", "action"]].itertuples(index=False, name=None)) == SAME


def test_windows_text_is_read_with_a_warning(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, "step,t,action\n1,T-10,Open\n2,T-5,Open the f\u00fcll valve\n".encode("cp1252"))
    assert [(p.line, p.code, p.severity) for p in problems] == [(3, "plan-encoding", "warning")]


HEAD = "step,t,action,kind,duration,into_hold,by,after,must,late_s,response_s\n1,T-10:00,Close the vent,,,,,,,,\n"


@pytest.mark.parametrize(("row", "code"), [
    ("1,T-5:00,Again,,,,,,,,", "duplicate-step"), (",T-5:00,Nameless,,,,,,,,", "no-step"), ("a b,T-5:00,Two words,,,,,,,,", "bad-step"),
    ("2,,No time,,,,,,,,", "no-time"), ("2,5:00,No sign,,,,,,,,", "bad-time"), ("2,T-5:75,Bad,,,,,,,,", "bad-time"),
    ("2,L-5:00,Bad,,,,,,,,", "bad-time"), ("2,T-99999:00:00,Far,,,,,,,,", "bad-time"), ("2,T-5:00,X,hold,99999999999,,,,,,", "bad-duration"), ("2,T-5:00,,,,,,,,,", "no-action"), ("2,T-5:00,X,stepp,,,,,,,", "unknown-kind"),
    ("2,T-5:00,X,hold,,,,,,,", "hold-no-duration"), ("2,T-5:00,X,hold,0,,,,,,", "hold-no-duration"),
    ("2,T-5:00,X,hold,ten,,,,,,", "bad-duration"), ("2,T+5:00,X,hold,60,,,,,,", "hold-after-zero"),
    ("2,T-5:00,X,hold,60,5,,,,,", "hold-in-hold"), ("2,T-5:00,X,,60,,,,,,", "duration-not-hold"),
    ("2,T-5:00,X,,,60,,,,,", "into-no-hold"), ("2,T-5:00,X,,,-1,,,,,", "bad-into-hold"), ("2,T-5:00,X,,,,,3,,,", "unknown-after"),
    ("2,T-5:00,X,,,,,2,,,", "after-itself"), ("2,T-5:00,X,,,,,,maybe,,", "bad-must"), ("2,T-5:00,X,,,,,,,soon,", "bad-late"),
    ("2,T-5:00,X,,,,,,,,never", "bad-response"), ("2,T-5:00,X,,,,,,,,,,more", "row-width"),
])
def test_one_fault(tmp_path: Path, row: str, code: str) -> None:
    problems = plan_problems(tmp_path, f"{HEAD}{row}\n")
    assert (3, code) in told(problems)
    assert {p.line for p in problems if p.severity == "error"} == {3}


def test_faults_of_many_rows_come_together_with_suggestions(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, """
        step,t,action,kind,after
        4.1,T-50,A,hodl,
        4.2,T-40,B,,4.l
        4.3,soon,C,,4.4
        4.4,T-20,D,,4.3
    """)
    assert told(problems) == [(2, "unknown-kind"), (3, "unknown-after"), (4, "bad-time"), (4, "after-circle")]
    assert problems[0].hint == "did you mean 'hold'?" and problems[1].hint.startswith("did you mean '4.")
    assert problems[3].text == "steps wait for each other: 4.3 after 4.4 after 4.3"


def test_every_circle_is_named(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, """
        step,t,action,after
        a,T-50,A,b
        b,T-40,B,a
        c,T-30,C,e
        d,T-20,D,c
        e,T-10,E,d
    """)
    assert told(problems) == [(2, "after-circle"), (4, "after-circle")]


@pytest.mark.parametrize(("text", "code", "hint"), [
    ("", "empty", ""), ("step,t\n1,T-5\n", "no-column", ""), ("stpe,t,action\n1,T-5,X\n", "no-column", "did you mean 'stpe'?"),
    ("step,t,action\n", "no-steps", ""), ("step,t,action,kind,duration\n1,T-5,X,hold,60\n", "no-steps", ""),
    ("step,t,action,T\n1,T-5,X,\n", "column-twice", ""), ("a\0b", "not-text", ""),
    ('step,t,action\n1,T-5,"X\n' + "2,T-4,Y\n" * 20, "open-quote", ""),
    ('step,t,action\n1,T-5,X\n2,T-4,"Y\n3,T-3,Z\n', "open-quote", ""),
])
def test_the_whole_file_is_wrong(tmp_path: Path, text: str, code: str, hint: str) -> None:
    problems = plan_problems(tmp_path, text.encode())
    assert f"plan-{code}" in [p.code for p in problems if p.severity == "error"]
    assert hint in [p.hint for p in problems] or not hint


def test_a_likely_misspelling_of_an_optional_column_is_a_warning(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, "step,t,action,phse,colour\n1,T-5,X,load,red\n")
    assert [(p.severity, p.hint) for p in problems] == [("warning", "did you mean 'phase'?")]


def test_unknown_stations_are_warned_of_once_each_with_a_suggestion(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, """
        step,t,action,by,to
        1,T-50,A,PORP,TC
        2,T-40,B,PORP,test conductor
        3,T-30,C,prop,TC
    """, '[stations]\nTC = ["test conductor"]\nPROP = []\n')
    assert [(p.line, p.code, p.severity, p.hint) for p in problems] == [
        (2, "plan-unknown-station", "warning", "did you mean 'PROP'?")]


def test_a_step_planned_past_the_end_of_its_hold_is_a_warning(tmp_path: Path) -> None:
    problems = plan_problems(tmp_path, "step,t,action,kind,duration,into_hold\nH,T-9:00,Hold,hold,60,\n1,T-9:00,X,,,61\n")
    assert [(p.line, p.code, p.severity) for p in problems] == [(3, "plan-into-past-hold", "warning")]


def test_a_carried_column_never_takes_the_name_of_one_of_ours(tmp_path: Path) -> None:
    assert plan_problems(tmp_path, "step,t,action,status,owner\n1,T-5,X,draft,me\n") == []
    count, _ = counts.load(tmp_path)
    assert count is not None
    plan, _ = plans.load(count)
    assert plan is not None and plan.extra == ("plan_status", "owner")


def test_five_thousand_steps(tmp_path: Path) -> None:
    rows = "".join(f"{i},T-{6000 - i}s,Do {i},{i - 1 if i else ''}\n" for i in range(5000))
    plan, _ = load_plan(tmp_path, "step,t,action,after\n" + rows)
    assert len(plan.table) == 5000


# --- workbooks ---


def workbook(folder: Path, rows: list[list[Any]], formats: dict[str, str] | None = None) -> list[Problem] | pd.DataFrame:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    for cell, number_format in (formats or {}).items():
        sheet[cell].number_format = number_format
    packed = io.BytesIO()
    book.save(packed)
    return workbook_bytes(folder, packed.getvalue())


def workbook_bytes(folder: Path, raw: bytes) -> list[Problem] | pd.DataFrame:
    toml = COUNT + 'plan = "plan.xlsx"\n'
    count, problems = counts.load(write_folder(folder, {"count.toml": toml, "plan.xlsx": raw, "plan.csv": "x"}))
    assert count is not None, problems
    plan, problems = plans.load(count)
    return problems if plan is None else plan.table


def test_a_workbook_reads_as_its_csv_would(tmp_path: Path) -> None:
    table = workbook(tmp_path, [
        [], ["Step", "T", "Action", "kind", "duration", "into_hold", "late_s", "after", "must", None],
        [4.1, "T-01:30:00", "Chill", None, None, None, 15, None, True],
        [4.2, -600, "Hold", "hold", dt.time(0, 10), None, None, None, None],
        [None, None, None],
        [4.3, "T-10:00", "In it", None, None, dt.timedelta(minutes=5), 2.5, 4.1, False],
        [4.1, "T-31s", "Late", None, None, None, None, 4.3, None],
    ], {"A7": "0.00", "E4": "h:mm:ss"})
    assert isinstance(table, pd.DataFrame)
    assert table["step"].tolist() == ["4.1", "4.2", "4.3", "4.10"] and table["line"].tolist() == [3, 4, 6, 7]
    assert table["t_s"].tolist() == [-5400, -600, -600, -31] and table["duration_s"].iloc[1] == 600
    assert table["into_hold_s"].iloc[2] == 300 and table["late_s"].tolist() == [15, 10, 2.5, 10]
    assert table["after"].tolist() == [[], [], ["4.1"], ["4.3"]] and table["must"].tolist() == [True, True, False, True]


def test_a_span_typed_and_shown_as_10_00_is_ten_minutes(tmp_path: Path) -> None:
    rows = [["step", "t", "action", "kind", "duration"], ["1", "T-60:00", "Hold", "hold", dt.time(10, 0)], ["2", "T-5", "Go", "", ""]]
    table = workbook(tmp_path, rows, {"E2": "h:mm"})
    assert isinstance(table, pd.DataFrame) and table["duration_s"].iloc[0] == 600


def test_a_time_of_day_is_no_count_time(tmp_path: Path) -> None:
    problems = workbook(tmp_path, [["step", "t", "action"], ["1", dt.time(0, 5), "Go"]])
    assert [p.text for p in problems if isinstance(p, Problem)] == ["count time '00:05:00' has no sign"]


def test_zero_needs_no_sign(tmp_path: Path) -> None:
    rows = [["step", "t", "action"], ["1", "-00:05:00", "Arm"], ["2", "00:00:00", "Fire"], ["3", "+00:00:20", "Safe"]]
    table = workbook(tmp_path, rows)
    assert isinstance(table, pd.DataFrame) and table["t_s"].tolist() == [-300, 0, 20]


@pytest.mark.parametrize("raw", [b"", b"PK\x03\x04 no workbook", b"step,t,action\n1,T-5,Go\n"])
def test_a_damaged_workbook_is_a_problem(tmp_path: Path, raw: bytes) -> None:
    problems = workbook_bytes(tmp_path, raw)
    assert [p.code for p in problems if isinstance(p, Problem)] == ["plan-xlsx"]
