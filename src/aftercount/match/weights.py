"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -1.2, "coverage": 1.28, "coverage_high": 3.515, "explained": 0.553, "exact": 3.808, "exact_far": -0.459,
    "poll_other": 0.139, "rolled": 1.979, "unreached": -14.381, "both": 0.179, "evidence": 0.585, "lacking": -0.038,
    "conflict": -11, "fellow": -4.242, "margin": 3.47, "lone": -0.225, "lacking_garbled": 5.616, "garbled": 0.585,
    "not_done": -11, "not_now": -16, "about": -3.176, "misheard": -0.5, "content": 1.307, "repeats": -0.619,
    "close": -0.1, "distance": -1.2, "early": -0.453, "no_time": -2.5, "speaker_same": 0.132, "speaker_other": -1.278,
    "to_same": 0.203, "to_other": -0.541, "is_call": 0.622, "is_response": 1.127, "is_report": 0.769,
    "is_record": 0.209, "is_clock": -2.785, "poll_fits": -0.07, "lead_in": -6.073, "optional": 0.279, "id_same": 9,
    "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.507, "own": 0.485, "thread": 0.514, "other_log": 0.82, "agreed_far": -0.032, "rival_step": -0.341,
    "rival_moment": -0.129, "outdone": -0.261, "answers_other": -1.458, "ahead_elsewhere": -1.445,
}
BARE: dict[str, float] = {
    "bias": 0.651, "before": 1.816, "gap": -1.36, "between": -2.887, "speaker_same": 2.862, "speaker_other": 0.164,
    "to_same": 0.076, "to_other": 0.155, "is_report": -0.546, "says_done": 3, "told": -1.43, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.626, "words": -0.255, "coverage": 1.302, "exact": 0.308, "explained": 0.089, "distance": 0.063,
    "early": -0.711, "called": 1.172, "accepted": -0.124, "reported": 0.873, "logs": -0.012, "recorded": -0.961,
    "recorded_early": 0.423, "whole": -0.079, "after_whole": -2.054, "talk": -0.056, "after_words": -0.547,
    "scant": -0.719, "after_coverage": -0.177, "answers_other": -1.154,
}
DONE: dict[str, float] = {
    "bias": 4.407, "lead": 0.012, "lead_weak": 0.741, "lead_miss": -1.915, "lead_in": -0.811, "bare": 0, "best": 1.133,
    "second": 0.974, "logs": -0.408, "parts": 0.834, "runner_up": 0.483, "optional": -2.824, "agreed": -0.18,
    "gap": -1.811, "silent": 0.034, "repeated": 0.286, "not_first": -0.365, "gap_alone": -0.035, "distance": 0.613,
    "lacking": 0.333, "contrary": 0, "garbled": -0.525, "is_clock": -0.118, "is_record": 0.346, "rival_step": 0.199,
    "untimed": 0, "close": -1.163, "alone": -0.017, "unexplained": -0.643, "lone": -0.461, "poorer": 0.346,
    "speaker_other": -1.547, "to_same": 0.154, "poll_end": 0.261, "again": 0.132, "outdone": -0.044, "exact": 0.038,
    "fuller": 0.376, "answers_other": -0.422, "afar": -0.567, "far_lacking": -0.355, "far_alone": -0.204,
}
UNSEEN: dict[str, float] = {
    "bias": -3.364, "none": -0.777, "best": 0.225, "optional": -0.854, "garbled": 2.931, "logs": -2.383,
    "beside": -0.064, "trailing": -0.72, "due_sigma": -0.355, "talk": 1.754, "poll": -0.069, "said_near": 0.994,
    "called": 1.311, "spoken": 2.365,
}
VERDICT: dict[str, float] = {
    "bias": 7.802, "lead": 0.915, "lead_weak": 0.936, "lead_miss": -0.597, "lead_in": -0.353, "bare": 0.02,
    "best": -0.158, "second": -0.011, "logs": -0.535, "parts": -0.216, "runner_up": -0.122, "optional": -0.999,
    "agreed": 0.991, "silent": -1.167, "repeated": -0.913, "not_first": -0.672, "gap": -0.768, "gap_alone": -0.242,
    "distance": 0.855, "lacking": -1.728, "contrary": 0, "garbled": -0.172, "is_clock": 0.281, "is_record": 0.327,
    "rival_step": 0.073, "untimed": 0, "close": -1.765, "alone": -0.429, "unexplained": -1.568, "lone": -0.434,
    "poorer": 0.252, "speaker_other": -1.436, "to_same": 0.752, "poll_end": -1.909, "again": 0.104, "outdone": -0.265,
    "exact": -0.176, "fuller": -0.601, "answers_other": -1.049, "afar": -1.155, "far_lacking": 0.311,
    "far_alone": -0.657,
}
EXCHANGE: dict[str, float] = {
    "bias": 3.184, "distance": -0.925, "early": -0.321, "words": 1.824, "words_far": 0.779, "elsewhere": -1.192,
    "reported": -0.178, "accepted": 0.503, "logs": -0.065, "caller": 0.48, "optional": -0.543, "garbled": -0.052,
    "content": 1.208, "unordered": -0.635, "alone": -0.949, "call": -0.148, "steps": -0.87, "talks": 0.077,
    "silent": -0.581, "far": 0.083, "far_steps": -0.617, "far_talks": -0.088, "nameless": -1.506,
    "nameless_typed": -0.056, "nameless_distance": -0.218, "typed": 0.65, "found": 0.186, "unseen": 0.72,
}
