"""Codes that every action of a plan begins with ('HS-10 Charge hose A'): a column of its own, written into the words.

Question answered: what does each action say behind its code. Convention: a plan has codes where nearly all of its actions begin with one, nearly all of them different; then no number or
letter in them names a unit. It does not say which step a code names: `stepids` does, of the plan's ids.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

MOST, LEAST_ROWS = 0.8, 4  # share of the actions that begin with a code, and of the codes that are different; rows below which it may be chance
_CODE = re.compile(r"^\W*[A-Za-z]{1,4}[-_.]?\d{1,4}[a-z]?(?:[.-]\d{1,3})*[.:)]?\s+(?=\S)")


def without_codes(actions: Sequence[str]) -> list[str]:
    codes = [found[0].strip().lower() if (found := _CODE.match(action)) else "" for action in actions]
    coded = [code for code in codes if code]
    if len(actions) < LEAST_ROWS or len(coded) < MOST * len(actions) or len(set(coded)) < MOST * len(coded):
        return list(actions)
    return [_CODE.sub("", action) for action in actions]
