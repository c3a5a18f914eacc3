"""Short logs in, what was said out: each test line is one entry, five seconds after the one before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace

import pandas as pd
import pytest

from aftercount import tables
from aftercount.speech import Speech, understand

T0_US = 1_934_116_200_000_000  # some scheduled T-0; 14:30:00 UTC
START_US = T0_US - 3_600_000_000
STEP_US = 5_000_000
STATIONS = {
    "TC": ("test conductor",), "PROP": ("propulsion",), "GNC": ("guidance",), "RANGE": ("range control",),
    "LD": ("launch director",), "ECS": (),
}
PLAN = (
    ("1", -5400.0, "LOX load start", "step", "PROP", "TC"),
    ("2", -1200.0, "Hold LOX tank at flight pressure", "step", "PROP", "TC"),
    ("3", -540.0, "Built-in hold", "hold", None, None),
    ("4", -31.0, "Sequencer auto start", "step", "GNC", "TC"),
    ("5", 0.0, "Lift-off", "step", None, None),
)


@dataclass(frozen=True)
class Heard:
    """The tables, with the rows of one entry (1-based line) at hand."""

    speech: Speech

    def _of(self, frame: pd.DataFrame, line: int) -> pd.DataFrame:
        said = self.speech.utterances
        return frame[frame["utterance"].isin(said.loc[said["line"] == line, "utterance"])]

    def who(self) -> list[str]:
        """'speaker>to' of every utterance, '?' where unknown."""
        said = self.speech.utterances
        return [f"{_named(s)}>{_named(t)}" for s, t in zip(said["station"], said["to"], strict=True)]

    def kinds(self) -> list[str]:
        return self.speech.utterances["kind"].tolist()

    def texts(self) -> list[str]:
        return self.speech.utterances["text"].tolist()

    def marks(self, line: int = 1) -> list[tuple[float, str, str]]:
        """(t_s, grade, says) of count readings on the T clock."""
        rows = self._of(self.speech.marks, line)
        rows = rows[rows["clock"] == "T"]
        return list(zip(rows["t_s"].tolist(), rows["grade"].tolist(), rows["says"].tolist(), strict=True))

    def best(self, line: int = 1) -> float | None:
        """The one reading that is believed, if any."""
        kept = [t for t, grade, _ in self.marks(line) if grade != "doubtful"]
        assert len(kept) <= 1, kept
        return kept[0] if kept else None

    def calls(self, line: int = 1) -> dict[str, str]:
        rows = self._of(self.speech.calls, line)
        return dict(zip(rows["what"].tolist(), rows["grade"].tolist(), strict=True))

    def call(self, what: str, line: int = 1) -> pd.Series:
        rows = self._of(self.speech.calls, line)
        return rows[rows["what"] == what].iloc[0]

    def answers(self) -> list[tuple[str, str]]:
        rows = self.speech.poll_answers
        return list(zip(rows["station"].tolist(), rows["answer"].tolist(), strict=True))


def _named(value: object) -> str:
    return value if isinstance(value, str) else "?"


def plan(*rows: tuple[object, ...]) -> SimpleNamespace:
    names = ("step", "t_s", "action", "kind", "by", "to")
    table = pd.DataFrame([dict(zip(names, row, strict=True)) for row in rows or PLAN])
    return SimpleNamespace(table=table.assign(says=[[] for _ in range(len(table))]))


def count(**more: object) -> SimpleNamespace:
    return SimpleNamespace(**({"stations": STATIONS, "glossary": {}, "zone": "UTC", "t0_us": T0_US, "logs": ()} | more))


def records(lines: list[str], medium: str, **more: object) -> pd.DataFrame:
    """`more` is put into every record; 'NAME: words' is not taken apart here, readers do that."""
    base = {
        "source": "loop.vtt", "raw_time": "x", "time_kind": "utc", "medium": medium,
        "dur_us": 4_000_000 if medium == "speech" else 0, "resolution_s": 1.0 if medium == "typed" else 0.001,
    }
    rows = [
        base | {"record": i, "line": i + 1, "own_us": START_US + i * STEP_US, "text": text} | more
        for i, text in enumerate(lines)
    ]
    return tables.RECORDS.from_rows(rows)


@pytest.fixture
def hear() -> Callable[..., Heard]:
    def _hear(text: str, medium: str = "speech", **more: object) -> Heard:
        lines = [line.strip() for line in text.strip().splitlines()]
        return Heard(understand(records(lines, medium, **more), count(), plan()))

    return _hear
