"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": 0.232, "coverage": -0.255, "coverage_high": 6.831, "explained": 0.338, "exact": 4.234, "exact_far": -0.541,
    "poll_other": 0.988, "unreached": -15.598, "both": -0.536, "evidence": 0.314, "lacking": 0.347, "conflict": -11,
    "margin": 5.121, "lone": -0.948, "lacking_garbled": 5.167, "garbled": 1.149, "not_done": -11, "not_now": -16,
    "about": -3, "misheard": -0.5, "content": 1.094, "repeats": -0.118, "close": -0.1, "distance": -1.2,
    "early": -0.469, "no_time": -2.5, "speaker_same": 0.076, "speaker_other": -0.92, "to_same": 0.274,
    "to_other": 0.733, "is_call": 0.319, "is_response": 0.134, "is_report": 0.455, "is_record": -0.082,
    "is_clock": -2.736, "poll_fits": 0.255, "lead_in": -6.776, "optional": 0.144, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.672, "own": 0.464, "thread": 0.472, "other_log": 1.03, "agreed_far": -0.111, "rival_step": -0.37,
    "rival_moment": -0.15, "outdone": -0.233, "answers_other": -1.275,
}
BARE: dict[str, float] = {
    "bias": -0.204, "before": 2.332, "gap": -1.426, "between": -2.657, "speaker_same": 3.391, "speaker_other": 0.498,
    "to_same": 0.033, "to_other": 0.205, "is_report": -0.295, "says_done": 3, "told": -1.469, "not_done": -11,
}
DONE: dict[str, float] = {
    "bias": 6.468, "lead": 0.225, "lead_weak": 0.518, "lead_miss": -2.062, "lead_in": -1.371, "bare": 0, "best": 0.554,
    "second": 0.424, "logs": 0.287, "parts": 0.379, "runner_up": 0.571, "optional": -2.693, "agreed": -0.334,
    "gap": 0.314, "gap_alone": -0.085, "distance": -0.065, "lacking": -0.635, "contrary": 0, "garbled": -0.16,
    "is_clock": -0.019, "is_record": -0.159, "rival_step": -0.003, "untimed": 0, "close": -1.163, "alone": -0.353,
    "unexplained": -1.066, "lone": -1.064, "poorer": 0.105, "speaker_other": -1.156, "to_same": -0.105,
    "poll_end": -0.368, "again": -0.159, "outdone": 0.632, "exact": 1.035, "answers_other": -0.903,
}
UNSEEN: dict[str, float] = {
    "bias": -2.655, "none": -1.076, "best": 0.267, "optional": -1.183, "garbled": 2.747, "logs": -1.836,
    "beside": 0.015, "trailing": -0.52, "due_sigma": -0.682, "talk": 1.715, "poll": -0.133, "said_near": 0.777,
    "called": 2.662, "spoken": 3.233,
}
VERDICT: dict[str, float] = {
    "bias": 7.902, "lead": 0.619, "lead_weak": 0.752, "lead_miss": -2.044, "lead_in": -1.048, "bare": 0.62,
    "best": -0.016, "second": -0.187, "logs": -0.401, "parts": 0.418, "runner_up": -0.121, "optional": -1.104,
    "agreed": 0.351, "gap": -0.464, "gap_alone": -0.764, "distance": -0.002, "lacking": -1.923, "contrary": 0,
    "garbled": -0.335, "is_clock": -0.107, "is_record": -0.063, "rival_step": -0.092, "untimed": 0, "close": -1.165,
    "alone": -1.713, "unexplained": -1.163, "lone": -0.768, "poorer": -0.8, "speaker_other": -0.749, "to_same": 0.43,
    "poll_end": -0.483, "again": -0.156, "outdone": -0.131, "exact": 0.676, "answers_other": -1.762,
}
