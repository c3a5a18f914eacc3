"""What a finding on a hold rests on, and that one hold is one finding."""

from __future__ import annotations

PLAN = "1.1 | T-00:30:00 | open the vent\n1.2 | T-00:20:00 | start the pump\n2.0 | T-00:10:00 | built-in hold | kind=hold; duration_s=600"
OPEN = "net.vtt:1 | T-00:30:00 | TC | call | 1.1:call | open\n"
START = "T-00:25:00"


def found(r, kind):
    return r.findings[r.findings["kind"] == kind].iloc[0]


def test_the_words_of_who_called_it_come_before_a_machines_record(count, hold):
    heard = OPEN + f"""
    seq.log:7  | {START}+0.1 | CLK | hold | | COUNT HOLD
    net.vtt:9  | {START}+1   | TC  | hold | | hold, hold, hold at T minus twenty five
    net.vtt:12 | {START}+90  | TC  | hold | | still holding
    """
    held = found(count(PLAN, heard, holds=[hold(-1500.0, 300.0, called_by="TC")], end_s=-650.0).judge(), "hold_unplanned")
    assert (held["source"], held["line"]) == ("net.vtt", 9)
    assert ", called by TC" in held["text"]


def test_a_machine_calls_nothing_and_breaks_no_rule_of_authority(count, hold):
    heard = OPEN + f"seq.log:7 | {START}+0.1 | CLK | hold | | COUNT HOLD"
    made = count(PLAN, heard, holds=[hold(-1500.0, 300.0, called_by="CLK")], end_s=-650.0, authority={"hold": ("TC",)})
    table = made._holds().assign(event=1)
    made._holds = lambda: table
    r = made.judge()
    assert "authority" not in set(r.findings["kind"])
    assert ", recorded by CLK" in found(r, "hold_unplanned")["text"]


def test_a_call_by_a_station_that_may_not_names_its_line(count, hold):
    heard = OPEN + f"net.vtt:9 | {START}+1 | PROP | hold | | hold, hold, hold"
    r = count(PLAN, heard, holds=[hold(-1500.0, 300.0, called_by="PROP")], end_s=-650.0, authority={"hold": ("TC",)}).judge()
    assert (found(r, "authority")["line"], found(r, "authority")["severity"]) == (9, "major")


def test_a_hold_that_ends_in_a_recycle_is_one_finding(count, hold):
    r = count(PLAN, OPEN, holds=[hold(-1500.0, 300.0, called_by="TC", reason="fuel leak", recycle_to_s=-1700.0)], end_s=-650.0).judge()
    about = r.findings[r.findings["kind"].isin(["recycle", "hold_unplanned", "hold_not_resumed"])]
    assert about["kind"].tolist() == ["recycle"]
    assert about["text"].iloc[0].startswith("Unplanned hold of 5 min at T-00:25:00, called by TC: fuel leak. The count was recycled")
