"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.23, "coverage": -0.696, "coverage_high": 6.937, "explained": 0.517, "exact": 4.68, "exact_far": -0.605,
    "poll_other": 1.562, "unreached": -15.954, "both": -0.762, "evidence": 0.262, "lacking": 0.317, "conflict": -11,
    "margin": 5.241, "lone": -0.644, "lacking_garbled": 4.571, "garbled": 1.185, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.22, "repeats": -0.202, "close": -0.1, "distance": -1.2, "early": -0.463,
    "no_time": -2.5, "speaker_same": 0.035, "speaker_other": -2.074, "to_same": 0.209, "to_other": 0.283,
    "is_call": 0.532, "is_response": 0.547, "is_report": 0.78, "is_record": 0.226, "is_clock": -2.662,
    "poll_fits": -0.024, "lead_in": -6.227, "optional": 0.157, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.587, "own": 0.471, "thread": 0.663, "other_log": 0.962, "agreed_far": -0.063, "rival_step": -0.366,
    "rival_moment": -0.152, "outdone": -0.253, "answers_other": -1.384, "ahead_elsewhere": -1.671,
}
BARE: dict[str, float] = {
    "bias": 0.034, "before": 2.383, "gap": -1.393, "between": -2.798, "speaker_same": 3.08, "speaker_other": 0.252,
    "to_same": 0.031, "to_other": 0.129, "is_report": -0.44, "says_done": 3, "told": -1.503, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.479, "words": -0.099, "coverage": 1.141, "exact": 0.275, "explained": 0.253, "distance": -0.028,
    "early": -0.751, "called": 1.309, "accepted": -0.058, "reported": 0.947, "logs": 0.368, "recorded": -1.028,
    "recorded_early": 0.075, "whole": -0.254, "after_whole": -1.885, "talk": 0, "after_words": -0.464,
    "after_coverage": -0.619, "answers_other": -0.83,
}
DONE: dict[str, float] = {
    "bias": 5.33, "lead": -0.075, "lead_weak": 0.481, "lead_miss": -1.812, "lead_in": -0.478, "bare": 0, "best": 0.986,
    "second": 0.452, "logs": 0.128, "parts": -0.087, "runner_up": 1.277, "optional": -2.672, "agreed": -0.295,
    "gap": -2.018, "silent": 0.005, "repeated": 0.111, "not_first": 0.047, "gap_alone": 0.295, "distance": 0.538,
    "lacking": 0.58, "contrary": 0, "garbled": -0.171, "is_clock": -0.317, "is_record": 0.744, "rival_step": 0.067,
    "untimed": 0, "close": -1.219, "alone": 0.287, "unexplained": -0.658, "lone": -0.559, "poorer": 0.3,
    "speaker_other": -1.001, "to_same": 0.13, "poll_end": 0.19, "again": -0.326, "outdone": 0.145, "exact": 0.731,
    "answers_other": -0.854, "afar": -0.721, "far_lacking": -0.356, "far_alone": -0.328,
}
UNSEEN: dict[str, float] = {
    "bias": -2.886, "none": -1.047, "best": 0.237, "optional": -1.255, "garbled": 3.494, "logs": -1.958,
    "beside": -0.051, "trailing": -0.596, "due_sigma": -0.567, "talk": 1.643, "poll": -0.1, "said_near": 0.881,
    "called": 1.785, "spoken": 3.233,
}
VERDICT: dict[str, float] = {
    "bias": 7.621, "lead": 0.805, "lead_weak": 0.656, "lead_miss": -1.416, "lead_in": -0.34, "bare": -0.906,
    "best": -0.068, "second": -0.023, "logs": -0.501, "parts": 0.16, "runner_up": -0.027, "optional": -1.266,
    "agreed": 0.577, "silent": -1.145, "repeated": -0.899, "not_first": -1.236, "gap": -0.908, "gap_alone": -0.367,
    "distance": 0.836, "lacking": -0.672, "contrary": 0, "garbled": -0.452, "is_clock": -0.489, "is_record": 0.398,
    "rival_step": -0.004, "untimed": 0, "close": -1.772, "alone": -0.259, "unexplained": -1.45, "lone": -0.638,
    "poorer": -0.482, "speaker_other": -1.785, "to_same": 0.509, "poll_end": -0.67, "again": -0.17, "outdone": -0.226,
    "exact": 0.329, "answers_other": -1.041, "afar": -1.272, "far_lacking": 0.054, "far_alone": -0.656,
}
