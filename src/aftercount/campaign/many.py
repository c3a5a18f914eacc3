"""Many counts reviewed in one go: each into its own folder, one failure never stopping the rest.

The review of a count goes to OUT/<count id>. Two folders with the same id are an error of both: neither would be the
one that is kept. It does not compare the counts: `trend` does.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aftercount import count as counts
from aftercount.errors import AftercountError, InputError, Problem
from aftercount.report.folder import WriteOptions, write_folder
from aftercount.review import review

Progress = Callable[[str], None]


@dataclass(frozen=True)
class CountResult:
    """What became of one count folder; `problems` is empty when it was reviewed."""

    folder: Path
    out: Path | None
    outcome: str | None = None
    findings: int = 0
    problems: tuple[Problem, ...] = ()

    def line(self) -> str:
        """One line for a person."""
        if self.problems:
            return f"{self.folder}: not reviewed"
        return f"{self.folder}: {self.outcome}, {self.findings} findings, written to {self.out}"

    def as_dict(self) -> dict[str, Any]:
        return {"folder": str(self.folder), "out": None if self.out is None else str(self.out), "outcome": self.outcome,
                "findings": self.findings, "problems": [str(p) for p in self.problems]}


def review_many(
    folders: Sequence[Path], out: Path, options: WriteOptions, *, progress: Progress | None = None,
) -> list[CountResult]:
    """Review every folder into OUT/<id>; the results are in the order of the folders."""
    loaded = [counts.load(folder) for folder in folders]
    ids = Counter(count.id for count, _ in loaded if count is not None)
    results = []
    for number, (folder, (count, problems)) in enumerate(zip(folders, loaded, strict=True), start=1):
        if progress:
            progress(f"{number} of {len(folders)}: {folder}")
        if count is None:
            results.append(CountResult(folder, None, problems=tuple(problems)))
        elif ids[count.id] > 1:
            twice = Problem(str(folder), 0, "count-id-twice", f"id '{count.id}' is used by {ids[count.id]} of these counts")
            results.append(CountResult(folder, None, problems=(twice,)))
        else:
            results.append(review_one(folder, out / count.id, options))
    return results


def review_one(folder: Path, target: Path, options: WriteOptions) -> CountResult:
    """One count, with every failure as a value."""
    try:
        made = review(folder)
        write_folder(made, target, options)
    except InputError as fault:
        return CountResult(folder, None, problems=fault.problems)
    except AftercountError as fault:
        return CountResult(folder, None, problems=(Problem(str(folder), 0, "not-reviewed", str(fault)),))
    except Exception as fault:  # a fault of ours in one count must not cost the others their review
        text = f"internal fault, please report it: {type(fault).__name__}: {fault}"
        return CountResult(folder, None, problems=(Problem(str(folder), 0, "internal-fault", text),))
    return CountResult(folder, target, str(made.summary["outcome"]), len(made.summary["findings"]))
