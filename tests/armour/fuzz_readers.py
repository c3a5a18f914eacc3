"""Coverage-guided fuzzing of one reader. Run: python tests/armour/fuzz_readers.py notes -max_total_time=600 CORPUS_FOLDER

The format is one of those of `logs.reading.READERS`; what follows goes to libFuzzer. Needs atheris. A crash is written to the working
folder; turn it into a line of `test_found_by_fuzzing.py`.
"""

from __future__ import annotations

import sys
import zlib
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
with atheris.instrument_imports(include=["aftercount.logs", "aftercount.counttime"]):
    from armour.conservation import TIMES, try_reader
from aftercount.logs.files import clean

PLACED = 16  # one in so many goes on to the table of records
ZONES = ("UTC", "America/New_York", "Pacific/Apia")


def main() -> None:
    form, argv = sys.argv[1], [sys.argv[0], *sys.argv[2:]]

    def one(data: bytes) -> None:
        if data:
            text = clean(data[1:].decode(errors="replace"))
            try_reader(form, text, TIMES[data[0] % len(TIMES)], ZONES[data[0] // 16 % len(ZONES)], placed=zlib.crc32(data) % PLACED == 0)

    atheris.Setup(argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
