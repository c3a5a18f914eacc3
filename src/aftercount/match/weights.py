"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.351, "coverage": -0.716, "coverage_high": 7.204, "explained": 0.538, "exact": 4.425, "exact_far": -0.569,
    "poll_other": 1.435, "unreached": -15.842, "both": -0.875, "evidence": 0.237, "lacking": 0.318, "conflict": -11,
    "margin": 5.337, "lone": -0.734, "lacking_garbled": 4.206, "garbled": 1.072, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.236, "repeats": -0.251, "close": -0.1, "distance": -1.2,
    "early": -0.467, "no_time": -2.5, "speaker_same": 0.033, "speaker_other": -2.045, "to_same": 0.266,
    "to_other": 0.467, "is_call": 0.506, "is_response": 0.46, "is_report": 0.76, "is_record": 0.202, "is_clock": -2.379,
    "poll_fits": 0.249, "lead_in": -6.32, "optional": 0.137, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.574, "own": 0.469, "thread": 0.634, "other_log": 0.997, "agreed_far": -0.08, "rival_step": -0.365,
    "rival_moment": -0.143, "outdone": -0.26, "answers_other": -1.333,
}
BARE: dict[str, float] = {
    "bias": -0.494, "before": 2.595, "gap": -1.43, "between": -2.741, "speaker_same": 3.394, "speaker_other": 0.491,
    "to_same": 0.094, "to_other": 0.199, "is_report": -0.299, "says_done": 3, "told": -1.427, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.306, "words": -0.038, "coverage": 0.832, "exact": 0.227, "explained": 0.603, "distance": -0.169,
    "early": -0.638, "called": 1.712, "accepted": -0.242, "reported": 1.096, "logs": -0.094, "recorded": 0.07,
    "recorded_early": 0.272, "whole": 0.139, "after_whole": -1.984, "talk": 0, "after_words": -0.403,
    "after_coverage": -0.674,
}
DONE: dict[str, float] = {
    "bias": 6.554, "lead": 0.04, "lead_weak": 0.733, "lead_miss": -1.944, "lead_in": -0.758, "bare": 0, "best": 0.725,
    "second": 0.27, "logs": 0.484, "parts": 0.367, "runner_up": 0.722, "optional": -2.679, "agreed": 0.208,
    "gap": -1.914, "silent": 0.012, "repeated": 0.121, "not_first": 0.571, "gap_alone": 0.122, "distance": 0.015,
    "lacking": -0.569, "contrary": 0, "garbled": -0.445, "is_clock": -0.264, "is_record": 1.378, "rival_step": 0.044,
    "untimed": 0, "close": -1.249, "alone": 0.033, "unexplained": -0.871, "lone": -0.746, "poorer": 0.06,
    "speaker_other": -1.169, "to_same": 0.308, "poll_end": -0.426, "again": -0.271, "outdone": 0.391, "exact": 1.008,
    "answers_other": -0.721,
}
UNSEEN: dict[str, float] = {
    "bias": -2.23, "none": -1.321, "best": 0.299, "optional": -1.238, "garbled": 2.7, "logs": -1.775, "beside": -0.245,
    "trailing": -0.482, "due_sigma": -0.662, "talk": 1.56, "poll": -0.068, "said_near": 0.783, "called": 1.932,
    "spoken": 3.331,
}
VERDICT: dict[str, float] = {
    "bias": 7.858, "lead": 0.666, "lead_weak": 0.8, "lead_miss": -1.541, "lead_in": -0.296, "bare": -0.043,
    "best": -0.06, "second": -0.04, "logs": -0.672, "parts": 0.463, "runner_up": -0.09, "optional": -1.242,
    "agreed": 0.481, "silent": -0.788, "repeated": -1.145, "not_first": -1.414, "gap": -0.395, "gap_alone": -0.852,
    "distance": 0.071, "lacking": -1.063, "contrary": 0, "garbled": -0.621, "is_clock": 0.18, "is_record": 1.007,
    "rival_step": -0.029, "untimed": 0, "close": -1.274, "alone": -1.646, "unexplained": -1.242, "lone": -0.653,
    "poorer": -0.647, "speaker_other": -1.576, "to_same": 0.603, "poll_end": -0.339, "again": -0.354, "outdone": -0.315,
    "exact": 0.525, "answers_other": -1.126,
}
