"""What do the logs say of the count clock: marks, stamped count times and calls, one array each, by source?

Conventions: `own` is the log's own time in seconds, less the scheduled T-0 for logs that tell UTC, since elapsed zero
otherwise; `t` is count time in seconds. Weights are in nats: how much evidence it takes to call the words mistaken.
It does not decide which evidence is true: the path does.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from aftercount.speech.entries import RESOLUTION_SHARE
from aftercount.timeline.amid import between
from aftercount.timeline.model import (
    ANY,
    COUNTING,
    HOLD_CALL,
    HOLDING,
    MARK,
    RESUME_CALL,
    TARGET,
    Floats,
    Ints,
)

if TYPE_CHECKING:
    from aftercount.speech import Speech

# nats: a certain mark that was typed is wrong about once in 3000 (so that one alone shows a silent hold), one that was heard once
# in 400, a likely one once in 50, a doubtful one as often as not but for the coincidence of agreeing with others to the second.
MARK_WEIGHT = {"certain": 8.0, "likely": 5.0, "doubtful": 2.0}
HEARD_WEIGHT = {"certain": 6.0, "likely": 4.0, "doubtful": 2.0}
# A certain hold call outweighs a hold nobody planned (path.Costs.hold): one at the end of a log may have no other trace.
CALL_WEIGHT = {"certain": 10.0, "likely": 4.0, "doubtful": 1.5}
TARGET_WEIGHT = {"certain": 1.5, "likely": 1.0, "doubtful": 0.5}  # L-time and T-0 speak of the plan, not of the clock
STAMP_SIGMA_S = 0.05  # a machine's own count column: its jitter, beyond the resolution
CUT_STAMP_SIGMA_S = 0.58  # s, 1/sqrt(3): what whole count seconds, cut off rather than rounded, are off by (root mean square)
AMID_SIGMA_S = 1.5  # a count that a person reads off and writes down
LIFTOFF_SIGMA_S = 1.5  # 'lift-off' is called as the vehicle moves, a second or so after T-0
TARGET_SIGMA_S = 5.0  # announced to the minute or the second, and rounded in speech
MARK_SLACK = 2.0  # sigmas by which a mark may lie beyond the instant the clock stopped or started
COARSE_S = 5.0  # a stamp no better than this says nothing of seconds, and is out of order with others as often as not
CUT_SIGMAS = 12**0.5  # a stamp that is cut off may be off by all of what is cut, so many of its sigmas
ENOUGH_MARKS = 4  # marks from which a clock can be rebuilt
CALL_SLACK_S = 10.0  # a hold is called, then the clock is stopped; 7 s is on record, NASA lesson 1090 of 1993
STATE_LINES, BEAT_S = 5, 60.0  # so many resume calls in a row, each so soon after the other and no hold between, are a log's state lines
STEPPED, CALLED, STAMPED, SPOKEN, AMID = 3, 2, 1, 0, 4  # AMID: a count time of an entry with no other time, as a person writes it down

_TOLD_HOLD = ("hold", "cutoff")


@dataclass(frozen=True)
class Evidence:
    """One entry an item of evidence. row: its row in the marks or calls table (-1 a stamp); origin: CALLED, ...; sigma: of the count against the wall time,
    with what the log's own stamp may be off by; read: of the count time alone, which is all that matters while the clock stands still."""

    utterance: Ints
    source: Ints
    own: Floats
    t: Floats
    sigma: Floats
    read: Floats
    weight: Floats
    slack: Floats
    kind: Ints
    says: Ints
    origin: Ints
    row: Ints

    def __len__(self) -> int:
        return len(self.own)

    def take(self, which: NDArray[np.bool_] | Ints) -> Evidence:
        return Evidence(**{f.name: getattr(self, f.name)[which] for f in fields(self)})

    def at(self, own: Floats) -> Evidence:
        return replace(self, own=own)


