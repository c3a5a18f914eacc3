"""One file's entries as rows of RECORDS, their times placed.

Conventions: as tables.RECORDS. Entries read one by one and those read in bulk come out in file order, as if all had been
read one by one. An entry whose time turns out impossible once its day is known moves to the rejects.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from aftercount.logs.dating import KINDS, Times, counts_from_zero, place, to_elapsed
from aftercount.logs.entries import Bulk, Entries

if TYPE_CHECKING:
    from aftercount.count import CountFolder, LogSpec


def build(spec: LogSpec, count: CountFolder, entries: Entries) -> tuple[pd.DataFrame, str]:
    """(records but for their final ids, the kind of time most of them have)."""
    times, order = _merged(entries)
    if spec.time is None and counts_from_zero(times, count.t0_us, count.zone):
        to_elapsed(times)
        entries.notes.append("times read as elapsed since the log began")
    local = times.has("local") or times.has("day_local")
    bad = place(times, count.t0_us, count.zone)
    frame = _frame(entries) if order is None else _frame(entries).iloc[order].reset_index(drop=True)
    frame["own_us"] = pd.arrays.IntegerArray(times.us, times.kind == 0)
    frame["time_kind"] = _repeated(KINDS, times.kind)
    for i, reason in bad.items():
        entries.reject(int(frame["line"][i]), reason, f"{frame['raw_time'][i]} {frame['text'][i]}")
    frame = frame.drop(index=list(bad)).reset_index(drop=True) if bad else frame
    size = len(frame)
    frame["record"] = np.arange(size)
    for name, value in (("source", spec.path), ("medium", entries.medium)):
        frame[name] = _repeated((value,), np.zeros(size, dtype=np.int8))
    for name, default in (("station", spec.station), ("net", spec.net)):
        frame[name] = frame[name].fillna(default) if default else frame[name]
    return frame, _kind_of_log(times, local, spec)


def _merged(entries: Entries) -> tuple[Times, np.ndarray | None]:
    """The stamps of all entries in file order, and how to bring single entries followed by bulk ones into that order."""
    single, bulk = Times.of(entries.stamp), entries.bulk
    if bulk is None:
        return single, None
    codes = np.array([KINDS.index(k) for k in bulk.kind], dtype=np.int8)[bulk.which]
    if not len(single.us):
        return Times(codes, bulk.us.copy(), single.leap), None
    order = np.argsort(np.concatenate([entries.line, bulk.line]), kind="stable")
    place_of = np.empty(len(order), dtype=np.int64)
    place_of[order] = np.arange(len(order))
    return Times(np.concatenate([single.kind, codes])[order], np.concatenate([single.us, bulk.us])[order], place_of[single.leap]), order


def _frame(entries: Entries) -> pd.DataFrame:
    """Columns that do not depend on the day; single entries first."""
    parts = [_single(entries)] if entries.line or entries.bulk is None else []
    if entries.bulk is not None:
        parts.append(_bulk(entries.bulk))
    return pd.concat(parts, ignore_index=True) if len(parts) > 1 else parts[0]


def _single(entries: Entries) -> pd.DataFrame:
    return pd.DataFrame({
        "line": np.array(entries.line, dtype=np.int64), "raw_time": _strings(entries.raw_time),
        "dur_us": np.array(entries.dur_us, dtype=np.int64),
        "resolution_s": np.array([s.resolution_s if s is not None else 0.0 for s in entries.stamp], dtype=np.float64),
        "stamp_t_us": pd.array(entries.stamp_t_us, dtype="Int64"), "station": _strings(entries.station),
        "to": _strings(entries.to), "net": _strings(entries.net), "text": _strings(entries.text),
    })


def _bulk(bulk: Bulk) -> pd.DataFrame:
    size = len(bulk.line)
    return pd.DataFrame({
        "line": bulk.line, "raw_time": _strings(bulk.raw_time), "dur_us": np.zeros(size, dtype=np.int64),
        "resolution_s": bulk.resolution_s, "stamp_t_us": pd.arrays.IntegerArray(np.zeros(size, dtype=np.int64), np.ones(size, dtype=bool)),
        "station": _strings(bulk.station), "to": _strings(bulk.to), "net": _repeated((None,), np.zeros(size, dtype=np.int8)),
        "text": _strings(bulk.text),
    })


def _strings(values: Any) -> pd.Series:
    return pd.Series(pd.array(values, dtype="str"))


def _repeated(names: tuple[str | None, ...], which: np.ndarray) -> pd.Series:
    """names[which] as a text column, without a Python object a row."""
    import pyarrow as pa

    if len(names) == 1:
        return _strings(pa.repeat(pa.scalar(names[0], type=pa.string()), len(which)))
    return _strings(pa.array(names, type=pa.string()).take(pa.array(which)))


def _kind_of_log(times: Times, local: bool, spec: LogSpec) -> str:
    """The kind most entries have; none at all goes by what was configured."""
    counted = {k: int((times.kind == KINDS.index(k)).sum()) for k in ("utc", "count", "elapsed")}
    best = max(counted, key=lambda k: counted[k])
    if not counted[best]:
        return spec.time or "none"
    return "local" if best == "utc" and local else best
