"""Heron: a two-stage liquid launcher flown from Saltmarsh."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= setup -5400 -4500
TC | announce call to stations
SAFE<TC | clear {pad surface|gantry levels} ~of personnel | wide
AVI<TC | energize {flight|telemetry} computer
AVI<TC | load flight software {primary|backup} image | r30
INST<TC | calibrate stage {1|2} {pressure|temperature} transducers | opt
RNG<TC | verify command destruct {A|B} link
+INST<TC | verify measurement channel {1..40}
+AVI<TC | test {roll|pitch|yaw} actuator {1..6}
= tanking -4480 -2450
PROP<TC | verify {LOX|fuel} storage valve lineup | r30
PROP<TC | chill stage {1|2} {LOX|fuel} transfer line
PROP<TC | open stage {1|2} {LOX|fuel} vent
PROP<TC | start stage {1|2} {LOX|fuel} slow fill
PROP<TC | start stage {1|2} {LOX|fuel} fast fill
PROP<TC | stop stage {1|2} {LOX|fuel} fast fill
PROP<TC | start stage {1|2} LOX replenish
+PROP<TC | record stage {1|2} {LOX|fuel} level at {25|50|75|100} percent
+GND<TC | verify deluge pump {1..8}
! readiness hold -2400 900
WX<TC | report {winds aloft|lightning range}
RNG<TC | report hazard area {north|south} status
TC | poll | poll
= close out -2370 -620
SAFE<TC | arm {stage 1|stage 2} separation circuit
GND<TC | retract service arm {upper|lower} | r30
GND<TC | start {engine bay|payload bay} purge
AVI<TC | align {primary|backup} navigation unit
AVI<TC | transfer telemetry ~to internal power
RNG<TC | enable command destruct {A|B} receiver
PROP<TC | chill stage {1|2} engine
GND<TC | verify {flame duct|sound} water valve
+INST<TC | record tank skin reading {1..30}
+SAFE<TC | verify area monitor {1..20}
! final hold -600 600
TC | poll | poll
LD<TC | report launch decision
PROP<TC | report propellant status
= terminal -570 -70
PROP<TC | stop stage {1|2} LOX replenish
PROP<TC | close stage {1|2} {LOX|fuel} vent
PROP<TC | pressurize stage {1|2} {LOX|fuel} tank
AVI<TC | transfer guidance ~to internal power
RNG<TC | verify range clear ~for launch | r20
SAFE<TC | arm flight termination system
GND<TC | retract umbilical boom | tight
= sequence -60 -2
SEQ | start terminal sequencer | auto tight
SEQ | start sound water | auto
SEQ | arm stage 1 igniter | auto
SEQ | open stage 1 {LOX|fuel} prevalve | auto tight
SEQ | start stage 1 engine chill purge | auto
SEQ | ignite stage 1 engine | auto tight
= ascent 2 40
SEQ | release hold-down clamps | auto tight
AVI | start roll program | auto
"""

SCENARIO = Scenario(
    name="heron",
    title="Heron flight 7",
    vehicle="Heron",
    kind="rehearsal",
    stations={
        "TC": ("test conductor",), "PROP": ("propulsion", "prop"), "AVI": ("avionics",), "GND": ("ground systems", "ground"),
        "RNG": ("range",), "SAFE": ("pad safety", "safety"), "WX": ("weather",), "LD": ("launch director",),
        "INST": ("instrumentation",), "SEQ": ("sequencer",),
    },
    conductor="TC",
    clock_voice="TC",
    procedure=PROCEDURE,
    glossary={"LOX": ("liquid oxygen",), "WX": ("weather",)},
    causes=(
        "a boat in the south hazard area", "low pressure on the stage two fuel tank", "upper winds out of limits",
        "loss of the backup telemetry link", "a slow vent valve on stage one",
    ),
    chatter=(
        "winds are eight knots from the north west", "camera three is back in focus", "the road block at the marsh gate is manned",
        "we have a truck leaving the fuel farm", "shift change on the ground net is done", "boil off looks normal",
        "sample from the storage tank is clean", "the display on console four froze, restarting it", "sun glare on camera two",
        "marsh gate reports two bird watchers walking away", "the deluge tank is at ninety four percent", "swapping to the spare headset",
        "tide is coming in, water is up to the culvert", "generator two is picking up the load", "helium bank four is the one in use",
        "could somebody mute on the ground net", "paper copy of page twelve is missing up here", "the frost line is about where we like it",
        "trace on the strip chart looks clean", "relief for console six is here", "mast lights are on",
    ),
    habit=Habit(),
)
