"""What can go wrong that the caller must hear about, and the exit status each one means.

    AftercountError
    ├── InputError      the input cannot be used               exit 1
    │   └── (carries Problems: file, line, what was expected)
    └── UsageError      the call itself is wrong                exit 2

A fault in one line of data is never raised: it is a `Problem` value or a row of `rejects`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SEVERITIES = ("error", "warning")


@dataclass(frozen=True, order=True)
class Problem:
    """One fault found in what was given.

    code: stable short name, e.g. ``plan-unknown-column``. line: 1-based, 0 when the whole file is meant.
    text: what was expected and what was seen. hint: what to do next, may be empty.
    """

    file: str
    line: int
    code: str
    text: str
    hint: str = ""
    severity: str = "error"

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.text}" + (f" ({self.hint})" if self.hint else "")


class AftercountError(Exception):
    """Base of every error the package raises on purpose."""

    exit_status = 1


class InputError(AftercountError):
    """The input cannot be used; `problems` says why, one value a fault."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(str(self.problems[0]) if self.problems else "input cannot be used")


class UsageError(AftercountError):
    """The call is wrong whatever the input holds."""

    exit_status = 2
