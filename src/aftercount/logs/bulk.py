"""The regular lines of a large notes file, many at a time.

Samples:    14:25:03Z PROP>TC tank press complete      [14:25:03] TC: go for step 4      2031-04-18 14:25 tank press complete
Conventions: only lines that the reader of single lines would read the same way are taken here; that reader itself judges an
example of each distinct head and each distinct date. Lines of any other form, and the regular ones beside them (which they
may continue, or date), are left to it. Positions are bytes of the UTF-8 text.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from aftercount.logs.entries import LONGEST_ENTRY, Bulk
from aftercount.logs.names import Head, fold
from aftercount.logs.shapes import ROOM, Shape, bytes_at, lines_of, sample_of, shapes
from aftercount.logs.walltime import US, Stamp

# Below this many lines reading one by one takes less time than a blink.
WORTH_FROM = 5_000
# Lines looked at together: few enough that the arrays over them stay in the processor's cache.
_BLOCK = 32_768
# Arrow's string offsets are 32 bits.
_LARGEST = (1 << 31) - 1
# The space after a line's first word is looked for in this many bytes; a longer word is read singly.
_FIRST_WORD = 24
# A colon this near after a head without one may end a longer addressee.
_NEAR = 80
# Signs that may belong to a head longer than one word, or to a second time: such a line is read singly.
_MORE_THAN_WORDS = r"[:<>|\t\[\](){}/\x{2192}\x{27a1}\x{bb}]| [-\x{2013}\x{2014}] |^to |^[Tt][^A-Za-z]"
# So many distinct dates, or first words, are no dates or names; judging each would take longer than reading the lines.
_MOST_JUDGED = 20_000
# Two clocks that each judged line is read with: what does not move with the clock is not its time.
_PROBES = (("10:25:03.000000", (10 * 3600 + 25 * 60 + 3) * US), ("11:26:04.000000", (11 * 3600 + 26 * 60 + 4) * US))


class Example(NamedTuple):
    """What the reader of single lines makes of one line."""

    raw_time: str
    stamp: Stamp
    words: str
    head: Head


Reader = Callable[[str], Example | None]


class Split(NamedTuple):
    bulk: Bulk
    rest: list[tuple[int, str]]
    names: Counter[str]  # folded names before a colon, as often as they occur in the bulk


class _Text(NamedTuple):
    """A file's bytes with room after them (`raw`: the same as numbers), and where its lines begin and end."""

    data: bytes
    raw: np.ndarray
    starts: np.ndarray
    ends: np.ndarray

    @classmethod
    def of(cls, text: str) -> _Text:
        data = (text + ROOM).encode("utf-8")
        raw = np.frombuffer(data, dtype=np.uint8)
        size = len(data) - len(ROOM)
        breaks = np.flatnonzero(raw[:size] == ord("\n")).astype(np.int32)
        edge = np.zeros(1, dtype=np.int32)
        return cls(data, raw, np.concatenate((edge, breaks + 1)), np.concatenate((breaks, edge + np.int32(size))))

    def slices(self, starts: np.ndarray, ends: np.ndarray) -> Any:
        """An Arrow string array of the bytes from each start to each end, in rising order of position."""
        import pyarrow as pa

        if not len(starts):
            return pa.array([], type=pa.string())
        edges = np.empty(2 * len(starts), dtype=np.int32)
        edges[0::2], edges[1::2] = starts, ends
        pieces = pa.StringArray.from_buffers(len(edges) - 1, pa.py_buffer(edges), pa.py_buffer(self.data))
        return pieces.take(pa.array(np.arange(0, len(edges), 2, dtype=np.int32)))


def split(text: str, read: Reader) -> Split | None:
    """Regular lines and the rest; None when reading in bulk is not worth it."""
    if len(text) > _LARGEST // 4:
        return None
    whole = _Text.of(text)
    unread = np.ones(len(whole.starts), dtype=bool)
    parts: list[Bulk] = []
    heads: list[_Heads] = []
    known = shapes(sample_of(whole.data, whole.starts, whole.ends))
    judge = cache(read)
    for first in range(0, len(unread), _BLOCK):
        for shape in known:
            part, found = _of_shape(shape, whole, first + np.flatnonzero(unread[first:first + _BLOCK]), judge)
            unread[part.line - 1] = False
            parts.append(part)
            heads.append(found)
    if not parts:
        return None
    filled = _filled(whole, unread)
    alone = _undisturbed(~unread[filled])
    if alone.sum() < WORTH_FROM:
        return None
    others = [(i + 1, whole.data[whole.starts[i]:whole.ends[i]].decode("utf-8")) for i in filled[~alone].tolist()]
    kept = np.zeros(len(unread), dtype=bool)
    kept[filled[alone]] = True
    chosen = [kept[p.line - 1] for p in parts]
    return Split(_joined([p.keep(c) for p, c in zip(parts, chosen, strict=True)]), others,
                 _names([_Heads(h.which[c], h.words) for h, c in zip(heads, chosen, strict=True)]))


