"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -0.352, "coverage": 0.802, "coverage_high": 6.002, "explained": -0.029, "exact": 2.382, "exact_far": -0.296,
    "poll_other": 1.164, "unreached": -13.59, "both": -1.412, "evidence": 0.836, "lacking": 0.539, "conflict": -9,
    "margin": 5.709, "lone": -0.715, "lacking_garbled": 3.478, "garbled": 1.725, "not_done": -9, "not_now": -12,
    "about": -3, "content": 0.342, "repeats": -0.145, "close": -0.11, "distance": -1.178, "early": -0.488,
    "no_time": -2.5, "speaker_same": 0.183, "speaker_other": -0.531, "to_same": 0.048, "to_other": 0.374,
    "is_call": 0.315, "is_response": -0.253, "is_report": 0.218, "is_record": -0.022, "is_clock": -2.862,
    "poll_fits": 0.714, "lead_in": -7.074, "optional": -0.236, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.616, "own": 0.486, "thread": 0.325, "other_log": 1.137, "agreed_far": -0.119, "rival_step": -0.357,
    "rival_moment": -0.154, "outdone": -0.225, "answers_other": -1.352,
}
BARE: dict[str, float] = {
    "bias": -0.446, "before": 2.263, "gap": -1.351, "between": -2.786, "speaker_same": 3.297, "speaker_other": 0.415,
    "to_same": 0.226, "to_other": 0.252, "is_report": -0.458, "says_done": 3, "told": -1.247, "not_done": -9,
}
DONE: dict[str, float] = {
    "bias": 6.707, "lead": 0.028, "lead_weak": 0.374, "lead_miss": -1.878, "lead_in": -2.153, "bare": 0, "best": 0.695,
    "second": 0.482, "logs": 0.56, "parts": -0.046, "runner_up": 0.362, "optional": -3.006, "agreed": -0.232,
    "gap": 0.237, "gap_alone": -0.205, "distance": -0.184, "lacking": -1.784, "contrary": 0, "garbled": -0.273,
    "is_clock": -1.358, "is_record": -0.842, "rival_step": -0.072, "untimed": 0.001, "close": -0.739, "alone": -0.948,
    "unexplained": -1.256, "lone": -0.693, "poorer": 0.279, "speaker_other": -1.01, "to_same": 0.022, "poll_end": 0.631,
    "again": -0.576, "outdone": 0.777, "exact": 1.375,
    "answers_other": 0.005,
}
VERDICT: dict[str, float] = {
    "bias": 7.736, "lead": 0.539, "lead_weak": 0.818, "lead_miss": -1.709, "lead_in": -1.568, "bare": 1.598,
    "best": -0.008, "second": -0.074, "logs": -0.8, "parts": 0.409, "runner_up": -0.169, "optional": -1.296,
    "agreed": 0.494, "gap": -0.645, "gap_alone": -0.922, "distance": -0.082, "lacking": -1.907, "contrary": 0,
    "garbled": -1.841, "is_clock": -0.633, "is_record": -0.652, "rival_step": -0.143, "untimed": 0.002, "close": -0.76,
    "alone": -2.524, "unexplained": -0.575, "lone": -1.174, "poorer": 0.265, "speaker_other": -0.29, "to_same": 0.361,
    "poll_end": -1.989, "again": -0.284, "outdone": -0.392, "exact": 1.254,
    "answers_other": -0.745,
}
UNSEEN: dict[str, float] = {
    "bias": -2.398, "none": -1.328, "best": 0.272, "optional": -1.714, "garbled": 3.65, "logs": -1.488,
    "beside": -0.151, "trailing": -0.509, "due_sigma": -0.709, "talk": 1.462, "poll": 0.61, "said_near": 0.413,
    "called": 3.502, "spoken": 3.061,
}
