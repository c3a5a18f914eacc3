"""Which steps may be called out of order at all: a doubtful match that strays is no finding."""

from __future__ import annotations

import pytest

PLAN = """
1.1 | T-00:30:00 | open the LOX vent | by=PROP; to=TC
1.2 | T-00:28:00 | start the fill pump | by=PROP; to=TC
1.3 | T-00:26:00 | test the igniter | by=LOX; to=TC
1.4 | T-00:24:00 | arm the recorder | by=LOX; to=TC; after=1.1
1.5 | T-00:22:00 | close the drain | by=PROP; to=TC
"""
IN_PLACE = """
net.vtt:2 | T-00:28:00 | TC>PROP | call | 1.2:call | start the fill pump
net.vtt:3 | T-00:26:00 | TC>LOX  | call | 1.3:call | test the igniter
net.vtt:4 | T-00:24:00 | TC>LOX  | call | 1.4:call | arm the recorder
"""


def strayed(count, line, confidence, more=""):
    r = count(PLAN, f"{IN_PLACE}\n{line}\n{more}", verdicts={"1.1": {"confidence": confidence}}).judge()
    row = r.steps[r.steps["step"] == "1.1"].iloc[0]
    found = set(r.findings.loc[r.findings["step"].isin(["1.1", "1.4"]), "kind"]) & {"out_of_order", "after_violated"}
    assert bool(found) == bool(row["out_of_order"])
    return bool(row["out_of_order"])


@pytest.mark.parametrize(("line", "confidence", "expected"), [
    ("net.vtt:9 | T-00:23:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent", 0.97, True),
    ("net.vtt:9 | T-00:23:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent", 0.65, True),  # exact words
    ("net.vtt:9 | T-00:23:00 | TC>PROP | call     | 1.1:call     | PROP, TC, open the LOX vent", 0.64, False),
    ("net.vtt:9 | T-00:23:00 | PROP>TC | report   | 1.1:report   | the LOX line looks good", 0.9, False),
    ("net.vtt:9 | T-00:23:00 | PROP>TC | report   | 1.1:report   | LOX vent open", 0.97, True),
    ("net.vtt:9 | T-00:23:00 | LOX>TC  | report   | 1.1:report   | LOX vent open", 0.97, False),  # somebody else speaks of it
    ("net.vtt:9 | T-00:23:00 | PROP>TC | response | 1.1:response | open the LOX vent", 0.97, True),  # the order was not heard, but it was read back
    ("net.vtt:9 | T-00:23:00 | PROP>TC | response | 1.1:response | wilco", 0.97, False)])
def test_what_bears_a_finding_on_order(count, line, confidence, expected):
    assert strayed(count, line, confidence) is expected


def test_a_surer_match_may_lack_a_word(count):
    line = "net.vtt:9 | T-00:23:00 | TC>PROP | call | 1.1:call | PROP, TC, open that far box"
    assert not strayed(count, line, 0.94)  # one of three
    assert strayed(count, line, 0.95)  # an order that all else agrees with
    line = line.replace("that far box", "the vint LOX")
    assert not strayed(count, line, 0.64)
    assert strayed(count, line, 0.65)


@pytest.mark.parametrize(("text", "expected"), [("LOX vent open, flow 95 pct", False), ("LOX vent open", True)])
def test_what_a_machine_reads_off_a_gauge_bears_none(count, text, expected):
    assert strayed(count, f"seq.log:9 | T-00:23:00 | PROP> | record | 1.1:record | {text}", 0.97) is expected


def test_a_decision_bears_it(count):
    r = count(PLAN, IN_PLACE + "net.vtt:9 | T-00:23:00 | | note | 1.1:report | that valve", verdicts={"1.1": {"decided": True}}).judge()
    assert r.steps["out_of_order"].tolist()[0]


def test_a_doubtful_step_puts_no_other_out_of_order(count):
    # two doubtful strays against one step on time: as equals they would outweigh it
    lines = """
    net.vtt:1 | T-00:25:30 | | note | 1.1:report | the vent again
    net.vtt:2 | T-00:25:20 | | note | 1.2:report | the pump again
    net.vtt:3 | T-00:26:00 | TC>LOX | call | 1.3:call | test the igniter
    """
    low = {"confidence": 0.7}
    r = count(PLAN, lines, verdicts={"1.1": low, "1.2": low}).judge()
    assert not r.steps["out_of_order"].any()