def cut(evidence: Evidence, which: Ints) -> Floats:
    """What coarse stamps cut off of the time of these items: its sigma, nothing where the stamp is finer than COARSE_S."""
    own = np.sqrt(np.maximum(evidence.sigma[which] ** 2 - evidence.read[which] ** 2, 0.0))
    return np.where(own >= COARSE_S, own / RESOLUTION_SHARE / CUT_SIGMAS, 0.0)


def joined(parts: list[Evidence]) -> Evidence:
    return Evidence(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Evidence)})


@dataclass(frozen=True)
class Spoken:
    """Utterances as arrays: own time (NaN if none) in seconds as in the module header, and which source."""

    own: Floats
    sigma: Floats
    source: Ints
    names: list[str]
    time_kind: list[str]  # by source: utc | elapsed | count | none
    medium: list[str]  # by source: machine | typed | speech
    counted: Floats  # the count time of entries that tell only that and were laid on the schedule (see counted), else NaN
    spread: Floats  # s: how far such an entry may lie from where it was laid
    length: Floats  # s: how long the log says that an entry took, NaN where it does not or where the entry holds several
    words: Ints  # of those entries, how many each has
    amid: Floats  # the count time of entries that tell only that among others with a time, and were laid between those (see amid), else NaN


def spoken(utterances: pd.DataFrame, sources: pd.DataFrame, t0_us: int) -> Spoken:
    """The utterances' own times. A source's kind is that of most of its entries."""
    names = sources["source"].tolist()
    index = {name: i for i, name in enumerate(names)}
    source = utterances["source"].map(index).to_numpy(dtype=np.int64)
    kinds, media = utterances["time_kind"].tolist(), utterances["medium"].tolist()
    by_kind: list[dict[str, int]] = [{} for _ in names]
    by_medium: list[dict[str, int]] = [{} for _ in names]
    for i, kind, medium in zip(source.tolist(), kinds, media, strict=True):
        by_kind[i][kind] = by_kind[i].get(kind, 0) + 1
        by_medium[i][medium] = by_medium[i].get(medium, 0) + 1
    time_kind = [_most({k: v for k, v in c.items() if k != "none"}, "none") for c in by_kind]
    kind_array = np.array(kinds, dtype=object)
    base = np.where(kind_array == "utc", t0_us, 0)
    raw = utterances["own_us"]
    own = (raw.fillna(0).to_numpy(dtype=np.int64) - base) / 1e6
    of_source = np.array(time_kind, dtype=object)[source]
    usable = raw.notna().to_numpy() & (kind_array == of_source)
    among = raw.notna().to_numpy() & (kind_array == "count") & np.isin(of_source, ["utc", "elapsed"])
    amid = np.where(among, raw.fillna(0).to_numpy(dtype=np.int64) / 1e6, np.nan)
    own, off = between(np.where(usable, own, np.nan), amid, source)
    length, words = utterances["length_s"].to_numpy(dtype=float), np.zeros(len(own), dtype=np.int64)
    told = np.flatnonzero(np.isfinite(length))
    words[told] = [len(text.split()) for text in utterances["text"].iloc[told].tolist()]
    own_sigma = utterances["own_sigma_s"].to_numpy(dtype=float)
    return Spoken(own, np.where(among, np.hypot(np.nan_to_num(own_sigma), off), own_sigma), source, names,
                  time_kind, [_most(c, "typed") for c in by_medium], np.full(len(own), np.nan), np.zeros(len(own)), length, words, amid)


def _most(counts: dict[str, int], default: str) -> str:
    return max(counts, key=lambda k: (counts[k], k)) if counts else default


def gather(speech: Speech, said: Spoken, t0_us: int) -> Evidence:
    """All evidence that has a wall time of its own, in utterance order within each source."""
    every = joined([_marks(speech.marks, said, t0_us), _calls(speech.calls, said), _stamps(speech.utterances, said)])
    timed = np.isfinite(every.own) & (np.array(said.time_kind, dtype=object)[every.source] != "count")
    once = replace(every, t=np.where(_named_twice(every), np.nan, every.t))
    return once.take(timed & ~_said_twice(every) & ~_still_running(every) & ~_told_better(every, said))


