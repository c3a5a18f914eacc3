"""What was heard, by utterance id: when, where, by whom, in plain Python values.

Conventions: `us` is POSIX microseconds UTC, `t_s` count seconds (negative before T-0), `sigma_s` one standard deviation
in seconds; None is unknown. It does not decide what an utterance means for a step: the matcher did.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import pandas as pd


@dataclass(frozen=True, slots=True)
class Utterance:
    """One sentence of one speaker, on one time."""

    event: int
    source: str
    line: int
    station: str | None
    to: str | None
    medium: str
    kind: str
    text: str
    own_us: int | None
    own_sigma_s: float
    us: int | None
    sigma_s: float
    t_s: float | None
    in_pass: int | None
    clock_sigma_s: float

    @property
    def timed(self) -> bool:
        return self.us is not None or self.t_s is not None

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


def _utterances(frame: pd.DataFrame) -> Iterable[Utterance]:
    columns = {name: plain_list(frame[name].tolist()) for name in frame.columns}
    us, own = micros(frame["utc_us"]), micros(frame["own_us"])
    for i, event in enumerate(columns["utterance"]):
        own_sigma = _number(columns["own_sigma_s"][i], 0.0)
        yield Utterance(
            int(event), columns["source"][i], int(columns["line"][i]), columns["station"][i], columns["to"][i],
            columns["medium"][i], columns["kind"][i], columns["text"][i], own[i], own_sigma, us[i],
            _number(columns["utc_sigma_s"][i], own_sigma), columns["t_s"][i],
            None if columns["pass"][i] is None else int(columns["pass"][i]), _number(columns["clock_sigma_s"][i], 0.0),
        )
