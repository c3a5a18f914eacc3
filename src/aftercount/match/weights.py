"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.217, "coverage": -0.547, "coverage_high": 7.108, "explained": 0.517, "exact": 4.219, "exact_far": -0.552,
    "poll_other": 1.292, "unreached": -15.693, "both": -0.603, "evidence": 0.213, "lacking": 0.381, "conflict": -11,
    "margin": 5.237, "lone": -0.766, "lacking_garbled": 4.493, "garbled": 1.056, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.15, "repeats": -0.214, "close": -0.1, "distance": -1.2, "early": -0.475,
    "no_time": -2.5, "speaker_same": 0.027, "speaker_other": -2.051, "to_same": 0.31, "to_other": 0.496,
    "is_call": 0.581, "is_response": 0.551, "is_report": 0.811, "is_record": 0.227, "is_clock": -2.493,
    "poll_fits": 0.246, "lead_in": -6.556, "optional": 0.109, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.586, "own": 0.453, "thread": 0.672, "other_log": 1.099, "agreed_far": -0.112, "rival_step": -0.371,
    "rival_moment": -0.144, "outdone": -0.266, "answers_other": -1.343,
}
BARE: dict[str, float] = {
    "bias": -0.35, "before": 2.481, "gap": -1.434, "between": -2.694, "speaker_same": 3.392, "speaker_other": 0.484,
    "to_same": 0.06, "to_other": 0.205, "is_report": -0.305, "says_done": 3, "told": -1.451, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.344, "words": -0.065, "coverage": 0.614, "exact": 0.461, "explained": 0.231, "distance": -0.117,
    "early": -0.683, "called": 1.595, "accepted": -0.243, "reported": 1.227, "logs": -0.052, "recorded": -0.182,
    "recorded_early": 0.304, "whole": -0.03, "after_whole": -2.194, "talk": 0, "after_words": -0.406,
    "after_coverage": -0.604,
}
DONE: dict[str, float] = {
    "bias": 5.9, "lead": 0.19, "lead_weak": 0.534, "lead_miss": -1.81, "lead_in": -1.267, "bare": 0, "best": 0.575,
    "second": 0.5, "logs": 0.536, "parts": 0.196, "runner_up": 0.396, "optional": -2.581, "agreed": -0.062, "gap": 0.31,
    "repeated": 0.028, "not_first": 0.604, "gap_alone": 0.185, "distance": -0.099, "lacking": -0.744, "contrary": 0,
    "garbled": -0.316, "is_clock": -0.343, "is_record": -0.071, "rival_step": 0.016, "untimed": 0, "close": -1.159,
    "alone": 0.097, "unexplained": -0.964, "lone": -0.867, "poorer": 0.072, "speaker_other": -1.373, "to_same": 0.313,
    "poll_end": -0.237, "again": -0.182, "outdone": 0.382, "exact": 1.031, "answers_other": -0.862,
}
UNSEEN: dict[str, float] = {
    "bias": -2.403, "none": -1.209, "best": 0.278, "optional": -1.258, "garbled": 2.682, "logs": -1.739,
    "beside": -0.176, "trailing": -0.505, "due_sigma": -0.727, "talk": 1.6, "poll": -0.079, "said_near": 0.775,
    "called": 2.365, "spoken": 3.255,
}
VERDICT: dict[str, float] = {
    "bias": 7.899, "lead": 0.676, "lead_weak": 0.558, "lead_miss": -1.5, "lead_in": -1.007, "bare": 0.043,
    "best": -0.03, "second": -0.102, "logs": -0.601, "parts": 0.439, "runner_up": 0.131, "optional": -1.381,
    "agreed": 0.331, "repeated": -0.665, "not_first": -0.979, "gap": -0.429, "gap_alone": -0.837, "distance": 0.034,
    "lacking": -1.602, "contrary": 0, "garbled": -0.465, "is_clock": 0.171, "is_record": 0.324, "rival_step": -0.046,
    "untimed": 0, "close": -1.273, "alone": -1.822, "unexplained": -1.135, "lone": -0.554, "poorer": -0.968,
    "speaker_other": -1.64, "to_same": 0.533, "poll_end": -0.248, "again": -0.452, "outdone": -0.225, "exact": 0.587,
    "answers_other": -1.452,
}
