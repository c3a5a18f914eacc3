"""Where is a folder: on a disk, or in an object store?

A path is a local path, or a URI that pyarrow's file systems take: `s3://bucket/prefix?endpoint_override=host:port`,
`gs://bucket/prefix`, `file:///folder`. A store has no folders to rename, so one there is whole while its `summary.json`
is there: whoever writes takes that away first and puts it back last (`put`), and whoever reads looks at it before and
after everything else (`Whole`). Names inside a URI are percent-encoded. It does not decide what the files mean.
"""

from __future__ import annotations

import posixpath
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote, unquote, urlsplit, urlunsplit

from aftercount.errors import AftercountError, InputError, Problem, UsageError
from aftercount.logs.files import LARGEST_FILE

SEAL = "summary.json"
# Reading waits on the disk or the network; more at a time only wait on each other.
AT_ONCE = 8
_CHUNK = 1 << 20
T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True)
class Place:
    """A path with the pyarrow file system that it lies on."""

    filesystem: Any
    path: str

    def read(self, name: str) -> bytes:
        with self.filesystem.open_input_stream(f"{self.path}/{name}") as stream:
            return bytes(stream.read())


def is_remote(path: str) -> bool:
    """Whether the path is a URI of something else than this machine's disk."""
    return "://" in path and urlsplit(path).scheme != "file"


def local(path: str) -> Path:
    """The path on this machine's disk."""
    return Path(unquote(urlsplit(path).path)) if path.startswith("file://") else Path(path)


def child(path: str, name: str) -> str:
    """The path of `name` inside a folder."""
    if not is_remote(path):
        return str(local(path) / name)
    parts = urlsplit(path)
    return urlunsplit(parts._replace(path=f"{parts.path.rstrip('/')}/{quote(name)}"))


def shown(path: str) -> str:
    """The path as a message may show it: without a secret key."""
    parts = urlsplit(path) if is_remote(path) else None
    if parts is None or ":" not in parts.netloc.rpartition("@")[0]:
        return path
    return urlunsplit(parts._replace(netloc=parts.netloc.rpartition("@")[2]))


def place(path: str) -> Place:
    """The file system of a path. Raises UsageError for a kind of path that pyarrow does not know."""
    if not is_remote(path):
        return Place(_disk(), str(local(path)))
    import pyarrow as pa

    parts = urlsplit(path)
    try:
        filesystem, root = _store(urlunsplit(parts._replace(path="", fragment="")))
    except (pa.ArrowException, OSError, ValueError) as fault:
        raise UsageError(f"{shown(path)}: {first_line(fault)}") from fault
    return Place(filesystem, posixpath.join(root, unquote(parts.path).strip("/")).rstrip("/"))


@lru_cache(maxsize=1)
def _disk() -> Any:
    from pyarrow.fs import LocalFileSystem

    return LocalFileSystem()


@lru_cache(maxsize=64)
def _store(root: str) -> tuple[Any, str]:
    """One client for a store, not one a folder: each holds connections."""
    from pyarrow.fs import FileSystem

    filesystem, base = FileSystem.from_uri(root)
    return filesystem, str(base)


def inner(path: str, holding: str) -> list[str]:
    """The folders directly inside `path` that hold a file of that name, by name; none when there is no such folder."""
    from pyarrow.fs import FileSelector, FileType

    if not is_remote(path):
        return sorted(str(p.parent) for p in local(path).glob(f"*/{holding}"))
    there = place(path)
    found = there.filesystem.get_file_info(FileSelector(there.path, allow_not_found=True, recursive=True))
    inside = (posixpath.relpath(f.path, there.path).split("/") for f in found if f.type == FileType.File)
    return [child(path, names[0]) for names in sorted(inside) if len(names) == 2 and names[1] == holding]


def has(path: str, name: str) -> bool:
    """Whether the folder holds a file of that name."""
    from pyarrow.fs import FileType

    there = place(path)
    return bool(there.filesystem.get_file_info(f"{there.path}/{name}").type == FileType.File)


def side_by_side(work: Callable[[T], R], items: Sequence[T], at_once: int = AT_ONCE) -> list[R]:
    """The work on each item, waits overlapping, results in order."""
    with ThreadPoolExecutor(min(at_once, max(1, len(items)))) as pool:
        return list(pool.map(work, items))


# --- from a store and back ---


@contextmanager
def fetched(path: str) -> Iterator[Path]:
    """The folder on this machine's disk: itself, or a copy that lasts as long as the context."""
    if not is_remote(path):
        yield local(path)
        return
    with tempfile.TemporaryDirectory(prefix="aftercount-") as folder:
        copy = Path(folder) / "count"
        _fetch(path, copy)
        yield copy


def _fetch(path: str, copy: Path) -> None:
    there = place(path)
    files = _files(there)
    if not files:
        raise InputError([Problem(shown(path), 0, "count-no-folder", "a count folder was expected; there is nothing here")])
    copy.mkdir()
    for name, size in files.items():
        target = copy / name
        if ".." in name.split("/") or target.resolve() != copy.resolve() / name:
            raise InputError([Problem(shown(path), 0, "count-bad-name", f"'{name}' does not stay inside the folder")])
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("wb") as sink:
            if size > LARGEST_FILE:
                sink.truncate(size)  # too large for any log: its size alone tells the reader so, without the transfer
                continue
            with there.filesystem.open_input_stream(f"{there.path}/{name}") as stream:
                while chunk := stream.read(_CHUNK):
                    sink.write(chunk)


def _files(there: Place) -> dict[str, int]:
    """Every file below a place, by its name from there, and its size."""
    from pyarrow.fs import FileSelector, FileType

    found = there.filesystem.get_file_info(FileSelector(there.path, allow_not_found=True, recursive=True))
    return {f.path.removeprefix(there.path + "/"): f.size for f in found if f.type == FileType.File}


def put(folder: Path, path: str, known: Callable[[str], bool]) -> None:
    """Copy a finished folder into a store: the seal is taken away first and comes back last.

    Files there that are `known` as of an earlier run and not in the folder go; any other stay.
    Raises UsageError when something else is there.
    """
    there = place(path)
    before = set(_files(there))
    if before and not any(known(name) for name in before):
        raise UsageError(f"{shown(path)} holds files of something else: expected a new or empty folder, or one made by an earlier run")
    if SEAL in before:
        there.filesystem.delete_file(f"{there.path}/{SEAL}")
    files = {p.relative_to(folder).as_posix(): p for p in sorted(folder.rglob("*")) if p.is_file()}
    for name in sorted(before - files.keys() - {SEAL}):
        if known(name):
            there.filesystem.delete_file(f"{there.path}/{name}")
    for name in sorted(files, key=lambda name: (name == SEAL, name)):
        with there.filesystem.open_output_stream(f"{there.path}/{name}") as sink:
            sink.write(files[name].read_bytes())


class Whole:
    """The seals of some folders as they were before reading; `changed` says which are not so any more."""

    def __init__(self, places: Sequence[Place]) -> None:
        self.places = places
        self.seals = side_by_side(_seal, places)

    def changed(self) -> list[int]:
        now = side_by_side(_seal, self.places)
        return [i for i, (a, b) in enumerate(zip(self.seals, now, strict=True)) if a != b or isinstance(a, OSError)]


def _seal(there: Place) -> bytes | OSError:
    try:
        return there.read(SEAL)
    except OSError as fault:
        return fault


def first_line(fault: BaseException) -> str:
    """What a fault says, on one line."""
    if isinstance(fault, AftercountError):
        return str(fault)
    return str(fault).splitlines()[0] if str(fault) else type(fault).__name__
