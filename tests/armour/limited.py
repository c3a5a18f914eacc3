"""Run commands on count folders in a child of limited memory and time, and say what each came to.

Run as a program it reads a list of argument lists from stdin and prints one JSON line for each.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

# Address space, bytes: the libraries alone map about one GiB of it.
MEMORY = 4 << 30
CPU_S = 120
SRC = Path(__file__).resolve().parents[2] / "src"


@dataclass(frozen=True)
class Ended:
    """How a command ended; peak_mb: resident memory of the child so far, cpu_s: what this command took."""

    status: int
    out: str
    err: str
    cpu_s: float
    peak_mb: float

    @property
    def lines(self) -> list[str]:
        return self.err.splitlines()


def run(commands: list[list[str]], *, memory: int = MEMORY, cpu_s: int = CPU_S, user: int | None = None) -> list[Ended]:
    """Each command in turn, all in one child. user: a number to run as, where we may."""
    environment = {**os.environ, "PYTHONPATH": str(SRC), "OMP_NUM_THREADS": "1", "ARROW_DEFAULT_MEMORY_POOL": "system"}
    argv = [sys.executable, str(Path(__file__).resolve()), str(memory), str(cpu_s), str(user if user is not None else -1)]
    done = subprocess.run(argv, input=json.dumps(commands), capture_output=True, text=True, env=environment)
    lines = done.stdout.splitlines()
    assert len(lines) == len(commands), f"died at {commands[len(lines)]}: {done.returncode} {done.stderr[-500:]}"
    return [Ended(**json.loads(line)) for line in lines]


def _one(command: list[str]) -> Ended:
    from aftercount import cli

    out, err, begun = io.StringIO(), io.StringIO(), time.process_time()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = cli.run(command)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return Ended(status, out.getvalue()[-4000:], err.getvalue()[-4000:], time.process_time() - begun, peak)


def _main() -> None:
    memory, cpu_s, user = (int(word) for word in sys.argv[1:4])
    commands = json.load(sys.stdin)
    _one(commands[0])  # whatever is imported late is in memory now: the user we become may have no right to it
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s))
    if user >= 0:
        os.setuid(user)
    for command in commands:
        print(json.dumps(_one(command).__dict__), flush=True)


if __name__ == "__main__":
    _main()