def _filled(whole: _Text, unread: np.ndarray) -> np.ndarray:
    """The lines that are not blank."""
    blank = np.zeros(len(unread), dtype=bool)
    at = np.flatnonzero(unread)
    blank[at] = _blank(whole.slices(whole.starts[at], whole.ends[at]))
    return np.flatnonzero(~blank)


def _of_shape(shape: Shape, whole: _Text, among: np.ndarray, read: Reader) -> tuple[Bulk, _Heads]:
    """The regular lines of one shape among the given ones, and the heads they have."""
    found = lines_of(shape, whole.raw, whole.starts[among], whole.ends[among])
    at = among[found.at]
    start, end = whole.starts[at], whole.ends[at]
    word = start + shape.words_at
    space = word + (bytes_at(whole.raw, word, _FIRST_WORD) == ord(" ")).argmax(axis=1)
    dates = whole.slices(start, start + shape.ahead).dictionary_encode()
    firsts = whole.slices(word, space).dictionary_encode()
    judged = _judged(shape, dates.dictionary.to_pylist(), firsts.dictionary.to_pylist(), read)
    date_at, first_at = (x.indices.to_numpy(zero_copy_only=False) for x in (dates, firsts))
    fine = (space > word) & (space + 1 < end) & _chosen([d is not None for d in judged.dates], date_at)
    fine &= _chosen([h is not None for h in judged.heads], first_at)
    at, date_at, first_at, us = at[fine], date_at[fine], first_at[fine], found.us[fine]
    # A head of one word is followed by the words; without one, the words begin where it would stand.
    spoken = _chosen([h is not None and h.who is not None for h in judged.heads], first_at)
    text = whole.slices(np.where(spoken, space[fine] + 1, word[fine]), end[fine])
    part = _bulk(judged, (date_at, first_at), us, text)
    raw_time = whole.slices(start[fine] + judged.begins, start[fine] + judged.begins + judged.length)
    part = part._replace(line=at + 1, raw_time=raw_time)
    plain = _plain(text, spoken, _chosen([h.endswith(":") for h in judged.words], first_at))
    return part.keep(plain), _Heads(first_at[plain], judged.words)


class _Heads(NamedTuple):
    """Which of `words` stands first in each line."""

    which: np.ndarray
    words: list[str]


class _Date(NamedTuple):
    kind: str
    base_us: int  # to add to the time of day


class _Judged(NamedTuple):
    """What the reader of single lines says of each distinct date and first word; None: leave such lines to it."""

    dates: list[_Date | None]
    heads: list[Head | None]
    words: list[str]
    resolution_s: float = 1.0
    begins: int = 0  # where in the line the written time begins, and its length
    length: int = 0


