"""Pipit: a hybrid-motor rocket flown by a club from a farm field."""

from __future__ import annotations

from aftercount.rehearse.scenario import Habit, Scenario

PROCEDURE = """
= assembly -5400 -3300
RUN<RUN | announce pad open
PADC<RUN | raise tower ~to vertical
PADC<RUN | install fin {red|blue|green}
PADC<RUN | connect fill hose {A|B} | r30
NITR<RUN | verify nitrous bottle {1|2|3} weight | r60
NITR<RUN | heat nitrous bottle {1|2|3}
RECO<RUN | verify {drogue|main} charge continuity
RECO<RUN | connect {drogue|main} altimeter
ELEX<RUN | energize {camera|logger}
+ELEX<RUN | verify logger input {1..36}
+RECO<RUN | verify line cutter {1..24}
= pad clear -3260 -1500
PADC<RUN | remove {tower ladder|nose cover}
PADC<RUN | secure guy wire {1|2|3|4}
RECO<RUN | arm {drogue|main} altimeter | r30
GATE<RUN | clear {car park|spectator line} ~of people | wide
GATE<RUN | lock {lane|field} gate
ELEX<RUN | start {camera|logger} recording
+NITR<RUN | record bottle pressure {1..20}
! range hold -1440 600
GATE<RUN | report {lane|field} gate
RUN | poll | poll
= fill -1410 -240
NITR<RUN | open nitrous bottle {1|2|3}
NITR<RUN | start {slow|main} fill | r20
NITR<RUN | record tank weight {one|two} | opt
NITR<RUN | stop {slow|main} fill
NITR<RUN | vent fill hose {A|B}
NITR<RUN | close nitrous bottle {1|2|3}
ELEX<RUN | transfer {camera|logger} ~to battery
= fire -220 -2
NITR<RUN | disconnect fill hose {A|B} | r20
FIRE<RUN | connect igniter {key|box}
FIRE<RUN | test igniter continuity
GATE<RUN | verify sky ~clear | r15
FIRE<RUN | arm igniter box | r15
SEQ | activate preheat grain | auto
SEQ | open run valve | auto tight
= away 1 60
RECO | report apogee | opt
"""

SCENARIO = Scenario(
    name="pipit", title="Pipit launch day 6", vehicle="Pipit", kind="attempt",
    stations={"RUN": ("run boss",), "PADC": ("pad crew",), "NITR": ("nitrous",), "RECO": ("recovery",), "ELEX": ("electronics",),
              "GATE": ("gate",), "FIRE": ("firing desk", "firing"), "SEQ": ("fire box",)},
    conductor="RUN", clock_voice="RUN", procedure=PROCEDURE,
    glossary={"nitrous": ("oxidiser", "N2O")},
    causes=("a glider over the field", "the bottle is too cold", "a dog on the lane", "no continuity on the igniter", "gusts on the tower"),
    chatter=("tea is in the barn", "the tractor is parked up", "sun is on the bottles now", "camera two has a full card", "wind sock says south west",
             "sheep are all in the top field", "radio battery is going flat", "hay dust everywhere"),
    habit=Habit(call="{to} {by}, {text}", answer="{text}", report="{to} {by}, {text}", accept=("doing it", "ok {doing}", "yep", "yes boss"),
                copy=("ta", "ok", "lovely"), mark=("{count}", "{count} everyone", "clock says {count}"), machine="keys", liftoff="she's off, lift-off"),
    zone="Europe/London",
)
