"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.492, "coverage": 1.08, "coverage_high": 3.664, "explained": 0.136, "exact": 3.92, "exact_far": -0.488,
    "poll_other": 1.318, "unreached": -14.619, "both": 0.474, "evidence": 0.592, "lacking": -0.087, "conflict": -11,
    "fellow": -4.385, "margin": 3.462, "lone": -0.441, "lacking_garbled": 6.571, "garbled": 0.323, "not_done": -11,
    "not_now": -16, "about": -3.127, "misheard": -0.5, "content": 1.134, "repeats": -0.29, "close": -0.1,
    "distance": -1.2, "early": -0.483, "no_time": -2.5, "speaker_same": 0.076, "speaker_other": -1.9, "to_same": 0.278,
    "to_other": 0.106, "is_call": 0.598, "is_response": 0.662, "is_report": 0.74, "is_record": 0.201,
    "is_clock": -2.527, "poll_fits": -0.121, "lead_in": -6.298, "optional": 0.26, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.515, "own": 0.485, "thread": 0.67, "other_log": 0.893, "agreed_far": -0.058, "rival_step": -0.354,
    "rival_moment": -0.131, "outdone": -0.254, "answers_other": -1.434, "ahead_elsewhere": -1.746,
}
BARE: dict[str, float] = {
    "bias": 0.224, "before": 2.235, "gap": -1.408, "between": -2.881, "speaker_same": 3.093, "speaker_other": 0.224,
    "to_same": 0.045, "to_other": 0.129, "is_report": -0.449, "says_done": 3, "told": -1.508, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.495, "words": -0.051, "coverage": 0.484, "exact": 0.219, "explained": -0.074, "distance": -0.041,
    "early": -0.751, "called": 1.134, "accepted": -0.006, "reported": 0.752, "logs": 0.095, "recorded": -0.589,
    "recorded_early": 0.436, "whole": -0.099, "after_whole": -2.066, "talk": 0, "after_words": -0.506, "scant": -0.329,
    "after_coverage": -0.118, "answers_other": -1.122,
}
DONE: dict[str, float] = {
    "bias": 4.539, "lead": -0.133, "lead_weak": 0.665, "lead_miss": -2.17, "lead_in": -0.651, "bare": 0, "best": 1.234,
    "second": 0.617, "logs": 0.183, "parts": 0.84, "runner_up": 0.87, "optional": -2.805, "agreed": 0.087,
    "gap": -1.897, "silent": 0.027, "repeated": 0.151, "not_first": -0.417, "gap_alone": 0.064, "distance": 0.394,
    "lacking": 0.161, "contrary": 0, "garbled": -0.035, "is_clock": 0.24, "is_record": 0.484, "rival_step": 0.144,
    "untimed": 0, "close": -1.037, "alone": -0.2, "unexplained": -0.821, "lone": -0.402, "poorer": 0.292,
    "speaker_other": -1.451, "to_same": 0.125, "poll_end": -0.023, "again": 0.253, "outdone": 0.213, "exact": 0.531,
    "fuller": 0.862, "answers_other": -0.278, "afar": -0.423, "far_lacking": -0.284, "far_alone": -0.087,
}
UNSEEN: dict[str, float] = {
    "bias": -3.008, "none": -1.052, "best": 0.266, "optional": -1.001, "garbled": 2.81, "logs": -2.132,
    "beside": -0.064, "trailing": -0.74, "due_sigma": -0.369, "talk": 1.643, "poll": 0.169, "said_near": 0.972,
    "called": 1.263, "spoken": 2.409,
}
VERDICT: dict[str, float] = {
    "bias": 7.024, "lead": 1.059, "lead_weak": 0.881, "lead_miss": -1.116, "lead_in": -0.277, "bare": -0.821,
    "best": -0.14, "second": -0.155, "logs": -0.443, "parts": 0.117, "runner_up": -0.092, "optional": -1.103,
    "agreed": 0.588, "silent": -1.23, "repeated": -0.749, "not_first": -0.877, "gap": -0.891, "gap_alone": -0.323,
    "distance": 0.902, "lacking": -0.835, "contrary": 0, "garbled": -0.572, "is_clock": -0.249, "is_record": 0.322,
    "rival_step": 0.071, "untimed": 0, "close": -1.668, "alone": -0.816, "unexplained": -1.147, "lone": -0.463,
    "poorer": 0.314, "speaker_other": -1.306, "to_same": 0.58, "poll_end": -0.759, "again": 0.143, "outdone": -0.188,
    "exact": -0.15, "fuller": -0.662, "answers_other": -1.014, "afar": -1.421, "far_lacking": 0.14, "far_alone": -0.526,
}
EXCHANGE: dict[str, float] = {
    "bias": 2.597, "distance": -0.944, "early": -0.195, "words": 1.079, "words_far": 0.875, "elsewhere": -1.23,
    "reported": 0.021, "accepted": 0.202, "logs": -0.008, "caller": 0.47, "optional": -0.851, "garbled": -1.104,
    "content": 1.03, "unordered": -0.637, "alone": -0.658, "call": -0.375, "steps": -1.336, "talks": 0.076,
    "silent": -0.548,
}
