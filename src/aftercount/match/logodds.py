"""The log-odds that an utterance is a step, from its own signs: words, time, stations, kind.

Question answered: for each candidate pair, how much more likely is it that the utterance is about the step's doing than not.
Model: logistic; each feature adds weight x value (nats), weights in `weights.OWN`. Features are relative to what was due, so that
one set of weights serves any plan. What other utterances say is added in `context`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aftercount.match import weights
from aftercount.match.conflict import (
    ABOUT,
    ASKED,
    ASKED_ABOUT,
    MISHEARD,
    NOT_DONE,
    NOT_NOW,
    STATE,
    Sign,
    missed_besides,
)
from aftercount.match.likeness import GARBLED_TALK, Likeness
from aftercount.match.signs import (
    CALL,
    RECORD,
    REPORT,
    RESPONSE,
    WITHDRAWN,
    Planned,
    Said,
    lateness_s,
    pace_s,
    station_agreement,
)

FEATURES = tuple(weights.OWN)
EXACT = 0.9  # coverage and explained from which text and step say the same
FINE_S = 2.5  # in the last minutes steps follow each other in seconds and are kept to within this
FINE_CAP = 3.0  # log1p units: the fine distance tells apart what is within some 10 s of due, nothing further
FAR = 9.0  # cap of the distance feature, log1p units: beyond it further distance says nothing more
HIGH_COVERAGE = 0.6  # coverage above which each further word is worth more (the last words are the telling ones)
SAYS_POLL, OTHER_WORDS = 0.5, 0.2  # share of a poll's words from which a line names it, and by which another has fewer
CLOCK_KINDS = ("mark", "hold", "resume", "recycle", "cutoff", "scrub")
_NOT_NOW, _ABOUT = NOT_NOW | ASKED, ABOUT | ASKED_ABOUT
_OF_A_STATE = STATE | ASKED | ASKED_ABOUT  # what a step that asks for a state has for none
EVIDENCE_UNIT = 5.0  # nats in one unit of the evidence features


@dataclass(frozen=True)
class Misses:
    """Near misses: bits and likeness to a lead-in of each utterance, and the bits that each plan row's own wording has, with the words (`own`) that are then
    no sign of one. texts: of the utterances."""

    said: np.ndarray
    lead_in: np.ndarray
    planned: np.ndarray
    texts: Sequence[str]
    own: Sequence[frozenset[Sign]]

    def of(self, u: np.ndarray, row: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        bits = self.said[u] & ~self.planned[row]
        both = np.flatnonzero(self.said[u] & self.planned[row] & (NOT_DONE | NOT_NOW | ABOUT))
        besides = missed_besides([self.texts[i] for i in u[both].tolist()], [self.own[i] for i in row[both].tolist()])
        bits[both] = besides & ~(self.planned[row[both]] & _OF_A_STATE)
        return bits, np.where((self.planned[row] & ~_OF_A_STATE) > 0, 0.0, self.lead_in[u])


def own_features(
    alike: Likeness, said: Said, planned: Planned, pairs: tuple[np.ndarray, np.ndarray], part: np.ndarray, misses: Misses, ids: np.ndarray,
) -> np.ndarray:
    """Pairs x FEATURES. `part`: what each can be of its step; `ids`: +1 where the utterance names the step's id, -1 where it names another's."""
    u, d = pairs
    row = planned.row[d]
    columns = _words(alike, u, row)
    missed, lead_in = misses.of(u, row)
    missed[part == RECORD] &= ~np.int16(ABOUT)  # a machine talks about nothing: 'state=STEADY' is what was asked for
    # 'Stand by for the poll, give me go or no go' is the poll.
    is_poll = planned.is_poll[d] & (said.kind[u] == "poll")
    missed[is_poll] = 0
    misheard = (missed & MISHEARD > 0) & (missed & (NOT_DONE | _NOT_NOW | _ABOUT) > 0) & (alike.garbled[u] >= GARBLED_TALK)
    missed = np.where(misheard, missed & STATE, missed & ~np.int16(MISHEARD))
    columns["misheard"] = misheard
    columns["lead_in"] = np.where(is_poll | (missed > 0), 0.0, lead_in)
    columns["optional"] = ~planned.must[d]
    columns["not_done"] = ((missed & NOT_DONE) > 0) | (said.kind[u] == WITHDRAWN)  # that rests on what was said next, not on a word that may be misheard or the step's own
    columns["not_now"] = (missed & _NOT_NOW) > 0
    columns["about"] = (missed & (_ABOUT | STATE)) > 0
    columns |= _time(said, planned, u, d)
    columns |= _stations(said, planned, pairs, part)
    columns |= _kind(said, planned, pairs, part)
    columns["rolled"] = _best_worded(columns["rolled"], columns["coverage"], said.source[u], d)
    columns["id_same"], columns["id_other"] = ids > 0, ids < 0
    columns["exact_far"] = columns["exact"] * columns["distance"]
    columns["bias"] = np.ones(len(u))
    return np.stack([np.asarray(columns[name], dtype=np.float64) for name in FEATURES], axis=1).reshape(len(u), len(FEATURES))


def own_logit(features: np.ndarray) -> np.ndarray:
    return np.asarray(features @ np.array([weights.OWN[name] for name in FEATURES]))


def without_time(features: np.ndarray) -> np.ndarray:
    """The own log-odds but for what the time adds: a repeat is as good as the first doing."""
    at = [FEATURES.index(name) for name in _GROUPS["time"]]
    return np.asarray(own_logit(features) - features[:, at] @ np.array([weights.OWN[name] for name in _GROUPS["time"]]))


def _words(alike: Likeness, u: np.ndarray, row: np.ndarray) -> dict[str, np.ndarray]:
    text = alike.text_of[u]
    coverage, explained = alike.coverage[text, row], alike.explained[text, row]
    return {
        "coverage": coverage,
        "coverage_high": np.maximum(coverage - HIGH_COVERAGE, 0.0),
        "explained": explained,
        "both": coverage * explained,
        "exact": (coverage >= EXACT) & (explained >= EXACT),
        "evidence": np.minimum(alike.evidence[text, row] / EVIDENCE_UNIT, 4.0),
        "lacking": np.minimum(alike.lacking[text, row] / EVIDENCE_UNIT, 4.0),
        "conflict": np.minimum(alike.conflict[text, row], 2.0),
        "fellow": alike.fellow[text, row],
        "margin": margin(alike)[text, row],
        "lone": alike.lone[text, row],
        "lacking_garbled": np.maximum(1.0 - coverage, 0.0) * alike.garbled[u],
        "garbled": alike.garbled[u],
        "content": np.log1p(alike.content[u]),
        "repeats": np.log(np.maximum(alike.repeats[u], 1.0)),
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
    pace = np.sqrt(pace_s(planned, d, late) ** 2 + said.sigma_s[u] ** 2 + planned.sigma_s[d] ** 2)
    distance = np.minimum(np.log1p((np.nan_to_num(late) / pace) ** 2), FAR)
    fine = np.sqrt(FINE_S**2 + said.sigma_s[u] ** 2 + planned.sigma_s[d] ** 2)
    close = np.where(unknown, FINE_CAP, np.minimum(np.log1p((np.nan_to_num(late) / fine) ** 2), FINE_CAP))
    return {"distance": np.where(unknown, 0.0, distance), "close": close, "early": np.where(late < 0, distance, 0.0), "no_time": unknown}


def _stations(said: Said, planned: Planned, pairs: tuple[np.ndarray, np.ndarray], part: np.ndarray) -> dict[str, np.ndarray]:
    speaker, addressee = station_agreement(said, planned, pairs, part)
    return {"speaker_same": speaker > 0, "speaker_other": speaker < 0, "to_same": addressee > 0, "to_other": addressee < 0}


def _kind(said: Said, planned: Planned, pairs: tuple[np.ndarray, np.ndarray], part: np.ndarray) -> dict[str, np.ndarray]:
    u, d = pairs
    kind = said.kind[u]
    return {
        "is_call": part == CALL, "is_response": part == RESPONSE, "is_report": (part == REPORT) & (kind == "report"),
        "is_record": part == RECORD, "is_clock": np.isin(kind, CLOCK_KINDS), "poll_fits": planned.is_poll[d] & (kind == "poll"),
        "poll_other": planned.is_poll[d] & (kind != "poll") & (part != RECORD), "rolled": planned.is_poll[d] & said.rolled[u],
        "unreached": ~planned.reached[d],
    }


def _best_worded(rolled: np.ndarray, coverage: np.ndarray, source: np.ndarray, d: np.ndarray) -> np.ndarray:
    """Of what may have called the answers to a poll, that which says its words, where anything on that log does."""
    out = rolled.copy()
    for poll in np.unique(d[rolled]).tolist():
        for log in np.unique(source[rolled & (d == poll)]).tolist():
            may = rolled & (d == poll) & (source == log)
            best = coverage[may].max()
            if best >= SAYS_POLL:
                out[may & (coverage < best - OTHER_WORDS)] = False
    return out


_GROUPS = {
    "text": ("coverage", "coverage_high", "explained", "both", "exact", "evidence", "lacking", "conflict", "fellow", "margin", "lone", "lacking_garbled", "garbled", "not_done", "not_now", "about", "misheard", "lead_in", "id_same", "id_other"),
    "time": ("distance", "close", "early", "no_time"),
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
