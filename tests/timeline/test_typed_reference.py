"""A keeper's log as the reference, and a transcript beside it: what the keeper is late by is taken out of all times, and what is left is owned up to."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.scenario import FITTING
from aftercount.rehearse.write import rehearse
from aftercount.review import Review, review

COUNTS = 8


@pytest.fixture(scope="module")
def counts(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Review, pd.DataFrame]]:
    """Reviews, and of each the entries with one remark, with by how much they are placed late on the reference's clock."""
    out = []
    for k in range(COUNTS):
        options = RehearsalOptions(scenario=FITTING[k % len(FITTING)], logs=("notes.utc", "transcript"), word_error=0.1, offsets_s=(7.0, None), drifts_ppm=(0.0, None))
        made = rehearse(Path(tmp_path_factory.mktemp("count")) / "count", seed=70_000 + k, options=options)
        got = review(made.folder)
        lines = pd.DataFrame(made.data["lines"])
        once = lines[~lines.duplicated(["source", "line"], keep=False)]
        events = got.events[~got.events.duplicated(["source", "line"], keep=False)]
        both = events.merge(once[["source", "line", "utc"]], on=["source", "line"], suffixes=("", "_true"))
        out.append((got, both.assign(late=(both["utc"] - pd.to_datetime(both["utc_true"])).dt.total_seconds() + 7.0)))
    return out


def test_neither_log_is_placed_late(counts: list[tuple[Review, pd.DataFrame]]) -> None:
    """The keepers are half a second to a second and a half late, on average a second, and their clocks cut off half of one."""
    middle = np.array([[of.loc[of["medium"] == medium, "late"].median() for medium in ("typed", "speech")] for _, of in counts])
    assert np.abs(np.median(middle, axis=0)).max() <= 0.3 and np.sqrt(np.mean(middle**2)) <= 0.4


def test_the_reference_keeps_its_clock(counts: list[tuple[Review, pd.DataFrame]]) -> None:
    for got, _ in counts:
        row = got.sources[got.sources["reference"]].iloc[0]
        assert (row["source"], row["offset_s"]) == ("notes.txt", 0.0)


def test_the_sigma_of_an_entry_is_not_wide_enough_for_a_keeper_s_whole_lateness(counts: list[tuple[Review, pd.DataFrame]]) -> None:
    for medium in ("typed", "speech"):
        ratio = np.concatenate([(of["late"].abs() / of["utc_sigma_s"])[of["medium"] == medium] for _, of in counts])
        assert np.mean(ratio <= 1) == pytest.approx(0.683, abs=0.12) and np.mean(ratio <= 1.96) == pytest.approx(0.95, abs=0.06)
