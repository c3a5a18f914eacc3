"""Roll calls as people hold and write them, from the log's own text to the poll and its findings: order, who was missing, who said
no go, who changed. The styles follow the published practice of net control running the roll in order (ACP 125(G)); wording ours."""

from __future__ import annotations

from pathlib import Path

import pytest

import aftercount as ac
from folders import write_folder

TOML = """
[count]
id = "roll"
t0 = 2031-04-18T14:30:00Z
[[log]]
path = "{log}"
time = "{time}"
{start}
[stations]
FD = ["flight director", "flight"]
PROP = ["propulsion"]
GUID = ["guidance"]
RSO = ["range safety"]
MET = ["weather"]
ELEC = ["electrical"]
"""
PLAN = """
step,t,action,kind,by,to
1,T-20:00,Start battery conditioning,step,ELEC,FD
2,T-10:00,{poll},poll,FD,
3,T-5:00,Pressurize main tanks,step,PROP,FD
4,T-0,Lift-off,step,,
"""
BEFORE = "14:10:00 FD>ELEC start battery conditioning\n14:10:05 FD T-20 and counting\n14:15:00 FD T-15 minutes and counting\n"
AFTER = "14:25:00 FD T-5 and counting\n14:25:01 FD>PROP pressurize main tanks\n14:25:06 PROP main tanks at pressure\n14:30:00 FD liftoff\n"
SPOKEN_BEFORE = [(600, "Electrical, flight, start battery conditioning."), (604, "Starting battery conditioning, electrical."),
                 (605.5, "T minus twenty minutes and counting."), (900, "T minus fifteen minutes and counting.")]
SPOKEN_AFTER = [(1500, "T minus five minutes and counting."), (1502, "Propulsion, flight, pressurize main tanks."),
                (1507, "Propulsion copies, pressurizing."), (1795, "five, four, three, two, one, zero, and lift-off.")]
OPENING = "Go/no-go poll for terminal count"


def typed(tmp_path: Path, lines: str, poll: str = OPENING):
    made = write_folder(tmp_path / "c", {"count.toml": TOML.format(log="notes.txt", time="utc", start=""),
                                         "plan.csv": PLAN.format(poll=poll), "notes.txt": BEFORE + lines + AFTER})
    return read(made)


def spoken(tmp_path: Path, cues: list[tuple[float, str]], poll: str = OPENING):
    text = "WEBVTT\n\n" + "".join(f"{stamp(t)} --> {stamp(t + max(2.0, len(said) / 14))}\n{said}\n\n" for t, said in [*SPOKEN_BEFORE, *cues, *SPOKEN_AFTER])
    folder = write_folder(tmp_path / "c", {"count.toml": TOML.format(log="net.vtt", time="elapsed", start="start = 2031-04-18T14:00:00Z"),
                                           "plan.csv": PLAN.format(poll=poll), "net.vtt": text})
    (folder / "notes.txt").unlink()
    return read(folder)


def stamp(t: float) -> str:
    return f"{int(t) // 3600:02d}:{int(t) // 60 % 60:02d}:{t % 60:06.3f}"


def read(folder: Path):
    made = ac.review(folder)
    answers = [f"{s} {a}" for s, a in zip(made.polls["station"], made.polls["answer"], strict=True)]
    polls = made.findings[made.findings["kind"].isin(["no_go", "poll_missing", "poll_unclear", "poll_changed"])]
    told = sorted((k, v, t.split()[0]) for k, v, t in zip(polls["kind"], polls["severity"], polls["text"], strict=True))
    assert set(made.polls["step"]) <= {"2"}
    return answers, told


def test_one_note_with_the_whole_roll_and_a_change_later(tmp_path: Path) -> None:
    answers, told = typed(tmp_path, "14:20:03 FD poll: PROP go, GUID go, RSO go, MET no go, ELEC go\n14:21:10 MET now go\n")
    assert answers == ["PROP go", "GUID go", "RSO go", "MET no go", "ELEC go", "MET go"]
    assert told == [("poll_changed", "minor", "MET")]


def test_a_note_an_answer_with_reasons(tmp_path: Path) -> None:
    answers, told = typed(tmp_path, """\
14:20:02 FD T-10, poll for terminal count
14:20:05 PROP go
14:20:07 GUID go
14:20:10 RSO NO GO - boat in the box
14:20:14 MET go
14:21:30 RSO is go, boat clear
14:21:40 ELEC go
14:24:30 MET no go, lightning within ten miles
""")
    assert answers == ["PROP go", "GUID go", "RSO no go", "MET go", "RSO go", "ELEC go", "MET no go"]
    assert told == [("no_go", "major", "MET"), ("poll_changed", "minor", "RSO")]


