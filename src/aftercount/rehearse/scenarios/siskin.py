"""Siskin: a small methane launcher with three engines, run by a young team that talks plainly."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= morning -6300 -3900
LEAD<LEAD | announce start of count
PRPS<LEAD | verify {methane|oxygen} tanker pressure
PRPS<LEAD | open {methane|oxygen} farm isolation valve | r30
FLT<LEAD | energize flight string {A|B|C}
FLT<LEAD | load mission {parameters|winds}
GC<LEAD | test {pad|tower} {siren|lights} | opt
MECH<LEAD | verify engine {1|2|3} gimbal lock
LINK<LEAD | configure {main|spare} ground station
+FLT<LEAD | verify sensor board {1..40}
+MECH<LEAD | verify fastener group {1..30}
= filling -3860 -1350
PRPS<LEAD | chill {methane|oxygen} main line
PRPS<LEAD | load {first|second} stage {methane|oxygen}
MECH<LEAD | purge engine {1|2|3} cavity
MECH<LEAD | unlock engine {1|2|3} gimbal | r20
GC<LEAD | clear {pad|tower} ~of people
FLT<LEAD | align string {A|B|C} | opt
LINK<LEAD | verify {main|spare} ground station ~tracking
+PRPS<LEAD | record {methane|oxygen} tank reading {1..20}
! decision hold -1300 600
LEAD | poll | poll
METO<LEAD | report {ground|upper} winds
= topping -1260 -330
PRPS<LEAD | start {methane|oxygen} topping
MECH<LEAD | chill engine {1|2|3} pump
GC<LEAD | lower strongback ~to launch angle | r30
GC<LEAD | disconnect {air|power} umbilical
FLT<LEAD | transfer string {A|B|C} ~to battery
LINK<LEAD | enable termination channel {1|2} | r15
= minus five -300 -65
PRPS<LEAD | stop {methane|oxygen} topping
PRPS<LEAD | close {first|second} stage {methane|oxygen} vent
PRPS<LEAD | pressurize {first|second} stage
FLT<LEAD | enable autonomous flight software
MECH<LEAD | verify hold-down {north|south}
= last minute -60 -1
SEQ | start autosequence | auto tight
SEQ | start pad water | auto
SEQ | spin engine {1|2|3} | auto
SEQ | ignite engine {1|2|3} | auto tight
= flight 1 60
SEQ | release hold-downs | auto tight
FLT | report pitch over | opt
"""

SCENARIO = Scenario(
    name="siskin", title="Siskin flight 1", vehicle="Siskin", kind="attempt",
    stations={"LEAD": ("launch lead", "lead"), "PRPS": ("prop", "propulsion"), "FLT": ("flight software", "flight"), "GC": ("ground control", "ground"),
              "MECH": ("mechanical", "mech"), "LINK": ("link",), "METO": ("weather",), "SEQ": ("auto sequence", "auto")},
    conductor="LEAD", clock_voice="GC", procedure=PROCEDURE,
    glossary={"methane": ("CH4",), "oxygen": ("LOX",), "strongback": ("erector",)},
    causes=("string C voting itself out", "a warm pump on engine two", "methane pressure sagging", "a fishing boat in the box", "the spare ground station rebooting"),
    chatter=("tanker four is hooked up", "the stream has nine thousand people watching", "pad camera needs a wipe", "wind is up to twelve", "restarting the plot on my side",
             "nice steady numbers here", "somebody has an open mic", "lunch is here whenever we hold"),
    habit=Habit(call="{to}, {text}", answer="{text}, {by}", report="{by}, {text}", accept=("on it", "doing that now", "copy, {doing}", "sure, {doing}"),
                copy=("great", "thanks", "copy", "awesome"), mark=("{count}", "{count} and counting", "that's {count}"), machine="keys", liftoff="lift-off, go Siskin"),
    zone="Pacific/Auckland",
)
