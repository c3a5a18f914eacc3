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
    "bias": 1.619, "own": 0.493, "thread": 0.288, "other_log": 1.145, "agreed_far": -0.122, "rival_step": -0.373,
    "rival_moment": -0.155, "outdone": -0.222,
}
BARE: dict[str, float] = {
    "bias": -0.446, "before": 2.263, "gap": -1.351, "between": -2.786, "speaker_same": 3.297, "speaker_other": 0.415,
    "to_same": 0.226, "to_other": 0.252, "is_report": -0.458, "says_done": 3, "told": -1.247, "not_done": -9,
}
DONE: dict[str, float] = {
    "bias": 7.068, "lead": -0.103, "lead_weak": 0.526, "lead_miss": -1.596, "lead_in": -1.553, "bare": 0, "best": 0.706,
    "second": 0.464, "logs": 0.226, "parts": -0.104, "runner_up": 0.583, "optional": -2.73, "agreed": 0.04,
    "gap": 0.124, "gap_alone": -0.289, "distance": -0.185, "lacking": -1.404, "contrary": 0, "garbled": -0.512,
    "is_clock": -0.739, "is_record": -0.711, "rival_step": -0.085, "untimed": 0, "close": -0.748, "alone": -1.078,
    "unexplained": -1.352, "lone": -0.851, "poorer": 0.255, "speaker_other": -0.973, "to_same": 0.164,
    "poll_end": 0.127,
}
VERDICT: dict[str, float] = {
    "bias": 8.941, "lead": 0.9, "lead_weak": 1.296, "lead_miss": -1.532, "lead_in": -1.317, "bare": 0, "best": -0.412,
    "second": -0.254, "logs": -0.084, "parts": 0.259, "runner_up": -0.088, "optional": -1.641, "agreed": 0.272,
    "gap": -0.757, "gap_alone": -1.226, "distance": -0.168, "lacking": -2.159, "contrary": 0, "garbled": -1.713,
    "is_clock": -0.454, "is_record": -0.102, "rival_step": -0.081, "untimed": 0, "close": -0.809, "alone": -2.71,
    "unexplained": -1.006, "lone": -1.211, "poorer": 0.075, "speaker_other": -1.139, "to_same": 0.482,
    "poll_end": -1.696,
}
UNSEEN: dict[str, float] = {
    "bias": -2.196, "none": -0.761, "best": 0.178, "optional": -1.674, "garbled": 3.763, "logs": -1.321,
    "beside": -0.696, "trailing": -0.516, "due_sigma": -0.942, "talk": 1.298, "poll": -0.022, "said_near": 0.629,
}
