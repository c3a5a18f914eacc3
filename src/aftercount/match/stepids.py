"""Which steps a text names by their ids: 'step 4.12 complete', '(4.12)', 'LOX-04 done'.

Question answered: see above. Convention: plan rows by position; numbers may be spoken ('step four point one two'). An id that is a plain number may be a reading ('4.9 A'): it counts only at
the start of a text that goes on in words and no unit, in brackets, or after 'step' and the like; a short one without a point ('12', 'B3') may name or count
a thing: a number counts only before a word of completion. It does not decide what the text says of the step.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from aftercount.speech.stepheads import step_numbers

MOST_TELLINGS = 3  # records of one label, beyond which it tells a state over and over
LEAST_TELLING = 3  # characters of an id with letters that can be nothing else
LONG_NUMBER = 3  # digits of a number that counts no things ('140 tanks at pressure')
_UNITS = (r"(?:psi[gad]?|bars?|m?bar|k?pa|volts?|v(?:dc|ac)?|amps?|deg(?:rees?)?|percent|pct|kn(?:ots?|ts?)?|kts?|met(?:er|re)s?|feet|ft|inch(?:es)?|k?gs?|kilos?|lbs?|pounds?|k?hz|kilo\w+|"
          r"ppm|rpm|hours?|hrs?|min(?:ute)?s?|sec(?:ond)?s?|z|utc|zulu|local|to go|and counting)\b")
_HEAD = r"^\W*(?:(?:at|@)\s?\d{1,2}:\d\d(?::\d\d)?z?[,:)]?\s+)?"  # 'at 18:14 3.02 cplt' is written down later
_COMPLETED = r"(?:cplt|cmplt|cmpl?|compl?|completed?|done|ok|okay|in work)"
_FINISHED = r"(?:cplt|cmplt|completed?|done)\b"
_ASKED_FOR = r"\b(?:perform|execute|proceed (?:with|to))\s+"
_AFTER = r"\b(?:step|item|seq|sequence|task|para)\s+#?"
_LABEL = re.compile(r"[^\W_]+")
_DIGIT = re.compile(r"\d")
_HEADING = re.compile(rf"[a-z]\d+|\d{{{LONG_NUMBER},}}")
_NOUGHT = re.compile(r"\d+-(?:\d+-)*0\d+")
_END = r"(?![\w:-]|\.\d)"
_LETTERS_AND_NUMBER = re.compile(r"([a-z]+)[-_. ]?(\d+)")


def named_steps(texts: Sequence[str], step_ids: Sequence[str]) -> dict[int, set[int]]:
    """For each text that names steps, their plan rows."""
    position: dict[str, list[int]] = {}
    for row, name in enumerate(step_ids):
        position.setdefault(name.lower(), []).append(row)
    aloud: dict[str, list[int]] = {}
    for name, rows in position.items():
        aloud.setdefault(_aloud(name), []).extend(rows)
    pattern = _pattern(sorted(position, key=lambda name: (-len(name), name)))
    named: dict[int, set[int]] = {}
    digits_only = all(_DIGIT.search(name) for name in position)
    for at, text in enumerate(texts):
        for number in step_numbers(text):
            named.setdefault(at, set()).update(position.get(number) or aloud.get(_aloud(number)) or ())
        if digits_only and not _DIGIT.search(text):
            continue
        for found in pattern.finditer(text.lower()):
            name = next(group for group in found.groups() if group)
            named.setdefault(at, set()).update(position[name])
    return {at: rows for at, rows in named.items() if rows}


def labelled(records: Sequence[str | None], wordings: Sequence[Sequence[str]]) -> dict[int, set[int]]:
    """For each machine's record (None: what people said) that says the very words that the plan gives one step alone, and does not go on saying them, that
    step's plan row: such a label is as good as an id."""
    rows: dict[str, set[int]] = {}
    for row, own in enumerate(wordings):
        for wording in own:
            rows.setdefault(_label(wording), set()).add(row)
    labels = [None if text is None else _label(text) for text in records]
    often = Counter(labels)
    return {at: rows[label] for at, label in enumerate(labels) if label and len(rows.get(label, ())) == 1 and often[label] <= MOST_TELLINGS}


def _label(text: str) -> str:
    return " ".join(_LABEL.findall(text.lower()))


def _aloud(name: str) -> str:
    """What is heard of an id of letters and a number: neither a dash between them nor a nought before it need be said."""
    found = _LETTERS_AND_NUMBER.fullmatch(name)
    return f"{found[1]}{found[2].lstrip('0')}" if found else name


def _telling(name: str) -> bool:
    """Whether an id can be nothing else: letters with digits, or numbers with a dash of which a later one begins with a nought ('3-014')."""
    lettered = len(name) >= LEAST_TELLING and bool(re.search(r"[a-z]", name) and _DIGIT.search(name))
    return lettered or bool(_NOUGHT.fullmatch(name))


def _pattern(ids: list[str]) -> re.Pattern[str]:
    every = "|".join(re.escape(name) for name in ids) or r"(?!)"
    telling = "|".join(re.escape(n) for n in ids if _telling(n)) or r"(?!)"
    numbered = "|".join(re.escape(n) for n in ids if re.search(r"\d[.-]\d", n)) or r"(?!)"
    heading = "|".join(re.escape(n) for n in ids if re.search(r"\d[.-]\d", n) or _HEADING.fullmatch(n)) or r"(?!)"
    plain = "|".join(re.escape(n) for n in ids if n.isdigit()) or r"(?!)"
    return re.compile(
        rf"{_AFTER}({every}){_END}|(?<![\w.:-])({telling}){_END}|{_HEAD}({heading})(?=[\s:)\]-]+(?!{_UNITS})(?:[a-z]{{3,}}|{_COMPLETED}\b))|{_HEAD}({plain})(?=[\s:)-]+{_COMPLETED}\W*$)|[(\[#]({numbered})[)\]]"
        rf"|{_ASKED_FOR}({numbered}){_END}(?! {_UNITS})|,\s*({numbered})(?= {_FINISHED})")
