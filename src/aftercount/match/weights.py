"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.612, "coverage": 1.16, "coverage_high": 3.576, "explained": 0.132, "exact": 3.868, "exact_far": -0.492,
    "poll_other": 1.299, "unreached": -14.676, "both": 0.492, "evidence": 0.627, "lacking": -0.073, "conflict": -11,
    "fellow": -4.367, "margin": 3.499, "lone": -0.386, "lacking_garbled": 6.641, "garbled": 0.229, "not_done": -11,
    "not_now": -16, "about": -3, "misheard": -0.5, "content": 1.151, "repeats": -0.287, "close": -0.1, "distance": -1.2,
    "early": -0.489, "no_time": -2.5, "speaker_same": 0.082, "speaker_other": -1.913, "to_same": 0.306,
    "to_other": 0.172, "is_call": 0.58, "is_response": 0.627, "is_report": 0.775, "is_record": 0.176,
    "is_clock": -2.513, "poll_fits": -0.164, "lead_in": -6.195, "optional": 0.254, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.513, "own": 0.482, "thread": 0.678, "other_log": 0.894, "agreed_far": -0.059, "rival_step": -0.355,
    "rival_moment": -0.132, "outdone": -0.253, "answers_other": -1.422, "ahead_elsewhere": -1.543,
}
BARE: dict[str, float] = {
    "bias": 0.154, "before": 2.308, "gap": -1.408, "between": -2.88, "speaker_same": 3.097, "speaker_other": 0.226,
    "to_same": 0.043, "to_other": 0.131, "is_report": -0.447, "says_done": 3, "told": -1.511, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.439, "words": -0.076, "coverage": 0.504, "exact": 0.218, "explained": 0.382, "distance": -0.051,
    "early": -0.787, "called": 1.223, "accepted": 0.079, "reported": 0.765, "logs": 0.148, "recorded": -0.662,
    "recorded_early": 0.423, "whole": -0.116, "after_whole": -2.048, "talk": 0, "after_words": -0.505,
    "after_coverage": -0.145, "answers_other": -1.147,
}
DONE: dict[str, float] = {
    "bias": 4.633, "lead": -0.18, "lead_weak": 0.665, "lead_miss": -1.771, "lead_in": -0.622, "bare": 0, "best": 1.239,
    "second": 0.548, "logs": 0.177, "parts": 0.978, "runner_up": 0.861, "optional": -2.668, "agreed": 0.082,
    "gap": -1.928, "silent": 0.029, "repeated": 0.166, "not_first": -0.353, "gap_alone": 0.046, "distance": 0.35,
    "lacking": 0.244, "contrary": 0, "garbled": 0.007, "is_clock": 0.131, "is_record": 0.502, "rival_step": 0.136,
    "untimed": 0, "close": -1.003, "alone": -0.139, "unexplained": -0.981, "lone": -0.435, "poorer": 0.277,
    "speaker_other": -1.283, "to_same": 0.115, "poll_end": -0.048, "again": 0.199, "outdone": 0.077, "exact": 0.464,
    "answers_other": -0.37, "afar": -0.396, "far_lacking": -0.366, "far_alone": -0.05,
}
UNSEEN: dict[str, float] = {
    "bias": -3.001, "none": -1.177, "best": 0.291, "optional": -1.03, "garbled": 2.829, "logs": -2.128, "beside": 0.065,
    "trailing": -0.733, "due_sigma": -0.388, "talk": 1.598, "poll": 0.151, "said_near": 0.991, "called": 1.188,
    "spoken": 2.605,
}
VERDICT: dict[str, float] = {
    "bias": 7.121, "lead": 1.047, "lead_weak": 0.894, "lead_miss": -1.102, "lead_in": -0.279, "bare": -0.791,
    "best": -0.14, "second": -0.15, "logs": -0.419, "parts": 0.171, "runner_up": -0.084, "optional": -1.205,
    "agreed": 0.571, "silent": -1.239, "repeated": -0.798, "not_first": -0.907, "gap": -0.986, "gap_alone": -0.247,
    "distance": 0.919, "lacking": -0.755, "contrary": 0, "garbled": -0.474, "is_clock": -0.309, "is_record": 0.326,
    "rival_step": 0.068, "untimed": 0, "close": -1.702, "alone": -0.824, "unexplained": -1.312, "lone": -0.458,
    "poorer": 0.307, "speaker_other": -1.221, "to_same": 0.618, "poll_end": -0.718, "again": 0.083, "outdone": -0.206,
    "exact": -0.196, "answers_other": -0.804, "afar": -1.411, "far_lacking": 0.083, "far_alone": -0.525,
}
