"""The case for and against a step in words, and decisions over re-runs, on a count written out as people would log it."""

from __future__ import annotations

from pathlib import Path

import pytest

import aftercount as ac
from loglike import write_count

TOML = """
    [count]
    id = "tern-1"
    t0 = 2031-04-18T14:30:00Z
    [stations]
    TC = ["test conductor"]
    PROP = ["propulsion"]
    ELEC = ["electrical"]
    TEL = ["telemetry"]
"""
PLAN = """
    step,t,action,kind,duration,by,to,into_hold,must
    1,T-20:00,Open nitrogen purge valve,,,PROP,TC,,
    2,T-15:00,Close nitrogen purge valve,,,PROP,TC,,
    h,T-10:00,Planned hold,hold,5:00,,,,
    3,T-10:00,Charge strobe battery,,,ELEC,TC,2:00,
    4,T-08:00,Switch beacon to internal,,,ELEC,TC,,
    5,T-06:00,Start chart recorder,,,TEL,TC,,
    6,T-04:00,Arm igniter circuit,,,ELEC,TC,,
    7,T-02:00,Report tower wind,,,TEL,TC,,no
"""
LOG = """
    14:05:00 TC: T minus twenty minutes and counting
    14:05:01 TC>PROP: PROP, TC, open nitrogen purge valve
    14:05:04 PROP>TC: in work, PROP
    14:05:15 PROP>TC: nitrogen purge valve opened
    14:10:02 PROP>TC: negative, nitrogen purge valve is not closed
    14:10:20 PROP>TC: nitrogen purge valve is still open
    14:15:00 TC: T minus ten minutes and holding
    14:17:01 TC>ELEC: charge strobe battery
    14:17:20 ELEC>TC: strobe battery charged
    14:20:00 TC: T minus ten minutes and counting
    14:22:01 TC>ELEC: switch beacon to internal
    14:24:31 TC>TEL: start chart recorder
    14:26:03 TC>ELEC: arm igniter circuit
    14:27:00 TC: hold, hold, hold, T minus three minutes and holding
    14:29:00 TC: we are recycling to T minus eight minutes
    14:29:30 TC: T minus eight minutes and counting
    14:29:32 TC>ELEC: switch beacon to internal
    14:31:31 TC>TEL: start chart recorder
    14:33:31 TC>ELEC: arm igniter circuit
    14:37:30 TC: lift-off
"""
DECISIONS = "step,pass,decision,source,line,note\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_count(tmp_path_factory.mktemp("tern"), TOML, PLAN, {"notes.txt": LOG})


@pytest.fixture(scope="module")
def told(folder: Path) -> dict[str, str]:
    from aftercount.match.explain import explain_step

    tables = ac.review(folder).tables
    return {step: "\n".join(explain_step(tables, step)) for step in tables["steps"]["step"].unique()}


@pytest.mark.parametrize(("step", "words"), [
    ("1", ["Step 1, pass 1: Open nitrogen purge valve by PROP", "counting", "call notes.txt:2", "for: its words fit this step", "1 s after due", "verdict: done on time"]),
    ("1", ["notes.txt:3", "s after the step was begun"]),
    ("2", ["nothing was taken for it", "notes.txt:5", "it says that it is not done", "verdict: missed"]),
    ("3", ["holding at T-00:10:00", "call notes.txt:8", "verdict: done on time"]),
    ("5", ["pass 1", "verdict: done late (31 s after due", "10 s late are allowed", "pass 2"]),
    ("4", ["pass 1", "notes.txt:11", "pass 2", "notes.txt:17"]),
    ("7", ["verdict: skipped"]),
])
def test_the_case_is_told(told: dict[str, str], step: str, words: list[str]) -> None:
    assert [w for w in words if w not in told[step]] == [], told[step]


def test_a_decision_survives_a_second_run_and_is_told(folder: Path) -> None:
    from aftercount.match.explain import explain_step

    (folder / "decisions.csv").write_text(DECISIONS + "2,1,matched,notes.txt,6,the valve was closed by hand\n7,1,missed,,,\n5,2,matched,notes.txt,99,\n")
    try:
        first, second = ac.review(folder), ac.review(folder)
    finally:
        (folder / "decisions.csv").unlink()
    for made in (first, second):
        row = made.steps[(made.steps["step"] == "2") & (made.steps["pass"] == 1)].iloc[0]
        assert (row["status"], row["line"], row["decided"], row["confidence"]) == ("done", 6, True, 1.0)
        assert "settled by a decision of a reviewer" in "\n".join(explain_step(made.tables, "2"))
        assert [(p.code, p.line) for p in made.problems] == [("decision-no-such-line", 4)]
