"""What the benches share: processor time of a call, the peak memory of a child process, and a small table."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from typing import Any


def cpu_s(call: Callable[[], Any], repeat: int = 3) -> float:
    """The least processor time of some runs (s): what else the machine does adds to the others."""
    best = float("inf")
    for _ in range(repeat):
        before = time.process_time()
        call()
        best = min(best, time.process_time() - before)
    return best


def child(code: str, *arguments: str) -> tuple[float, float, int]:
    """(wall s, processor s, peak MB) of a Python process that runs `code`."""
    # The system's own count for this program: that of getrusage begins with what the parent had.
    guarded = f"{code}\nprint(next(x.split()[1] for x in open('/proc/self/status') if x.startswith('VmHWM')))"
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([sys.executable, "-c", guarded, *arguments], capture_output=True, text=True, check=True)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, used, int(done.stdout.split()[-1]) // 1024


def show(title: str, rows: Sequence[tuple[str, str]]) -> None:
    """Print a titled table of what was measured and how much it was."""
    width = max(len(name) for name, _ in rows)
    print(title)
    for name, value in rows:
        print(f"  {name:{width}s}  {value}")
