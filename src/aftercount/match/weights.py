"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.969, "coverage": 0.908, "coverage_high": 5.304, "explained": 0.357, "exact": 1.005, "exact_far": 0.019,
    "poll_other": -0.47, "unreached": -9.467, "both": -1.558, "evidence": 0.952, "lacking": 0.282, "conflict": -3,
    "margin": 4.732, "conflict_garbled": 6, "lacking_garbled": 4.249, "garbled": 0.621, "not_done": -9, "not_now": -8,
    "about": -3, "content": 0.031, "repeats": 0.228, "close": -0.028, "distance": -1.038, "early": -0.245,
    "no_time": -2.5, "speaker_same": 0.084, "speaker_other": -0.328, "to_same": 0.169, "to_other": 0.143,
    "is_call": -0.023, "is_response": -0.129, "is_report": 0.182, "is_record": -0.302, "is_clock": -1.344,
    "poll_fits": 2.173, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 0.986, "own": 0.766, "thread": 0.37, "other_log": 0.742, "agreed_far": 0.066, "rival_step": -0.341,
    "rival_moment": -0.075,
}
BARE: dict[str, float] = {
    "bias": -0.714, "before": 2.035, "gap": -1.083, "between": -2.585, "speaker_same": 2.61, "speaker_other": 0.082,
    "to_same": -0.382, "to_other": 0.335, "is_report": -0.823, "says_done": 3, "told": -0.698, "not_done": -9,
}
VERDICT: dict[str, float] = {
    "bias": 1.405, "none": -2.648, "lead": 1.106, "lead_weak": 0.968, "lead_miss": -0.024, "best": -0.17,
    "second": -0.432, "logs": 0.336, "parts": 0.816, "runner_up": -0.297,
}
