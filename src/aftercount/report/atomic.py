"""How does a folder of files come to be whole or not at all?

Files are written and synced in a temporary sibling, then the two folders change names in one step where the system
can (Linux, macOS), else in two, with the old one put back at the next run if a kill fell between them. So whoever
looks sees the old folder whole or the new one whole. Left-overs of a killed run are removed at the next.

It does not decide what is in the files, nor whose folder it is: the caller passes `ours`.
"""

from __future__ import annotations

import contextlib
import ctypes
import fcntl
import os
import secrets
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from aftercount.errors import InputError, Problem, UsageError

Content = bytes | Callable[[Path], None]
# Marks a temporary or a retired folder as ours: no user names a folder like this by chance.
_NEW, _OLD = ".aftercount-new", ".aftercount-old"
_RENAME_EXCHANGE = 2  # Linux renameat2 flag
_RENAME_SWAP = 2  # macOS renamex_np flag
_POLL_S = 0.01
_AT_FDCWD = -100  # Linux: paths relative to the working directory


def replace_folder(out: Path, files: Mapping[str, Content], ours: Callable[[Path], bool]) -> None:
    """Make `out` hold exactly `files`, plus whatever a person had put in it.

    Raises UsageError when `out` is a file, or a folder with something in it for which `ours` is false; InputError when
    the disk refuses.
    """
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        _clear_leftovers(out)
        _refuse_foreign(out, ours)
        # A name of its own for each writing: what another run clears away by that name can be no later one.
        new = _sibling(out, f"{_NEW}-{secrets.token_hex(4)}-{os.getpid()}")
        with _held(new):
            _write_all(new, files)
            _swap(new, out)
    except OSError as error:
        text = f"could not be written: {error.strerror or error}"
        raise InputError([Problem(str(out), 0, "out-not-writable", text)]) from error


def keep_foreign(out: Path, known: Callable[[str], bool]) -> dict[str, Content]:
    """What a person has put into an earlier folder of ours, to be carried into the next: name -> copier."""
    if not out.is_dir():
        return {}
    found = sorted(p for p in out.iterdir() if not known(p.name))
    return {p.name: _copier(p) for p in found}


def _copier(source: Path) -> Callable[[Path], None]:
    def copy(target: Path) -> None:
        if source.is_dir() and not source.is_symlink():
            shutil.copytree(source, target, symlinks=True)
        else:
            shutil.copy2(source, target, follow_symlinks=False)

    return copy


def _sibling(out: Path, suffix: str) -> Path:
    return out.parent / f".{out.name}{suffix}"


def _refuse_foreign(out: Path, ours: Callable[[Path], bool]) -> None:
    if out.is_symlink() or (out.exists() and not out.is_dir()):
        raise UsageError(f"{out} is not a folder: expected a folder to write, new or made by an earlier run")
    if out.is_dir() and any(out.iterdir()) and not ours(out):
        raise UsageError(f"{out} holds files of something else: expected a new or empty folder, or one made by an earlier run")


def _clear_leftovers(out: Path) -> None:
    """Undo what a killed run left: its half-written folder goes, a retired folder without successor comes back."""
    for old in _siblings_of(out, _OLD):
        if out.exists():
            shutil.rmtree(old)
        else:
            old.rename(out)
    for new in _siblings_of(out, _NEW):
        _cleared(new)


def _siblings_of(out: Path, suffix: str) -> Iterator[Path]:
    yield from sorted(p for p in out.parent.glob(f".{_glob_safe(out.name)}{suffix}-*") if p.is_dir())


def _glob_safe(name: str) -> str:
    return "".join(f"[{c}]" if c in "*?[" else c for c in name)


@contextlib.contextmanager
def _held(new: Path) -> Iterator[None]:
    """A new folder, marked as being written for as long as this process lives; whatever has its name afterwards is removed."""
    while (handle := _claimed(new)) is None:
        time.sleep(_POLL_S)
    try:
        yield
    finally:
        shutil.rmtree(new, ignore_errors=True)
        os.close(handle)


def _claimed(new: Path) -> int | None:
    """The new folder, opened and locked; None when another run took it for a left-over before it was locked."""
    with contextlib.suppress(FileExistsError):
        new.mkdir()
    try:
        handle = os.open(new, os.O_RDONLY)
    except FileNotFoundError:
        return None
    if _is_free(handle, new) and new.exists() and os.path.samestat(os.fstat(handle), new.stat()):
        return handle
    os.close(handle)
    return None


def _cleared(new: Path) -> None:
    """Remove what a run that is no more was writing."""
    with contextlib.suppress(FileNotFoundError):  # another run may clear it at the same time
        handle = os.open(new, os.O_RDONLY)
        try:
            if _is_free(handle, new):
                shutil.rmtree(new)
        finally:
            os.close(handle)


def _is_free(handle: int, new: Path) -> bool:
    """Take the lock of a folder that is being written, if nobody has it. The system ends it with the process that holds it, however
    that ends; a process number says less: a dead process may keep it, and another machine knows nothing of it."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # some file systems of networks lock no folders
        return not _is_running(new.name.rpartition("-")[2])
    return True


def _is_running(pid: str) -> bool:
    """Whether another run is still writing there, where there are no locks; our own number means a left-over, for we have not begun."""
    if not pid.isdigit() or int(pid) == os.getpid():
        return False
    try:
        os.kill(int(pid), 0)
    except PermissionError:
        return True
    except OSError:
        return False
    return True


def _write_all(new: Path, files: Mapping[str, Content]) -> None:
    for name, content in files.items():
        path = new / name
        if callable(content):
            content(path)
        else:
            path.write_bytes(content)
        if path.is_file():
            _sync(path)
    _sync(new)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _swap(new: Path, out: Path) -> None:
    if not out.exists():
        new.rename(out)
    elif not any(out.iterdir()) and os.name == "posix":
        new.rename(out)  # POSIX renames over an empty folder in one step
    elif not _exchange(new, out):
        old = _sibling(out, f"{_OLD}-{os.getpid()}")
        out.rename(old)
        new.rename(out)
        shutil.rmtree(old, ignore_errors=True)
    with contextlib.suppress(OSError):
        _sync(out.parent)


def _exchange(a: Path, b: Path) -> bool:
    """Swap two names in one step; False where the system or the file system cannot."""
    try:
        library = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "linux":
            done = library.renameat2(_AT_FDCWD, os.fsencode(a), _AT_FDCWD, os.fsencode(b), _RENAME_EXCHANGE)
        elif sys.platform == "darwin":
            done = library.renamex_np(os.fsencode(a), os.fsencode(b), _RENAME_SWAP)
        else:
            return False
    except (OSError, AttributeError, TypeError):
        return False
    return bool(done == 0)
