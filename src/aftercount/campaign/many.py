"""Many counts reviewed side by side: each into its own folder, one failure never stopping the rest.

The review of a count goes to OUT/<count id>. Two folders with the same id are an error of both: neither would be the one
that is kept. A count that was reviewed already, just as it is, is not reviewed again. Results are in the order of the
folders, and the same whatever the number of workers. It does not compare the counts: `trend` does.
"""

from __future__ import annotations

import multiprocessing
import os
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aftercount import count as counts
from aftercount.campaign.fingerprint import inputs_digest, is_reviewed, stamp
from aftercount.errors import AftercountError, InputError, Problem
from aftercount.report.folder import WriteOptions, write_folder
from aftercount.review import review

Progress = Callable[[str], None]


@dataclass(frozen=True)
class CountResult:
    """What became of one count folder; `problems` is empty when its review is in `out`."""

    folder: Path
    out: Path | None
    outcome: str | None = None
    findings: int = 0
    problems: tuple[Problem, ...] = ()
    unchanged: bool = False

    def line(self) -> str:
        """One line for a person."""
        if self.problems:
            return f"{self.folder}: not reviewed"
        if self.unchanged:
            return f"{self.folder}: unchanged, its review is in {self.out}"
        return f"{self.folder}: {self.outcome}, {self.findings} finding{'' if self.findings == 1 else 's'}, written to {self.out}"

    def as_dict(self) -> dict[str, Any]:
        return {"folder": str(self.folder), "out": None if self.out is None else str(self.out), "outcome": self.outcome,
                "findings": self.findings, "unchanged": self.unchanged, "problems": [str(p) for p in self.problems]}


@dataclass(frozen=True)
class _Work:
    """One count to review."""

    folder: Path
    out: Path
    options: WriteOptions
    digest: str


def expand(folders: Sequence[Path]) -> list[Path]:
    """Count folders: each as given, or, where one holds count folders instead of being one, those, by name."""
    found: list[Path] = []
    for folder in folders:
        inner = [] if (folder / "count.toml").exists() or not os.path.isdir(folder) else sorted(
            p.parent for p in folder.glob("*/count.toml"))
        found += inner or [folder]
    return found


def review_many(
    folders: Sequence[Path], out: Path, options: WriteOptions, *, jobs: int | None = None, progress: Progress | None = None,
) -> list[CountResult]:
    """Review every folder into OUT/<id>. jobs: worker processes; None: one a processor."""
    results: dict[int, CountResult] = {}
    work: dict[int, _Work] = {}
    for number, (folder, count, problems) in enumerate(_loaded(folders)):
        if count is None:
            results[number] = CountResult(folder, None, problems=tuple(p for p in problems if p.severity == "error"))
            continue
        target, digest = out / count.id, inputs_digest(count, options)
        if is_reviewed(target, digest):
            results[number] = CountResult(folder, target, unchanged=True)
        else:
            work[number] = _Work(folder, target, options, digest)
    for done, (number, result) in enumerate(_reviewed(work, jobs or processors()), start=1):
        results[number] = result
        if progress:
            progress(f"{done} of {len(work)} counts reviewed")
    return [results[number] for number in range(len(folders))]


def processors() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def review_one(work: _Work) -> CountResult:
    """One count, with every failure as a value."""
    try:
        made = review(work.folder)
        write_folder(made, work.out, work.options)
        stamp(work.out, work.digest)
    except InputError as fault:
        return CountResult(work.folder, None, problems=fault.problems)
    except (AftercountError, OSError) as fault:
        return _failed(work, "not-reviewed", str(fault))
    except Exception as fault:  # a fault of ours in one count must not cost the others their review
        return _failed(work, "internal-fault", f"internal fault, please report it: {type(fault).__name__}: {fault}")
    return CountResult(work.folder, work.out, str(made.summary["outcome"]), len(made.summary["findings"]))


def _loaded(folders: Sequence[Path]) -> Iterator[tuple[Path, counts.CountFolder | None, list[Problem]]]:
    loaded = [(folder, *counts.load(folder)) for folder in folders]
    ids = Counter(count.id for _, count, _ in loaded if count is not None)
    for folder, count, problems in loaded:
        if count is not None and ids[count.id] > 1:
            text = f"id '{count.id}' is used by {ids[count.id]} of these counts; each needs its own"
            yield folder, None, [Problem(str(folder), 0, "count-id-twice", text)]
        else:
            yield folder, count, problems


def _reviewed(work: dict[int, _Work], jobs: int) -> Iterator[tuple[int, CountResult]]:
    """The results as they come."""
    if min(jobs, len(work)) <= 1:
        yield from ((number, review_one(one)) for number, one in work.items())
        return
    broken: list[int] = []
    with _pool(min(jobs, len(work))) as pool:
        futures: dict[Future[CountResult], int] = {pool.submit(review_one, one): number for number, one in work.items()}
        for future in as_completed(futures):
            try:
                yield futures[future], future.result()
            except BrokenProcessPool:
                broken.append(futures[future])
    for number in sorted(broken):
        yield number, _again(work[number])


def _again(one: _Work) -> CountResult:
    """A count that was under way when a worker was killed, once more and alone, to tell the culprit from the others."""
    with _pool(1) as pool:
        try:
            return pool.submit(review_one, one).result()
        except BrokenProcessPool:
            return _failed(one, "worker-killed", "the process that reviewed it was killed; was there enough memory?")


def _pool(workers: int) -> ProcessPoolExecutor:
    # Spawned, not forked: the parent has threads (pyarrow's), and a fork of a threaded process may hang.
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"))


def _failed(work: _Work, code: str, text: str) -> CountResult:
    return CountResult(work.folder, None, problems=(Problem(str(work.folder), 0, code, text),))