def test_results_set_down_afterwards(tmp_path: Path) -> None:
    answers, told = typed(tmp_path, "14:20:00 FD: go/no-go poll for terminal count\n"
                                    "14:20:30 Poll results - PROP: go; GUID: go; RSO: go; MET: go; ELEC: go. All go.\n")
    assert (sorted(answers), told) == (["ELEC go", "GUID go", "MET go", "PROP go", "RSO go"], [])


def test_ready_and_not_ready(tmp_path: Path) -> None:
    answers, told = typed(tmp_path, """\
14:19:00 ELEC ready
14:20:03 FD polling for terminal count
14:20:05 PROP ready
14:20:07 GUID is ready
14:20:09 RSO green
14:20:12 MET not ready, wind
14:20:15 ELEC ready
""")
    assert answers == ["PROP go", "GUID go", "RSO go", "MET no go", "ELEC go"]
    assert told == [("no_go", "major", "MET")]


@pytest.mark.parametrize("poll", ["Poll PROP GUID RSO MET for terminal count", '"Poll propulsion, guidance, range safety and weather for terminal count"'])
def test_a_station_the_plan_names_and_nobody_heard(tmp_path: Path, poll: str) -> None:
    answers, told = typed(tmp_path, "14:20:03 FD poll: PROP go, GUID go, RSO go\n", poll)
    assert answers == ["PROP go", "GUID go", "RSO go", "MET missing"]
    assert told == [("poll_missing", "major", "MET")]


def test_a_cue_an_answer_on_a_transcript_without_labels(tmp_path: Path) -> None:
    answers, told = spoken(tmp_path, [
        (1200, "Attention all stations, this is flight, give me a go no go for terminal count."), (1206, "Propulsion."), (1208, "Go flight."),
        (1210, "Guidance."), (1212, "Guidance is go."), (1214, "Range safety."), (1216, "Go for terminal count."), (1219, "Weather."),
        (1223, "We are no go, flight."), (1226, "Electrical."), (1228, "Electrical go."), (1232, "Copy, weather is no go.")])
    assert answers == ["PROP go", "GUID go", "RSO go", "MET no go", "ELEC go"]
    assert told == [("no_go", "major", "MET")]


def test_a_whole_roll_in_one_cue(tmp_path: Path) -> None:
    answers, told = spoken(tmp_path, [(1200, "All stations, flight, poll for terminal count. Propulsion? Go. Guidance? Go. Range safety? Range is go. "
                                             "Weather? Go. Electrical? Go flight. Flight director, all stations are go.")])
    assert (answers, told) == (["PROP go", "GUID go", "RSO go", "MET go", "ELEC go"], [])


@pytest.mark.parametrize(("said", "expected", "finding"), [
    ([(1224, "range safety flight")], "RSO missing", [("poll_missing", "major", "RSO")]),
    ([(1216, "gull"), (1224, "thank you")], "RSO unclear", [("poll_unclear", "note", "What")]),
    ([(1216, "range safety is goal")], "RSO unclear", [("poll_unclear", "note", "What")])])
def test_called_out_and_silent_or_not_made_out(tmp_path: Path, said: list[tuple[float, str]], expected: str, finding: list[tuple[str, str, str]]) -> None:
    answers, told = spoken(tmp_path, [
        (1200, "this is the go no go poll for terminal count"), (1206, "propulsion"), (1208, "go"), (1210, "guidance"), (1212, "go"),
        (1214, "range safety"), *said, (1230, "weather"), (1232, "go"), (1234, "electrical"), (1236, "go"), (1240, "thank you all")])
    assert expected in answers and len(answers) == 5
    assert told == finding


def test_a_call_to_somebody_else_between_the_call_out_and_its_answer(tmp_path: Path) -> None:
    answers, told = spoken(tmp_path, [
        (1200, "All stations, flight, poll for terminal count."), (1204, "Propulsion."), (1206, "Propulsion go."), (1208, "Range safety."),
        (1210, "Guidance, flight, radio check."), (1212, "Go."), (1214, "Weather."), (1216, "Weather is go.")])
    assert (answers, told) == (["PROP go", "RSO go", "MET go"], [])


def test_who_answered_every_other_poll_is_missed_in_this_one(count) -> None:
    plan = "\n".join(f"9.{k} | T-00:{40 - 10 * k}:00 | take the poll | kind=poll; by=TC" for k in range(3))
    heard, answers = [], []
    for k in range(3):
        heard.append(f"net.vtt:{10 * k + 1} | T-00:{40 - 10 * k}:00 | TC | poll | 9.{k}:call | stations, go or no go")
        for n, station in enumerate(("PROP", "LOX", "FTS") if k != 1 else ("PROP", "LOX")):
            answers.append((len(heard), station, "go"))
            heard.append(f"net.vtt:{10 * k + 2 + n} | T-00:{39 - 10 * k}:5{n} | {station} | response | | {station} go")
    r = count(plan, "\n".join(heard), poll_answers=answers).judge()
    assert r.polls.loc[r.polls["answer"] == "missing", ["step", "station"]].values.tolist() == [["9.1", "FTS"]]
