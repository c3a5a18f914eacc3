"""How long the tests of this folder go on: ARMOUR=full in the environment asks for hundreds of kills and files of their real size."""

from __future__ import annotations

import os

FULL = os.environ.get("ARMOUR") == "full"


def times(usual: int, full: int) -> int:
    return full if FULL else usual
