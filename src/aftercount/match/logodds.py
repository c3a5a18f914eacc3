"""The log-odds that an utterance is a step, from its own signs: words, time, stations, kind.

Question answered: for each candidate pair, how much more likely is it that the utterance is about the step's doing than not.
Model: logistic; each feature adds weight x value (nats), weights in `weights.OWN`. Features are relative to what was due, so that
one set of weights serves any plan. What other utterances say is added in `context`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from aftercount.match import weights
from aftercount.match.candidates import BARE_CONTENT
from aftercount.match.conflict import NOT_DONE, NOT_NOW
from aftercount.match.likeness import Likeness
from aftercount.match.signs import (
    CALL,
    RECORD,
    REPORT,
    RESPONSE,
    Planned,
    Said,
    lateness_s,
    station_agreement,
)

FEATURES = tuple(weights.OWN)
PACE_S = 12.0  # a step this far from due is nothing unusual; distance is counted in this unit, with the clocks' sigma
FAR = 9.0  # cap of the distance feature, log1p units: beyond it further distance says nothing more
HIGH_COVERAGE = 0.6  # coverage above which each further word is worth more (the last words are the telling ones)
CLOCK_KINDS = ("mark", "hold", "resume", "recycle", "cutoff", "scrub")
EVIDENCE_UNIT = 5.0  # nats in one unit of the evidence features


def own_features(
    alike: Likeness, said: Said, planned: Planned, pairs: tuple[np.ndarray, np.ndarray], misses: tuple[np.ndarray, np.ndarray],
    ids: np.ndarray,
) -> np.ndarray:
    """Pairs x FEATURES. `misses`: near-miss bits of each utterance, and those that each plan row's own wording has; `ids`: +1
    where the utterance names the step's id, -1 where it names another's."""
    u, d = pairs
    text, row = alike.text_of[u], planned.row[d]
    columns = _words(alike, text, row)
    missed = misses[0][u] & ~misses[1][row]
    columns["not_done"] = (missed & NOT_DONE) > 0
    columns["not_now"] = (missed & NOT_NOW) > 0
    columns |= _time(said, planned, u, d)
    columns |= _stations(said, planned, u, d)
    columns |= _kind(said, planned, u, d)
    columns["id_same"], columns["id_other"] = ids > 0, ids < 0
    columns["bare"] = alike.content[text] <= BARE_CONTENT
    columns["bias"] = np.ones(len(u))
    return np.stack([np.asarray(columns[name], dtype=np.float64) for name in FEATURES], axis=1).reshape(len(u), len(FEATURES))


def own_logit(features: np.ndarray) -> np.ndarray:
    return np.asarray(features @ np.array([weights.OWN[name] for name in FEATURES]))


def _words(alike: Likeness, text: np.ndarray, row: np.ndarray) -> dict[str, np.ndarray]:
    coverage, explained = alike.coverage[text, row], alike.explained[text, row]
    return {
        "coverage": coverage,
        "coverage_high": np.maximum(coverage - HIGH_COVERAGE, 0.0),
        "explained": explained,
        "evidence": np.minimum(alike.evidence[text, row] / EVIDENCE_UNIT, 4.0),
        "lacking": np.minimum(alike.lacking[text, row] / EVIDENCE_UNIT, 4.0),
        "conflict": np.minimum(alike.conflict[text, row], 2.0),
        "margin": margin(alike)[text, row],
        "content": np.log1p(alike.content[text]),
        "repeats": np.log(np.maximum(alike.repeats[text], 1.0)),
    }


def margin(alike: Likeness) -> np.ndarray:
    """texts x steps: how much better the text fits this step than the best other one."""
    fit = alike.coverage + 0.5 * alike.explained - 0.5 * np.minimum(alike.conflict, 2.0)
    if fit.shape[1] < 2:
        return np.asarray(fit)
    top = np.partition(fit, -2, axis=1)[:, -2:]
    return np.asarray(fit - np.where(fit >= top[:, 1:], top[:, :1], top[:, 1:]))


def _time(said: Said, planned: Planned, u: np.ndarray, d: np.ndarray) -> dict[str, np.ndarray]:
    late = lateness_s(said, planned, u, d)
    unknown = np.isnan(late)
    pace = np.sqrt(PACE_S**2 + said.sigma_s[u] ** 2 + planned.sigma_s[d] ** 2)
    distance = np.minimum(np.log1p((np.nan_to_num(late) / pace) ** 2), FAR)
    return {"distance": np.where(unknown, 0.0, distance), "early": np.where(late < 0, distance, 0.0), "no_time": unknown}


def _stations(said: Said, planned: Planned, u: np.ndarray, d: np.ndarray) -> dict[str, np.ndarray]:
    speaker, addressee = station_agreement(said, planned, u, d)
    return {"speaker_same": speaker > 0, "speaker_other": speaker < 0, "to_same": addressee > 0, "to_other": addressee < 0}


def _kind(said: Said, planned: Planned, u: np.ndarray, d: np.ndarray) -> dict[str, np.ndarray]:
    part, kind = said.part[u], said.kind[u]
    return {
        "is_call": part == CALL, "is_response": part == RESPONSE, "is_report": (part == REPORT) & (kind == "report"),
        "is_record": part == RECORD, "is_clock": np.isin(kind, CLOCK_KINDS), "poll_fits": planned.is_poll[d] & (kind == "poll"),
    }


def id_mentions(texts: Sequence[str], step_ids: Sequence[str]) -> dict[int, set[int]]:
    """Which steps' ids each text names; only ids that could be nothing else, or that follow the word 'step'."""
    telling = [i for i in step_ids if len(i) >= 3 and re.search(r"\d", i) and re.search(r"[^\d]", i)]
    forms = [rf"(?<![\w.:-])(?:{'|'.join(re.escape(i) for i in sorted(telling, key=len, reverse=True))})(?![\w:-]|\.\d)"] if telling else []
    every = "|".join(re.escape(i) for i in sorted(set(step_ids), key=len, reverse=True))
    forms.append(rf"\b(?:step|item|seq|sequence|task)\s+#?({every})(?![\w:-]|\.\d)")
    pattern = re.compile("|".join(forms), re.IGNORECASE)
    position: dict[str, list[int]] = {}
    for i, name in enumerate(step_ids):
        position.setdefault(name.lower(), []).append(i)
    named: dict[int, set[int]] = {}
    for row, text in enumerate(texts):
        for found in pattern.finditer(text):
            name = (found.group(found.lastindex) if found.lastindex else found.group()).lower()
            named.setdefault(row, set()).update(position.get(name, ()))
    return named


_GROUPS = {
    "text": ("coverage", "coverage_high", "explained", "evidence", "lacking", "conflict", "margin", "not_done", "not_now", "id_same", "id_other"),
    "time": ("distance", "early", "no_time"),
    "station": ("speaker_same", "speaker_other", "to_same", "to_other"),
}


def shares(features: np.ndarray) -> dict[str, np.ndarray]:
    """0..1, more is better: what the words (at an even prior), the time and the stations each say by themselves."""
    out = {}
    for group, names in _GROUPS.items():
        at = [FEATURES.index(name) for name in names]
        nats = features[:, at] @ np.array([weights.OWN[name] for name in names])
        if group == "text":
            nats = nats + weights.OWN["bias"]
        out[group] = np.exp(nats) if group == "time" else 1.0 / (1.0 + np.exp(-nats))
    out["time"] = np.minimum(out["time"], 1.0)
    return out
