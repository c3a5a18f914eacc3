"""Dotterel: a small two-stage sounding rocket for atmospheric science."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= early -7200 -4200
MGR<MGR | announce block house manned
SCI<MGR | remove {spectrometer|probe} cover | r30
SCI<MGR | calibrate {spectrometer|probe} zero
SCI<MGR | purge {spectrometer|lamp} housing
VEH<MGR | energize {timer|attitude} module
VEH<MGR | test {despin|boom} timer
RSO<MGR | verify {siren|beacon}
RDR<MGR | test transponder {A|B} | r45
GPS<MGR | select ground receiver {1|2}
+SCI<MGR | record photometer channel {1..32}
+VEH<MGR | verify umbilical pin {1..40}
= middle -4150 -1900
SCI<MGR | connect {spectrometer|probe} battery
SCI<MGR | start {spectrometer|lamp} cooldown
VEH<MGR | install {stage 1|stage 2} arming key | r60
VEH<MGR | remove {stage 1|stage 2} shorting plug | r60
RSO<MGR | clear {launcher|assembly hall} ~of staff
MET<MGR | release wind balloon {3|4}
RDR<MGR | rotate dish ~to launcher
+MET<MGR | record wind layer {1..24}
! science hold -1800 1200
SCI<MGR | report sky {brightness|cloud}
MET<MGR | report balloon {3|4} result
VEH<MGR | set launcher {azimuth|elevation}
MGR | poll | poll
= late -1740 -320
SCI<MGR | transfer {spectrometer|probe} ~to internal
SCI<MGR | stop {spectrometer|lamp} cooldown
VEH<MGR | transfer {timer|attitude} module ~to internal
RDR<MGR | activate transponder {A|B}
GPS<MGR | record fix {1|2} | opt
VEH<MGR | disconnect {cooling|charging} umbilical
RSO<MGR | verify {north|east} sector ~clear
RSO<MGR | announce siren
= last -300 -2
VEH<MGR | arm {stage 1|stage 2} ignition | r15
RSO<MGR | enable launch key | r15
SCI<MGR | open {spectrometer|probe} shutter
SEQ | start automatic sequence | auto
SEQ | release pull-away plug | auto
= up 2 70
SEQ | ignite stage 2 motor | auto
VEH | report despin | opt
SCI | deploy boom {1|2} | auto
"""

SCENARIO = Scenario(
    name="dotterel", title="Dotterel campaign, vehicle 3", vehicle="Dotterel", kind="attempt",
    stations={"MGR": ("payload manager", "manager"), "SCI": ("science",), "VEH": ("vehicle",), "RSO": ("range safety",),
              "RDR": ("radar",), "GPS": ("position",), "MET": ("met",), "SEQ": ("timer",)},
    conductor="MGR", clock_voice="RSO", procedure=PROCEDURE,
    glossary={"attitude": ("pointing",), "azimuth": ("az",), "elevation": ("el",)},
    causes=("cloud over the south camera", "the aurora has faded", "winds above dispersion limits", "helicopter still inbound", "lamp current too high"),
    chatter=("aurora is building in the north", "camera site says clear skies", "snow blower is off the pad road", "magnetometer is getting lively",
             "two volts on the trickle charger", "heated blanket is off", "all quiet on the riometer", "someone left a ladder by the hall"),
    habit=Habit(call="{to}, {text}", answer="{text}", report="{text}", accept=("yes, {doing}", "okay", "on it", "working"),
                copy=("thanks", "okay", "good"), mark=("{count}", "we are at {count}", "{count} and counting"), machine="words",
                liftoff="and she is away, lift-off"), zone="Europe/Oslo",
)
