"""Two things at once: work given to a second process while this one goes on.

Question answered: what of a single review, which people wait for, can be had in the time of the longer of two parts that do not need each other?
Conventions: what is given is a function that pickles, and its arguments; its result is the same wherever it was worked out. Where there is no
second process, or it is not ready yet or fails, the work is done here when its result is wanted, so that nothing ever depends on it.
The process is started anew, not forked: this one has threads (pyarrow's), and a fork of a threaded process may hang. It ends when this one does,
however that ends, for its line ends then.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from multiprocessing.connection import Connection, Pipe
from types import TracebackType
from typing import Any, ParamSpec, Self, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")

_START = "import sys; sys.path[:] = sys.argv[3:]; from aftercount.beside import serve; serve(int(sys.argv[1]), sys.argv[2].split())"
_READY = b"ready"


def processors() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def seldom() -> None:
    """Look for garbage seldom: a review keeps most of what it makes until it ends, and going through that at every 700th object is a twentieth of its time."""
    gc.set_threshold(50_000, 20, 20)


class Beside:
    """Somebody to give work to. This one does everything itself, when it is wanted."""

    def begin(self, work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs) -> Callable[[], Result]:
        """Begin the work; what is returned waits for its result, and raises what it raised."""
        return lambda: work(*args, **kwargs)


ALONE = Beside()


class SecondProcess(Beside):
    """A second process, which does one piece of work at a time. It imports the first of `modules` to be ready, the others when it has nothing to do.
    To be used as a context."""

    def __init__(self, modules: tuple[str, ...]) -> None:
        self._line, theirs = Pipe()
        arguments = [str(theirs.fileno()), " ".join(modules), *sys.path]
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START, *arguments], pass_fds=[theirs.fileno()], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        theirs.close()  # so that its end shows here as the end of the line
        self._ready, self._busy = False, False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:
        self._line.close()
        self._process.kill()
        self._process.wait()

    def begin(self, work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs) -> Callable[[], Result]:
        here = super().begin(work, *args, **kwargs)
        try:
            if not self._free():
                return here
            self._line.send_bytes(pickle.dumps((work, args, kwargs), pickle.HIGHEST_PROTOCOL))
        except (OSError, EOFError):
            return here
        self._busy = True
        return lambda: self._result(here)

    def _free(self) -> bool:
        if not self._ready and self._line.poll():
            self._ready = self._line.recv_bytes() == _READY
        return self._ready and not self._busy

    def _result(self, here: Callable[[], Result]) -> Result:
        try:
            done, value = pickle.loads(self._line.recv_bytes())
        except (OSError, EOFError):  # it was killed; it stays busy, and is not asked again
            return here()
        self._busy = False
        result: Result = value if done else here()
        return result


def second(jobs: int | None, modules: tuple[str, ...]) -> AbstractContextManager[Beside]:
    """A second process where there is a processor for it, `jobs` allows one and the system grants one; nobody otherwise."""
    if os.name != "posix" or not sys.executable or min(jobs or 2, processors()) < 2:
        return nullcontext(ALONE)
    try:
        return SecondProcess(modules)
    except OSError:
        return nullcontext(ALONE)


def serve(line_number: int, modules: list[str]) -> None:
    """Do what comes down the line, a file descriptor, until it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a break is for the process that people started; its end is the end of this one
    line = Connection(line_number)
    later = iter(modules)
    __import__(next(later))
    try:
        line.send_bytes(_READY)
        while True:
            while not line.poll() and (module := next(later, None)):
                __import__(module)
            line.send_bytes(_tried(*pickle.loads(line.recv_bytes())))
    except (EOFError, OSError):
        return


def _tried(work: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]) -> bytes:
    """Whether it was done, and its result: whatever went wrong is met again, and told, where the work was given."""
    try:
        return pickle.dumps((True, work(*args, **kwargs)), pickle.HIGHEST_PROTOCOL)
    except Exception:
        return pickle.dumps((False, None))
