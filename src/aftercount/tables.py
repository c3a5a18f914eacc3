"""Every table's schema, once: the tables of a review folder and those the stages hand to each other.

Conventions: `utc` columns are UTC instants in whole microseconds; `*_t_s` is count time in seconds relative to
T-0, negative before it; `*_s` is a duration in seconds; a missing value is null (NaN/NaT/NA in pandas).
`Table.conform` puts a frame into its schema's columns, order and dtypes or says what is wrong with it.
It does not decide what the values mean: each stage's header does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import pandas as pd
import pyarrow as pa

UTC_US = pa.timestamp("us", tz="UTC")
_F, _I, _S, _B = pa.float64(), pa.int64(), pa.string(), pa.bool_()
_STRINGS = pa.list_(pa.string())


def _field(name: str, kind: pa.DataType) -> pa.Field:
    """A column; a trailing '!' on the name says it may not be null."""
    return pa.field(name.rstrip("!"), kind, nullable=not name.endswith("!"))


def _pandas_dtype(field: pa.Field) -> Any:
    if pa.types.is_integer(field.type):
        return "Int64" if field.nullable else "int64"
    if pa.types.is_floating(field.type):
        return "float64"
    if pa.types.is_boolean(field.type):
        return "boolean" if field.nullable else "bool"
    if pa.types.is_timestamp(field.type):
        return pd.DatetimeTZDtype("us", "UTC")
    if pa.types.is_string(field.type):
        return "str"
    return "object"


@dataclass(frozen=True)
class Table:
    """A named schema. `open` tables carry further columns through, after the named ones."""

    name: str
    schema: pa.Schema
    open: bool = False

    @property
    def columns(self) -> list[str]:
        return list(self.schema.names)

    def empty(self) -> pd.DataFrame:
        return self.conform(pd.DataFrame({name: [] for name in self.columns}))

    def from_rows(self, rows: Iterable[dict[str, Any]]) -> pd.DataFrame:
        """A frame from one dict a row; absent keys are null."""
        listed = list(rows)
        if not listed:
            return self.empty()
        return self.conform(pd.DataFrame(listed).reindex(columns=self._kept(pd.DataFrame(listed).columns)))

    def _kept(self, columns: Iterable[str]) -> list[str]:
        extra = [c for c in columns if c not in self.schema.names] if self.open else []
        return self.columns + extra

    def conform(self, frame: pd.DataFrame) -> pd.DataFrame:
        """The frame in this schema's column order and dtypes, index 0..n-1.

        Raises ValueError when a column is absent or a value does not fit: that is a mistake of ours, not the user's.
        """
        missing = [c for c in self.columns if c not in frame.columns]
        if missing:
            raise ValueError(f"table {self.name}: no column {', '.join(missing)}")
        out = frame[self._kept(frame.columns)].reset_index(drop=True)
        for field in self.schema:
            wanted = _pandas_dtype(field)
            if out[field.name].dtype != wanted:
                out[field.name] = out[field.name].astype(wanted)
            if not field.nullable and out[field.name].isna().any():
                raise ValueError(f"table {self.name}: null in {field.name}")
        return out

    def to_arrow(self, frame: pd.DataFrame) -> pa.Table:
        """An Arrow table by the schema (carried columns as strings), without pandas' own metadata."""
        fields = list(self.schema) + [pa.field(c, pa.string()) for c in self._kept(frame.columns)[len(self.columns):]]
        schema = pa.schema(fields)
        return pa.Table.from_pandas(frame, schema=schema, preserve_index=False).replace_schema_metadata(None)

    def from_arrow(self, table: pa.Table) -> pd.DataFrame:
        return self.conform(table.to_pandas())


def _table(name: str, fields: dict[str, pa.DataType], *, open: bool = False) -> Table:
    return Table(name, pa.schema([_field(k, v) for k, v in fields.items()]), open)


# --- the review folder: what users rely on. Columns below a blank line are ours, after the agreed ones. ---

EVENTS = _table("events", {
    "event!": _I, "source!": _S, "line!": _I, "utc": UTC_US, "utc_sigma_s": _F, "t_s": _F, "state": _S, "pass": _I,
    "station": _S, "to": _S, "net": _S, "kind!": _S, "text!": _S, "raw_time": _S,

    "medium!": _S,
})
CLOCK = _table("clock", {
    "segment!": _I, "pass!": _I, "state!": _S, "start_utc!": UTC_US, "end_utc!": UTC_US, "start_t_s!": _F, "end_t_s!": _F,

    # inside sure_from .. sure_to the clock is good to sigma_s; outside, where an inferred hold may lie, to unsure_s
    "sigma_s!": _F, "sure_from_utc": UTC_US, "sure_to_utc": UTC_US, "unsure_s": _F,
})
HOLDS = _table("holds", {
    "hold!": _I, "pass!": _I, "t_s!": _F, "start_utc!": UTC_US, "end_utc": UTC_US, "duration_s": _F, "planned_s!": _F,
    "excess_s": _F, "kind!": _S, "basis!": _S, "t_low_s": _F, "t_high_s": _F, "called_by": _S, "reason": _S,
    "recycled_to_t_s": _F, "event": _I,

    "reason_basis": _S, "resumed_by": _S, "resume_event": _I, "waiting_for": _S, "slip_s": _F,
})
STEPS = _table("steps", {
    "step!": _S, "pass!": _I, "phase": _S, "action!": _S, "by": _S, "planned_t_s!": _F, "planned_utc": UTC_US,
    "due_utc": UTC_US, "actual_utc": UTC_US, "actual_t_s": _F, "deviation_s": _F, "status!": _S, "timing": _S,
    "out_of_order!": _B, "violates!": _STRINGS, "times_seen!": _I, "response_s": _F, "response": _S,
    "confidence!": _F, "review!": _B, "decided!": _B, "event": _I, "source": _S, "line": _I, "evidence": _S,

    "deviation_sigma_s": _F, "early_s": _F, "late_s": _F, "kind": _S, "to": _S, "must": _B, "response_event": _I,
    "completed_utc": UTC_US, "plan_line": _I,
}, open=True)
MATCHES = _table("matches", {
    "step!": _S, "pass!": _I, "event!": _I, "part!": _S, "text_score!": _F, "time_score!": _F, "station_score!": _F,
    "score!": _F, "rank!": _I,
})
SOURCES = _table("sources", {
    "source!": _S, "format!": _S, "time!": _S, "entries!": _I, "rejected!": _I, "offset_s": _F, "offset_sigma_s": _F,
    "drift_ppm": _F, "reference!": _B,

    "offset_at_utc": UTC_US, "note": _S, "drift_sigma_ppm": _F,  # a drifting clock has that offset at that instant: its first entry, or the first since a reset
})
REJECTS = _table("rejects", {"source!": _S, "line!": _I, "reason!": _S, "raw!": _S})

