"""Polls to the row and the word: who belongs to a poll, in what order, who is missing, and the seconds at which one poll becomes another."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount.findings.rollcall import ready_or_not

T0 = pd.Timestamp("2031-04-19T14:30:00Z")
PLAN = "1.3 | T-00:20:00 | take the poll | kind=poll; by=TC"
OPENED = "net.vtt:1 | T-00:20:00 | TC | poll | 1.3:call | stations, go or no go\n"


def when(s: float) -> str:
    """Seconds after T-20:00 as the count then reads."""
    left = 1200 - s
    return f"T-00:{int(left) // 60:02d}:{left % 60:04.1f}".removesuffix(".0")


def line(n: int, s: float, who: str, text: str, kind: str = "response", source: str = "net.vtt") -> str:
    return f"{source}:{n} | {when(s)} | {who} | {kind} | | {text}\n"


def polled(count: Any, *lines: tuple[str, tuple[str, str] | None], plan: str = PLAN, opened: str = OPENED, **options: Any) -> Any:
    """lines: (line, (station, answer)) as speech understood it, or None."""
    heard = opened + "".join(text for text, _ in lines)
    first = len(opened.splitlines())
    answers = [(first + k, *answer) for k, (_, answer) in enumerate(lines) if answer is not None]
    return count(plan, heard, poll_answers=answers, **options).judge()


def rows(r: Any) -> list[tuple]:
    table = r.polls[["poll", "step", "order", "station", "answer"]]
    return [(p, None if pd.isna(s) else s, o, who, a) for p, s, o, who, a in table.itertuples(index=False, name=None)]


def told(r: Any) -> list[tuple[str, str, str]]:
    polls = r.findings[r.findings["kind"].isin(["no_go", "poll_missing", "poll_unclear", "poll_changed"])]
    return list(polls[["kind", "severity", "text"]].itertuples(index=False, name=None))


def go(n: int, s: float, who: str, answer: str = "go", **more: str) -> tuple[str, tuple[str, str]]:
    return line(n, s, who, f"{who} {answer}", **more), (who, answer)


def test_every_column_of_a_poll(count: Any) -> None:
    r = polled(count, go(2, 5, "PROP"), go(3, 9.5, "LOX", "no go"))
    assert r.polls.iloc[1].to_dict() == {"poll": 1, "step": "1.3", "pass": 1, "order": 2, "station": "LOX", "answer": "no go", "utc": T0 - pd.Timedelta(seconds=1190.5), "event": 2}
    assert rows(r) == [(1, "1.3", 1, "PROP", "go"), (1, "1.3", 2, "LOX", "no go")]
    assert r.steps["kind"].tolist() == ["poll"]


@pytest.mark.parametrize(("answers", "expected", "cites"), [
    (["no go"], ("no_go", "major", "LOX was no go in the poll of step 1.3; no later go was heard."), 3),
    (["go", "no go"], ("no_go", "major", "LOX changed from go to no go in the poll of step 1.3; no later go was heard."), 4),
    (["no go", "go"], ("poll_changed", "minor", "LOX was no go in the poll of step 1.3, and go later."), 3),
    (["unclear"], ("poll_unclear", "note", "What LOX answered in the poll of step 1.3 could not be made out."), 3), (["unclear", "go"], None, None), (["go"], None, None)])
def test_what_a_stations_answers_come_to(count: Any, answers: list[str], expected: Any, cites: int | None) -> None:
    r = polled(count, go(2, 1, "PROP"), *(go(3 + k, 5 + 5 * k, "LOX", a) for k, a in enumerate(answers)))
    assert told(r) == ([expected] if expected else [])
    if expected:
        found = r.findings[r.findings["kind"] == expected[0]].iloc[0]
        assert (found["step"], found["pass"], found["source"], found["line"]) == ("1.3", 1, "net.vtt", cites)


def test_a_missing_station_is_told_at_the_polls_first_answer(count: Any) -> None:
    plan = "1.3 | T-00:20:00 | poll PROP, LOX and FTS | kind=poll; by=TC"
    r = polled(count, go(2, 5, "PROP"), go(3, 9, "LOX"), plan=plan)
    assert told(r) == [("poll_missing", "major", "FTS was not heard in the poll of step 1.3.")]
    assert r.findings.loc[r.findings["kind"] == "poll_missing", "line"].tolist() == [2]
    assert rows(r)[-1] == (1, "1.3", 3, "FTS", "missing") and pd.isna(r.polls["utc"].iloc[-1]) and pd.isna(r.polls["event"].iloc[-1])


@pytest.mark.parametrize(("plan", "missing"), [
    ("poll PROP and FTS | kind=poll; by=TC", ["FTS"]), ("poll the team | kind=poll; by=PROP LOX FTS; to=TC", ["LOX", "FTS"]), ("poll the team | kind=poll; by=PROP,LOX,FTS; to=TC", ["LOX", "FTS"]),
    ("poll the team | kind=poll; by=TC; to=FTS", []), ("poll FTS PROP LOX | kind=poll; by=FTS", ["LOX"]), ("poll the team | kind=poll; by=TC; says=poll of PROP and RSO", ["RSO"]),
    ("poll the team | kind=poll; by=TC; stations=PROP RSO", ["RSO"]), ("poll the propellant team | kind=poll; by=TC", [])])
def test_whom_the_plan_expects(count: Any, plan: str, missing: list[str]) -> None:
    """Named in the words of the step or in its lists of three or more; who calls for the poll answers to nobody."""
    r = polled(count, go(2, 5, "PROP"), plan=f"1.3 | T-00:20:00 | {plan}")
    assert r.polls.loc[r.polls["answer"] == "missing", "station"].tolist() == missing


@pytest.mark.parametrize(("gap", "polls"), [(120.0, 1), (121.0, 2)])
def test_two_minutes_of_silence_end_a_poll(count: Any, gap: float, polls: int) -> None:
    r = polled(count, go(2, 5, "PROP"), go(3, 6, "LOX"), go(4, 6 + gap, "FTS"), go(5, 7 + gap, "RSO"))
    assert r.polls["poll"].max() == polls


@pytest.mark.parametrize(("late", "step"), [(239.0, "1.3"), (240.0, "1.3"), (241.0, None)])
def test_a_poll_belongs_to_a_step_begun_within_four_minutes(count: Any, late: float, step: str | None) -> None:
    r = polled(count, go(2, late, "PROP"), go(3, late + 3, "LOX", "no go"))
    assert {s for _, s, *_ in rows(r)} == {step}
    at = {239.0: None, 240.0: None, 241.0: "T-00:15:59"}[late]
    assert told(r)[0][2] == f"LOX was no go in {f'the poll at {at}' if at else 'the poll of step 1.3'}; no later go was heard."
    assert r.findings.loc[r.findings["kind"] == "no_go", "pass"].tolist() == [1]


def test_of_two_poll_steps_the_nearer_one_is_meant(count: Any) -> None:
    plan = PLAN + "\n1.4 | T-00:17:00 | take the second poll | kind=poll; by=TC"
    opened = OPENED + "net.vtt:20 | T-00:17:00 | TC | poll | 1.4:call | go or no go\n"
    r = polled(count, go(2, 89, "PROP"), go(3, 91, "LOX"), plan=plan, opened=opened)
    assert {s for _, s, *_ in rows(r)} == {"1.3"}
    r = polled(count, go(2, 91, "PROP"), go(3, 92, "LOX"), plan=plan, opened=opened)
    assert {s for _, s, *_ in rows(r)} == {"1.4"}


def test_two_answers_are_a_poll_without_a_step_and_one_is_none(count: Any) -> None:
    assert [s for _, s, *_ in rows(polled(count, go(2, 500, "PROP"), go(3, 503, "LOX")))] == [None, None]
    assert rows(polled(count, go(2, 500, "PROP"), go(3, 503, "PROP", "no go"))) == []
    assert len(rows(polled(count, go(2, 5, "PROP")))) == 1


@pytest.mark.parametrize(("second", "kept"), [
    ({"s": 8.0}, 1), ({"s": 8.1}, 2), ({"s": 8.1, "who": "LOX"}, 2), ({"s": 2.0, "answer": "no go"}, 2), ({"s": 8.0, "source": "notes.txt"}, 1), ({"s": 8.1, "source": "notes.txt"}, 2),
    ({"s": 12.0, "source": "notes.txt", "sigma": 4.0}, 1), ({"s": 12.3, "source": "notes.txt", "sigma": 4.0}, 2), ({"s": 9.0, "sigma": 4.0}, 2)])
def test_one_answer_on_several_logs_is_one_answer(count: Any, second: dict, kept: int) -> None:
    """Within eight seconds; on two logs within three standard deviations of their clocks, here the root of 0.1² + 4², when that is more."""
    r = polled(count, go(2, 1, "PROP"), go(7, 1 + second["s"], second.get("who", "PROP"), second.get("answer", "go"), source=second.get("source", "net.vtt")),
               sigmas={"notes.txt": second.get("sigma", 0.1)})
    assert len(r.polls) == kept


@pytest.mark.parametrize(("later", "answer", "who", "polls"), [(1500, "no go", "PROP", 1), (1801, "no go", "PROP", 1), (600, "go", "PROP", 1), (600, "go", "RSO", 1)])
def test_a_lone_answer_later_changes_the_poll_or_is_none(count: Any, later: float, answer: str, who: str, polls: int) -> None:
    plan = "1.3 | T-00:50:00 | take the poll | kind=poll; by=TC"
    opened = "net.vtt:1 | T-00:50:00 | TC | poll | 1.3:call | stations\n"

    def at(s: float) -> float:
        return s - 1800.0  # `when` counts from T-20:00

    r = polled(count, go(2, at(5), "PROP"), go(3, at(6), "LOX"), go(4, at(6 + later), who, answer), plan=plan, opened=opened)
    changed = later <= 1800 and answer != "go"
    assert rows(r) == [(1, "1.3", 1, "PROP", "go"), (1, "1.3", 2, "LOX", "go"), *([(1, "1.3", 3, "PROP", "no go")] if changed else [])]
    assert r.polls["poll"].max() == polls


def test_answers_come_in_order_of_time_whatever_the_order_of_the_table(count: Any) -> None:
    r = polled(count, go(4, 9, "FTS"), go(2, 5, "PROP"), go(3, 7, "LOX"))
    assert [who for *_, who, _ in rows(r)] == ["PROP", "LOX", "FTS"]


def test_answers_of_one_entry_come_as_it_gives_them(count: Any) -> None:
    text = line(2, 5, "TC", "poll: RSO go, DRY go, LOX go")
    r = count(PLAN, OPENED + text, poll_answers=[(1, "RSO", "go"), (1, "DRY", "go"), (1, "LOX", "go")]).judge()
    assert [who for *_, who, _ in rows(r)] == ["RSO", "DRY", "LOX"]


ROLL = [(line(2, 5, "TC>PROP", "PROP", "call"), None), (line(3, 7, "PROP", "go"), ("PROP", "go")), (line(4, 9, "TC>RSO", "RSO", "call"), None)]


@pytest.mark.parametrize(("reply", "answer"), [
    (line(5, 12, "", "go"), "go"), (line(5, 12, "", "we are go for launch today"), "go"), (line(5, 12, "", "we are a go for launch today"), "unclear"), (line(5, 12, "", "no go"), "no go"),
    (line(5, 12, "", "not go"), "no go"), (line(5, 12, "", "negative go"), "no go"), (line(5, 12, "", "know go"), "no go"), (line(5, 12, "", "go no"), "go"),
    (line(5, 12, ">ALL", "go"), "missing"), (line(5, 12, "", "gull"), "unclear"), (line(5, 17, "", "gull"), "unclear"), (line(5, 17.1, "", "gull"), "missing"), (line(5, 12, "RSO", "gull"), "unclear"),
    (line(5, 12, "LOX", "gull"), "missing"), (line(5, 12, ">LOX", "gull"), "missing"), (line(5, 12, ">TC", "gull"), "unclear"), (line(5, 12, ">RSO", "gull", "note"), "unclear"),
    *((line(5, 12, "", "gull", kind), "missing") for kind in ("mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff")),
    (line(5, 12, "TC>LOX", "LOX, how do you read", "call") + line(6, 14, "", "go"), "go"), (line(5, 12, "TC>RSO", "range", "call") + line(6, 14, "", "go"), "go"),
    (line(5, 12, "TC>LOX", "LOX", "call") + line(6, 14, "", "go"), "missing"), (line(5, 12, "", "a", source="b.vtt") + line(6, 14, "", "go"), "missing"),
    (line(5, 11, "", "one two") + line(6, 12, "", "three") + line(7, 13, "", "go"), "go"),
    (line(5, 11, "", "one two") + line(6, 12, "", "three") + line(7, 13, "", "four") + line(8, 14, "", "go"), "unclear")])
def test_what_comes_back_when_a_station_is_called_out(count: Any, reply: str, answer: str) -> None:
    """A short sentence with 'go' among the next three of that log; else something that may be the station's within eight seconds; else silence."""
    r = polled(count, *ROLL, (reply, None))
    assert [(who, a) for *_, who, a in rows(r) if who != "LOX"] == [("PROP", "go"), ("RSO", answer)]


