"""Which format is this file in?

Conventions: what the content shows outranks the name; the name decides where content does not. Anything else that is
text is notes.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from aftercount.count.logfiles import FORMAT_OF_SUFFIX, suffix_of
from aftercount.logs.columns import plain, roles
from aftercount.logs.delimited import delimiter_of
from aftercount.logs.entries import Context
from aftercount.logs.walltime import Stamp, read_stamp

_SAMPLE_LINES = 60
_MOST = 0.6
_SRT_TIMING = re.compile(r"\s*\d{1,4}:\d{1,2}:\d{1,2}(?:[,.]\d{1,9})?\s*--?>\s*\d", re.ASCII)
_SYSLOG_NEW = re.compile(r"(?:\d{1,6} )?<\d{1,3}>", re.ASCII)
_SYSLOG_OLD = re.compile(r"[A-Z][a-z]{2} [ \d]\d \d\d:\d\d:\d\d \S+ \S+?(?:\[\w+\])?: ")
_SYSLOG_ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:?\d\d) [\w.-]+ [\w./-]+\[\d+\]: ")


def sniff(name: str, text: str, context: Context) -> str:
    """notes | csv | jsonl | webvtt | srt | syslog; for Parquet see `is_parquet`."""
    sample = [x for x in text[:200_000].split("\n") if x.strip()][:_SAMPLE_LINES]
    if not sample:
        return FORMAT_OF_SUFFIX.get(suffix_of(name)) or "notes"
    if sample[0].lstrip("\ufeff").startswith("WEBVTT"):
        return "webvtt"
    if any(_SRT_TIMING.match(x) for x in sample[:6]):
        return "srt" if suffix_of(name) != ".vtt" else "webvtt"
    if _most(sample, _is_syslog):
        return "syslog"
    if _most(sample, lambda x: x.lstrip()[:1] == "{") or re.match(r"\s*\[\s*\{", text[:2000]):
        return "jsonl"
    by_name = FORMAT_OF_SUFFIX.get(suffix_of(name), "")
    if by_name:
        return "notes" if by_name == "parquet" else by_name
    return "csv" if _is_table(sample, context) else "notes"


def is_parquet(data: bytes) -> bool:
    return data[:4] == b"PAR1"


def _most(sample: list[str], test: Callable[[str], bool]) -> bool:
    return sum(1 for x in sample if test(x)) > _MOST * len(sample)


def _is_syslog(line: str) -> bool:
    return bool(_SYSLOG_NEW.match(line) or _SYSLOG_OLD.match(line) or _SYSLOG_ISO.match(line))


def _is_table(sample: list[str], context: Context) -> bool:
    """A header with names that we know, or rows cut evenly whose first cell is a time and nothing else."""
    delimiter = delimiter_of(sample)
    if delimiter is None or len(sample) < 2:
        return False
    cells = [[c.strip().strip('"') for c in x.split(delimiter)] for x in sample]
    width = len(cells[0])
    even = sum(1 for c in cells if len(c) >= width) > _MOST * len(cells)
    if width < 2 or not even:
        return False
    found = roles(cells[0], cells[1:], {}, context.frame).at
    named = sum(1 for h in cells[0] if plain(h)) == width and not isinstance(read_stamp(cells[0][0], context.frame), Stamp)
    if named and "text" in found and ("time" in found or "count" in found):
        return True
    leading = sum(1 for c in cells if isinstance(read_stamp(c[0], context.frame), Stamp))
    return delimiter in ",;|" and width >= 3 and leading > _MOST * len(cells)
