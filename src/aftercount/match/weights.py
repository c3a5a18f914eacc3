"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.347, "coverage": -0.712, "coverage_high": 7.209, "explained": 0.545, "exact": 4.434, "exact_far": -0.57,
    "poll_other": 1.436, "unreached": -15.854, "both": -0.884, "evidence": 0.236, "lacking": 0.318, "conflict": -11,
    "margin": 5.338, "lone": -0.734, "lacking_garbled": 4.213, "garbled": 1.067, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.237, "repeats": -0.251, "close": -0.1, "distance": -1.2,
    "early": -0.467, "no_time": -2.5, "speaker_same": 0.033, "speaker_other": -2.045, "to_same": 0.266,
    "to_other": 0.466, "is_call": 0.506, "is_response": 0.459, "is_report": 0.76, "is_record": 0.202,
    "is_clock": -2.383, "poll_fits": 0.25, "lead_in": -6.32, "optional": 0.137, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.586, "own": 0.469, "thread": 0.633, "other_log": 1.004, "agreed_far": -0.08, "rival_step": -0.366,
    "rival_moment": -0.142, "outdone": -0.262, "answers_other": -1.381, "ahead_elsewhere": -1.71,
}
BARE: dict[str, float] = {
    "bias": -0.499, "before": 2.597, "gap": -1.429, "between": -2.744, "speaker_same": 3.395, "speaker_other": 0.491,
    "to_same": 0.095, "to_other": 0.198, "is_report": -0.3, "says_done": 3, "told": -1.425, "not_done": -11,
}
FIRST: dict[str, float] = {
    "strength": 0.41, "words": -0.006, "coverage": 0.811, "exact": 0.019, "explained": 0.461, "distance": -0.18,
    "early": -0.536, "called": 1.373, "accepted": -0.114, "reported": 1.292, "logs": 0.368, "recorded": -0.52,
    "recorded_early": -0.02, "whole": -0.144, "after_whole": -1.628, "talk": 0, "after_words": -0.422,
    "after_coverage": -0.524, "answers_other": -0.804,
}
DONE: dict[str, float] = {
    "bias": 4.93, "lead": 0.152, "lead_weak": 0.46, "lead_miss": -1.737, "lead_in": -0.802, "bare": 0, "best": 0.789,
    "second": 0.514, "logs": 0.096, "parts": -0.098, "runner_up": 1.351, "optional": -2.667, "agreed": -0.349,
    "gap": -1.922, "silent": 0.001, "repeated": 0.492, "not_first": 0.561, "gap_alone": 0.086, "distance": 0.75,
    "lacking": 0.809, "contrary": 0, "garbled": -0.581, "is_clock": -0.205, "is_record": 1.032, "rival_step": 0.072,
    "untimed": 0, "close": -1.341, "alone": 0.54, "unexplained": -0.588, "lone": -0.611, "poorer": 0.107,
    "speaker_other": -1.001, "to_same": 0.225, "poll_end": -0.332, "again": -0.225, "outdone": 0.499, "exact": 0.594,
    "answers_other": -0.999, "afar": -1.233, "far_lacking": -0.493, "far_alone": -0.345,
}
UNSEEN: dict[str, float] = {
    "bias": -3.013, "none": -0.977, "best": 0.242, "optional": -1.108, "garbled": 3.107, "logs": -2.046,
    "beside": -0.057, "trailing": -0.559, "due_sigma": -0.684, "talk": 1.625, "poll": -0.055, "said_near": 0.952,
    "called": 1.852, "spoken": 3.323,
}
VERDICT: dict[str, float] = {
    "bias": 7.623, "lead": 0.612, "lead_weak": 0.679, "lead_miss": -1.255, "lead_in": -0.342, "bare": -0.595, "best": 0,
    "second": 0.097, "logs": -0.802, "parts": 0.191, "runner_up": -0.089, "optional": -1.228, "agreed": 0.328,
    "silent": -0.967, "repeated": -1.064, "not_first": -1.106, "gap": -0.512, "gap_alone": -0.795, "distance": 0.785,
    "lacking": -0.894, "contrary": 0, "garbled": -0.727, "is_clock": 0.186, "is_record": 0.953, "rival_step": -0.042,
    "untimed": 0, "close": -1.567, "alone": -0.441, "unexplained": -1.283, "lone": -0.795, "poorer": -0.51,
    "speaker_other": -1.604, "to_same": 0.539, "poll_end": -0.34, "again": -0.329, "outdone": -0.374, "exact": 0.458,
    "answers_other": -0.969, "afar": -0.813, "far_lacking": 0.004, "far_alone": -0.694,
}
