"""What a checked count folder holds.

Conventions: `*_us` is int64 microseconds, POSIX UTC; `*_s` seconds. `path` is as the user wrote it, and names the
source in every table; `file` is where it is on this machine. Everything here has passed its checks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

KINDS = ("rehearsal", "wet-dress", "attempt")
FORMATS = ("notes", "csv", "jsonl", "webvtt", "srt", "syslog", "parquet")
TIMES = ("utc", "local", "count", "elapsed", "none")
LOG_COLUMNS = ("time", "text", "station", "to", "net")
COMMANDS = ("hold", "resume", "recycle", "cutoff", "scrub")
# The contract's default tolerance, seconds, either side of a planned time.
DEFAULT_EARLY_S = 10.0
DEFAULT_LATE_S = 10.0


@dataclass(frozen=True)
class LogSpec:
    """One log file and what count.toml says of it; None where it says nothing and the reader has to look."""

    path: str
    file: Path
    format: str | None = None
    time: str | None = None
    start_us: int | None = None
    net: str | None = None
    station: str | None = None
    reference: bool = False
    columns: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class CountFolder:
    """One count: a rehearsal, a wet dress or a launch attempt."""

    folder: Path
    id: str
    title: str
    kind: str
    t0_us: int
    window: tuple[int, int] | None
    zone: str
    plan_file: Path
    logs: tuple[LogSpec, ...]
    stations: dict[str, tuple[str, ...]] = field(default_factory=dict)
    glossary: dict[str, tuple[str, ...]] = field(default_factory=dict)
    early_s: float = DEFAULT_EARLY_S
    late_s: float = DEFAULT_LATE_S
    authority: dict[str, tuple[str, ...]] = field(default_factory=dict)
    decisions_file: Path | None = None
