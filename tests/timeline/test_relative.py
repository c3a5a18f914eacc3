"""How sure an utterance's time is against the count clock."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from aftercount.timeline import against_clock


@pytest.mark.parametrize(("sigma", "shared", "own", "kept"), [
    (5.0, 3.0, 0.5, 4.0), (5.0, 4.99, 0.5, 0.5), (2.0, 3.0, 0.5, 0.5), (5.0, None, 0.5, 5.0), (5.0, 0.0, 7.0, 5.0), (60.0, 60.0, 0.3, 0.3)])
def test_what_the_whole_frame_may_be_off_is_no_part_of_an_utterances_sigma(sigma: float, shared: float | None, own: float, kept: float) -> None:
    """Log a is the reference; b's own sigma is told against it already."""
    sources = pd.DataFrame([{"source": "a", "reference": True, "offset_sigma_s": shared}, {"source": "b", "reference": False, "offset_sigma_s": 1.0}])
    said = pd.DataFrame({"source": ["a", "b"], "own_sigma_s": own})
    assert against_clock(said, np.array([sigma, sigma]), sources).tolist() == pytest.approx([kept, sigma])


def test_what_cannot_be_placed_stays_unknown() -> None:
    sources = pd.DataFrame([{"source": "a", "reference": True, "offset_sigma_s": 3.0}])
    said = pd.DataFrame({"source": ["a", "b"], "own_sigma_s": 0.5})
    assert np.isnan(against_clock(said, np.array([np.nan, np.nan]), sources)).all()


def test_no_log_is_the_reference() -> None:
    sources = pd.DataFrame([{"source": "a", "reference": False, "offset_sigma_s": 3.0}])
    assert against_clock(pd.DataFrame({"source": ["a"], "own_sigma_s": [0.5]}), np.array([5.0]), sources).tolist() == [5.0]
