"""Read one log, given as text in a test, as a count at Saltmarsh would have it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from aftercount import logs
from aftercount.count import CountFolder, LogSpec
from aftercount.tables import RECORDS, REJECTS, SOURCES

T0_US = 1_934_289_000_000_000  # 2031-04-18T14:30:00Z
STATIONS: dict[str, tuple[str, ...]] = {
    "TC": ("test conductor",), "PROP": ("propulsion",), "RANGE": ("range safety",), "GND": ("ground systems",),
}
Read = tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]


def count_of(folder: Path, specs: list[LogSpec], *, zone: str = "UTC", t0_us: int = T0_US) -> CountFolder:
    return CountFolder(folder=folder, id="heron-7-t1", title="Heron", kind="rehearsal", t0_us=t0_us, window=None, zone=zone,
                       plan_file=folder / "plan.csv", logs=tuple(specs), stations=STATIONS)


def read(folder: Path, name: str, text: str | bytes, *, zone: str = "UTC", t0_us: int = T0_US, **spec: Any) -> Read:
    """Records, rejects and sources of one file; every frame fits its schema."""
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    records, rejects, sources = logs.read(count_of(folder, [LogSpec(name, file, **spec)], zone=zone, t0_us=t0_us))
    for table, frame in ((RECORDS, records), (REJECTS, rejects), (SOURCES, sources)):
        assert list(frame.columns) == table.columns
    assert list(records["record"]) == list(range(len(records)))
    assert sources["rejected"].sum() == len(rejects)
    return records, rejects, sources


def utc(records: pd.DataFrame) -> list[str]:
    """Instants as text, seconds shown to the millisecond; only for entries that have one."""
    kept = records[records["time_kind"] == "utc"]["own_us"]
    return [pd.Timestamp(us, unit="us").isoformat(timespec="milliseconds") for us in kept]


def said(records: pd.DataFrame) -> list[tuple[str | None, str | None, str]]:
    """(station, to, text) of every record."""
    rows = records[["station", "to", "text"]].astype(object).where(records[["station", "to", "text"]].notna(), None)
    return list(rows.itertuples(index=False, name=None))
