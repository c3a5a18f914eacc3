"""The fitted constants of the match: log-odds a feature adds that an utterance is a step.

How obtained: see tests/match/fit.py, which prints this file's tables.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -6.5, "coverage": 4.0, "coverage_high": 3.0, "explained": 2.5, "evidence": 0.35, "lacking": -0.25,
    "conflict": -3.0, "margin": 2.5, "not_done": -2.5, "not_now": -1.5, "content": -0.2, "repeats": -0.5,
    "distance": -0.9, "early": -0.2, "no_time": -2.0, "speaker_same": 0.8, "speaker_other": -0.6, "to_same": 0.5, "to_other": -0.3,
    "is_call": 0.3, "is_response": 0.0, "is_report": 0.5, "is_record": 0.5, "is_clock": -1.0, "poll_fits": 1.5, "id_same": 3.0, "id_other": -2.0,
    "bare": -1.0,
}
ALL: dict[str, float] = {
    "bias": 0.0, "own": 1.0, "thread": 2.0, "other_log": 2.0, "rival_step": -0.4, "rival_moment": -0.3, "bare_thread": 2.0,
}
VERDICT: dict[str, float] = {"bias": 0.0, "best": 1.0, "second": 0.2, "logs": 0.3, "parts": 0.3, "runner_up": -0.1}
