"""Chough: an air-launched vehicle under a carrier aircraft."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= captive carry -5400 -3400
LDIR<LDIR | announce wheels up
CREW<LDIR | steer carrier ~on outbound leg | wide
CREW<LDIR | report cabin {pressure|oxygen}
VEH<LDIR | energize {nav|control} processor
VEH<LDIR | verify {left|right} hook load
VEH<LDIR | open {oxidizer|purge} bottle
VEH<LDIR | heat {fin|rudder} battery
RNGE<LDIR | verify {uplink|downlink} margin | r30
PAYL<LDIR | activate payload {heater|keep-alive}
+VEH<LDIR | record bay temperature {1..40}
+PAYL<LDIR | verify payload relay {1..36}
= racetrack -3380 -1500
CREW<LDIR | steer carrier ~on racetrack heading
CREW<LDIR | report altitude {one|two}
VEH<LDIR | align {nav|backup nav} platform | r60
VEH<LDIR | start {oxidizer|hydraulic} recirculation
VEH<LDIR | test {left|right} elevon
VEH<LDIR | test {upper|lower} rudder
CHASE<LDIR | report {underside|tail} inspection
RNGE<LDIR | verify {shipping|air} traffic ~clear
+VEH<LDIR | verify actuator telemetry {1..30}
! drop box hold -1450 720
LDIR | poll | poll
CREW<LDIR | report fuel remaining
RNGE<LDIR | report {primary|alternate} box status
= run in -1410 -240
CREW<LDIR | steer carrier ~on drop heading
VEH<LDIR | transfer {nav|control} processor ~to internal battery
VEH<LDIR | stop {oxidizer|hydraulic} recirculation
VEH<LDIR | pressurize {oxidizer|fuel} tank | r20
VEH<LDIR | arm {fin|rudder} battery | r20
PAYL<LDIR | deactivate payload heater | opt
CHASE<LDIR | report chase position | opt
RNGE<LDIR | enable {left|right} termination receiver
CREW<LDIR | verify hook {master|auxiliary} arm switch ~off
= drop run -220 -2
CREW<LDIR | arm hook release | r20
VEH<LDIR | close {oxidizer|purge} bottle
VEH<LDIR | activate fin battery
VEH<LDIR | unlock {elevon|rudder} lock | tight
RNGE<LDIR | verify range green
SEQ | start drop sequence | auto
SEQ | retract hook pins | auto tight
= after drop 3 50
SEQ | ignite main motor | auto
CHASE | report vehicle clear | opt
"""

SCENARIO = Scenario(
    name="chough", title="Chough captive flight 4", vehicle="Chough", kind="rehearsal",
    stations={"LDIR": ("launch director", "director"), "CREW": ("carrier", "flight deck"), "VEH": ("vehicle panel", "vehicle"),
              "RNGE": ("range desk",), "PAYL": ("payload",), "CHASE": ("chase plane", "chase"), "SEQ": ("drop computer",)},
    conductor="LDIR", clock_voice="CREW", procedure=PROCEDURE,
    glossary={"nav": ("navigation",), "oxidizer": ("ox",)},
    causes=("traffic under the drop box", "the backup platform not settled", "a cloud deck at the box", "a warm fin battery", "chase low on fuel"),
    chatter=("turbulence is light up here", "two knots of tail wind", "coffee is on the aft galley", "number three engine a little warm",
             "contrail ahead of us", "the sun is behind the wing", "ground says hello", "frequency change for the tower in the turn"),
    habit=Habit(call="{to} from {by}, {text}", answer="{by}, {text}", report="{by}, {text}",
                accept=("understood, {doing}", "roger", "wilco", "{doing} now"), copy=("thank you", "copied", "roger"),
                mark=("{count}", "crew shows {count}", "{count} to drop box"), machine="keys", liftoff="drop, drop, drop"),
)
