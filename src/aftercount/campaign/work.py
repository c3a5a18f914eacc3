"""One count from path to path: what each worker does, on this machine or another.

The count folder is copied from a store if it lies in one, reviewed, and written whole to where its review goes. Everything
that a worker needs is in `Work`, so that any process which can reach the paths does the same. A failure is a value.
"""

from __future__ import annotations

import tempfile
import traceback
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from aftercount.beside import ALONE, Beside
from aftercount.campaign import places
from aftercount.campaign.fingerprint import FILE, maker, stamp
from aftercount.errors import AftercountError, InputError, Problem
from aftercount.report.folder import WriteOptions, is_review_file, write_folder
from aftercount.review import Progress, Review, review


@dataclass(frozen=True)
class Work:
    """One count to review. digest, maker: of its inputs, and of the package that they were taken with."""

    folder: str
    out: str
    options: WriteOptions
    digest: str
    maker: str


@dataclass(frozen=True)
class CountResult:
    """What became of one count folder; `problems` is empty when its review is in `out`."""

    folder: str
    out: str | None
    outcome: str | None = None
    findings: int = 0
    problems: tuple[Problem, ...] = ()
    unchanged: bool = False

    def line(self) -> str:
        """One line for a person."""
        folder = places.shown(self.folder)
        if self.out is None:
            return f"{folder}: not reviewed"
        if self.unchanged:
            return f"{folder}: unchanged, its review is in {places.shown(self.out)}"
        return f"{folder}: {self.outcome}, {self.findings} finding{'' if self.findings == 1 else 's'}, written to {places.shown(self.out)}"

    def as_dict(self) -> dict[str, Any]:
        return {"folder": places.shown(self.folder), "out": None if self.out is None else places.shown(self.out), "outcome": self.outcome,
                "findings": self.findings, "unchanged": self.unchanged, "problems": [str(p) for p in self.problems]}


def failed(folder: str, code: str, text: str) -> CountResult:
    return CountResult(folder, None, problems=(Problem(places.shown(folder), 0, code, text),))


def review_one(work: Work) -> CountResult:
    """One count, with every failure as a value."""
    if work.maker != maker():
        return failed(work.folder, "other-version", "the worker has another version of aftercount: install the same one there")
    try:
        made = review_to(work.folder, work.out, work.options, digest=work.digest)
    except InputError as fault:
        return CountResult(work.folder, None, problems=fault.problems)
    except (AftercountError, OSError) as fault:
        return failed(work.folder, "not-reviewed", places.first_line(fault))
    except Exception as fault:  # a fault of ours in one count must not cost the others their review
        where = traceback.extract_tb(fault.__traceback__)[-1]
        text = f"internal fault, please report it: {type(fault).__name__} in {Path(where.filename).stem}:{where.lineno}: {places.first_line(fault)}"
        return failed(work.folder, "internal-fault", text)
    return CountResult(work.folder, work.out, str(made.summary["outcome"]), len(made.summary["findings"]))


def review_to(
    folder: str, out: str, options: WriteOptions, *, digest: str | None = None, progress: Progress | None = None, beside: Beside = ALONE,
) -> Review:
    """Review a count folder into a review folder, each on disk or in a store; `digest`: leave a fingerprint with it."""
    with places.fetched(folder) as here:
        try:
            made = review(here, progress=progress, beside=beside)
        except InputError as fault:
            raise InputError(located(fault.problems, here, folder)) from fault
        if places.is_remote(out):
            with tempfile.TemporaryDirectory(prefix="aftercount-") as temporary:
                _write(made, Path(temporary) / "review", options, digest, beside)
                places.put(Path(temporary) / "review", out, lambda name: name == FILE or is_review_file(name, options))
        else:
            _write(made, places.local(out), options, digest, beside)
        return replace(made, problems=located(made.problems, here, folder))


def _write(made: Review, out: Path, options: WriteOptions, digest: str | None, beside: Beside) -> None:
    write_folder(made, out, options, beside)
    if digest is not None:
        stamp(out, digest)


def located(problems: tuple[Problem, ...] | list[Problem], here: Path, folder: str) -> tuple[Problem, ...]:
    """The problems under the path that the folder was given by, where what was read is a copy."""
    if not places.is_remote(folder):
        return tuple(problems)
    given = places.shown(folder).partition("?")[0].rstrip("/")
    return tuple(replace(p, file=p.file.replace(str(here), given), text=p.text.replace(str(here), given)) for p in problems)
