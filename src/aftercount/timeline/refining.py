"""The time base once more, with the moments that several logs have.

Entries of two logs that are the same part of the same step are of one moment: an order as it is spoken and as a keeper notes it. A machine's record
of a step is not: the deed comes some seconds after the order and before the report, which is how a machine that tells no count is set. The logs' clocks are set again with these moments
beside the count marks, and the count clock is rebuilt on them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from aftercount.timeline.bracketing import ENOUGH_RANGES, Shift, ranges, shift
from aftercount.timeline.evidence import joined
from aftercount.timeline.model import STEP, Floats
from aftercount.timeline.rebuild import Refit, assemble
from aftercount.timeline.remarks import remarks
from aftercount.timeline.result import Timeline
from aftercount.timeline.sourcetime import SourceTime
from aftercount.timeline.stepped import steps_heard
from aftercount.timeline.timebase import ENOUGH_MARKS, Base, Shared, is_the_clock, settle_again

if TYPE_CHECKING:
    from aftercount.count import CountFolder
    from aftercount.plan import Plan
    from aftercount.speech import Speech

SURE = 0.9  # score of a match from which it tells the time
SAME_WORDS = 0.9  # likeness of words from which they are the step's whatever the time
ENOUGH_SHARED = 3  # fewer say less than the marks already did
MOVED_SIGMAS = 1.0  # a log that moves by no more than this was where its sigma said


@dataclass(frozen=True)
class Found:
    """What was found of the steps by the clock as it was: MATCHES with utterance ids, and DUE."""

    matches: pd.DataFrame
    due: pd.DataFrame


def anchors(matches: pd.DataFrame, utterances: pd.DataFrame) -> pd.DataFrame:
    """Which entries are of one moment: `utterance`, `moment`. matches: MATCHES with utterance ids.

    Of a log in which no entry was taken for a step, one whose words are the step's counts too: its clock may be what kept it from being
    taken. A part that one log tells twice is left out.
    """
    taken = (matches["rank"] == 1) & (matches["score"] >= SURE)
    told = matches.assign(taken=taken)[taken | ((matches["rank"] > 1) & (matches["text_score"] >= SAME_WORDS))]
    by = utterances.set_index("utterance").loc[told["event"].tolist(), ["source", "medium"]]
    told = told.assign(source=by["source"].to_numpy(), record=by["medium"].to_numpy() == "machine")
    told = told[told["taken"] | ~told.groupby(["step", "pass", "source"])["taken"].transform("any")]
    moment = [f"{step}/{number}/{'record' if record else part}" for step, number, part, record in
              zip(told["step"], told["pass"], told["part"], told["record"], strict=True)]
    frame = pd.DataFrame({"utterance": told["event"].to_numpy(dtype=np.int64), "moment": moment, "source": told["source"].to_numpy()})
    once = frame[~frame.duplicated(["moment", "source"], keep=False)]
    return once.loc[once.duplicated("moment", keep=False), ["utterance", "moment"]].reset_index(drop=True)


def refine(timeline: Timeline, found: Found, speech: Speech, count: CountFolder, plan: Plan) -> Timeline:
    """The timeline with the logs' clocks set again, and the count clock told by the steps heard as well, where no machine tells it.

    A log that shares fewer than ENOUGH_SHARED moments with others keeps its time; where nothing is shared and no step tells of the count the
    timeline is returned as it is.
    """
    base = timeline.base
    if base is None or base.reference is None:
        return timeline
    base = beside_the_talk(base, found.matches)
    moments = anchors(found.matches, speech.utterances)
    moments = pd.concat([moments, remarks(speech.utterances, timeline.utc_us, moments["utterance"].to_numpy(dtype=np.int64))], ignore_index=True)
    shared = {s: pairs for s, pairs in _pairs(moments, base.said.source, base.said.own).items() if len(pairs) >= ENOUGH_SHARED and s != base.reference}
    steps = None if is_the_clock(base) else steps_heard(found.matches, found.due, base.said)
    if steps is not None and len(steps):
        evidence = joined([base.evidence.take(base.evidence.kind != STEP), steps])
        base = replace(base, evidence=evidence, refit=Refit(evidence, base.said, speech.calls, plan), fits={})
    elif not shared and base is timeline.base:
        return timeline
    return assemble(speech, count, plan, settle_again(base, shared) if shared else base)


def beside_the_talk(base: Base, matches: pd.DataFrame) -> Base:
    """The same with each machine's log that tells no count set by the deeds that it records. The reference keeps UTC: all others move beside it."""
    times = list(base.times)
    for s, medium in enumerate(base.said.medium):
        if medium != "machine" or base.marks(s) >= ENOUGH_MARKS or not times[s].known or len(times[s].offsets) > 1:
            continue
        by = shift(_deeds(matches, base, times, s))
        if s == base.reference:
            times = [_shifted(t, by) if t.known and k != s else t for k, t in enumerate(times)]
            times[s] = replace(times[s], sigmas=(by.sigma,))
        else:
            times[s] = replace(times[s], offsets=(times[s].offsets[0] + by.mean,), sigmas=(by.sigma,))
    return base if times == base.times else replace(base, times=times, fits={})


def _deeds(matches: pd.DataFrame, base: Base, times: list[SourceTime], s: int) -> Floats:
    """The shifts that log s's records allow: those taken for steps, or, if these are few, those whose words are a step's, for its clock may be what kept them from being taken."""
    taken = (matches["rank"] == 1) & (matches["score"] >= SURE)
    found = ranges(matches[taken], base.said, times, s)
    if len(found) >= ENOUGH_RANGES:
        return found
    ours = base.said.source[matches["event"].to_numpy(dtype=np.int64)] == s
    worded = matches[ours & (matches["text_score"] >= SAME_WORDS)].drop_duplicates(["step", "pass"])
    return ranges(pd.concat([matches[taken & ~ours], worded]), base.said, times, s)


def _shifted(time: SourceTime, by: Shift) -> SourceTime:
    """A log moved beside the reference; one that nothing else had set is then as sure as the move."""
    sigmas = time.sigmas if time.shared else tuple(min(sigma, by.sigma) for sigma in time.sigmas)
    return replace(time, offsets=tuple(o - by.mean for o in time.offsets), sigmas=sigmas)


def moved(before: Timeline, after: Timeline) -> bool:
    """Whether any entry is now placed where it was not, or elsewhere by more than it was said to be sure of."""
    if not before.utc_us.isna().equals(after.utc_us.isna()):
        return True
    apart = (after.utc_us - before.utc_us).abs().to_numpy(dtype=float, na_value=0.0) / 1e6
    return bool((apart > MOVED_SIGMAS * np.nan_to_num(before.utc_sigma_s)).any())


def _pairs(anchors: pd.DataFrame, source: np.ndarray, own: np.ndarray) -> Shared:
    out: Shared = {}
    for _, group in anchors.groupby("moment", sort=True):
        entries = [int(u) for u in group["utterance"].tolist() if np.isfinite(own[int(u)])]
        for mine in entries:
            pairs = [(mine, k) for k in entries if source[k] != source[mine]]
            if pairs:
                out.setdefault(int(source[mine]), []).extend(pairs)
    return out
