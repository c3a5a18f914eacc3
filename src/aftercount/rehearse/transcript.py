"""What a transcriber or a speech recogniser makes of one net: WebVTT or SRT cues in elapsed time.

Conventions: cue times are elapsed since the recording began, on the recorder's clock; a cue holds one to three utterances that
follow each other closely. Lines: a cue starts at its identifier (SRT) or timing line. It does not decide what was said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from random import Random

from aftercount.rehearse.clockwork import SECOND
from aftercount.rehearse.lexicon import Lexicon
from aftercount.rehearse.loop import Said
from aftercount.rehearse.noise import NUMBER_WORDS, Recogniser
from aftercount.rehearse.paper import Carried, Clock, Paper
from aftercount.rehearse.scenario import Scenario, multiply, parse
from aftercount.rehearse.speaking import in_words

JOIN_GAP_S = 1.2      # utterances closer than this may share a cue
MAX_IN_CUE = 3
CUE_JITTER_S = 0.15   # how well a cue's start follows the voice


@dataclass(frozen=True)
class Style:
    numbers: str      # words | digits
    lower: bool       # no capitals, no punctuation
    signs: str        # code | spoken | spelled: how call signs come out
    named: str        # how a cue names who speaks: code | spoken | "" (it does not)
    merge: float      # chance that close utterances share a cue
    skip: float = 0.01


def draw_style(word_error: float, named: bool | None, rng: Random) -> Style:
    person = word_error < 0.02
    return Style("digits" if rng.random() < (0.6 if person else 0.25) else "words", not person and rng.random() < 0.7,
                 rng.choice(("code", "code", "spoken") if person else ("code", "spoken", "spelled")),
                 _names(rng.random() < 0.5 if named is None else named, rng), rng.choice((0.2, 0.5, 0.8)))


def _vocabulary(scenario: Scenario) -> list[str]:
    """The words of this trade: a recogniser that was tuned for it mishears one for another."""
    texts = [multiply(line.action)[0] for line in parse(scenario.procedure)[1]] + list(scenario.chatter)
    return sorted({w.strip(".,~") for text in texts for w in text.lower().split()} - NUMBER_WORDS)


def _names(named: bool, rng: Random) -> str:
    return "" if not named else rng.choices(("code", "spoken"), (0.7, 0.3))[0]


class Transcriber:
    def __init__(self, scenario: Scenario, style: Style, recogniser: Recogniser) -> None:
        self.scenario, self.style, self.recogniser = scenario, style, recogniser
        self._signs = {c: self._sign(c) for c in scenario.stations}
        self._pattern = re.compile(r"\b(" + "|".join(sorted(map(re.escape, scenario.stations), key=len, reverse=True)) + r")\b")

    def _sign(self, code: str) -> str:
        forms = self.scenario.stations[code]
        if self.style.signs == "spoken" and forms:
            return forms[0]
        if self.style.signs == "spelled" and len(code) <= 3:
            return " ".join(code)
        return code

    def name(self, code: str) -> str:
        """The speaker as the cue names them."""
        forms = self.scenario.stations[code]
        return forms[0].title() if self.style.named == "spoken" and forms else code

    def clean(self, text: str) -> str:
        text = self._pattern.sub(lambda m: self._signs[m[1]], text)
        if self.style.numbers == "words":
            text = in_words(text)
        if self.style.lower:
            text = re.sub(r"[.,?!]", "", text).lower()
        else:
            text = text[0].upper() + text[1:] + ("" if text[-1] in ".?!" else ".")
        return text

    def heard(self, said: Said) -> tuple[str, str, bool]:
        clean = self.clean(said.text)
        heard, right = self.recogniser.hear(clean)
        return clean, heard, right


def _cues(said: list[Said], style: Style, rng: Random) -> list[list[Said]]:
    cues: list[list[Said]] = []
    for s in said:
        if s.kind in ("note", "mark") and s.step is None and rng.random() < style.skip:
            continue
        if cues:
            last = cues[-1][-1]
            gap = (s.utc - last.utc) / SECOND - last.seconds
            if gap < JOIN_GAP_S and len(cues[-1]) < MAX_IN_CUE and rng.random() < style.merge:
                cues[-1].append(s)
                continue
        cues.append([s])
    return cues


def write(form: str, scenario: Scenario, said: list[Said], clock: Clock, zero_us: int, word_error: float, named: bool | None,
          path: str, rng: Random) -> Paper:
    style = draw_style(word_error, named, rng)
    transcriber = Transcriber(scenario, style, Recogniser(word_error, rng, Lexicon(_vocabulary(scenario))))
    lines: list[str] = ["WEBVTT", ""] if form == "webvtt" else []
    carried: list[Carried] = []
    last_start = 0
    for number, cue in enumerate(_cues(said, style, rng), 1):
        start = max(last_start, clock.stamp(cue[0].utc) - zero_us + round(rng.gauss(0, CUE_JITTER_S) * SECOND))
        last_start = start
        end = max(start + SECOND // 2, clock.stamp(cue[-1].utc) - zero_us + round(cue[-1].seconds * SECOND))
        first = len(lines) + 1
        if form == "srt":
            lines.append(str(number))
        lines.append(f"{_time(start, form)} --> {_time(end, form)}")
        facts = []
        texts: list[tuple[str, str]] = []
        for s in cue:
            clean, heard, right = transcriber.heard(s)
            texts.append((transcriber.name(s.by), heard))
            facts.append((s, clean, right))
        lines += _payload(texts, style, form)
        carried += [Carried(first, len(lines), s, clean, right) for s, clean, right in facts]
        lines.append("")
    return Paper(path, "transcript", form, ("\n".join(lines) + "\n").encode(), carried, clock, time="elapsed", zero_us=zero_us)


def _payload(texts: list[tuple[str, str]], style: Style, form: str) -> list[str]:
    shown = [(by, text) for by, text in texts if text]
    if not shown:
        return ["..."]
    if not style.named:
        return [" ".join(text for _, text in shown)]
    if form == "webvtt":
        return [f"<v {by}>{text}" for by, text in shown]
    return [f"{by}: {text}" for by, text in shown]


def _time(us: int, form: str) -> str:
    ms = max(us, 0) // 1000
    text = f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}"
    return f"{text}{'.' if form == 'webvtt' else ','}{ms % 1000:03d}"