def _judged(shape: Shape, dates: list[str], words: list[str], read: Reader) -> _Judged:
    nothing = _Judged([None] * len(dates), [None] * len(words), words)
    if len(dates) > _MOST_JUDGED or len(words) > _MOST_JUDGED:
        return nothing
    behind = shape.behind.decode()
    clocks = [(clock[:len(shape.clock)], us if len(shape.clock) > 5 else us // (60 * US) * 60 * US) for clock, us in _PROBES]
    lines = [[f"{date}{clock}{behind}" for clock, _ in clocks] for date in dates]
    known = next((w for w in words[:_MOST_JUDGED] if lines and _head(read(f"{lines[0][0]}{w} x"), w)), None)
    if known is None:
        return nothing
    heads = [_head(read(f"{lines[0][0]}{w} x"), w) for w in words]
    examples = [[read(f"{line}{known} x") for line in pair] for pair in lines]
    first = examples[0][0]
    if first is None:
        return nothing
    begins, length = lines[0][0].find(first.raw_time), len(first.raw_time)
    found: list[_Date | None] = []
    for pair, said in zip(lines, examples, strict=True):
        told = [e if e is not None and _head(e, known) and line[begins:begins + length] == e.raw_time else None
                for line, e in zip(pair, said, strict=True)]
        bases = {(e.stamp.kind, e.stamp.us - us, e.stamp.resolution_s) if e else None for e, (_, us) in zip(told, clocks, strict=True)}
        one = bases.pop()
        found.append(_Date(one[0], one[1]) if one and not bases and one[2] == first.stamp.resolution_s else None)
    return _Judged(found, heads, words, first.stamp.resolution_s, begins, length)


def _head(example: Example | None, word: str) -> Head | None:
    """The head of a judged line '... word x', if that word is all of it or no head at all."""
    if example is None or example.words != f"{word} x" or example.head.net is not None:
        return None
    head = example.head
    return head if (head.who is None and head.end == 0) or head.end == len(word) + 1 else None


def _chosen(good: list[bool], which: np.ndarray) -> np.ndarray:
    return np.array(good or [False])[which]


def _plain(text: Any, spoken: np.ndarray, colon: np.ndarray) -> np.ndarray:
    """Text of sane length with nothing in it that might be more of a head, or a second time."""
    import pyarrow as pa
    import pyarrow.compute as pc

    near = pc.find_substring(text, ":").to_numpy(zero_copy_only=False)
    fine: np.ndarray = (pc.binary_length(text).to_numpy(zero_copy_only=False) < LONGEST_ENTRY - 100) & (colon | (near < 0) | (near > _NEAR))
    nobody = np.flatnonzero(fine & ~spoken)
    more = pc.match_substring_regex(text.take(pa.array(nobody)), _MORE_THAN_WORDS)
    fine[nobody] = ~more.to_numpy(zero_copy_only=False)
    return fine


def _bulk(judged: _Judged, which: tuple[np.ndarray, np.ndarray], us: np.ndarray, text: Any) -> Bulk:
    import pyarrow as pa
    import pyarrow.compute as pc

    date_at, first_at = which
    kinds = sorted({d.kind for d in judged.dates if d})
    code = np.array([kinds.index(d.kind) if d else 0 for d in judged.dates] or [0], dtype=np.int8)
    base = np.array([d.base_us if d else 0 for d in judged.dates] or [0], dtype=np.int64)
    who, to = (pa.array([getattr(h, name) if h else None for h in judged.heads], type=pa.string()).take(pa.array(first_at)) for name in ("who", "to"))
    return Bulk(line=np.zeros(0, dtype=np.int64), raw_time=None, kind=kinds, which=code[date_at], us=us + base[date_at],
                resolution_s=np.full(len(us), judged.resolution_s), station=who, to=to, text=pc.utf8_trim_whitespace(text))


def _joined(parts: list[Bulk]) -> Bulk:
    """All parts as one, in file order."""
    import pyarrow as pa

    kinds = sorted({k for p in parts for k in p.kind})
    recoded = [np.array([kinds.index(k) for k in p.kind] or [0], dtype=np.int8)[p.which] for p in parts]
    arrays = {name: np.concatenate([getattr(p, name) for p in parts]) for name in ("line", "us", "resolution_s")}
    strings = {name: pa.concat_arrays([getattr(p, name) for p in parts]) for name in ("raw_time", "station", "to", "text")}
    together = Bulk(kind=kinds, which=np.concatenate(recoded), **arrays, **strings)
    in_order = bool((np.diff(arrays["line"]) > 0).all())
    return together if in_order else together.take(np.argsort(arrays["line"], kind="stable"))


def _blank(column: Any) -> np.ndarray:
    import pyarrow.compute as pc

    empty: np.ndarray = pc.equal(pc.binary_length(pc.utf8_trim_whitespace(column)), 0).to_numpy(zero_copy_only=False)
    return empty


def _undisturbed(regular: np.ndarray) -> np.ndarray:
    """Regular lines with regular neighbours."""
    before = np.concatenate(([True], regular[:-1]))
    after = np.concatenate((regular[1:], [True]))
    return regular & before & after


def _names(heads: list[_Heads]) -> Counter[str]:
    """How often each name stands before a colon."""
    seen: Counter[str] = Counter()
    for found in heads:
        times = np.bincount(found.which, minlength=len(found.words))
        for word, count in zip(found.words, times.tolist(), strict=True):
            if word.endswith(":") and ">" not in word and count:
                seen[fold(word[:-1])] += count
    return seen
