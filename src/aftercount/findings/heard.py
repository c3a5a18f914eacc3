"""What was heard, by utterance id: when, where, by whom, in plain Python values.

Conventions: `us` is POSIX microseconds UTC, `t_s` count seconds (negative before T-0); None is unknown. `sigma_s` is one
standard deviation in seconds of the utterance against the count clock (see `timeline.relative`). It does not decide what an utterance means for a step: the matcher did.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import pandas as pd


class Utterance(NamedTuple):
    """One sentence of one speaker, on one time."""

    event: int
    source: str
    line: int
    station: str | None
    to: str | None
    medium: str
    kind: str
    text: str
    time_kind: str
    own_us: int | None
    own_sigma_s: float
    us: int | None
    sigma_s: float
    t_s: float | None
    stamped_t: bool
    in_pass: int | None
    clock_sigma_s: float

    @property
    def timed(self) -> bool:
        return self.us is not None or self.t_s is not None

    @property
    def on_wall(self) -> bool:
        """Whether its own stamp runs with the wall clock (through holds)."""
        return self.own_us is not None and self.time_kind in ("utc", "local", "elapsed")

    @property
    def place(self) -> str:
        return f"{self.source}:{self.line}"


def plain(value: Any) -> Any:
    """The value, or None where pandas says it is missing."""
    return None if value is None or value is pd.NA or value is pd.NaT or value != value else value


def plain_list(values: Iterable[Any]) -> list[Any]:
    return [plain(v) for v in values]


def micros(series: pd.Series) -> list[int | None]:
    """A timestamp (or integer microsecond) column as POSIX microseconds."""
    if isinstance(series.dtype, pd.DatetimeTZDtype):
        stamps = series.dt.as_unit("us")
        gone = stamps.isna().tolist()
        return [None if g else int(v) for g, v in zip(gone, stamps.astype("int64").tolist(), strict=True)]
    return [None if v is None else int(v) for v in plain_list(series.tolist())]


def seconds_between(later_us: int, earlier_us: int) -> float:
    return (later_us - earlier_us) / 1e6


def apart_s(later: Utterance, earlier: Utterance) -> float | None:
    """Seconds of wall time from `earlier` to `later`: on their own log's clock when they share one, else by UTC."""
    if later.source == earlier.source and later.on_wall and earlier.on_wall:
        return seconds_between(later.own_us or 0, earlier.own_us or 0)
    if later.us is None or earlier.us is None:
        return None
    return seconds_between(later.us, earlier.us)


def apart_sigma_s(one: Utterance, other: Utterance) -> float:
    """The uncertainty of the time between two utterances: two of one log share its clock's error."""
    if one.source == other.source and one.on_wall and other.on_wall:
        return float((one.own_sigma_s**2 + other.own_sigma_s**2) ** 0.5)
    return float((one.sigma_s**2 + other.sigma_s**2) ** 0.5)


class Heard:
    """Every utterance, found by id; ids need not be row numbers."""

    def __init__(self, frame: pd.DataFrame) -> None:
        self.all = tuple(_utterances(frame))
        self._by_id = {u.event: u for u in self.all}

    def get(self, event: int | None) -> Utterance | None:
        return None if event is None else self._by_id.get(event)


def _number(value: Any, missing: float) -> float:
    kept = plain(value)
    return missing if kept is None else float(kept)


_USED = ("utterance", "own_sigma_s", "pass", "t_s", "clock_sigma_s", "time_kind", "source", "line", "station", "to", "medium", "kind", "text", "sigma_s")


def _plain_column(series: pd.Series) -> list[Any]:
    """A column as a list, None where it is null."""
    values, gone = series.tolist(), series.isna().to_numpy()
    return [None if g else v for v, g in zip(values, gone.tolist(), strict=True)] if gone.any() else values


def _utterances(frame: pd.DataFrame) -> Iterable[Utterance]:
    columns = {name: _plain_column(frame[name]) for name in _USED}
    us, own, stamp = micros(frame["utc_us"]), micros(frame["own_us"]), micros(frame["stamp_t_us"])
    for i, event in enumerate(columns["utterance"]):
        own_sigma = _number(columns["own_sigma_s"][i], 0.0)
        in_pass = columns["pass"][i]
        t_s, clock_sigma = columns["t_s"][i], _number(columns["clock_sigma_s"][i], 0.0)
        # A count column beside the wall time shows the last whole second reached: the wall time says it better.
        stamped = own[i] if columns["time_kind"][i] == "count" else stamp[i] if t_s is None else None
        if stamped is not None:  # it says the count time itself: no need to go by way of UTC
            t_s, clock_sigma = stamped / 1e6, 0.0
        yield Utterance(
            event=int(event), source=columns["source"][i], line=int(columns["line"][i]), station=columns["station"][i],
            to=columns["to"][i], medium=columns["medium"][i], kind=columns["kind"][i], text=columns["text"][i],
            time_kind=columns["time_kind"][i], own_us=own[i], own_sigma_s=own_sigma, us=us[i],
            sigma_s=_number(columns["sigma_s"][i], own_sigma),
            t_s=t_s, stamped_t=stamped is not None,
            in_pass=int(in_pass) if in_pass else None, clock_sigma_s=clock_sigma,
        )
