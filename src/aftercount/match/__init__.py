"""Which utterance was which planned step, and how sure.

    language.py      word forms, abbreviations, like and opposite meanings, near-miss phrases: the trade's, not a plan's
    lexicon.py       one plan's vocabulary and what each word tells
    wordlikeness.py  words of the logs against words of the plan (spelling, sound, abbreviation, meaning)
    parting.py       words that were run together;  readings.py  what a text says besides the count
    likeness.py      texts against steps;  conflict.py  contradictions and near misses
    candidates.py    pairs worth scoring;  signs.py  time, station, kind
    logodds.py       a pair's own log-odds;  context.py  what other utterances add;  weights.py  fitted constants
    withdrawn.py     orders that came to nothing;  dialogue.py  bare answers ('copy', 'TC PROP complete');  stepids.py  steps named by their ids
    decide.py        a reviewer's decisions;  assign.py  the one assignment;  moments.py  one event on several logs
    engine.py        match(): all of it in order
    doubt.py         what speaks for and against a verdict;  calibrate.py  confidence, and which few to look at
    verdicts.py      the tables;  explain.py  the case in words
"""

from aftercount.match.engine import Matched, Worded, match, stems, worded

__all__ = ["Matched", "Worded", "match", "stems", "worded"]
