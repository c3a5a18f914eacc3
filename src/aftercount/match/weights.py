"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.237, "coverage": -0.241, "coverage_high": 6.761, "explained": 0.312, "exact": 3.842, "exact_far": -0.484,
    "poll_other": 0.981, "unreached": -15.174, "both": -0.482, "evidence": 0.316, "lacking": 0.35, "conflict": -9,
    "margin": 5.075, "lone": -0.941, "lacking_garbled": 5.241, "garbled": 1.163, "not_done": -9, "not_now": -12,
    "about": -3, "misheard": -0.5, "content": 1.069, "repeats": -0.109, "close": -0.1, "distance": -1.2,
    "early": -0.465, "no_time": -2.5, "speaker_same": 0.082, "speaker_other": -0.928, "to_same": 0.276,
    "to_other": 0.714, "is_call": 0.308, "is_response": 0.063, "is_report": 0.443, "is_record": -0.08,
    "is_clock": -2.726, "poll_fits": 0.265, "lead_in": -6.69, "optional": 0.135, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.677, "own": 0.525, "thread": 0.349, "other_log": 0.822, "agreed_far": -0.062, "rival_step": -0.359,
    "rival_moment": -0.134, "outdone": -0.227, "answers_other": -1.303,
}
BARE: dict[str, float] = {
    "bias": -0.309, "before": 2.404, "gap": -1.421, "between": -2.791, "speaker_same": 3.398, "speaker_other": 0.497,
    "to_same": 0.077, "to_other": 0.207, "is_report": -0.295, "says_done": 3, "told": -1.444, "not_done": -9,
}
DONE: dict[str, float] = {
    "bias": 6.523, "lead": 0.164, "lead_weak": 0.518, "lead_miss": -1.981, "lead_in": -1.351, "bare": 0, "best": 0.546,
    "second": 0.272, "logs": 0.245, "parts": 0.505, "runner_up": 0.998, "optional": -2.561, "agreed": -0.147,
    "gap": 0.462, "gap_alone": 0.173, "distance": -0.037, "lacking": -0.839, "contrary": 0, "garbled": -0.34,
    "is_clock": -0.397, "is_record": 0.077, "rival_step": -0.013, "untimed": 0, "close": -1.166, "alone": -0.391,
    "unexplained": -1.108, "lone": -0.865, "poorer": 0.133, "speaker_other": -1.206, "to_same": -0.012,
    "poll_end": -0.214, "again": 0.024, "outdone": 0.542, "exact": 0.932, "answers_other": -0.923,
}
UNSEEN: dict[str, float] = {
    "bias": -2.621, "none": -1.141, "best": 0.272, "optional": -1.241, "garbled": 2.807, "logs": -1.84, "beside": 0.035,
    "trailing": -0.49, "due_sigma": -0.686, "talk": 1.678, "poll": -0.225, "said_near": 0.794, "called": 2.652,
    "spoken": 3.326,
}
VERDICT: dict[str, float] = {
    "bias": 7.864, "lead": 0.538, "lead_weak": 0.607, "lead_miss": -1.807, "lead_in": -1.055, "bare": 0.555,
    "best": -0.013, "second": -0.14, "logs": -0.485, "parts": 0.466, "runner_up": -0.137, "optional": -1.028,
    "agreed": 0.435, "gap": -0.398, "gap_alone": -0.756, "distance": -0.012, "lacking": -1.898, "contrary": 0,
    "garbled": -0.364, "is_clock": 0.239, "is_record": 0.313, "rival_step": -0.118, "untimed": 0, "close": -1.167,
    "alone": -1.651, "unexplained": -0.873, "lone": -0.887, "poorer": -0.761, "speaker_other": -0.541, "to_same": 0.395,
    "poll_end": -0.861, "again": -0.269, "outdone": -0.17, "exact": 0.745, "answers_other": -1.561,
}
