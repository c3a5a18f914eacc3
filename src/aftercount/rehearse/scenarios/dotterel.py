"""Dotterel: a small two-stage sounding rocket for atmospheric science."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= early -7200 -4200
PM<PM | announce block house manned
SCI<PM | remove {spectrometer|probe} cover | r30
SCI<PM | calibrate {spectrometer|probe} zero
SCI<PM | purge {spectrometer|lamp} housing
VEH<PM | energize {timer|attitude} module
VEH<PM | test {despin|boom} timer
RSO<PM | verify {siren|beacon}
RDR<PM | test transponder {A|B} | r45
GPS<PM | select ground receiver {1|2}
+SCI<PM | record photometer channel {1..32}
+VEH<PM | verify umbilical pin {1..40}
= middle -4150 -1900
SCI<PM | connect {spectrometer|probe} battery
SCI<PM | start {spectrometer|lamp} cooldown
VEH<PM | install {stage 1|stage 2} arming key | r60
VEH<PM | remove {stage 1|stage 2} shorting plug | r60
RSO<PM | clear {launcher|assembly hall} ~of staff
MET<PM | release wind balloon {3|4}
RDR<PM | rotate dish ~to launcher
+MET<PM | record wind layer {1..24}
! science hold -1800 1200
SCI<PM | report sky {brightness|cloud}
MET<PM | report balloon {3|4} result
VEH<PM | set launcher {azimuth|elevation}
PM | poll | poll
= late -1740 -320
SCI<PM | transfer {spectrometer|probe} ~to internal
SCI<PM | stop {spectrometer|lamp} cooldown
VEH<PM | transfer {timer|attitude} module ~to internal
RDR<PM | activate transponder {A|B}
GPS<PM | record fix {1|2} | opt
VEH<PM | disconnect {cooling|charging} umbilical
RSO<PM | verify {north|east} sector ~clear
RSO<PM | announce siren
= last -300 -2
VEH<PM | arm {stage 1|stage 2} ignition | r15
RSO<PM | enable launch key | r15
SCI<PM | open {spectrometer|probe} shutter
SEQ | start automatic sequence | auto
SEQ | release pull-away plug | auto
= up 2 70
SEQ | ignite stage 2 motor | auto
VEH | report despin | opt
SCI | deploy boom {1|2} | auto
"""

SCENARIO = Scenario(
    name="dotterel", title="Dotterel campaign, vehicle 3", vehicle="Dotterel", kind="attempt",
    stations={"PM": ("payload manager", "manager"), "SCI": ("science",), "VEH": ("vehicle",), "RSO": ("range safety",),
              "RDR": ("radar",), "GPS": ("position",), "MET": ("met",), "SEQ": ("timer",)},
    conductor="PM", clock_voice="RSO", procedure=PROCEDURE,
    glossary={"attitude": ("pointing",), "azimuth": ("az",), "elevation": ("el",)},
    causes=("cloud over the south camera", "the aurora has faded", "winds above dispersion limits", "helicopter still inbound", "lamp current too high"),
    chatter=("aurora is building in the north", "camera site says clear skies", "snow blower is off the pad road", "magnetometer is getting lively",
             "two volts on the trickle charger", "heated blanket is off", "all quiet on the riometer", "someone left a ladder by the hall"),
    habit=Habit(call="{to}, {text}", answer="{text}", report="{text}", accept=("yes, {doing}", "okay", "on it", "working"),
                copy=("thanks", "okay", "good"), mark=("{count}", "we are at {count}", "{count} and counting"), machine="words",
                liftoff="and she is away, lift-off"), zone="Europe/Oslo",
)
