"""What a speech recogniser makes of words: our own confusions. rate: share of words that come out wrong."""

from __future__ import annotations

import random

_NEAR = {
    "minus": ["minor", "mine as", "menace"],
    "valve": ["value", "valves", "of"],
    "closed": ["close", "clothes"],
    "open": ["opened", "hoping"],
    "copy": ["coffee", "copied"],
    "go": ["though", "goal"],
    "hold": ["old", "whole"],
    "two": ["to", "too"],
    "four": ["for", "fore"],
    "one": ["won", "on"],
    "eight": ["ate"],
    "for": ["four"],
    "to": ["two"],
    "is": ["his", "as"],
    "armed": ["arms", "arm"],
    "clear": ["clearer", "here"],
    "fuel": ["few", "full"],
    "vent": ["went", "event"],
    "tank": ["thank", "tanks"],
    "range": ["arrange", "rain"],
    "counting": ["county", "counted"],
    "rail": ["rails", "real"],
    "check": ["czech", "checked"],
    "battery": ["batteries", "buttery"],
    "power": ["tower", "powder"],
    "gyro": ["euro", "gyros"],
    "igniter": ["igniting", "night her"],
    "chill": ["chili", "hill"],
    "purge": ["urge", "perch"],
    "ox": ["ox", "off", "oaks"],
    "started": ["start", "starter"],
    "string": ["strength", "spring"],
    "bay": ["day", "pay"],
    "on": ["in", "own"],
    "off": ["of"],
    "seconds": ["second"],
    "minutes": ["minute", "minutes"],
    "alpha": ["alfalfa"],
    "bravo": ["brave"],
    "wind": ["when", "win"],
    "winds": ["wins"],
    "balloon": ["the loon", "baboon"],
    "report": ["reported", "port"],
    "liftoff": ["lift of", "left off"],
    "flow": ["floor", "slow"],
    "tea": ["t"],
    "T": ["tea", "the"],
    "zero": ["hero", "euro"],
    "mark": ["park", "mac"],
    "five": ["fife", "hive"],
    "nine": ["mine", "line"],
    "six": ["sticks"],
    "three": ["tree", "free"],
    "ten": ["then", "tan"],
    "this": ["the"],
    "roger": ["rodger"],
}
_FILL = ["uh", "um", "and", "the", "okay", "so", "a", "you know", "there"]


def garble(words: str, rate: float, rng: random.Random) -> str:
    if rate <= 0:
        return words
    out: list[str] = []
    glue = False
    for word in words.split():
        said = word if rng.random() >= rate else _wrong(word, rng)
        if glue and out and said:
            out[-1] = out[-1].rstrip(",.") + said.lower()
        elif said:
            out.append(said)
        glue = bool(said) and rng.random() < rate * 0.1
        if rng.random() < rate * 0.12:
            out.append(rng.choice(_FILL))
    return " ".join(out)


def _wrong(word: str, rng: random.Random) -> str:
    bare = word.strip(",.?!").lower()
    if rng.random() < 0.3:
        return ""
    near = _NEAR.get(bare) or _NEAR.get(word)
    if near and rng.random() < 0.8:
        return rng.choice(near)
    if len(bare) < 4:
        return rng.choice(_FILL)
    kind, k = rng.randrange(4), rng.randrange(1, len(bare) - 1)
    if kind == 0:
        return bare[:k] + bare[k + 1 :]
    if kind == 1:
        swap = rng.choice("aeiou") if bare[k] in "aeiou" else rng.choice("bdgklmnprstv")
        return bare[:k] + swap + bare[k + 1 :]
    if kind == 2:
        return bare[: len(bare) // 2 + 1]
    return bare[:k] + " " + bare[k:]
