"""Many counts reviewed side by side: each into its own folder, one failure never stopping the rest.

The review of a count goes to OUT/<count id>. Two folders with the same id are an error of both: neither would be the one
that is kept. A count that was reviewed already, just as it is, is not reviewed again. Results are in the order of the
folders, and the same whatever the number of workers and wherever they run (`cluster`). It does not compare the counts:
`trend` does.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import Counter
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass
from multiprocessing.connection import wait

from aftercount import count as counts
from aftercount.beside import processors, seldom
from aftercount.campaign import places
from aftercount.campaign.fingerprint import inputs_digest, is_reviewed, maker
from aftercount.campaign.work import CountResult, Work, failed, located, review_one
from aftercount.errors import AftercountError, InputError, Problem, UsageError
from aftercount.report.folder import WriteOptions

Progress = Callable[[str], None]
COUNT_FILE = "count.toml"


@dataclass(frozen=True)
class Where:
    """jobs: worker processes on this machine, None: one a processor. scheduler: a Dask scheduler's address instead."""

    jobs: int | None = None
    scheduler: str | None = None

    def __post_init__(self) -> None:
        if self.jobs is not None and self.scheduler is not None:
            raise UsageError("--jobs is for this machine: with --scheduler, the cluster has as many workers as it has")
        if self.scheduler is not None and not self.scheduler.startswith(("tcp://", "tls://")):
            raise UsageError(f"--scheduler {self.scheduler}: expected tcp://host:port or tls://host:port")


@dataclass(frozen=True)
class _Loaded:
    """A count folder as far as it must be known before any is reviewed; `id` is None when it cannot be."""

    folder: str
    id: str | None
    digest: str = ""
    problems: tuple[Problem, ...] = ()


def expand(folders: Sequence[str]) -> list[str]:
    """Count folders: each as given, or, where one holds count folders instead of being one, those, by name."""
    return [one for folder in folders for one in (() if places.has(folder, COUNT_FILE) else places.inner(folder, COUNT_FILE)) or [folder]]


def review_many(
    folders: Sequence[str], out: str, options: WriteOptions, where: Where | None = None, progress: Progress | None = None,
) -> list[CountResult]:
    """Review every folder into OUT/<id>."""
    if progress:
        progress("looking for what has changed")
    results: dict[int, CountResult] = {}
    work: dict[int, Work] = {}
    for number, one in enumerate(_sorted_out(folders, out, options)):
        if isinstance(one, Work):
            work[number] = one
        else:
            results[number] = one
    with closing(_reviewed(work, where or Where())) as finished:
        for done, (number, result) in enumerate(finished, start=1):
            results[number] = result
            if progress:
                progress(f"{done} of {len(work)} counts reviewed")
    return [results[number] for number in range(len(folders))]


def _sorted_out(folders: Sequence[str], out: str, options: WriteOptions) -> list[CountResult | Work]:
    """Each folder as work to do, or as a result where there is none: it cannot be used, or was reviewed as it is."""
    # Threads only where there is a network to wait for: reading a disk is work for one processor.
    at_once = places.AT_ONCE if any(places.is_remote(path) for path in (*folders, out)) else 1
    loaded = places.side_by_side(lambda folder: _load(folder, options), folders, at_once)
    ids = Counter(one.id for one in loaded if one.id is not None)
    return places.side_by_side(lambda one: _sort_out(one, ids, out, options), loaded, at_once)


def _load(folder: str, options: WriteOptions) -> _Loaded:
    try:
        with places.fetched(folder) as here:
            count, problems = counts.load(here)
            if count is not None:
                return _Loaded(folder, count.id, inputs_digest(count, options))
            return _Loaded(folder, None, problems=located([p for p in problems if p.severity == "error"], here, folder))
    except InputError as fault:
        return _Loaded(folder, None, problems=fault.problems)
    except (AftercountError, OSError) as fault:
        return _Loaded(folder, None, problems=(Problem(places.shown(folder), 0, "count-unreadable", places.first_line(fault)),))


def _sort_out(one: _Loaded, ids: Counter[str], out: str, options: WriteOptions) -> CountResult | Work:
    if one.id is None:
        return CountResult(one.folder, None, problems=one.problems)
    if ids[one.id] > 1:
        return failed(one.folder, "count-id-twice", f"id '{one.id}' is used by {ids[one.id]} of these counts; each needs its own")
    target = places.child(out, one.id)
    if is_reviewed(target, one.digest):
        return CountResult(one.folder, target, unchanged=True)
    return Work(one.folder, target, options, one.digest, maker())


def _reviewed(work: dict[int, Work], where: Where) -> Generator[tuple[int, CountResult]]:
    """The results as they come."""
    if where.scheduler is not None:
        from aftercount.campaign.cluster import reviewed

        yield from reviewed(work, where.scheduler)
        return
    jobs = min(where.jobs or processors(), len(work))
    if jobs <= 1:
        yield from ((number, review_one(one)) for number, one in work.items())
        return
    broken: list[int] = []
    with _pool(jobs) as pool:
        futures: dict[Future[CountResult], int] = {pool.submit(review_one, one): number for number, one in work.items()}
        try:
            for future in as_completed(futures):
                try:
                    yield futures[future], future.result()
                except BrokenProcessPool:
                    broken.append(futures[future])
        finally:  # when the caller is stopped, the counts under way are finished and the rest are not begun
            pool.shutdown(wait=False, cancel_futures=True)
    for number in sorted(broken):
        yield number, _again(work[number])


def _again(one: Work) -> CountResult:
    """A count that was under way when a worker was killed, once more and alone, to tell the culprit from the others."""
    with _pool(1) as pool:
        try:
            return pool.submit(review_one, one).result()
        except BrokenProcessPool:
            return failed(one.folder, "worker-killed", "the process that reviewed it was killed; was there enough memory?")


def _pool(workers: int) -> ProcessPoolExecutor:
    # Spawned, not forked: the parent has threads (pyarrow's), and a fork of a threaded process may hang.
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"), initializer=_begun)


def _begun() -> None:
    """What a worker does first. If its parent is killed it would wait for work for ever: it ends as well."""
    seldom()
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=lambda: (wait([parent.sentinel]), os._exit(1)), daemon=True).start()
