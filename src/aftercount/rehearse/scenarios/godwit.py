"""Godwit: a hydrogen launcher's wet dress, which ends on purpose before zero."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= lineup -9000 -6600
NTD<NTD | announce call to stations
HYD<NTD | verify {core|upper} hydrogen lineup | r60
OXY<NTD | verify {core|upper} oxygen lineup | r60
GSE<NTD | start {core|upper} nitrogen blanket
ELEC<NTD | energize {core|upper} bus {A|B}
COMM<NTD | test {hardline|radio} command path
SAFE<NTD | clear {tower|blast area} ~of workers | wide
+ELEC<NTD | verify relay card {1..40}
+GSE<NTD | verify hazardous gas detector {1..30}
= chilldown -6500 -4300
HYD<NTD | chill {core|upper} hydrogen line
OXY<NTD | chill {core|upper} oxygen line
HYD<NTD | start {core|upper} hydrogen slow fill
OXY<NTD | start {core|upper} oxygen slow fill
GSE<NTD | record {core|upper} leak reading | opt
! chilldown hold -4200 900
NTD | poll | poll
SAFE<NTD | report leak detectors
HYD<NTD | report hydrogen {core|upper} temperature
= load -4150 -1300
HYD<NTD | start {core|upper} hydrogen fast fill
OXY<NTD | start {core|upper} oxygen fast fill
HYD<NTD | start {core|upper} hydrogen topping
OXY<NTD | start {core|upper} oxygen topping
ELEC<NTD | test {core|upper} gimbal
GSE<NTD | heat {core|upper} vent stack
COMM<NTD | configure {tracking|uplink} antenna
+HYD<NTD | record hydrogen sensor {1..24}
+OXY<NTD | record oxygen sensor {1..24}
! terminal hold -600 1200
NTD | poll | poll
OXY<NTD | report {core|upper} oxygen level
HYD<NTD | report {core|upper} hydrogen level
SAFE<NTD | report blast area
= terminal -570 -75
GSE<NTD | retract {crew|vent} arm | r30
HYD<NTD | stop {core|upper} hydrogen topping
OXY<NTD | stop {core|upper} oxygen topping
HYD<NTD | pressurize {core|upper} hydrogen tank
OXY<NTD | pressurize {core|upper} oxygen tank
ELEC<NTD | transfer {core|upper} bus ~to internal
= automatic -60 -33
SEQ | start automatic sequence | auto
SEQ | activate hydrogen burn-off igniters | auto
"""

SCENARIO = Scenario(
    name="godwit", title="Godwit wet dress 2", vehicle="Godwit", kind="wet-dress",
    stations={"NTD": ("test director",), "HYD": ("hydrogen",), "OXY": ("oxygen",), "GSE": ("ground equipment",), "ELEC": ("electrical",),
              "COMM": ("communications", "comm"), "SAFE": ("safety",), "SEQ": ("ground sequencer",)},
    conductor="NTD", clock_voice="NTD", procedure=PROCEDURE,
    glossary={"hydrogen": ("L H two", "LH2"), "oxygen": ("LO2",), "topping": ("replenish",)},
    causes=("a hydrogen leak at the tail plate", "a stuck topping valve", "loss of a ground network switch", "low nitrogen supply", "lightning inside five miles"),
    chatter=("tail plate reads two hundred parts", "the tanker convoy is on its way", "lightning tower two is green", "we lost one camera in the tower",
             "vent plume looks normal", "shift lead is on the phone with the gas plant", "ice on the upper umbilical", "no concerns from the gas plant"),
    habit=Habit(call="{to}, {by}, {text}", report="{to}, {by}, {text}", accept=("copy", "copy, {doing}", "in work"),
                mark=("{count} and counting", "{count}", "the count is {count}"), machine="tags", liftoff="zero"), ends="cutoff", zone="America/New_York",
)
