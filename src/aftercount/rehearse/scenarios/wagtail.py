"""Wagtail: a hopping landing demonstrator, short counts and few people."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= ready -3600 -2000
HOP<HOP | announce hop day
LEGS<HOP | deploy leg {1|2|3|4}
LEGS<HOP | lock leg {1|2|3|4} | r30
TANK<HOP | open {peroxide|pressurant} supply
TANK<HOP | load {main|header} tank | r45
NAVG<HOP | align {star|ground} camera
NAVG<HOP | calibrate altimeter {laser|radar}
PWR<HOP | energize battery {red|white}
+NAVG<HOP | verify map tile {1..48}
+LEGS<HOP | record crush gauge {1..32}
= set -1980 -900
TANK<HOP | vent {main|header} tank ~to half
THRU<HOP | purge thruster {1|2|3|4}
THRU<HOP | heat catalyst bed {1|2|3|4}
PWR<HOP | disconnect charger {red|white}
NAVG<HOP | load hop {profile|limits}
CREW<HOP | clear landing pad {east|west}
+THRU<HOP | record bed temperature {1..30}
! pad hold -840 420
HOP | poll | poll
CREW<HOP | report landing pad wind
= tension -825 -170
TANK<HOP | pressurize {main|header} tank
TANK<HOP | close {peroxide|pressurant} supply
THRU<HOP | test thruster {1|2|3|4}
LEGS<HOP | release tether {north|south} | r20
NAVG<HOP | select altimeter laser
PWR<HOP | transfer battery {red|white} ~to flight load
= go -150 -2
HOP<HOP | announce clear to hop
PWR<HOP | arm kill switch {red|white} | r15
NAVG<HOP | enable hop software
SEQ | start hop sequence | auto
SEQ | open thruster isolation | auto
SEQ | fire main thruster | auto tight
= hop 1 80
SEQ | report hover | auto
LEGS | report touch down | opt
"""

SCENARIO = Scenario(
    name="wagtail", title="Wagtail hop 22", vehicle="Wagtail", kind="attempt",
    stations={"HOP": ("hop lead", "lead"), "LEGS": ("legs",), "TANK": ("tanks",), "NAVG": ("nav",), "PWR": ("power",), "THRU": ("thrusters",),
              "CREW": ("pad crew",), "SEQ": ("hop computer",)},
    conductor="HOP", clock_voice="NAVG", procedure=PROCEDURE,
    glossary={"pressurant": ("nitrogen",), "altimeter": ("alti",)},
    causes=("a cold catalyst bed", "laser altimeter dropouts", "somebody on the east pad", "leg three not locked", "header tank pressure creeping"),
    chatter=("dust is blowing across the pad", "the drone pilot is ready", "bed heaters draw nine amps", "quiet please", "plot three is off by one",
             "leg covers are stowed", "the van is behind the berm", "we are low on pressurant bottles"),
    habit=Habit(call="{to}, {text}", answer="{text}", report="{text}, {by}", accept=("in work", "yup, {doing}", "{doing}"), copy=("nice", "ok", "copy"),
                mark=("{count}", "{count} and counting", "nav clock {count}"), machine="codes", liftoff="liftoff, we're hopping"),
    zone="Asia/Tokyo",
)
