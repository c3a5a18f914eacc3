"""The regular lines of a large notes file, many at a time.

Sample:    14:25:03Z PROP>TC tank press complete        14:25:03 TC: go for step 4
Conventions: only lines that the reader of single lines would read the same way are taken here; that reader itself judges each
distinct head, once. Lines of any other form, and the regular ones beside them (which they may continue, or date), are left
to it. Expressions run in Arrow's engine, which is linear in the line.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from aftercount.logs.entries import LONGEST_ENTRY, Bulk
from aftercount.logs.names import Head, fold
from aftercount.logs.walltime import US

# Below this many lines reading one by one takes less time than a blink.
WORTH_FROM = 5_000
_REGULAR = (
    r"^(?P<time>(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]Z?) (?P<head>[A-Z][A-Z0-9]*(?:>[A-Z][A-Z0-9]*)?:?) "
    r"(?P<text>[A-Za-z].*)$"
)
# A colon this near after a head without one may end a longer addressee.
_NEAR = 80
Judge = Callable[[str], Head | None]


class Split(NamedTuple):
    bulk: Bulk
    rest: list[tuple[int, str]]
    names: Counter[str]  # folded names before a colon, as often as they occur in the bulk


def split(text: str, bare: str, judge: Judge) -> Split | None:
    """Regular lines and the rest; None when reading in bulk is not worth it."""
    import pyarrow as pa
    import pyarrow.compute as pc

    column = pc.split_pattern(pa.array([text]), "\n").values
    found = pc.extract_regex(column, _REGULAR)
    heads = found.field("head").dictionary_encode()
    judged = [judge(h) for h in heads.dictionary.to_pylist()]
    taken = _taken(found, heads, judged)
    unread = np.flatnonzero(~taken)
    blank = np.zeros(len(taken), dtype=bool)
    blank[unread] = _blank(column.take(pa.array(unread)))
    filled = np.flatnonzero(~blank)
    alone = _undisturbed(taken[filled])
    if alone.sum() < WORTH_FROM:
        return None
    kept = filled[alone]
    rest = filled[~alone]
    others = list(zip((rest + 1).tolist(), column.take(pa.array(rest)).to_pylist(), strict=True))
    if len(kept) < len(taken):
        found, heads = found.take(pa.array(kept)), heads.take(pa.array(kept))
    return Split(_bulk(found, heads, judged, kept, bare), others, _names(heads, judged))


def _taken(found: Any, heads: Any, judged: list[Head | None]) -> np.ndarray:
    """Which lines are regular: matched, head understood, of sane length, no colon that might belong to the head."""
    import pyarrow.compute as pc

    good = np.array([j is not None for j in judged] + [False])
    colon = np.array([h.endswith(":") for h in heads.dictionary.to_pylist()] + [False])
    index = pc.fill_null(heads.indices, len(judged)).to_numpy(zero_copy_only=False)
    text = found.field("text")
    near = pc.fill_null(pc.find_substring(text, ":"), -1).to_numpy(zero_copy_only=False)
    length = pc.fill_null(pc.binary_length(text), 0).to_numpy(zero_copy_only=False)
    taken: np.ndarray = good[index] & (colon[index] | (near < 0) | (near > _NEAR)) & (length < LONGEST_ENTRY - 50)
    return taken


def _blank(column: Any) -> np.ndarray:
    import pyarrow.compute as pc

    empty: np.ndarray = pc.equal(pc.binary_length(pc.utf8_trim_whitespace(column)), 0).to_numpy(zero_copy_only=False)
    return empty


def _undisturbed(regular: np.ndarray) -> np.ndarray:
    """Regular lines with regular neighbours."""
    before = np.concatenate(([True], regular[:-1]))
    after = np.concatenate((regular[1:], [True]))
    return regular & before & after


def _bulk(found: Any, heads: Any, judged: list[Head | None], at: np.ndarray, bare: str) -> Bulk:
    import pyarrow as pa
    import pyarrow.compute as pc

    time = found.field("time")
    digits = pc.binary_join(pa.ListArray.from_arrays([0, len(at)], pc.utf8_slice_codeunits(time, 0, 8)), "")[0].as_buffer()
    clock = np.frombuffer(digits, dtype=np.uint8).reshape(-1, 8)
    hour, minute, second = ((clock[:, i] - 48) * np.int64(10) + (clock[:, i + 1] - 48) for i in (0, 3, 6))
    zulu = pc.equal(pc.binary_length(time), 9).to_numpy(zero_copy_only=False)
    index = heads.indices
    who = pa.array([j.who if j else None for j in judged], type=pa.string())
    to = pa.array([j.to if j else None for j in judged], type=pa.string())
    return Bulk(line=at.astype(np.int64) + 1, raw_time=time, kind=[f"day_{bare}", "day_utc"], which=zulu.astype(np.int8),
                day_us=(hour * 3600 + minute * 60 + second) * US, station=who.take(index), to=to.take(index), text=pc.utf8_rtrim_whitespace(found.field("text")))


def _names(heads: Any, judged: list[Head | None]) -> Counter[str]:
    """How often each name stands before a colon."""
    words = heads.dictionary.to_pylist()
    times = np.bincount(heads.indices.to_numpy(zero_copy_only=False), minlength=len(words))
    seen: Counter[str] = Counter()
    for word, count in zip(words, times.tolist(), strict=True):
        if word.endswith(":") and ">" not in word and count:
            seen[fold(word[:-1])] += count
    return seen
