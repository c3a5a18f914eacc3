"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.97, "coverage": 0.807, "coverage_high": 4.009, "explained": 0.342, "exact": 0.977, "exact_far": 0.057,
    "poll_other": 0.015, "unreached": -8.849, "both": -0.889, "evidence": 0.913, "lacking": 0.375, "conflict": -3,
    "margin": 4.592, "conflict_garbled": 6, "lacking_garbled": 2.672, "garbled": 1.389, "not_done": -9, "not_now": -8,
    "about": -3, "content": -0.08, "repeats": 0.266, "close": -0.059, "distance": -0.994, "early": -0.232,
    "no_time": -2.5, "speaker_same": 0.057, "speaker_other": -0.359, "to_same": 0.115, "to_other": -0.008,
    "is_call": 0.002, "is_response": -0.333, "is_report": 0.124, "is_record": -0.566, "is_clock": -1.513,
    "poll_fits": 2.455, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 0.788, "own": 0.838, "thread": 0.369, "other_log": 0.687, "agreed_far": 0.115, "rival_step": -0.31,
    "rival_moment": -0.059,
}
BARE: dict[str, float] = {
    "bias": -0.567, "before": 2.028, "gap": -1.119, "between": -2.54, "speaker_same": 2.614, "speaker_other": -0.074,
    "to_same": -0.369, "to_other": 0.499, "is_report": -1.155, "says_done": 3, "told": -0.731, "not_done": -9,
}
VERDICT: dict[str, float] = {
    "bias": 1.296, "none": -2.341, "lead": 0.791, "lead_weak": 0.898, "lead_miss": -0.981, "best": 0.058,
    "second": -0.431, "logs": 0.698, "parts": 1.084, "runner_up": -0.105,
}