@pytest.mark.parametrize(("s", "asked"), [(-15.0, True), (-15.1, False), (27.0, True), (27.1, False)])
def test_a_station_is_called_out_at_most_twenty_seconds_before_the_first_or_after_the_last_answer(count: Any, s: float, asked: bool) -> None:
    r = polled(count, go(3, 5, "PROP"), go(4, 7, "LOX"), (line(9, s, "TC>RSO", "RSO", "call"), None))
    assert r.polls.loc[r.polls["answer"] == "missing", "station"].tolist() == (["RSO"] if asked else [])


@pytest.mark.parametrize(("call", "asked"), [
    (line(9, 6, "TC>RSO", "RSO", "poll"), True), (line(9, 6, "TC>RSO", "RSO", "note"), False), (line(9, 6, "RSO>RSO", "RSO", "call"), False),
    (line(9, 6, "TC>RSO", "RSO, radio check", "call"), False), (line(9, 6, "TC>GULL", "gull", "call"), False)])
def test_what_is_a_call_out(count: Any, call: str, asked: bool) -> None:
    r = polled(count, go(3, 5, "PROP"), go(4, 7, "LOX"), (call, None))
    assert r.polls.loc[r.polls["answer"] == "missing", "station"].tolist() == (["RSO"] if asked else [])