def _told_better(every: Evidence, said: Spoken) -> NDArray[np.bool_]:
    """What entries say that were laid between others, where another log tells the count with times of its own."""
    amid = np.isfinite(said.amid[every.utterance])
    marks = np.bincount(every.source[(every.kind == MARK) & (every.weight >= HEARD_WEIGHT["likely"]) & ~amid], minlength=len(said.names))
    elsewhere = np.array([(np.delete(marks, s) >= ENOUGH_MARKS).any() for s in range(len(marks))], dtype=bool)
    return amid & elsewhere[every.source]


def _named_twice(every: Evidence) -> NDArray[np.bool_]:
    """Hold calls whose count time is a reading of the same utterance as well: misread, it is wrong once."""
    marks = (every.kind == MARK) & (every.origin == SPOKEN)
    read = {(u, round(t)) for u, t in zip(every.utterance[marks].tolist(), every.t[marks].tolist(), strict=True)}
    named = (every.kind == HOLD_CALL) & np.isfinite(every.t)
    return np.array([bool(n) and (u, round(t)) in read for n, u, t in zip(named, every.utterance.tolist(), every.t.tolist(), strict=True)], dtype=bool)


def _said_twice(every: Evidence) -> NDArray[np.bool_]:
    """Doubtful hold calls whose utterance reads the count as held as well: what makes the one doubtful makes the other ('if we hold at T-9')."""
    reading = np.unique(every.utterance[(every.kind == MARK) & (every.says == HOLDING)])
    return (every.kind == HOLD_CALL) & (every.weight <= CALL_WEIGHT["doubtful"]) & np.isin(every.utterance, reading)


def _still_running(every: Evidence) -> NDArray[np.bool_]:
    """Resume calls that a log repeats ('CLOCK RUNNING', line after line): the first resumes the count, the others tell that it runs."""
    out = np.zeros(len(every), dtype=bool)
    told = np.flatnonzero(np.isfinite(every.own) & ((every.kind != MARK) | (every.says == HOLDING)) & (every.kind != TARGET))
    told = told[np.lexsort((every.own[told], every.source[told]))]
    resumes = every.kind[told] == RESUME_CALL
    goes_on = resumes[1:] & resumes[:-1] & (every.source[told][1:] == every.source[told][:-1]) & (np.diff(every.own[told]) <= BEAT_S)
    run = np.cumsum(np.concatenate([[True], ~goes_on]))[:len(told)]
    first = np.concatenate([[True], ~goes_on])[:len(told)]
    out[told] = resumes & ~first & (np.bincount(run)[run] >= STATE_LINES)
    return out


def of_utterances(utterance: Ints, said: Spoken, sigma: Floats, slack: Floats, **columns: NDArray) -> Evidence:
    """Evidence of these utterances, when they were said; sigma: of the count time, besides that of the utterance's own time; slack: how far from the instant of a
    move it may lie, at least as far as its own time may be off."""
    own_sigma = np.where(np.isfinite(said.sigma[utterance]), said.sigma[utterance], 0.0)
    return Evidence(utterance=utterance, source=said.source[utterance], own=said.own[utterance],
                    sigma=np.hypot(sigma, own_sigma), read=np.broadcast_to(np.asarray(sigma, dtype=float), utterance.shape), slack=np.maximum(slack, CUT_SIGMAS * own_sigma), **columns)


