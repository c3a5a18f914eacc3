"""How right are the steps of a review, against the truth of a simulated count?

Conventions: a step is one (step, pass); one that only the truth or only the review has is wrong. A verdict is right when
the status is and, for a step done, its evidence is a line that truly carries that step. `Nominal` steps are done on time,
in order, answered. A step's order is `tellable` when a line that carries the step kept at least MOST_KEPT of the words that were said
(a line of a keeper or a machine stands as it was written): what was said and what the log has of it decide that, and nothing that
was found. It does not score the clock.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pandas as pd

from aftercount.findings.heard import micros, plain, plain_list
from aftercount.findings.tally import Tally
from aftercount.speech.words import words

# Share of the words of a line that recognition must have left for the line to tell what it is about.
MOST_KEPT = 0.6

Key = tuple[str, int]
Line = tuple[str, int]


def score_steps(tables: dict[str, pd.DataFrame], truth: dict[str, Any], tally: Tally) -> None:
    """Add the steps' counts to `tally`."""
    said, true = _said(tables["steps"]), {(str(s["step"]), int(s["pass"])): s for s in truth["steps"]}
    carried, tellable = _carried(truth), _tellable(tables["events"], truth)
    for key in sorted(set(said) | set(true)):
        mine, real = said.get(key), true.get(key)
        right = mine is not None and real is not None and mine["status"] == real["status"]
        tally.hit("status", right)
        if mine is None or real is None:
            continue
        tally.counts[f"status:{real['status']}>{mine['status']}"] += 1
        _verdict(key, mine, right, carried, tally)
        _flags(mine, real, tally)
        if not real.get("ambiguous") and (mine["out_of_order"] or key in tellable):
            tally.flag("order_tellable", bool(real["out_of_order"]), bool(mine["out_of_order"]))
        _times(mine, real, tally)
    _matches(tables, carried, tally)
    _read_backs(tables.get("findings"), truth, tally)
    _polls(tables.get("polls"), truth.get("polls"), tally)


def _said(steps: pd.DataFrame) -> dict[Key, dict[str, Any]]:
    us = micros(steps["actual_utc"])
    return {(str(r["step"]), int(r["pass"])): {str(k): _value(v) for k, v in r.items()} | {"actual_us": at}
            for r, at in zip(steps.to_dict("records"), us, strict=True)}


def _value(value: Any) -> Any:
    return list(value) if hasattr(value, "__len__") and not isinstance(value, str) else plain(value)


def _carried(truth: dict[str, Any]) -> dict[Key, set[Line]]:
    """The lines that truly carry each step."""
    out: dict[Key, set[Line]] = {}
    for line in truth["lines"]:
        if line.get("step") is not None and not line.get("near_miss"):
            at = out.setdefault((str(line["step"]), int(line["pass"])), set())
            last = int(line.get("line_end") or line["line"])
            at.update((str(line["source"]), n) for n in range(int(line["line"]), last + 1))
    return out


def _tellable(events: pd.DataFrame, truth: dict[str, Any]) -> set[Key]:
    """The steps that a line of some log tells of in most of the words said."""
    read: dict[Line, list[str]] = {}
    for source, line, text in zip(events["source"], events["line"].tolist(), events["text"], strict=True):
        read.setdefault((str(source), int(line)), []).extend(words(str(text)))
    out = set()
    for line in truth["lines"]:
        if line.get("step") is None or line.get("near_miss"):
            continue
        said = Counter(words(line.get("said") or ""))
        last = int(line.get("line_end") or line["line"])
        heard = Counter(w for n in range(int(line["line"]), last + 1) for w in read.get((str(line["source"]), n), ()))
        if (said & heard).total() >= MOST_KEPT * said.total():
            out.add((str(line["step"]), int(line["pass"])))
    return out


def _verdict(key: Key, mine: dict[str, Any], right: bool, carried: dict[Key, set[Line]], tally: Tally) -> None:
    """Calibration and review: of what the matcher had to decide (a step not reached is the clock's business)."""
    if mine["status"] == "done" and mine["line"] is not None:
        matched = (mine["source"], mine["line"]) in carried.get(key, set())
        tally.hit("match", matched)
        right = right and matched
    if mine["decided"]:
        return
    tally.counts["steps"] += 1
    tally.counts["review"] += bool(mine["review"])
    tally.counts["wrong"] += not right
    tally.counts["wrong_in_review"] += (not right) and bool(mine["review"])
    if mine["status"] != "not_reached":
        tally.sureness.append((float(mine["confidence"]), right))


