"""Jacana: a launcher flown from the deck of a ship."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= on station -7200 -4500
LCO<LCO | announce launch stations
HELM<LCO | steer ship ~on launch heading | wide
HELM<LCO | activate {bow|stern} thruster
BALL<LCO | fill {port|starboard} ballast tank
BALL<LCO | trim {list|pitch} of hull
DECK<LCO | unlock hangar {door|transporter}
DECK<LCO | clear {foredeck|helideck} ~of crew
AVN<LCO | energize vehicle computer {A|B}
NAVI<LCO | align gyro {A|B} | r60
TOX<LCO | verify {nitric|amine} detector ~armed
+AVN<LCO | verify bus word {1..40}
+DECK<LCO | verify tie-down stud {1..24}
= erect -4460 -2450
DECK<LCO | raise erector ~to vertical
DECK<LCO | lock erector {port|starboard} pin | r30
PROX<LCO | load {nitric|amine} stage {1|2} tank
TOX<LCO | verify {nitric|amine} vapor ~below limit
AVN<LCO | test fin {1|2|3|4}
RADO<LCO | verify {S|C} band beacon
+PROX<LCO | record ullage reading {1..24}
! heading hold -2400 900
HELM<LCO | report heading error
BALL<LCO | report {list|pitch} of hull
LCO | poll | poll
= close in -2360 -640
DECK<LCO | retract {port|starboard} service boom
PROX<LCO | close {nitric|amine} fill valve
PROX<LCO | pressurize stage {1|2} {nitric|amine} tank
NAVI<LCO | transfer ship attitude ~to vehicle
AVN<LCO | transfer computer {A|B} ~to battery
RADO<LCO | enable destruct code {A|B} | r20
DECK<LCO | disconnect {cooling|data} umbilical | opt
! last hold -600 420
BRDG<LCO | report surface contacts
LCO | poll | poll
= go -570 -20
HELM<LCO | deactivate {bow|stern} thruster
DECK<LCO | lower erector ~to stowed | r30
DECK<LCO | start deck deluge
TOX<LCO | clear {upper|lower} deck vents
RADO<LCO | verify destruct {A|B} ~ready
BRDG<LCO | announce all hands below
AVN<LCO | arm vehicle sequencer | r15
= autoseq -18 -1
SEQ | start roll compensation | auto
SEQ | ignite stage 1 motor | auto tight
= out 1 40
SEQ | release deck clamps | auto tight
RADO | report beacon lock | opt
"""

SCENARIO = Scenario(
    name="jacana", title="Jacana cruise 5", vehicle="Jacana", kind="rehearsal",
    stations={"LCO": ("launch control officer", "control officer"), "BRDG": ("bridge",), "HELM": ("helm",), "BALL": ("ballast",), "DECK": ("deck boss", "deck"),
              "AVN": ("avionics",), "NAVI": ("navigator",), "PROX": ("propellants",), "TOX": ("toxic safety",), "RADO": ("radio room",), "SEQ": ("sequencer",)},
    conductor="LCO", clock_voice="BRDG", procedure=PROCEDURE,
    glossary={"nitric": ("oxidizer",), "amine": ("fuel",), "starboard": ("stbd",)},
    causes=("a trawler inside ten miles", "swell above the limit", "an amine vapor alarm", "a sticky erector pin", "thruster two overheating"),
    chatter=("swell is one and a half metres", "gulls on the helideck again", "galley is closed", "support ship is two miles astern",
             "barometer is falling slowly", "hangar lights are out", "radar has one contact going away", "number two generator is on line"),
    habit=Habit(call="{to}, {by}, {text}, over", answer="{by}, {text}", report="{to}, {by}, {text}, over", accept=("aye, {doing}", "aye", "aye aye", "wilco"),
                copy=("roger out", "very well", "aye"), mark=("{count}", "bridge has {count}", "mark {count}"), machine="codes", liftoff="vehicle away, lift-off"),
)
