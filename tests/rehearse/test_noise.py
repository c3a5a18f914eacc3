"""The recogniser meets the word error rate it is asked for. C4: (S + D + I) / reference words, counted here by jiwer."""

from __future__ import annotations

from pathlib import Path
from random import Random

import jiwer
import pytest

from aftercount.rehearse.noise import Recogniser
from aftercount.rehearse.options import RehearsalOptions
from aftercount.rehearse.write import rehearse

POINTS = 0.03  # "within a few points"


def test_error_rate_worked_case() -> None:
    """C4's own case: one substitution and one insertion in seven words."""
    assert jiwer.wer("ltd this is cdr go for launch", "ltd this is cdr no go for lunch") == pytest.approx(2 / 7, abs=1e-6)


@pytest.mark.parametrize("scenario", ["bittern", "heron", "jacana"])
@pytest.mark.parametrize("rate", [0.0, 0.04, 0.14, 0.25, 0.55])
def test_stated_rate_is_met_in_the_file(tmp_path: Path, rate: float, scenario: str) -> None:
    options = RehearsalOptions(scenario=scenario, steps=120, logs=("transcript.webvtt",), speakers=False, word_error=rate)
    truth = rehearse(tmp_path / "c", seed=11, options=options)
    said: dict[int, list[str]] = {}
    for row in truth.data["lines"]:
        said.setdefault(row["line"], []).append(row["said"])
    heard = dict(_cues((tmp_path / "c" / "net1.vtt").read_text(encoding="utf-8")))
    assert heard.keys() == said.keys() and len(heard) > 200
    clean = [" ".join(said[line]) for line in sorted(said)]
    found = jiwer.wer(clean, [heard[line] for line in sorted(said)])
    assert found == pytest.approx(rate, abs=POINTS if rate else 0.0)


def _cues(text: str) -> list[tuple[int, str]]:
    lines = text.splitlines()
    out = []
    for number, line in enumerate(lines, 1):
        if "-->" in line:
            out.append((number, lines[number] if lines[number] != "..." else ""))
    return out


def test_changed_numbers_are_owned_up_to() -> None:
    """When every number is kept the words that are numbers are the same or a homophone of it; else `right` is False."""
    recogniser = Recogniser(0.5, Random(4))
    heard = [recogniser.hear("T minus fifteen minutes and counting") for _ in range(400)]
    wrong = [text for text, right in heard if not right]
    assert wrong
    assert all("fifteen" not in text.split() for text in wrong)
    assert not any("fifty" in text.split() for text, right in heard if right)
