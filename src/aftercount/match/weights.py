"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.91, "coverage": 0.77, "coverage_high": 4.405, "explained": 0.252, "exact": 1.011, "exact_far": 0.042,
    "poll_other": -0.436, "unreached": -8.876, "both": -0.838, "evidence": 0.886, "lacking": 0.278, "conflict": -3,
    "margin": 4.359, "conflict_garbled": 6, "lacking_garbled": 4.306, "garbled": 0.846, "not_done": -5.856,
    "not_now": -4.897, "about": -1.107, "content": -0.193, "repeats": 0.282, "close": -0.025, "distance": -0.996,
    "early": -0.256, "no_time": -2.5, "speaker_same": 0.131, "speaker_other": -0.296, "to_same": 0.132,
    "to_other": 0.053, "is_call": -0.003, "is_response": -0.292, "is_report": 0.124, "is_record": -0.332,
    "is_clock": -1.327, "poll_fits": 2.279, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 0.797, "own": 0.851, "thread": 0.313, "other_log": 0.717, "agreed_far": 0.097, "rival_step": -0.309,
    "rival_moment": -0.062,
}
BARE: dict[str, float] = {
    "bias": -0.576, "before": 1.957, "gap": -1.095, "between": -2.55, "speaker_same": 2.576, "speaker_other": 0.07,
    "to_same": -0.42, "to_other": 0.319, "is_report": -0.831, "told": -0.728, "not_done": -0.003,
}
VERDICT: dict[str, float] = {
    "bias": 2.41, "lead": 0.495, "best": -0.141, "second": 0.005, "logs": 0.235, "parts": 0.562, "runner_up": -0.074,
}
