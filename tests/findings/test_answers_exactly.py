"""Answers at the boundaries of who, when and in what words, on one call for step 1.1 by TC to PROP; and read-backs word by word."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from aftercount.findings.heard import Heard, micros, plain

PLAN = """
1.1 | T-00:30:00 | open vent valve 3 | by=PROP; to=TC; response_s=15
1.2 | T-00:20:00 | close the drain | by=LOX; to=TC; response_s=15
1.3 | T-00:10:00 | read the gauge | by=LOX; to=TC
1.5 | T-00:08:00 | start the pump | by=PROP; to=TC
"""
ANSWERED = "net.vtt:90 | T-00:20:00 | TC>LOX | call | 1.2:call | LOX, TC, close the drain\nnet.vtt:91 | T-00:19:56 | LOX>TC | response | 1.2:response | in work\n"
CALL = "net.vtt:1 | T-00:30:00 | TC>PROP | call | 1.1:call | PROP, TC, open vent valve 3\n"


def after(s: float) -> str:
    left = 1800 - s
    return f"T-00:{int(left) // 60:02d}:{left % 60:04.1f}".removesuffix(".0")


def line(n: int, s: float, who: str, text: str, kind: str = "response", match: str = "", source: str = "net.vtt") -> str:
    return f"{source}:{n} | {after(s)} | {who} | {kind} | {match} | {text}\n"


def first(count: Any, *lines: str, plan: str = PLAN, call: str = CALL, **options: Any) -> tuple[str | None, float | None, str | None]:
    """(response, seconds, the line that answered)."""
    r = count(plan, call + "".join(lines) + ANSWERED, **options).judge()
    row = r.steps.iloc[0]
    answer = None if pd.isna(row["response_event"]) else (call + "".join(lines)).splitlines()[int(row["response_event"])].split(" ")[0]
    return plain(row["response"]), None if pd.isna(row["response_s"]) else round(row["response_s"], 3), answer


@pytest.mark.parametrize(("took", "sigma", "expected"), [
    (15.0, 0.1, "answered"), (15.2, 0.1, "answered"), (15.3, 0.1, "late"), (17.8, 1.0, "answered"), (17.9, 1.0, "late")])
def test_an_answer_is_late_by_more_than_two_standard_deviations(count: Any, took: float, sigma: float, expected: str) -> None:
    """The root of twice 0.1² is 0.14 s, so 15.28 s is the last that the clocks explain; with 1 s it is 17.83 s."""
    assert first(count, line(2, took, "PROP>TC", "in work", match="1.1:response"), sigma_s=sigma) == (expected, took, "net.vtt:2")


@pytest.mark.parametrize(("reply", "expected"), [
    (line(2, 7, "PROP>TC", "roger"), ("answered", 7.0, "net.vtt:2")), (line(2, 7, "PROP", "roger"), ("answered", 7.0, "net.vtt:2")),
    (line(2, 7, "PROP>TC", "roger", "report"), ("answered", 7.0, "net.vtt:2")), (line(2, 7, "PROP>TC", "roger", "note"), ("answered", 7.0, "net.vtt:2")),
    (line(2, 7, "PROP>TC", "aye", "call"), ("answered", 7.0, "net.vtt:2")), (line(2, 7, "PROP", "aye", "call"), ("answered", 7.0, "net.vtt:2")),
    (line(2, 7, "PROP>LOX", "LOX, are you there", "call"), ("none", None, None)), (line(2, 7, "PROP", "hold", "hold"), ("none", None, None)),
    (line(2, 7, "PROP>TC", "thank you"), ("none", None, None)), (line(2, 7, "", "Thanks."), ("none", None, None)), (line(2, 7, "", "thanks, in work"), ("answered", 7.0, "net.vtt:2")),
    (line(2, 7, "LOX>TC", "roger", match="1.1:response"), ("none", None, None)), (line(2, 7, "", "roger", match="1.1:response"), ("answered", 7.0, "net.vtt:2")),
    (line(2, 7, "LOX>TC", "roger"), ("none", None, None)), (line(2, 7, "PROP", "roger", source="b.vtt"), ("none", None, None)),
    (line(2, 30, "PROP", "roger"), ("late", 30.0, "net.vtt:2")), (line(2, 30.1, "PROP", "valve 3 is open", "report"), ("none", None, None)),
    # a voice nobody could name
    (line(2, 12, "", "roger"), ("answered", 12.0, "net.vtt:2")), (line(2, 12, ">PROP", "roger"), ("answered", 12.0, "net.vtt:2")), (line(2, 12, ">TC", "roger"), ("answered", 12.0, "net.vtt:2")),
    (line(2, 12, ">LOX", "roger"), ("none", None, None)), (line(2, 29, "", "roger"), ("late", 29.0, "net.vtt:2")), (line(2, 12, "", "doing that right now", "note"), ("answered", 12.0, "net.vtt:2")),
    (line(2, 12, "", "we are doing that now", "note"), ("none", None, None)), (line(2, 12.1, "", "on it", "note"), ("none", None, None)), (line(2, 12, ">TC", "on it", "note"), ("none", None, None)),
    (line(2, 9, "", "the big valve is turning over there now", "note"), ("answered", 9.0, "net.vtt:2")), (line(2, 9, "", "the big valve is turning over there now", "report"), ("answered", 9.0, "net.vtt:2")),
    (line(2, 9, "", "the big valve is turning over there now", "call"), ("none", None, None)), *((line(2, 9, "", "vent valve", k), ("none", None, None)) for k in (
        "mark", "hold", "resume", "recycle", "cutoff", "scrub", "liftoff", "poll"))])
def test_what_answers_a_call_whatever_was_matched(count: Any, reply: str, expected: tuple) -> None:
    assert first(count, reply) == expected


@pytest.mark.parametrize(("between", "reply", "expected"), [
    # three sentences on, a remark must take up a word of the call
    (line(2, 3, "LOX", "gulls", "note") + line(3, 4, "LOX", "gulls", "note"), line(4, 9, "", "the big valve is turning over there", "note"), ("answered", 9.0, "net.vtt:4")),
    (line(2, 3, "LOX", "gulls", "note") + line(3, 4, "LOX", "gulls", "note") + line(4, 5, "LOX", "gulls", "note"), line(5, 9, "", "the big valve is turning over there", "note"), ("none", None, None)),
    (line(2, 3, "LOX", "gulls", "note"), line(3, 9, "", "on it", "note"), ("none", None, None)),
    # another call has gone out: only a plain answer within twelve seconds, or the station's own voice
    (line(2, 3, "TC>LOX", "LOX, TC, read the gauge", "call", "1.3:call"), line(3, 12, "", "roger"), ("answered", 12.0, "net.vtt:3")),
    (line(2, 3, "TC>LOX", "LOX, TC, read the gauge", "call", "1.3:call"), line(3, 12.1, "", "roger"), ("none", None, None)),
    (line(2, 3, "TC>LOX", "LOX, TC, read the gauge", "call", "1.3:call"), line(3, 14, "PROP", "roger"), ("answered", 14.0, "net.vtt:3")),
    (line(2, 3, "TC>LOX", "LOX, TC, read the gauge", "call", "1.3:call"), line(3, 9, "", "vent valve is moving slowly now", "note"), ("none", None, None)),
    (line(2, 3, "TC>LOX", "LOX, are you on", "call"), line(3, 12.1, "", "roger"), ("none", None, None)), (line(2, 3, "TC>LOX", "go for that", "poll"), line(3, 12.1, "", "roger"), ("none", None, None)),
    (line(2, 3, "LOX>LOX", "LOX, LOX", "call"), line(3, 12.1, "", "roger"), ("answered", 12.1, "net.vtt:3")), (line(2, 3, "", "LOX", "call"), line(3, 12.1, "", "roger"), ("answered", 12.1, "net.vtt:3")),
    (line(2, 3, "TC>LOX", "that is all", "note"), line(3, 12.1, "", "roger"), ("answered", 12.1, "net.vtt:3")),
    # the same station is called for something else: what it says next answers that
    (line(2, 3, "TC>PROP", "PROP, TC, start the pump", "call", "1.5:call"), line(3, 9, "PROP", "roger"), ("none", None, None)),
    # another step's report or answer by somebody named
    (line(2, 3, "LOX", "gauge reads low", "report", "1.3:report"), line(3, 9, "PROP", "roger"), ("answered", 9.0, "net.vtt:3")),
    (line(2, 3, "PROP>TC", "starting the pump", "response", "1.5:response"), "", ("answered", 3.0, "net.vtt:2")), (line(2, 3, "", "starting the pump", "response", "1.5:response"), "", ("none", None, None)),
    (line(2, 3, "PROP>TC", "pump started", "report", "1.5:report"), "", ("none", None, None)),
    # twelve sentences on
    ("".join(line(2 + k, 1 + k / 4, "LOX", "gulls", "note") for k in range(11)), line(13, 9, "PROP", "roger"), ("answered", 9.0, "net.vtt:13")),
    ("".join(line(2 + k, 1 + k / 4, "LOX", "gulls", "note") for k in range(12)), line(14, 9, "PROP", "roger"), ("none", None, None)),
    ("notes.txt:5 | T-00:29:58 | TC | note | | gulls\n", line(2, 9, "PROP", "roger"), ("none", None, None))])
def test_what_was_said_between_call_and_answer(count: Any, between: str, reply: str, expected: tuple) -> None:
    assert first(count, between, reply) == expected


def test_the_first_answer_counts_and_one_logs_own_pair_before_two_logs(count: Any) -> None:
    late = line(2, 9, "PROP>TC", "in work", match="1.1:response") + line(3, 20, "PROP>TC", "vent valve 3 open", "report", "1.1:report")
    assert first(count, late) == ("answered", 9.0, "net.vtt:2")
    both = "notes.txt:7 | T-00:29:51 | PROP>TC | response | 1.1:response | in work\n" + line(2, 9.2, "PROP>TC", "in work", match="1.1:response")
    assert first(count, both) == ("answered", 9.2, "net.vtt:2")
    alone = "notes.txt:7 | T-00:29:51 | PROP>TC | response | 1.1:response | in work\n"
    assert first(count, alone) == ("answered", 9.0, "notes.txt:7")


@pytest.mark.parametrize(("before", "sigma", "expected"), [(0.1, 0.1, ("answered", 0.0)), (0.2, 0.1, ("answered", None)), (1.3, 1.0, ("answered", 0.0)), (1.5, 1.0, ("answered", None))])
def test_an_answer_stamped_just_before_its_call_took_no_time(count: Any, before: float, sigma: float, expected: tuple) -> None:
    """By more than a standard deviation of the two clocks the acceptance came first, and the 'call' was none: what it answers was not made out."""
    got = first(count, f"notes.txt:7 | {after(-before)} | PROP>TC | response | 1.1:response | in work\n", sigma_s=sigma)
    assert got[:2] == expected


@pytest.mark.parametrize(("who", "kind", "expected"), [
    ("PROP>TC", "response", "answered"), (">TC", "response", "answered"), ("GNC>TC", "response", None), ("PROP>TC", "report", None)])
def test_an_acceptance_answers_a_call_that_was_not_made_out(count: Any, who: str, kind: str, expected: str | None) -> None:
    """Of who performs the step; a report tells that it was done, not that it was called."""
    r = count(PLAN, f"net.vtt:2 | {after(3)} | {who} | {kind} | 1.1:{kind} | in work\n").judge().steps
    assert (None if pd.isna(r["response"].iloc[0]) else r["response"].iloc[0]) == expected and pd.isna(r["response_s"].iloc[0])


@pytest.mark.parametrize(("calls", "answered", "due"), [(4, 2, True), (4, 1, False), (7, 3, True)])
def test_how_many_calls_a_loop_must_have_answered_to_prove_a_silence(count: Any, calls: int, answered: int, due: bool) -> None:
    """Three in ten of the calls that want an answer, this silent one among them."""
    plan = "\n".join(f"2.{k} | T-00:{29 - k}:00 | turn cock {k} | by=LOX; to=TC; response_s=15" for k in range(calls - 1))
    heard = CALL + "\n".join(f"net.vtt:{10 + 2 * k} | T-00:{29 - k}:00 | TC>LOX | call | 2.{k}:call | turn cock {k}" + (
        f"\nnet.vtt:{11 + 2 * k} | T-00:{28 - k}:56 | LOX>TC | {'report' if k else 'response'} | 2.{k}:{'report' if k else 'response'} | in work" if k < answered else "") for k in range(calls - 1))
    r = count(PLAN.splitlines()[1] + "\n" + plan, heard).judge().steps
    assert r["response"].notna().iloc[0] == due


@pytest.mark.parametrize(("source", "answered", "due"), [("notes.txt", 3, False), ("notes.txt", 4, True)])
def test_a_typed_log_must_have_four_answers_in_five(count: Any, source: str, answered: int, due: bool) -> None:
    plan = "\n".join(f"2.{k} | T-00:{29 - k}:00 | turn cock {k} | by=LOX; to=TC; response_s=15" for k in range(4))
    heard = CALL.replace("net.vtt", source) + "\n".join(f"{source}:{10 + 2 * k} | T-00:{29 - k}:00 | TC>LOX | call | 2.{k}:call | turn cock {k}" + (
        f"\n{source}:{11 + 2 * k} | T-00:{28 - k}:56 | LOX>TC | response | 2.{k}:response | in work" if k < answered else "") for k in range(4))
    made = count(PLAN.splitlines()[1] + "\n" + plan, heard)
    frame, given = made._heard(made._clock())
    made._heard = lambda clock: (frame.assign(medium="typed"), given)
    assert made.judge().steps["response"].notna().iloc[0] == due


@pytest.mark.parametrize(("said", "wrong"), [
    ("closing vent valve 3, PROP", ("closing", "open")), ("open vent valve 5, PROP", ("5", "3")), ("open vent valve three, PROP", None), ("unlock vent valve 3, PROP", None),
    ("open drain valve 3, PROP", None), ("closing something", None), ("close vent, PROP", None), ("close valve vent, PROP", ("close", "open"))])
def test_which_word_of_a_read_back_is_wrong(count: Any, said: str, wrong: tuple[str, str] | None) -> None:
    """Two words of the call besides must be said again; a word that names no other step of this plan and no opposite is no fault."""
    f = count(PLAN, CALL + line(2, 5, "PROP>TC", said) + ANSWERED).judge().findings
    text = f.loc[f["kind"] == "readback_wrong", "text"].tolist()
    assert text == ([f"The read-back of step 1.1 (open vent valve 3) said '{wrong[0]}' where the call said '{wrong[1]}', and nobody put it right."] if wrong else [])


@pytest.mark.parametrize(("lines", "found"), [
    (line(2, 90, "PROP>TC", "closing vent valve 3"), True), (line(2, 90.1, "PROP>TC", "closing vent valve 3"), False),
    (line(2, 15, "PROP>TC", "closing vent valve 3 now now gulls"), True), (line(2, 15, "PROP>TC", "closing valve 3 gulls"), True), (line(2, 15.1, "PROP>TC", "closing valve 3 gulls"), False),
    ("".join(line(2 + k, 1, "LOX", "gulls", "note") for k in range(3)) + line(9, 5, "PROP>TC", "closing vent valve 3"), True),
    ("".join(line(2 + k, 1, "LOX", "gulls", "note") for k in range(15)) + line(19, 5, "PROP>TC", "closing vent valve 3"), True),
    ("".join(line(2 + k, 1, "LOX", "gulls", "note") for k in range(16)) + line(19, 5, "PROP>TC", "closing vent valve 3"), False),
    ("".join(line(2 + k, 1, "LOX", "gulls", "note") for k in range(4)) + line(9, 5, "PROP>TC", "closing valve 3 gulls"), False),
    (line(2, 3, "TC>PROP", "close the port", "call") + line(3, 5, "PROP>TC", "closing vent valve 3"), False),
    (line(2, 3, "TC>LOX", "LOX, TC, close valve 7", "call") + line(3, 5, "PROP>TC", "closing vent valve 3"), False),
    (line(2, 5, "TC>PROP", "closing vent valve 3"), True), (line(2, 5, "TC>PROP", "close vent valve 3"), False),
    (line(2, 5, "PROP>TC", "closing vent valve 3", source="b.vtt"), False), (line(2, 5, "PROP>TC", "closing vent valve 3", "report"), True),
    (line(2, 5, "PROP>TC", "closing vent valve 3", "report", "1.5:report"), True), (line(2, 5, "", "closing vent valve 3"), True), (line(2, 5, "", "closing vent valve 3", "note"), False),
    (line(2, 5, ">TC", "closing vent valve 3"), False), (line(2, 3, "PROP>TC", "open vent valve 3") + line(3, 5, "PROP>TC", "closing vent valve 3"), False)])
def test_what_is_a_read_back(count: Any, lines: str, found: bool) -> None:
    f = count(PLAN, CALL + lines + ANSWERED).judge().findings
    assert ("readback_wrong" in set(f["kind"])) == found


@pytest.mark.parametrize(("more", "corrected"), [
    (line(3, 25, "TC>PROP", "negative, open", "note"), True), (line(3, 25.1, "TC>PROP", "negative, open", "note"), False), (line(3, 9, "", "correction, open", "note"), True),
    (line(3, 9, "TC>PROP", "that is incorrect", "note"), True), (line(3, 9, "TC>PROP", "disregard", "note"), True), (line(3, 9, "PROP>TC", "correction, opening", "note"), False),
    (line(3, 9, "TC>PROP", "open it, please", "note"), False),
    ("".join(line(3 + k, 6, "LOX", "gulls", "note") for k in range(3)) + line(9, 9, "TC>PROP", "negative", "note"), True),
    ("".join(line(3 + k, 6, "LOX", "gulls", "note") for k in range(4)) + line(9, 9, "TC>PROP", "negative", "note"), False)])
def test_what_puts_a_read_back_right(count: Any, more: str, corrected: bool) -> None:
    """Somebody else says so within twenty seconds and four sentences of it."""
    f = count(PLAN, CALL + line(2, 5, "PROP>TC", "closing vent valve 3") + more + ANSWERED).judge().findings
    assert f.loc[f["kind"] == "readback_wrong", "severity"].tolist() == ["note" if corrected else "major"]


# --- what was heard, as plain values ---

def utterances(**columns: Any) -> pd.DataFrame:
    base = {"utterance": 4, "source": "a", "line": 7, "station": "TC", "to": None, "medium": "speech", "kind": "call", "text": "x", "time_kind": "utc", "own_us": 50, "own_sigma_s": 0.5,
            "stamp_t_us": None, "utc_us": 90, "sigma_s": 3.0, "t_s": -5.0, "pass": 2, "clock_sigma_s": 0.25}
    frame = pd.DataFrame([base | columns])
    return frame.assign(**{c: frame[c].astype("Int64") for c in ("own_us", "stamp_t_us", "utc_us")})


def test_an_utterance_in_plain_values() -> None:
    [u] = Heard(utterances()).all
    assert (u.event, u.source, u.line, u.station, u.to, u.medium, u.kind, u.text, u.time_kind) == (4, "a", 7, "TC", None, "speech", "call", "x", "utc")
    assert (u.own_us, u.own_sigma_s, u.us, u.sigma_s, u.t_s, u.stamped_t, u.in_pass, u.clock_sigma_s, u.place) == (50, 0.5, 90, 3.0, -5.0, False, 2, 0.25, "a:7")
    assert Heard(utterances()).get(4) == u and Heard(utterances()).get(0) is None and Heard(utterances()).get(None) is None


def test_what_is_not_known_of_an_utterance() -> None:
    [u] = Heard(utterances(own_us=None, own_sigma_s=None, utc_us=None, sigma_s=None, t_s=float("nan"), clock_sigma_s=None, station=None, **{"pass": 0})).all
    assert (u.own_us, u.own_sigma_s, u.us, u.sigma_s, u.t_s, u.in_pass, u.clock_sigma_s, u.station, u.timed, u.on_wall) == (None, 0.0, None, 0.0, None, None, 0.0, None, False, False)
    [v] = Heard(utterances(sigma_s=None)).all
    assert v.sigma_s == 0.5 and v.timed and v.on_wall


def test_a_stamped_count_time_is_taken_where_nothing_better_is_known() -> None:
    def of(**columns: Any) -> tuple[float | None, bool, float]:
        [u] = Heard(utterances(**columns)).all
        return u.t_s, u.stamped_t, u.clock_sigma_s

    assert of(stamp_t_us=-7_000_000) == (-5.0, False, 0.25)  # the wall time says it better
    assert of(stamp_t_us=-7_000_000, t_s=None) == (-7.0, True, 0.0)
    assert of(time_kind="count", own_us=-9_000_000) == (-9.0, True, 0.0)


def test_columns_of_time_in_microseconds() -> None:
    stamps = pd.Series([pd.Timestamp("1970-01-01T00:00:01.5Z"), pd.NaT])
    assert micros(stamps) == [1_500_000, None] and micros(stamps.dt.as_unit("ns")) == [1_500_000, None]
    assert micros(pd.Series([7, None], dtype="Int64")) == [7, None]
    assert [plain(v) for v in (None, pd.NA, pd.NaT, float("nan"), 0, "", False)] == [None, None, None, None, 0, "", False]
