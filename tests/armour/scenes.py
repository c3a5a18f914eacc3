"""The counts that the tests change: one in words of its own, and simulated ones read back as data."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pandas as pd

import aftercount as ac
from aftercount import count as counts
from aftercount import logs
from aftercount.rehearse.options import RehearsalOptions
from armour.scene import US, Entry, Log, Scene

T0_US = int(pd.Timestamp("2034-09-02T06:40:00Z").timestamp()) * US
# A balloon-borne rocket let go over a lake: no word of the sample's trade in it but the count's own.
_PLAN = """
1|T-00:50:00|Unlock the winch drum|step|||DECK|BOSS|30|30|||
2|T-00:46:00|Lay the balloon envelope out along the deck|step|||DECK|BOSS|60|60|||
3|T-00:42:00|Connect the helium trailer hose|step|||GAS|BOSS|30|30||20|
4|T-00:38:00|Begin inflating the crown|step|||GAS|BOSS|30|30|3||
5|T-00:33:00|Switch the gondola to its own batteries|step|||PAY|BOSS|20|20||20|
6|T-00:30:00|Built-in hold for surface wind|hold|00:10:00||||||||
7|T-00:30:00|Release a pilot balloon|step||00:02:00|MET|BOSS|60|60|||
8|T-00:30:00|Read surface wind at the mast|step||00:06:00|MET|BOSS|60|60|||
9|T-00:27:00|Stow the inflation tube|step|||GAS|BOSS|30|30|4||
10|T-00:24:00|Slew the tracking dish to the lake|step|||DISH|BOSS|20|20||15|
11|T-00:21:00|Start the cameras|step|||PAY|BOSS|20|20|||
12|T-00:18:00|Close the ballast hopper lid|step|||PAY|BOSS|20|20|||
13|T-00:15:00|Pull the red tags from the igniter|step|||PYRO|BOSS|30|30|||
14|T-00:12:00|Poll the team|poll|||BOSS||60|60|||
15|T-00:09:00|Unlatch the collar|step|||DECK|BOSS|20|20||15|
16|T-00:06:00|Swing the ship into the wind|step|||HELM|BOSS|60|60|||
17|T-00:04:00|Sound the horn|step|||HELM|BOSS|10|10|||no
18|T-00:03:00|Arm the cutter|step|||PYRO|BOSS|10|10|13|10|
19|T-00:00:30|Open the data recorder|step|||PAY|BOSS|5|5|||
20|T+00:00:20|Report envelope clear of the mast|step|||DECK||10|10|||
"""
_COLUMNS = ("step", "t", "action", "kind", "duration", "into_hold", "by", "to", "early_s", "late_s", "after", "response_s", "must")
# Wall seconds before and after 06:40:00 as scheduled; the count stood still ten minutes as planned and 7 min 20 s for a leak.
_TALK = """
-3660 BOSS - T minus fifty-one minutes and counting
-3600 BOSS DECK unlock the winch drum
-3588 DECK - winch drum unlocked
-3362 BOSS DECK lay out the envelope
-3330 DECK - envelope is laid out along the deck
-3301 BOSS - T minus forty-five minutes and counting
-3119 BOSS GAS connect the trailer hose
-3112 GAS - hose connected, helium trailer ready
-2878 BOSS GAS begin inflating the crown
-2860 GAS - inflating the crown
-2700 BOSS - T minus thirty-five minutes
-2579 BOSS PAY go to gondola batteries
-2571 PAY - gondola is on its own batteries
-2400 BOSS - holding at T minus thirty minutes
-2281 MET - pilot balloon released
-2042 MET - surface wind at the mast is four knots from the east
-1800 BOSS - resuming the count, T minus thirty minutes and counting
-1619 BOSS GAS stow the inflation tube
-1600 GAS - inflation tube stowed
-1441 BOSS DISH slew the dish to the lake
-1400 DISH - dish is on the lake
-1255 BOSS PAY start cameras
-1240 PAY - cameras running
-1010 BOSS PAY close the hopper lid
-1000 PAY - ballast hopper lid closed
-900 BOSS - T minus fifteen minutes and counting
-899 BOSS PYRO pull the red tags
-880 PYRO - igniter red tags are pulled and counted
-719 BOSS - poll the team: DECK
-715 DECK - go
-712 BOSS - GAS
-710 GAS - go
-707 BOSS - PAY
-705 PAY - go
-702 BOSS - MET
-700 MET - go
-660 BOSS - hold hold hold, DECK sees a leak at the collar, holding at T minus eleven minutes
-220 BOSS - leak is taped, resume the count at T minus eleven minutes
-100 BOSS DECK unlatch the collar
-92 DECK - collar unlatched
80 BOSS HELM swing the ship into the wind
110 HELM - ship is into the wind
140 BOSS - T minus five minutes and counting
260 BOSS PYRO arm the cutter
264 PYRO - cutter armed
380 BOSS - T minus one minute
410 BOSS PAY open the data recorder
414 PAY - data recorder open
440 BOSS - release, liftoff
459 DECK - envelope is clear of the mast
"""
_STATIONS = {"BOSS": ["launch boss"], "DECK": ["deck crew"], "GAS": ["gas party"], "PAY": ["payload"], "MET": ["met desk"],
             "DISH": ["tracking"], "PYRO": ["pyro hand"], "HELM": ["the bridge"]}


def own() -> Scene:
    """Typed notes of the whole loop, and a mechanic's log on a clock of its own, 95 s slow, that shares readings with it."""
    talk = tuple(_entry(line) for line in _TALK.strip().splitlines())
    slow = tuple(replace(e, us=e.us - 95 * US) for e in talk if e.who in ("BOSS", "GAS", "PAY"))
    plan = tuple({k: v for k, v in zip(_COLUMNS, row.split("|"), strict=True) if v or k in ("step", "kind")} for row in _PLAN.strip().splitlines())
    return Scene("grebe-3", T0_US, plan, _STATIONS, (Log("loop", "notes", talk, reference=True), Log("shed", "csv", slow)))


