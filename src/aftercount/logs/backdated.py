"""When did it happen, where an entry is written down later and says so: '14:41:10 PROP: at 14:38 tank pressurized', 'tank pressurized @ 14:38'?

Conventions: the time told, first or last of the words, is of the same clock as the entry's stamp, and before it by no more than `LATEST_US`; a time to come
('at 14:50 we resume') or one of long ago is left among the words. The words are kept whole. Files read in bulk are machines', and have none.
"""

from __future__ import annotations

import re

from aftercount.logs.walltime import DAY_US, US, Frame, Stamp, read_stamp

LATEST_US = 3600 * US  # people catch up within the hour; what is told of earlier is history
_TIME = r"(?:at|@)\s?(?P<time>\d{1,2}:\d\d(?::\d\d)?|[012]\d[0-5]\d(?!\w*,?\s+(?:\d|psi|bar|volts?|degrees|rpm|hours?)))(?P<zone>Z?)"
_FIRST = re.compile(rf"\A[(\[]?{_TIME}(?![\d:.])[)\]]?[,:]?\s+(?!(?:until|to)\b)(?=\w)", re.IGNORECASE | re.ASCII)
_LAST = re.compile(rf"\s[(\[]?{_TIME}[)\]]?\.?\Z", re.IGNORECASE | re.ASCII)


def happened(stamp: Stamp | None, words: str, frame: Frame) -> Stamp | None:
    """The stamp, or that of the earlier time which the words begin or end with."""
    if stamp is None or stamp.kind in ("count", "elapsed") or not (found := _FIRST.match(words) or _LAST.search(words)):
        return stamp
    if ":" not in found["time"] and found.re is _LAST:
        return stamp  # 'bottle at 1450'
    told = read_stamp(found["time"] + found["zone"].upper(), frame)
    if not isinstance(told, Stamp) or not told.kind.startswith("day_") or (found["zone"] and not stamp.kind.endswith("utc")):
        return stamp
    back = (stamp.us - told.us) % DAY_US
    return stamp._replace(us=stamp.us - back, resolution_s=told.resolution_s) if told.resolution_s * US <= back <= LATEST_US else stamp
