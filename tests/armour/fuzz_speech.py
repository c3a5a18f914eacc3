"""Coverage-guided fuzzing of the grammar of the spoken count. Run: python tests/armour/fuzz_speech.py -max_total_time=600 CORPUS_FOLDER

Words are drawn from the trade's own by their number, so that the fuzzer soon speaks of the count; other bytes are letters. Needs atheris.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
with atheris.instrument_imports(include=["aftercount.speech", "aftercount.counttime"]):
    from armour.grammar import MEDIA, say, understand
    from armour.words import WORDS


def one(data: bytes) -> None:
    source = atheris.FuzzedDataProvider(data)
    medium = MEDIA[source.ConsumeIntInRange(0, 2)]
    pieces = []
    while source.remaining_bytes() and len(pieces) < 40:
        drawn = source.ConsumeIntInRange(0, 255)
        pieces.append(WORDS[drawn] if drawn < len(WORDS) else source.ConsumeUnicodeNoSurrogates(3))
    text = " ".join(pieces)[:400].replace("\n", " ").replace("\0", " ")
    say(text, medium)
    if text.strip():
        understand([part for part in text.split("|") if part.strip()] or [text], medium)


if __name__ == "__main__":
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
