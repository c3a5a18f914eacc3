"""What a simulated count should be like, and the truth that comes back with it.

Conventions: shares and rates are 0..1; `*_s` are seconds; a log's offset is what must be ADDED to its own stamps to get
UTC. Every choice that is left open (None) is drawn from the seed.
It does not decide how a choice is carried out: the stages of the simulator do.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from aftercount.errors import UsageError

STORIES = ("random", "clean", "hold", "recycle", "scrub", "cutoff")
LOG_KINDS = ("sequencer", "notes", "transcript")
LOG_FORMATS = {
    "sequencer": ("syslog", "csv", "jsonl", "parquet", "rfc3164"),
    "notes": ("utc", "zulu", "local", "dated", "ordinal", "count"),
    "transcript": ("webvtt", "srt"),
}
MAX_WORD_ERROR = 0.55  # beyond it the published range of radio speech recognition says little is left to match


@dataclass(frozen=True)
class RehearsalOptions:
    """One simulated count.

    logs: each `kind` or `kind.format`, e.g. ``notes``, ``notes.count``, ``sequencer.csv``, ``transcript.srt``; a kind may
    come more than once. nets: voice nets, one transcript file a net. offsets_s/drifts_ppm: by the place in `logs`; None
    draws them, 0 for all when `clocks_agree`.
    """

    scenario: str = "heron"
    steps: int = 60
    story: str = "random"
    logs: tuple[str, ...] = ("sequencer", "notes", "transcript")
    nets: int = 1
    word_error: float = 0.0
    false_marks: float = 0.1      # share of the spoken count readings that are not readings of the clock now
    paraphrase: float = 0.35      # share of spoken and typed wordings that depart from the plan's
    own_words: float = 0.0        # share of the steps that people have words of their own for
    errands: float = 0.0          # orders for what is not in the plan, for each step
    chatter: float = 0.6          # lines of other talk for each step
    near_misses: float = 0.12     # near misses ('stand by for', 'not yet') for each step
    deviations: float = 1.0       # scale on the rates of late, early, missed, displaced, repeated steps
    silent_holds: float = 0.25    # share of unplanned holds that nobody calls
    clocks_agree: bool = False
    offsets_s: tuple[float | None, ...] = ()
    drifts_ppm: tuple[float | None, ...] = ()
    reset_log: int | None = None  # place in `logs` of a log whose clock is set anew half way
    transcript_start: bool | None = None  # does count.toml give the wall time of elapsed zero
    list_logs: bool | None = None         # does count.toml name its logs
    speakers: bool | None = None          # do transcripts name the speaker

    def __post_init__(self) -> None:
        if self.story not in STORIES:
            raise UsageError(f"story {self.story!r}: expected one of {', '.join(STORIES)}")
        if not 0 <= self.word_error <= MAX_WORD_ERROR:
            raise UsageError(f"word_error {self.word_error}: expected 0 to {MAX_WORD_ERROR}")
        if not 8 <= self.steps <= 1000:
            raise UsageError(f"steps {self.steps}: expected 8 to 1000")
        if not self.logs:
            raise UsageError("logs: expected at least one of sequencer, notes, transcript")
        for log in self.logs:
            kind, _, form = log.partition(".")
            if kind not in LOG_KINDS or (form and form not in LOG_FORMATS[kind]):
                known = ", ".join(f"{k}[.{'|'.join(v)}]" for k, v in LOG_FORMATS.items())
                raise UsageError(f"log {log!r}: expected {known}")
        if not 1 <= self.nets <= 3:
            raise UsageError(f"nets {self.nets}: expected 1 to 3")

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


@dataclass(frozen=True)
class RehearsalTruth:
    """What really happened, as far as the logs that were written can show it. `data` is the truth file's content."""

    folder: Path
    file: Path
    data: dict[str, Any] = field(repr=False)

    @property
    def outcome(self) -> str:
        return str(self.data["outcome"])

    @property
    def steps(self) -> list[dict[str, Any]]:
        return list(self.data["steps"])

    @property
    def holds(self) -> list[dict[str, Any]]:
        return list(self.data["holds"])
