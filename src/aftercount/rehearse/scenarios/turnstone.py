"""Turnstone: a storable-propellant launcher from a silo, with a spin-stabilised upper stage."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= silo -4200 -2600
CHIEF<CHIEF | announce silo closed
SILO<CHIEF | open silo {damper|drain} {1|2}
SILO<CHIEF | start sump pump {1|2}
LIQ<CHIEF | sample {peroxide|hydrazine} line {1|2} | r60
LIQ<CHIEF | verify {peroxide|hydrazine} burst disc
GYRO<CHIEF | spin gyro {X|Y|Z} | wide
CODE<CHIEF | load code book {page|key}
LAMP<CHIEF | test lamp board {A|B}
+SILO<CHIEF | verify cable tray {1..36}
+LAMP<CHIEF | verify annunciator {1..40}
= warm up -2560 -1300
LIQ<CHIEF | heat {peroxide|hydrazine} tank
LIQ<CHIEF | purge {peroxide|hydrazine} manifold
GYRO<CHIEF | align gyro {X|Y|Z}
SPIN<CHIEF | test spin table {motor|brake}
SPIN<CHIEF | verify spin rocket {1|2|3|4}
CODE<CHIEF | verify destruct tone {1|2} | r30
LAMP<CHIEF | reset lamp board {A|B} | opt
! cover hold -1260 480
CHIEF | poll | poll
SILO<CHIEF | report water level
= uncover -1230 -320
SILO<CHIEF | unlock silo cover {latch|brake}
SILO<CHIEF | open silo cover
SILO<CHIEF | close silo {damper|drain} {1|2}
LIQ<CHIEF | pressurize {peroxide|hydrazine} tank | r20
LIQ<CHIEF | open {peroxide|hydrazine} prevalve
GYRO<CHIEF | unlock gyro {X|Y|Z}
SPIN<CHIEF | arm spin rocket {1|2|3|4}
CODE<CHIEF | enable destruct tone {1|2} | r20
= go codes -300 -2
SILO<CHIEF | clear lower galleries
LAMP<CHIEF | select flight board
CODE<CHIEF | announce go code
SPIN<CHIEF | release spin table brake
SEQ | start firing chain | auto
SEQ | disconnect silo plug {upper|lower} | auto
SEQ | ignite first stage | auto tight
= flight 2 60
SEQ | fire spin rockets | auto
GYRO | report pitch programme | opt
"""

SCENARIO = Scenario(
    name="turnstone", title="Turnstone exercise 18", vehicle="Turnstone", kind="rehearsal",
    stations={"CHIEF": ("chief",), "SILO": ("silo crew", "silo"), "LIQ": ("liquids",), "GYRO": ("guidance",), "SPIN": ("spin table",),
              "CODE": ("code desk",), "LAMP": ("lamp board",), "SEQ": ("firing chain",)},
    conductor="CHIEF", clock_voice="LAMP", procedure=PROCEDURE,
    glossary={"peroxide": ("HTP",), "hydrazine": ("fuel",), "gyro": ("gyroscope",)},
    causes=("water in the sump", "gyro Y drifting", "a red lamp on board B", "peroxide two degrees too warm", "a jammed cover latch"),
    chatter=("sump level is ankle deep", "lift is out of order again", "gallery four smells of paint", "fans are on half speed", "relief crew is at the head works",
             "rain on the cover", "the day book is with me", "phone line three crackles"),
    habit=Habit(call="{to}! {text}", answer="{text}", report="{by}: {text}", accept=("yes", "{doing}", "carrying on", "at once"),
                copy=("good", "noted", "thank you"), mark=("{count}", "lamp shows {count}", "{count} and running"), machine="codes", liftoff="zero, ignition, lift-off"),
)
