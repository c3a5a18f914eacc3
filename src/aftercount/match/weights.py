"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.193, "coverage": 0.078, "coverage_high": 6.711, "explained": -0.017, "exact": 2.651, "exact_far": -0.331,
    "poll_other": 1.382, "unreached": -13.907, "both": -1.098, "evidence": 0.738, "lacking": 0.464, "conflict": -9,
    "margin": 5.5, "lone": -0.863, "lacking_garbled": 4.3, "garbled": 1.792, "not_done": -9, "not_now": -12,
    "about": -3, "misheard": -0.5, "content": 0.504, "repeats": -0.107, "close": -0.076, "distance": -1.18, "early": -0.493,
    "no_time": -2.5, "speaker_same": 0.129, "speaker_other": -0.594, "to_same": 0.058, "to_other": 0.383,
    "is_call": 0.324, "is_response": -0.196, "is_report": 0.236, "is_record": 0.146, "is_clock": -3.048,
    "poll_fits": 0.818, "lead_in": -7.612, "optional": -0.191, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.615, "own": 0.488, "thread": 0.386, "other_log": 1.145, "agreed_far": -0.119, "rival_step": -0.358,
    "rival_moment": -0.151, "outdone": -0.226, "answers_other": -1.49,
}
BARE: dict[str, float] = {
    "bias": -0.497, "before": 2.362, "gap": -1.387, "between": -2.787, "speaker_same": 3.313, "speaker_other": 0.447,
    "to_same": 0.2, "to_other": 0.25, "is_report": -0.455, "says_done": 3, "told": -1.219, "not_done": -9,
}
DONE: dict[str, float] = {
    "bias": 7.245, "lead": 0.395, "lead_weak": 0.486, "lead_miss": -2.268, "lead_in": -1.403, "bare": 0, "best": 0.258,
    "second": 0.238, "logs": 0.47, "parts": -0.02, "runner_up": 0.344, "optional": -2.782, "agreed": -0.196,
    "gap": 0.663, "gap_alone": 0.22, "distance": -0.173, "lacking": -1.305, "contrary": 0, "garbled": -0.258,
    "is_clock": -0.524, "is_record": -0.569, "rival_step": -0.142, "untimed": 0, "close": -0.972, "alone": -1.064,
    "unexplained": -0.971, "lone": -0.981, "poorer": 0.287, "speaker_other": -1.068, "to_same": 0.202,
    "poll_end": 0.347, "again": -0.82, "outdone": 0.73, "exact": 1.337, "answers_other": -0.746,
}
UNSEEN: dict[str, float] = {
    "bias": -1.971, "none": -1.075, "best": 0.296, "optional": -1.647, "garbled": 2.837, "logs": -1.368,
    "beside": -0.557, "trailing": -0.442, "due_sigma": -0.566, "talk": 1.286, "poll": 0.01, "said_near": 0.545,
    "called": 2.931, "spoken": 3.206,
}
VERDICT: dict[str, float] = {
    "bias": 7.127, "lead": 0.738, "lead_weak": 0.826, "lead_miss": -2.058, "lead_in": -1.134, "bare": 0.823,
    "best": -0.115, "second": -0.134, "logs": -0.614, "parts": 0.361, "runner_up": -0.182, "optional": -1.26,
    "agreed": 0.425, "gap": -0.749, "gap_alone": -0.826, "distance": -0.039, "lacking": -1.503, "contrary": 0,
    "garbled": -1.026, "is_clock": -0.517, "is_record": -0.306, "rival_step": -0.102, "untimed": 0, "close": -0.821,
    "alone": -2.254, "unexplained": -0.484, "lone": -1.195, "poorer": 0.049, "speaker_other": -0.739, "to_same": 0.564,
    "poll_end": -1.097, "again": -0, "outdone": -0.152, "exact": 1.217, "answers_other": -1.356,
}