def test_the_caller_s_words_for_the_station_just_called_are_that_stations(count: Any) -> None:
    r = polled(count, *ROLL, (line(5, 11, "TC>RSO", "go, RSO"), ("TC", "go")))
    assert [(who, a) for *_, who, a in rows(r)] == [("PROP", "go"), ("RSO", "go")]


@pytest.mark.parametrize(("text", "answer"), [
    ("PROP ready", "go"), ("we are green", "go"), ("PROP is set", "go"), ("not ready, wind", "no go"), ("PROP negative ready", "no go"), ("know ready", "no go"), ("no green", "no go"),
    ("ready for terminal count", "go"), ("ready to fill", None), ("not sure", None), ("not", None), ("", None), ("PROP", None), ("the team is all ready", None), ("team all ready and green", None)])
def test_ready_stands_for_go(text: str, answer: str | None) -> None:
    assert ready_or_not(text, {"prop"}) == answer


@pytest.mark.parametrize(("s", "who", "kind", "source", "counts"), [
    (0, "PROP", "note", "net.vtt", True), (240, "PROP", "report", "net.vtt", True), (241, "PROP", "report", "net.vtt", False), (-1, "PROP", "note", "net.vtt", False), (9, "", "note", "net.vtt", False),
    (9, "PROP", "call", "net.vtt", False), (9, "PROP", "report", "seq.log", False), (9, "PROP", "response", "net.vtt", True)])
def test_ready_counts_in_the_minutes_after_a_poll_was_called(count: Any, s: float, who: str, kind: str, source: str, counts: bool) -> None:
    r = polled(count, (line(2, s, who, "ready", kind, source), None), go(3, max(s, 0) + 1, "LOX"))
    assert ("PROP" in r.polls["station"].tolist()) == counts


@pytest.mark.parametrize(("text", "counted"), [("go for the long dive", False), ("TC is go for the long dive", True), ("we are go", True)])
def test_what_the_caller_makes_of_the_answers_is_not_his_own(count: Any, text: str, counted: bool) -> None:
    r = polled(count, go(2, 5, "PROP"), go(3, 9, "LOX"), (line(4, 14, "TC", text), ("TC", "go")))
    assert ("TC" in r.polls["station"].tolist()) == counted
