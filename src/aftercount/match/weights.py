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
    "bias": 6.147, "lead": 0.166, "lead_weak": 0.552, "lead_miss": -1.883, "lead_in": -0.728, "bare": 0, "best": 0.711,
    "second": 0.247, "logs": 0.4, "parts": 0.374, "runner_up": 1.27, "optional": -2.651, "agreed": -0.008,
    "gap": -1.889, "silent": 0.001, "repeated": 0.396, "not_first": 0.79, "gap_alone": 0.128, "distance": 0.026,
    "lacking": -0.428, "contrary": 0, "garbled": -0.62, "is_clock": -0.293, "is_record": 0.942, "rival_step": 0.057,
    "untimed": 0, "close": -1.226, "alone": -0.052, "unexplained": -0.741, "lone": -0.717, "poorer": 0.224,
    "speaker_other": -1.055, "to_same": 0.275, "poll_end": -0.433, "again": -0.183, "outdone": 0.791, "exact": 0.908,
    "answers_other": -0.873,
}
UNSEEN: dict[str, float] = {
    "bias": -3.013, "none": -0.977, "best": 0.242, "optional": -1.108, "garbled": 3.107, "logs": -2.046,
    "beside": -0.057, "trailing": -0.559, "due_sigma": -0.684, "talk": 1.625, "poll": -0.055, "said_near": 0.952,
    "called": 1.852, "spoken": 3.323,
}
VERDICT: dict[str, float] = {
    "bias": 8.013, "lead": 0.733, "lead_weak": 0.721, "lead_miss": -1.496, "lead_in": -0.285, "bare": -0.189,
    "best": -0.105, "second": -0.091, "logs": -0.542, "parts": 0.47, "runner_up": -0.092, "optional": -1.248,
    "agreed": 0.462, "silent": -0.858, "repeated": -1.18, "not_first": -1.234, "gap": -0.278, "gap_alone": -0.832,
    "distance": 0.067, "lacking": -1.062, "contrary": 0, "garbled": -0.593, "is_clock": 0.196, "is_record": 0.878,
    "rival_step": -0.039, "untimed": 0, "close": -1.288, "alone": -1.742, "unexplained": -1.369, "lone": -0.761,
    "poorer": -0.396, "speaker_other": -1.655, "to_same": 0.547, "poll_end": -0.303, "again": -0.397, "outdone": -0.264,
    "exact": 0.398, "answers_other": -1.278,
}
