"""Hoopoe: a stratospheric balloon with a gondola, released at zero."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= layout -9000 -5400
BOSS<BOSS | announce go for layout
CREW<BOSS | deploy ground cloth {1|2}
CREW<BOSS | deploy balloon {crown|base}
CREW<BOSS | connect parachute {riser|release}
GOND<BOSS | energize gondola {computer|pointing}
GOND<BOSS | verify {ballast|landing} camera
RIG<BOSS | verify {crown|base} clamp
GAS<BOSS | verify helium trailer {1|2|3} | r60
MET<BOSS | report wind at {surface|treetop}
+GOND<BOSS | verify detector module {1..32}
+RIG<BOSS | verify flight line shackle {1..24}
! weather hold -5300 1800
MET<BOSS | report pilot balloon {1|2}
BOSS | poll | poll
TRAF<BOSS | report airspace
= inflation -5200 -1900
GAS<BOSS | connect fill tube {left|right}
GAS<BOSS | open helium trailer {1|2|3}
CREW<BOSS | inflate balloon ~to {quarter|half|full} lift
GAS<BOSS | close helium trailer {1|2|3}
GAS<BOSS | seal fill tube {left|right} | r60
RIG<BOSS | record lift reading {1|2} | opt
GOND<BOSS | start gondola {computer|pointing} flight mode
+RIG<BOSS | record load cell {1..20}
= pick up -1850 -620
RIG<BOSS | remove {crown|base} clamp | r30
RIG<BOSS | remove {left|right} tie-down
VEHI<BOSS | rotate launch vehicle ~into wind
GOND<BOSS | transfer gondola ~to battery
GOND<BOSS | arm {cutdown|ballast} circuit | r30
TRAF<BOSS | verify airspace {low|high} ~clear
! calm hold -600 600
MET<BOSS | report surface gusts
BOSS | poll | poll
= launch -560 -10
VEHI<BOSS | raise gondola ~on crane
RIG<BOSS | unlock spool {brake|latch} | r20
CREW<BOSS | clear {spool|downwind} area
GOND<BOSS | start flight recorder
VEHI<BOSS | enable pin puller | r20
RIG<BOSS | release spool
= ascent 10 90
VEHI | release gondola pin | tight
GOND | report ascent rate | opt
"""

SCENARIO = Scenario(
    name="hoopoe", title="Hoopoe flight 2", vehicle="Hoopoe", kind="attempt",
    stations={"BOSS": ("campaign chief", "chief"), "CREW": ("field crew",), "GAS": ("gas team",), "RIG": ("riggers",), "GOND": ("gondola",),
              "VEHI": ("launch truck", "truck"), "MET": ("met",), "TRAF": ("traffic",)},
    conductor="BOSS", clock_voice="BOSS", procedure=PROCEDURE,
    glossary={"cutdown": ("termination",), "helium": ("gas",)},
    causes=("gusts on the field", "a small tear near the crown", "an airliner crossing low", "an empty helium trailer", "fog on the strip"),
    chatter=("sun is just coming over the ridge", "the crown is dancing a bit", "road is closed by the farm", "tracking van has a flat tyre",
             "battery box is nice and warm", "visitors stay behind the rope please", "wind sock hangs limp", "drone is down and packed"),
    habit=Habit(call="{by} to {to}, {text}", answer="{text}", report="{by}, {text}", accept=("okay, {doing}", "will do", "{doing}"),
                copy=("good", "okay", "got it"), mark=("{count}", "{count} now", "we have {count}"), machine="words", liftoff="release, balloon is away"),
)
