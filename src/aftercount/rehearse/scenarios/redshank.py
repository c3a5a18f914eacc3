"""Redshank: a crewed capsule on a kerosene launcher."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= crew -9600 -6300
CONT<CONT | announce crew at the tower
CLOS<CONT | install couch {1|2|3} insert | r60
CLOS<CONT | verify suit loop {1|2|3} ~leak tight | r60
CLOS<CONT | seal {inner|outer} hatch | r60
CAPS<CONT | test intercom {1|2|3}
CAPS<CONT | set cabin {fan|lamp} switch
ABRT<CONT | test abort {light|tone}
MEDI<CONT | report biomedical {1|2|3}
ROCK<CONT | verify {kerosene|oxygen} loading skid
+CAPS<CONT | verify panel switch {1..40}
+ROCK<CONT | verify vehicle sensor {1..40}
= access -6250 -3700
CLOS<CONT | purge {inner|outer} hatch seal | opt
CLOS<CONT | clear {white room|access arm} ~of closeout crew
CAPS<CONT | pressurize cabin
CAPS<CONT | align capsule platform {A|B}
ABRT<CONT | arm {tower|pad} abort motor | r30
ROCK<CONT | load kerosene {lower|upper} tank
ROCK<CONT | chill oxygen {lower|upper} line
! crew hold -3600 1500
CONT | poll | poll
MEDI<CONT | report crew status
ABRT<CONT | report abort {tower|pad} status
= fuelling -3540 -960
ROCK<CONT | load oxygen {lower|upper} tank | wide
ROCK<CONT | start oxygen {lower|upper} trickle
CAPS<CONT | configure capsule {thruster|parachute} panel
CAPS<CONT | close capsule {cabin|suit} relief valve
SEAR<CONT | verify rescue {boat|helicopter} ~on station
TRKG<CONT | configure downrange station {1|2}
+SEAR<CONT | verify recovery asset {1..20}
! go hold -900 600
CONT | poll | poll
SEAR<CONT | report sea state
= late count -870 -75
CLOS<CONT | retract {crew|service} access arm | r30
ABRT<CONT | enable abort {automatic|manual} mode | r15
ROCK<CONT | stop oxygen {lower|upper} trickle
ROCK<CONT | close kerosene {lower|upper} vent
ROCK<CONT | pressurize {lower|upper} stage
CAPS<CONT | transfer capsule bus {A|B} ~to internal
CAPS<CONT | lock visor {1|2|3}
= auto -60 -2
SEQ | start master sequencer | auto tight
SEQ | arm range receivers | auto
SEQ | ignite lower stage engines | auto tight
= flight 1 60
SEQ | release tower umbilical | auto tight
CAPS | report roll complete | opt
"""

SCENARIO = Scenario(
    name="redshank", title="Redshank crew simulation 9", vehicle="Redshank", kind="rehearsal",
    stations={"CONT": ("launch controller", "controller"), "CLOS": ("closeout",), "CAPS": ("capsule",), "ABRT": ("abort desk", "abort"), "MEDI": ("surgeon",),
              "ROCK": ("rocket systems", "rocket"), "SEAR": ("rescue",), "TRKG": ("tracking",), "SEQ": ("master sequencer", "sequencer")},
    conductor="CONT", clock_voice="CONT", procedure=PROCEDURE,
    glossary={"kerosene": ("RP",), "oxygen": ("LOX",), "trickle": ("replenish",)},
    causes=("a weak signal from downrange two", "a fogged hatch seal reading", "swell too high for the rescue boats", "a cabin leak check rerun", "a slow oxygen valve"),
    chatter=("crew asks for the weather again", "white room is tidy", "helicopter two is refuelling", "heart rates are nice and low", "downrange one had a power dip",
             "visitors are in the gallery", "sea state is three", "the phones in the back room are dead"),
    habit=Habit(call="{to}, {by}. {text}", answer="{text}, {by}", report="{by}. {text}", accept=("understood", "copied, {doing}", "in progress", "{doing}"),
                copy=("understood", "thank you", "copied"), mark=("{count} and counting", "{count}", "time is {count}"), machine="words", liftoff="lift-off, lift-off of Redshank"),
    zone="America/Chicago",
)
