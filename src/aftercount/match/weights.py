"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.016, "coverage": -0.263, "coverage_high": 6.754, "explained": 0.663, "exact": 4.708, "exact_far": -0.597,
    "poll_other": 1.369, "unreached": -15.87, "both": -1, "evidence": 0.283, "lacking": 0.167, "conflict": -11,
    "margin": 5.081, "lone": -0.579, "lacking_garbled": 5.573, "garbled": 1.282, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.173, "repeats": -0.311, "close": -0.1, "distance": -1.2,
    "early": -0.493, "no_time": -2.5, "speaker_same": 0.071, "speaker_other": -1.913, "to_same": 0.216,
    "to_other": 0.137, "is_call": 0.519, "is_response": 0.578, "is_report": 0.752, "is_record": 0.252,
    "is_clock": -2.774, "poll_fits": 0.091, "lead_in": -6.196, "optional": 0.163, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.577, "own": 0.47, "thread": 0.672, "other_log": 0.947, "agreed_far": -0.079, "rival_step": -0.369,
    "rival_moment": -0.141, "outdone": -0.255, "answers_other": -1.276, "ahead_elsewhere": -1.485,
}
BARE: dict[str, float] = {
    "bias": 0.213, "before": 2.239, "gap": -1.401, "between": -2.826, "speaker_same": 3.092, "speaker_other": 0.232,
    "to_same": 0.037, "to_other": 0.132, "is_report": -0.453, "says_done": 3, "told": -1.513, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.482, "words": -0.14, "coverage": 0.811, "exact": 0.148, "explained": 0.661, "distance": -0.006,
    "early": -0.764, "called": 1.384, "accepted": 0.106, "reported": 0.903, "logs": 0.268, "recorded": -0.825,
    "recorded_early": 0.39, "whole": -0.17, "after_whole": -1.773, "talk": 0, "after_words": -0.485,
    "after_coverage": -0.467, "answers_other": -0.934,
}
DONE: dict[str, float] = {
    "bias": 4.638, "lead": -0.334, "lead_weak": 0.458, "lead_miss": -1.746, "lead_in": -0.75, "bare": 0, "best": 1.282,
    "second": 0.602, "logs": 0.303, "parts": 0.258, "runner_up": 0.803, "optional": -2.637, "agreed": 0.008,
    "gap": -1.834, "silent": 0.027, "repeated": 0.145, "not_first": 0.021, "gap_alone": 0.249, "distance": 0.425,
    "lacking": 0.078, "contrary": 0, "garbled": -0.065, "is_clock": 0.402, "is_record": 0.72, "rival_step": 0.106,
    "untimed": 0, "close": -1.063, "alone": 0.291, "unexplained": -0.912, "lone": -0.585, "poorer": 0.413,
    "speaker_other": -1.15, "to_same": 0.167, "poll_end": 0.275, "again": -0.22, "outdone": -0.143, "exact": 0.678,
    "answers_other": -0.596, "afar": -0.627, "far_lacking": -0.336, "far_alone": -0.179,
}
UNSEEN: dict[str, float] = {
    "bias": -3.002, "none": -1.152, "best": 0.291, "optional": -1.153, "garbled": 2.774, "logs": -2.237, "beside": 0.06,
    "trailing": -0.78, "due_sigma": -0.342, "talk": 1.736, "poll": 0.018, "said_near": 0.952, "called": 1.338,
    "spoken": 2.588,
}
VERDICT: dict[str, float] = {
    "bias": 7.377, "lead": 0.928, "lead_weak": 0.638, "lead_miss": -1.159, "lead_in": -0.27, "bare": -0.681,
    "best": -0.094, "second": -0.104, "logs": -0.436, "parts": 0.115, "runner_up": -0.059, "optional": -1.447,
    "agreed": 0.497, "silent": -1.191, "repeated": -1.294, "not_first": -1.022, "gap": -0.747, "gap_alone": -0.457,
    "distance": 0.923, "lacking": -1.044, "contrary": 0, "garbled": -0.398, "is_clock": -0.466, "is_record": 0.254,
    "rival_step": 0.037, "untimed": 0, "close": -1.771, "alone": -0.55, "unexplained": -1.44, "lone": -0.578,
    "poorer": 0.157, "speaker_other": -1.392, "to_same": 0.647, "poll_end": -0.581, "again": 0.057, "outdone": -0.193,
    "exact": 0.106, "answers_other": -1.117, "afar": -1.74, "far_lacking": 0.112, "far_alone": -0.584,
}
