"""The fitted constants of the match: log-odds (nats) that a sign adds.

How obtained: logistic regression on simulated counts, `python tests/match/fit.py`, which writes the tables below; what
simulated counts can't teach is stated there (STATED) instead of fitted.
It does not compute anything.
"""

from __future__ import annotations

OWN: dict[str, float] = {
    "bias": -2.052, "coverage": 1.477, "coverage_high": 4.141, "explained": 0.615, "exact": 0.459, "exact_far": 0.138,
    "poll_other": -0.232, "unreached": -9.627, "both": -1.187, "evidence": 0.801, "lacking": 0.479, "conflict": -9,
    "margin": 5.241, "lacking_garbled": 4.237, "garbled": 2.783, "not_done": -9, "not_now": -10, "about": -3,
    "content": 0.704, "repeats": -0.697, "close": -0.119, "distance": -1.094, "early": -0.205, "no_time": -2.5,
    "speaker_same": 0.301, "speaker_other": -0.465, "to_same": 0.083, "to_other": 0.316, "is_call": -0.098,
    "is_response": -0.404, "is_report": -0.098, "is_record": -0.195, "is_clock": -2.312, "poll_fits": 2.196,
    "lead_in": -3.155, "optional": 0.056, "id_same": 9, "id_other": -4,
}
ALL: dict[str, float] = {
    "bias": 1.688, "own": 0.524, "thread": 0.393, "other_log": 1.256, "agreed_far": -0.128, "rival_step": -0.381,
    "rival_moment": -0.133, "outdone": -0.254,
}
BARE: dict[str, float] = {
    "bias": -0.28, "before": 2.341, "gap": -1.33, "between": -2.915, "speaker_same": 2.952, "speaker_other": -0.08,
    "to_same": 0.379, "to_other": 0.283, "is_report": -0.179, "says_done": 3, "told": -1.041, "not_done": -9,
}
DONE: dict[str, float] = {
    "bias": 2.539, "lead": 0.269, "lead_weak": 1.397, "lead_miss": 0.134, "lead_in": -0.926, "bare": 0, "best": 0.618,
    "second": 0.875, "logs": 0.378, "parts": 0.457, "runner_up": 0.605, "optional": -2.528, "agreed": 0.328,
    "gap": 0.354, "gap_alone": 0.286, "distance": -0.256, "lacking": -1.685, "contrary": 0, "garbled": -1.363,
    "is_clock": 0.022, "is_record": 0.122, "rival_step": 0.383, "untimed": 0,
}
VERDICT: dict[str, float] = {
    "bias": 3.463, "lead": 0.986, "lead_weak": 1.666, "lead_miss": -0.64, "lead_in": -0.974, "bare": 0, "best": -0.205,
    "second": -0.114, "logs": -1.253, "parts": 0.709, "runner_up": -0.372, "optional": -1.819, "agreed": 1.222,
    "gap": -0.275, "gap_alone": -0.946, "distance": -0.355, "lacking": -2.134, "contrary": 0, "garbled": -0.542,
    "is_clock": -0.045, "is_record": 0.963, "rival_step": 0.145, "untimed": 0,
}
UNSEEN: dict[str, float] = {
    "bias": -0.963, "none": -1.361, "best": 0.351, "optional": -1.045, "garbled": 0.995, "logs": -0.673,
    "beside": 0.076, "trailing": 0.134, "due_sigma": 0.059, "talk": 1.228, "poll": -0.07,
}
