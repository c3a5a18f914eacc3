"""Eider: a rocket engine on a test stand, hot fire at zero."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= stand safe -4500 -2700
TEST<TEST | announce test area closed
FACL<TEST | verify {nitrogen|helium} farm pressure | r30
FACL<TEST | start {deflector|firex} water pump
OXID<TEST | verify oxidizer {run|bleed|dump} valve ~cycled
FUEL<TEST | verify fuel {run|bleed|dump} valve ~cycled
DATA<TEST | calibrate {thrust|flow} cell
DATA<TEST | verify {accelerometer|thermocouple} string {A|B}
IGN<TEST | test spark exciter {1|2}
CTRL<TEST | load {sequence|redline} table
+DATA<TEST | record zero on channel {1..64}
= chill -2660 -1000
OXID<TEST | pressurize oxidizer run tank ~to chill pressure
OXID<TEST | open oxidizer {run|bleed} valve
FUEL<TEST | pressurize fuel run tank ~to chill pressure
FUEL<TEST | open fuel {run|bleed} valve
OXID<TEST | chill oxidizer {feed line|pump} | wide
FUEL<TEST | chill fuel {feed line|pump} | wide
FACL<TEST | purge {injector|gas generator} ~with nitrogen
CTRL<TEST | verify redline {low|high} limits | opt
+OXID<TEST | record oxidizer line temperature {1..20}
+FUEL<TEST | record fuel line temperature {1..20}
! ready hold -960 600
TEST | poll | poll
DATA<TEST | report recorder status
OXID<TEST | report oxidizer pump temperature
FUEL<TEST | report fuel pump temperature
= final prep -930 -190
OXID<TEST | close oxidizer bleed valve | r15
FUEL<TEST | close fuel bleed valve | r15
OXID<TEST | pressurize oxidizer run tank ~to run pressure
FUEL<TEST | pressurize fuel run tank ~to run pressure
IGN<TEST | arm spark exciter {1|2}
FACL<TEST | start {deflector|firex} full flow
DATA<TEST | start {slow|fast} recorder
CTRL<TEST | enable redline cutoff | r15
TEST<TEST | announce sixty second warning
= sequence -60 -1
CTRL<TEST | enable auto sequence | tight
SEQ | start purge shutdown | auto
SEQ | activate spark exciter {1|2} | auto
SEQ | open igniter {oxidizer|fuel} valve | auto tight
SEQ | open main {fuel|oxidizer} valve | auto tight
= burn 1 60
SEQ | close main {oxidizer|fuel} valve | auto
SEQ | start post-fire purge | auto
FACL | stop deflector full flow
"""

SCENARIO = Scenario(
    name="eider", title="Eider engine test 31", vehicle="Eider engine", kind="rehearsal",
    stations={"TEST": ("test director",), "OXID": ("oxidizer panel", "ox"), "FUEL": ("fuel panel",), "FACL": ("facility",),
              "DATA": ("data room",), "IGN": ("ignition panel", "igniter"), "CTRL": ("controls",), "SEQ": ("auto sequence",)},
    conductor="TEST", clock_voice="CTRL", procedure=PROCEDURE,
    glossary={"oxidizer": ("ox",), "firex": ("fire suppression",), "GN2": ("nitrogen",)},
    causes=("a low helium bottle", "a noisy thrust cell", "a leak at the bleed flange", "the oxidizer pump too warm", "a bird in the flame bucket"),
    chatter=("bottle farm is at two eighty", "wind is blowing away from the blockhouse", "breaker on pump house two was reset",
             "the neighbour farm has been told", "flow noise on the microphone", "stand camera is fogging up", "frost on the feed line",
             "data room wants the lights dimmed"),
    habit=Habit(call="{to}, {text}", answer="{by} {text}", report="{by}, {text}", accept=("copy, {doing}", "working", "copy"),
                copy=("copy", "thank you"), mark=("{count}", "clock reads {count}", "{count} and counting"),
                machine="codes", liftoff="T zero, ignition, main stage"),
)