# Ours, beside the agreed ones: the marks the clock was rebuilt from, the polls, and the findings as a table.
MARKS = _table("marks", {
    "mark!": _I, "event!": _I, "utc": UTC_US, "t_s!": _F, "clock!": _S, "says!": _S, "grade!": _S, "form!": _S,
    "sigma_s!": _F, "kept!": _B, "residual_s": _F,
})
POLLS = _table("polls", {
    "poll!": _I, "step": _S, "pass": _I, "order!": _I, "station!": _S, "answer!": _S, "utc": UTC_US, "event": _I,
})
FINDINGS = _table("findings", {
    "finding!": _I, "kind!": _S, "step": _S, "pass": _I, "deviation_s": _F, "severity!": _S, "text!": _S,
    "event": _I, "source": _S, "line": _I, "decided!": _B,
})

# --- between stages ---

RECORDS = _table("records", {
    # one entry of one file. own_us: the log's own clock in microseconds: POSIX UTC for time_kind 'utc', since elapsed
    # zero for 'elapsed', count time for 'count', null for 'none'. stamp_t_us: a count time in a column of its own.
    "record!": _I, "source!": _S, "line!": _I, "raw_time": _S, "time_kind!": _S, "own_us": _I, "dur_us!": _I,
    "resolution_s!": _F, "stamp_t_us": _I, "station": _S, "to": _S, "net": _S, "medium!": _S, "text!": _S,
})
UTTERANCES = _table("utterances", {
    # one sentence of one speaker. own_us as in RECORDS, moved within the cue by the words before it. length_s: of a sentence that has its
    # entry for itself, how long the log says that it took. roll: how many stations answer one after another in the poll that it may have called, else 0.
    "utterance!": _I, "record!": _I, "source!": _S, "line!": _I, "raw_time": _S, "time_kind!": _S, "own_us": _I,
    "own_sigma_s!": _F, "stamp_t_us": _I, "station": _S, "to": _S, "net": _S, "medium!": _S, "kind!": _S, "text!": _S,
    "length_s": _F, "roll": _I,
})
SPOKEN_MARKS = _table("spoken_marks", {
    # a count reading in an utterance. clock: 'T' count time t_s | 'L' time to scheduled lift-off t_s |
    # 'T0' an announced T-0 (t0_us, POSIX us, date already resolved; or null with t_s unused).
    "utterance!": _I, "clock!": _S, "t_s": _F, "t0_us": _I, "says!": _S, "grade!": _S, "form!": _S, "sigma_s!": _F,
})
CLOCK_CALLS = _table("clock_calls", {
    # what was said to happen to the count. what: hold|resume|recycle|cutoff|scrub|liftoff. t_s: at which count, if said;
    # to_t_s: recycled to; length_s: announced duration; grade as for marks.
    "utterance!": _I, "what!": _S, "grade!": _S, "t_s": _F, "to_t_s": _F, "length_s": _F, "reason": _S, "by": _S,
})
POLL_ANSWERS = _table("poll_answers", {"utterance!": _I, "station!": _S, "answer!": _S})
DUE = _table("due", {
    # one plan step in one pass. reached: False when the pass ended before it fell due. in_hold: due inside a hold.
    "step!": _S, "pass!": _I, "row!": _I, "planned_t_s!": _F, "planned_utc": UTC_US, "due_utc": UTC_US,
    "due_sigma_s!": _F, "reached!": _B, "in_hold!": _B, "into_hold_s": _F,
})
VERDICTS = _table("verdicts", {
    # the matcher's judgement of one step in one pass. seen: judged present. confidence: calibrated probability that the
    # verdict (seen with these events, or not seen) is right. event_*: chosen utterances by part.
    "step!": _S, "pass!": _I, "seen!": _B, "confidence!": _F, "decided!": _B, "event_call": _I,
    "event_response": _I, "event_report": _I, "event_record": _I, "times_seen!": _I,
})
BEGINNINGS = _table("beginnings", {
    # an utterance taken for a step's doing. confidence: calibrated probability that it is the step's, and so may have begun it.
    "step!": _S, "pass!": _I, "event!": _I, "confidence!": _F,
})

REVIEW_TABLES = (EVENTS, CLOCK, HOLDS, STEPS, MATCHES, SOURCES, REJECTS, MARKS, POLLS, FINDINGS)
