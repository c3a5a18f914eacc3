"""How right was a review folder, against the truth file of the simulated count it reviewed?

The reading of the two files; what the figures mean is in `findings.score`. It does not run the review.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from aftercount.errors import InputError, Problem
from aftercount.findings.score import score as score_tables
from aftercount.report.load import load_folder

_NEEDED = ("outcome", "clock", "holds", "steps")


def score(out: Path | str, truth: Path | str) -> dict[str, Any]:
    """The accuracy figures, by name. Raises InputError when either cannot be read."""
    tables, summary = load_folder(Path(out))
    return score_tables(tables, _read_truth(Path(truth)), summary.get("outcome"))


def _read_truth(path: Path) -> dict[str, Any]:
    try:
        known = json.loads(path.read_bytes())
    except (OSError, ValueError) as fault:
        raise _unusable(path, f"a truth file was expected: {fault}") from fault
    lacking = [key for key in _NEEDED if not isinstance(known, dict) or key not in known]
    if lacking:
        raise _unusable(path, f"a truth file was expected; it has no {', '.join(lacking)}")
    return dict(known)


def _unusable(path: Path, text: str) -> InputError:
    return InputError([Problem(str(path), 0, "truth-unreadable", text, "`rehearse` writes one beside its count folder")])
