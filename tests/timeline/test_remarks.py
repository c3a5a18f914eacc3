"""Talk that a keeper notes and a transcript has, told apart from what is said again; and what it is worth to the log's clock."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from aftercount.timeline.remarks import remarks

PAIR = [("net", 100.0, "gusts are up to six at the tower"), ("pad", 101.5, "gusts up to six at tower")]


def found(*said: tuple[str, float, str], taken: tuple[int, ...] = (), kind: str = "note", stamps_s: float = 1.0) -> list[tuple[int, ...]]:
    """Which entries of (log, seconds, words) are of one moment; `pad` and `desk` are keepers'."""
    frame = pd.DataFrame(said, columns=["source", "at", "text"])
    frame["medium"] = ["typed" if s in ("pad", "desk") else "machine" if s == "seq" else "speech" for s in frame["source"]]
    frame["kind"] = kind
    frame["own_sigma_s"] = [stamps_s if m == "typed" else 0.3 for m in frame["medium"]]
    got = remarks(frame, pd.Series([None if np.isnan(x) else round(x * 1e6) for x in frame["at"]], dtype="Int64"), np.array(taken, dtype=np.int64))
    return sorted(tuple(sorted(group["utterance"])) for _, group in got.groupby("moment"))


def test_the_same_words_within_seconds_are_one_remark() -> None:
    assert found(*PAIR) == [(0, 1)]
    assert found(*PAIR, ("desk", 102.0, "Gusts up to SIX at the tower.")) == [(0, 1), (0, 2)]
    assert found(*PAIR, ("aux", 100.4, "gusts are up to six at the tower")) == [(0, 1), (1, 2)]


@pytest.mark.parametrize("other", [
    ("pad", 120.0, "gusts up to six at tower"),  # too late to be of it
    ("pad", 101.0, "tower is at six"),  # too few words in common
    ("pad", 101.0, "six drums are up to the gate at the tower road today, and more to come"),  # too much else
    ("seq", 101.0, "gusts up to six at tower"),  # a machine notes no talk
    ("net", 101.0, "gusts up to six at tower"),
    ("pad", np.nan, "gusts up to six at tower"),
])
def test_what_is_not_of_it(other: tuple[str, float, str]) -> None:
    assert found(PAIR[0], other) == []


def test_what_leaves_open_which_was_noted_is_of_neither() -> None:
    assert found(*PAIR, ("net", 110.0, "gusts up to six at the tower, copy")) == []
    assert found(*PAIR, ("net", 140.0, "gusts up to six at the tower, copy")) == [(0, 1)]
    assert found(*PAIR, ("pad", 104.0, "tower gusts up to six")) == []


def test_what_is_told_by_the_clock_or_by_a_step_is_left_to_it() -> None:
    assert found(*PAIR, kind="mark") == []
    assert found(*PAIR, taken=(1,)) == []


def test_a_keeper_who_writes_minutes_noted_it_anywhere_in_one() -> None:
    assert found(PAIR[0], ("pad", 140.0, PAIR[1][2]), stamps_s=27.4) == [(0, 1)]
    assert found(PAIR[0], ("pad", 175.0, PAIR[1][2]), stamps_s=27.4) == []
    assert found(PAIR[0], ("net", 165.0, PAIR[0][2]), ("pad", 140.0, PAIR[1][2]), stamps_s=27.4) == []
