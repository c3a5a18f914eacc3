"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.21, "coverage": -0.48, "coverage_high": 6.822, "explained": 0.437, "exact": 4.308, "exact_far": -0.56,
    "poll_other": 1.44, "unreached": -15.801, "both": -0.603, "evidence": 0.185, "lacking": 0.306, "conflict": -11,
    "margin": 5.315, "lone": -0.727, "lacking_garbled": 4.45, "garbled": 1.048, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.27, "repeats": -0.232, "close": -0.1, "distance": -1.2, "early": -0.467,
    "no_time": -2.5, "speaker_same": 0.026, "speaker_other": -2.059, "to_same": 0.283, "to_other": 0.525,
    "is_call": 0.53, "is_response": 0.487, "is_report": 0.828, "is_record": 0.234, "is_clock": -2.482,
    "poll_fits": 0.223, "lead_in": -6.288, "optional": 0.11, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.573, "own": 0.466, "thread": 0.646, "other_log": 1.001, "agreed_far": -0.085, "rival_step": -0.365,
    "rival_moment": -0.142, "outdone": -0.261, "answers_other": -1.342,
}
BARE: dict[str, float] = {
    "bias": -0.453, "before": 2.577, "gap": -1.436, "between": -2.708, "speaker_same": 3.397, "speaker_other": 0.487,
    "to_same": 0.076, "to_other": 0.204, "is_report": -0.3, "says_done": 3, "told": -1.441, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.364, "words": -0.093, "coverage": 0.603, "exact": 0.414, "explained": 0.378, "distance": -0.111,
    "early": -0.636, "called": 1.693, "accepted": -0.22, "reported": 1.181, "logs": -0.051, "recorded": -0.149,
    "recorded_early": 0.274, "whole": 0.018, "after_whole": -2.075, "talk": 0, "after_words": -0.419,
    "after_coverage": -0.568,
}
DONE: dict[str, float] = {
    "bias": 6.387, "lead": 0.049, "lead_weak": 0.858, "lead_miss": -1.938, "lead_in": -0.781, "bare": 0, "best": 0.7,
    "second": 0.358, "logs": 0.418, "parts": 0.341, "runner_up": 0.979, "optional": -2.676, "agreed": 0.086,
    "gap": -1.821, "silent": 0.005, "repeated": 0.044, "not_first": 0.325, "gap_alone": 0.213, "distance": 0.033,
    "lacking": -0.549, "contrary": 0, "garbled": -0.522, "is_clock": -0.231, "is_record": 1.296, "rival_step": 0.047,
    "untimed": 0, "close": -1.226, "alone": 0.084, "unexplained": -0.789, "lone": -0.727, "poorer": 0.052,
    "speaker_other": -1.066, "to_same": 0.317, "poll_end": -0.435, "again": -0.261, "outdone": 0.399, "exact": 1.059,
    "answers_other": -0.766,
}
UNSEEN: dict[str, float] = {
    "bias": -2.496, "none": -1.226, "best": 0.288, "optional": -1.243, "garbled": 2.842, "logs": -1.815,
    "beside": -0.065, "trailing": -0.499, "due_sigma": -0.694, "talk": 1.534, "poll": -0.081, "said_near": 0.825,
    "called": 1.98, "spoken": 3.284,
}
VERDICT: dict[str, float] = {
    "bias": 7.737, "lead": 0.612, "lead_weak": 0.952, "lead_miss": -1.529, "lead_in": -0.312, "bare": -0.055,
    "best": -0.015, "second": -0.03, "logs": -0.749, "parts": 0.41, "runner_up": -0.087, "optional": -1.145,
    "agreed": 0.537, "silent": -0.757, "repeated": -1.157, "not_first": -1.287, "gap": -0.392, "gap_alone": -0.807,
    "distance": 0.087, "lacking": -1.073, "contrary": 0, "garbled": -0.665, "is_clock": 0.179, "is_record": 1.003,
    "rival_step": -0.024, "untimed": 0, "close": -1.264, "alone": -1.524, "unexplained": -1.269, "lone": -0.617,
    "poorer": -0.788, "speaker_other": -1.566, "to_same": 0.617, "poll_end": -0.344, "again": -0.415, "outdone": -0.299,
    "exact": 0.552, "answers_other": -1.12,
}