def _flags(mine: dict[str, Any], real: dict[str, Any], tally: Tally) -> None:
    if not real.get("ambiguous"):
        tally.flag("out_of_order", bool(real["out_of_order"]), bool(mine["out_of_order"]))
        asked = set(real.get("violates") or []) | set(mine["violates"] or [])
        for needed in sorted(asked):
            tally.flag("after", needed in (real.get("violates") or []), needed in (mine["violates"] or []))
    if real.get("response") is not None:
        tally.hit("response", mine["response"] == real["response"])
        tally.counts[f"response:{real['response']}>{mine['response']}"] += 1
        tally.flag("unanswered", real["response"] == "none", mine["response"] == "none")
        tally.flag("late_answer", real["response"] == "late", mine["response"] == "late")
    _nominal(mine, real, tally)


def _nominal(mine: dict[str, Any], real: dict[str, Any], tally: Tally) -> None:
    nominal = (real["status"] == "done" and real["timing"] in (None, "on_time") and not real["out_of_order"]
               and not real.get("violates") and real.get("response") in (None, "answered"))
    if not nominal:
        return
    flags = {
        "status": mine["status"] != "done", "timing": mine["timing"] in ("late", "early"),
        "order": bool(mine["out_of_order"]), "after": bool(mine["violates"]),
        "response": mine["response"] in ("late", "none"),
    }
    tally.counts["nominal"] += 1
    tally.counts["nominal_flagged"] += any(flags.values())
    for name, raised in flags.items():
        tally.counts[f"nominal_flagged:{name}"] += raised


def _times(mine: dict[str, Any], real: dict[str, Any], tally: Tally) -> None:
    if mine["status"] != "done" or real["status"] != "done":
        return
    if real["timing"] is not None:
        tally.hit("timing", mine["timing"] == real["timing"])
        tally.flag("off_time", real["timing"] != "on_time", mine["timing"] in ("late", "early"))
    tally.hit("times_seen", mine["times_seen"] == int(real.get("times_seen") or 1))
    if real.get("deviation_s") is not None and mine["deviation_s"] is not None:
        error = abs(mine["deviation_s"] - float(real["deviation_s"]))
        tally.add("deviation_error_s", error)
        _covered("deviation", error, mine["deviation_sigma_s"], tally)
    if real.get("response_s") is not None and mine["response_s"] is not None:
        tally.add("response_error_s", abs(mine["response_s"] - float(real["response_s"])))


def _covered(name: str, error: float, sigma: float | None, tally: Tally) -> None:
    if sigma is not None:
        tally.hit(f"{name}_within_1_sigma", error <= sigma)
        tally.hit(f"{name}_within_95", error <= 1.96 * sigma)


def _matches(tables: dict[str, pd.DataFrame], carried: dict[Key, set[Line]], tally: Tally) -> None:
    """Every chosen piece of evidence, by part."""
    events = tables["events"]
    place = dict(zip(events["event"].tolist(), zip(events["source"], events["line"].tolist(), strict=True), strict=True))
    first = tables["matches"][tables["matches"]["rank"] == 1]
    for step, in_pass, event in zip(first["step"], first["pass"].tolist(), first["event"].tolist(), strict=True):
        source, line = place[event]
        tally.hit("evidence", (source, int(line)) in carried.get((str(step), int(in_pass)), set()))


def _read_backs(findings: pd.DataFrame | None, truth: dict[str, Any], tally: Tally) -> None:
    """Wrong read-backs found, among those that some log carries."""
    if findings is None or not any("slip" in line for line in truth["lines"]):
        return
    wrong = findings[findings["kind"] == "readback_wrong"]
    said = {(str(s), int(p)) for s, p in zip(wrong["step"], wrong["pass"], strict=True)}
    true = {(str(r["step"]), int(r["pass"])) for r in truth["lines"] if r.get("slip") and r.get("step") is not None}
    for key in sorted(said | true):
        tally.flag("readback", key in true, key in said)


def _polls(polls: pd.DataFrame | None, true: list[dict[str, Any]] | None, tally: Tally) -> None:
    """Answers found, and stations called missing that did answer. One that could not be made out claims nothing."""
    if polls is None or true is None:
        return
    columns = zip(polls["step"], plain_list(polls["pass"].tolist()), polls["station"], polls["answer"], strict=True)
    rows = {(plain(step), in_pass, station, answer) for step, in_pass, station, answer in columns if answer != "unclear"}
    real = {(str(r["step"]), r["pass"], r["station"], r["answer"]) for r in true}
    for row in sorted(rows | real, key=str):
        if row[3] == "missing":
            tally.hit("poll_missing", not any(r[:3] == row[:3] for r in real))
        else:
            tally.flag("poll_answer", row in real, row in rows)
