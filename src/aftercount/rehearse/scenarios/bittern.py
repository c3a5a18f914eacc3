"""Bittern: a two-stage solid rocket fired from a rail."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= rail preparation -4800 -3000
LC<LC | announce start of count
PAD<LC | lower launch rail ~to horizontal
PAD<LC | install {booster|sustainer} fin set
PAD<LC | secure {forward|aft} lug | r30
ORD<LC | verify {booster|sustainer} igniter resistance | r30
ORD<LC | verify {booster|sustainer} safe plug ~in place
TLM<LC | energize {S-band|video} transmitter
TLM<LC | record {battery one|battery two} voltage
TRK<LC | calibrate {north|south} radar
TRK<LC | synchronize optical tracker {1|2}
+TLM<LC | verify frame slot {1..48}
+ORD<LC | record squib {A|B|C|D} reading {1..6}
= elevation -2980 -1300
PAD<LC | raise launch rail ~to firing angle | wide
PAD<LC | lock {azimuth|elevation} drive
PAD<LC | disconnect {heater|trickle charge} cable
ORD<LC | remove {booster|sustainer} safe plug | r45
ORD<LC | connect {booster|sustainer} firing line | r45
MET<LC | report {surface|upper} wind | opt
SURF<LC | clear {beach|shore road|inner bay} ~of people
+PAD<LC | verify rail shoe {1..20}
! wind hold -1260 900
MET<LC | report ballistic wind
PAD<LC | trim {azimuth|elevation} setting
LC | poll | poll
= arming -1230 -200
ORD<LC | arm {booster|sustainer} firing unit | r20
TLM<LC | switch {S-band|video} transmitter ~to battery
TLM<LC | start {ground|onboard} recorder
TRK<LC | select {north|south} radar ~for track
SURF<LC | verify danger area {east|west} ~clear
PAD<LC | clear firing circle | r30
ORD<LC | enable {thrust termination|destruct} circuit
= firing -170 -3
LC<LC | announce final warning
ORD<LC | enable fire button
TLM<LC | start high rate data
SEQ | start firing sequence | auto tight
SEQ | activate {booster|sustainer} thermal battery | auto
SEQ | unlock rail latch | auto
= flight 3 60
SEQ | ignite sustainer motor | auto
TRK | report radar lock | opt
"""

SCENARIO = Scenario(
    name="bittern", title="Bittern shot 12", vehicle="Bittern", kind="rehearsal",
    stations={"LC": ("launch control",), "ORD": ("ordnance",), "PAD": ("pad crew", "pad"), "TLM": ("telemetry",),
              "TRK": ("tracking",), "MET": ("met", "weather"), "SURF": ("surface patrol", "surface"), "SEQ": ("firing unit",)},
    conductor="LC", clock_voice="LC", procedure=PROCEDURE,
    glossary={"MET": ("meteorology",), "sustainer": ("second stage",), "booster": ("first stage",)},
    causes=("gusts above the limit", "a dinghy off the point", "no lock on the south radar", "high squib resistance", "telemetry dropouts"),
    chatter=("gusting six at the tower", "rail hydraulics are humming along", "the gate crew wants relief", "camera on the dune is up",
             "generator two took the load", "range boat is on station", "film magazine changed", "lost the intercom for a moment"),
    habit=Habit(call="{to} this is {by}, {text}", report="{to} this is {by}, {text}", accept=("wilco", "roger, {doing}", "in work", "roger"),
                mark=("{count}, mark", "{count}", "{count} on the clock"), machine="tags", liftoff="first motion"),
)