def _marks(marks: pd.DataFrame, said: Spoken, t0_us: int) -> Evidence:
    clock, grade = marks["clock"].tolist(), marks["grade"].tolist()
    utterance = marks["utterance"].to_numpy(dtype=np.int64)
    is_t = np.array([c == "T" for c in clock], dtype=bool)
    is_l = np.array([c == "L" for c in clock], dtype=bool)
    t_s = marks["t_s"].to_numpy(dtype=float)
    told = marks["t0_us"]
    t0 = np.where(told.notna().to_numpy(), (told.fillna(0).to_numpy(dtype=np.int64) - t0_us) / 1e6, np.nan)
    # an L-time announces a T-0 as much later than the moment it is said
    t = np.where(is_t, t_s, np.where(is_l, said.own[utterance] - t_s, t0))
    heard = [said.medium[s] == "speech" for s in said.source[utterance].tolist()]
    weight = np.array([(TARGET_WEIGHT if not m else HEARD_WEIGHT if h else MARK_WEIGHT)[g]
                       for m, h, g in zip(is_t, heard, grade, strict=True)], dtype=float)
    sigma = np.where(is_t, marks["sigma_s"].to_numpy(dtype=float), TARGET_SIGMA_S)
    says = np.array([_says(s) for s in marks["says"].tolist()], dtype=np.int64)
    made = of_utterances(utterance, said, sigma, t=t, weight=weight, slack=MARK_SLACK * sigma,
                  kind=np.where(is_t, MARK, TARGET).astype(np.int64), says=says,
                  origin=np.full(len(t), SPOKEN), row=np.arange(len(t)))
    return made.take(np.isfinite(t))


def _says(word: str) -> int:
    return HOLDING if word.startswith("hold") else COUNTING if word.startswith("count") else ANY


def _calls(calls: pd.DataFrame, said: Spoken) -> Evidence:
    """Holds and cutoffs stop the clock, a resume starts it, a recycle sets it, lift-off is T-0."""
    what = np.array(calls["what"].tolist(), dtype=object)
    is_hold, is_lift = np.isin(what, _TOLD_HOLD), what == "liftoff"
    is_recycle = (what == "recycle") & calls["to_t_s"].notna().to_numpy()
    utterance = calls["utterance"].to_numpy(dtype=np.int64)
    t = np.where(is_lift, 0.0, np.where(is_recycle, calls["to_t_s"].to_numpy(dtype=float),
                                        calls["t_s"].to_numpy(dtype=float)))
    grade = calls["grade"].tolist()
    weight = np.array([CALL_WEIGHT[g] for g in grade], dtype=float)
    weight = np.where(is_recycle, weight / 2, weight)  # ordered now, done when it is done
    kind = np.where(is_hold, HOLD_CALL, np.where(what == "resume", RESUME_CALL, MARK)).astype(np.int64)
    says = np.where(is_lift, COUNTING, np.where(is_recycle, HOLDING, ANY)).astype(np.int64)
    made = of_utterances(utterance, said, np.where(is_lift, LIFTOFF_SIGMA_S, 1.0), t=t, weight=weight,
                  slack=np.full(len(t), CALL_SLACK_S), kind=kind, says=says, origin=np.full(len(t), CALLED),
                  row=np.arange(len(t)))
    return made.take(is_hold | is_lift | is_recycle | (what == "resume"))


def _stamps(utterances: pd.DataFrame, said: Spoken) -> Evidence:
    """Count times in a column of their own, or in place of any other time."""
    stamp = utterances["stamp_t_us"].to_numpy(dtype=float, na_value=np.nan) / 1e6
    stamp = np.where(np.isfinite(said.counted), said.counted, np.where(np.isfinite(said.amid), said.amid, stamp))
    utterance = np.flatnonzero(np.isfinite(stamp))
    size = len(utterance)
    amid = np.isfinite(said.amid[utterance])
    sigma = np.where(amid, AMID_SIGMA_S, np.where(_whole(stamp[utterance], said.source[utterance]), CUT_STAMP_SIGMA_S, STAMP_SIGMA_S))
    return of_utterances(utterance, said, sigma, t=stamp[utterance], weight=np.where(amid, MARK_WEIGHT["likely"], MARK_WEIGHT["certain"]),
                  slack=np.where(amid, MARK_SLACK * sigma, 1.0), kind=np.full(size, MARK), says=np.full(size, ANY),
                  origin=np.where(amid, AMID, STAMPED), row=np.full(size, -1))


def _whole(stamp: Floats, source: Ints) -> NDArray[np.bool_]:
    """Which stamps are of a log whose count column shows whole seconds only."""
    broken = np.unique(source[stamp != np.round(stamp)])
    return ~np.isin(source, broken)
