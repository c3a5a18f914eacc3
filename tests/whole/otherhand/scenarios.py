"""Six procedures in words of their own: what is done, how it is ordered over the loop, how its end is told.

`procedures/` has a file each, a step a line: `id | minutes:seconds before T-0 | by | action | order | end | flags`. Order and
end may be empty (nobody orders it, or nobody tells its end) and may give two wordings with ' / '. Flags: r=seconds (an answer
is due), l= and e= (tolerance), after=ids, opt, poll, hold=seconds, into=seconds (since the hold began), m (a machine records
it), says=words.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Scenario:
    """lead: the station that runs the count. habit: its radio habits (see `radio`). zone: of its typed local times."""

    name: str
    lead: str
    habit: str
    stations: dict[str, list[str]]
    glossary: dict[str, list[str]]
    zone: str
    ending: str
    steps: str
    off_nominal: tuple[str, ...] = ()
    xlsx: bool = False
    plan_times: str = "hms"
    after_zero_s: float = 60.0


def _steps(name: str) -> str:
    return (Path(__file__).parent / "procedures" / f"{name}.txt").read_text("utf-8")


BARGE = Scenario(
    name="barge",
    lead="OD",
    habit="thisis",
    zone="Atlantic/Azores",
    ending="liftoff",
    xlsx=True,
    plan_times="minutes",
    stations={
        "OD": ["operations", "ops director"],
        "BM": ["barge master", "bridge"],
        "LN": ["launcher"],
        "PL": ["payload"],
        "RN": ["range"],
        "MT": ["met", "weather"],
        "TL": ["telemetry"],
    },
    glossary={"GPS": ["satellite receiver"], "TM": ["telemetry"]},
    off_nominal=("fishing boat inside the box", "gust above limits", "telemetry dropout on link two", "barge roll above three degrees"),
    steps=_steps("barge"),
)

KICK = Scenario(
    name="kick",
    lead="CTC",
    habit="called",
    zone="UTC",
    ending="liftoff",
    plan_times="sign",
    stations={
        "CTC": ["conductor"],
        "OXL": ["ox loader", "oxidizer"],
        "FUL": ["fuel loader", "fuels"],
        "SCP": ["suits", "suit lead"],
        "NAV": ["nav", "navigation"],
        "EPS": ["power"],
        "RSO": ["range safety"],
        "PAD": ["pad lead"],
    },
    glossary={"NTO": ["tetroxide", "oxidizer"], "MMH": ["hydrazine"], "GN2": ["nitrogen"], "KSM": ["kick stage"]},
    off_nominal=("vapour alarm at the scrubber", "suit air pressure low", "leak rate on the ox quick disconnect", "range radar down"),
    steps=_steps("kick"),
)

FIRING = Scenario(
    name="firing",
    lead="TD",
    habit="wordy",
    zone="America/Denver",
    ending="cutoff",
    plan_times="secs",
    after_zero_s=40,
    stations={
        "TD": ["test director"],
        "DAQ": ["data", "recording"],
        "FEED": ["feed systems", "feed"],
        "DEL": ["deluge", "water"],
        "HYD": ["hydraulics"],
        "SAF": ["safety"],
        "IGN": ["igniter", "ignition"],
        "CAM": ["cameras"],
    },
    glossary={"LOX": ["oxygen"], "RP": ["kerosene"], "TVC": ["gimbal"]},
    off_nominal=("chill thermocouple reading low", "deluge pump tripped", "visitor inside the fence", "dropped channel on the recorder"),
    steps=_steps("firing"),
)

RAIL = Scenario(
    name="rail",
    lead="LC",
    habit="terse",
    zone="Pacific/Auckland",
    ending="liftoff",
    plan_times="hms",
    xlsx=True,
    stations={
        "LC": ["launch control", "control"],
        "RLD": ["rail", "rail crew"],
        "MOT": ["motor"],
        "AVX": ["avionics"],
        "TRK": ["tracking", "radar"],
        "SEA": ["sea watch"],
    },
    glossary={"TVC": ["nozzle"], "SRM": ["motor"], "FTS": ["destruct"]},
    off_nominal=("ship in the drop zone", "radar track lost", "nozzle actuator sluggish"),
    steps=_steps("rail"),
)

BALLOON = Scenario(
    name="balloon",
    lead="FD",
    habit="chatty",
    zone="Europe/Stockholm",
    ending="liftoff",
    plan_times="sign",
    after_zero_s=90,
    stations={
        "FD": ["flight director", "flight"],
        "INF": ["inflation"],
        "GON": ["gondola"],
        "SPL": ["spool"],
        "WX": ["weather"],
        "ATC": ["traffic", "air traffic"],
        "REC": ["recovery"],
        "DRP": ["drop vehicle", "dropper"],
    },
    glossary={"HE": ["helium"], "IFF": ["transponder"]},
    off_nominal=("surface wind above six knots", "helium trailer pressure low", "airliner inside the corridor", "pinhole in the duct"),
    steps=_steps("balloon"),
)

CARGO = Scenario(
    name="cargo",
    lead="PM",
    habit="called",
    zone="Asia/Kolkata",
    ending="liftoff",
    plan_times="hms",
    stations={
        "PM": ["payload manager", "manager"],
        "THM": ["thermal"],
        "GAS": ["gas"],
        "CRY": ["cryo"],
        "INS": ["instruments"],
        "SIM": ["data base", "ground data"],
        "CLN": ["clean room", "cleanliness"],
        "PWR": ["power"],
    },
    glossary={},
    off_nominal=("dewar pressure drifting", "humidity high in the fairing", "instrument reset"),
    steps=_steps("cargo"),
)

ALL = {s.name: s for s in (BARGE, KICK, FIRING, RAIL, BALLOON, CARGO)}
