"""Nightjar: a winged stage with jet engines that flies home, under a liquid upper stage."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= hangar out -8400 -5200
OPSD<OPSD | announce shift handover done
TOW<OPSD | release {nose|main} gear chock
TOW<OPSD | rotate sled ~to ramp
WING<OPSD | test {left|right} {flap|elevator}
WING<OPSD | fill {left|right} jet fuel cell | wide
JETS<OPSD | verify inlet cover {1|2} ~removed
CORE<OPSD | energize core {power|data} bus
CORE<OPSD | calibrate tank gauge {1|2}
AERO<OPSD | report runway {wind|visibility}
+WING<OPSD | verify servo card {1..40}
+CORE<OPSD | record strain gauge {1..40}
= ramp -5150 -2800
TOW<OPSD | lock ramp {clamp|pin} | r30
CRYO<OPSD | chill {upper|lower} feed
CRYO<OPSD | load {upper|lower} propane tank
CRYO<OPSD | load {upper|lower} oxygen tank
JETS<OPSD | test jet {1|2} starter
WING<OPSD | set {left|right} flap ~to launch setting
! ramp hold -2700 1200
OPSD | poll | poll
AERO<OPSD | report diversion field
CRYO<OPSD | report {upper|lower} tank
= power -2650 -700
JETS<OPSD | start jet {1|2} | r45
JETS<OPSD | stop jet {1|2}
CRYO<OPSD | start {upper|lower} oxygen make-up
CORE<OPSD | align core inertial unit {A|B}
CORE<OPSD | load return {route|wind}
AERO<OPSD | clear runway {north|south} end
WING<OPSD | verify gear {nose|main} ~locked up | opt
! release hold -600 300
OPSD | poll | poll
= release -585 -70
CRYO<OPSD | stop {upper|lower} oxygen make-up
CRYO<OPSD | close {upper|lower} propane vent
CRYO<OPSD | close {upper|lower} oxygen vent
CRYO<OPSD | pressurize {upper|lower} stage | r20
CORE<OPSD | transfer core {power|data} bus ~to onboard
JETS<OPSD | inhibit jet {1|2} starter
TOW<OPSD | unlock ramp {clamp|pin} | r20
= hands off -60 -1
SEQ | start hands-off sequence | auto
SEQ | spin turbopump {1|2} | auto
SEQ | ignite core engine {1|2} | auto tight
= gone 1 60
SEQ | release ramp hook | auto tight
WING | report wing level | opt
"""

SCENARIO = Scenario(
    name="nightjar", title="Nightjar dry run 3", vehicle="Nightjar", kind="rehearsal",
    stations={"OPSD": ("ops director", "ops"), "TOW": ("ramp team", "ramp"), "WING": ("wing",), "JETS": ("jets",), "CORE": ("core systems", "core"),
              "CRYO": ("cryogenics",), "AERO": ("airfield",), "SEQ": ("hands-off", "sequence")},
    conductor="OPSD", clock_voice="OPSD", procedure=PROCEDURE,
    glossary={"make-up": ("replenish",), "propane": ("fuel",), "oxygen": ("ox",)},
    causes=("crosswind on the runway", "unit B slow to settle", "an oxygen make-up valve cycling", "a truck on the north end", "jet two not lighting"),
    chatter=("birds on the south end", "apron lights are dimmed", "a fuel bowser wants to cross", "de-icing is finished", "tower will hand over at the hour",
             "one strobe is dead on the ramp", "heaters in the hangar are off", "fire crew is having coffee"),
    habit=Habit(call="{by} for {to}, {text}", answer="{by}, {text}", report="{by} for {to}, {text}", accept=("{doing}", "wilco", "affirm, {doing}", "affirm"),
                copy=("check", "roger", "thanks"), mark=("{count}", "{count}, clock running", "now {count}"), machine="tags", liftoff="we have lift-off"),
    zone="Australia/Adelaide",
)