def _entry(line: str) -> Entry:
    at, who, to, words = line.split(" ", 3)
    return Entry(T0_US + int(at) * US, who, words, None if to == "-" else to)


def simulated(folder: Path, seed: int, options: RehearsalOptions) -> Scene:
    """A simulated count as data: its entries as our readers give them."""
    ac.rehearse(folder, seed=seed, options=options)
    count, problems = counts.load(folder)
    assert count is not None, problems
    records, _, sources = logs.read(count)
    plan = pd.read_csv(count.plan_file, dtype=str, keep_default_na=False).to_dict("records")
    made = tuple(_log(count, source, records[records["source"] == source["source"]]) for source in sources.to_dict("records"))
    return Scene(count.id, count.t0_us, tuple(plan), {k: list(v) for k, v in count.stations.items()}, made,
                 {k: list(v) for k, v in count.glossary.items()})


def _log(count: counts.CountFolder, source: dict[str, object], records: pd.DataFrame) -> Log:
    spec = next(s for s in count.logs if s.path == source["source"])
    elapsed = source["time"] == "elapsed"
    rows = records.astype(object).where(records.notna(), None).to_dict("records")
    entries = tuple(Entry(int(r["own_us"]), r["station"], r["text"], r["to"], _count_text(r["stamp_t_us"])) for r in rows)
    form = {"parquet": "csv"}.get(str(source["format"]), str(source["format"]))
    return Log(spec.path.split(".")[0], form, entries, elapsed, spec.start_us, spec.net, spec.reference)


def _count_text(us: int | None) -> str | None:
    if us is None:
        return None
    size = abs(round(us / US))
    return f"T{'-' if us < 0 else '+'}{size // 3600:02d}:{size // 60 % 60:02d}:{size % 60:02d}"


def renamed(scene: Scene, names: dict[str, str]) -> Scene:
    """Stations called otherwise throughout: plan, configuration, logs, and the words in which they are called."""
    word = re.compile(r"\b(" + "|".join(map(re.escape, names)) + r")\b")

    def new(text: str | None) -> str | None:
        return text if text is None else word.sub(lambda m: names[m[0]], text)

    plan = tuple({k: (new(v) or "") if k in ("by", "to", "action", "says") else v for k, v in row.items()} for row in scene.plan)
    made = tuple(replace(log, entries=tuple(replace(e, who=new(e.who), to=new(e.to), words=new(e.words) or "") for e in log.entries))
                 for log in scene.logs)
    stations = {names.get(k, k): v for k, v in scene.stations.items()}
    return replace(scene, plan=plan, logs=made, stations=stations)
