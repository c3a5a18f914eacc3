"""Syslog: RFC 5424 by its grammar, and RFC 3164 lines read leniently.

Samples:   <165>1 2031-04-18T14:25:03.003Z gse1 valves 8710 CMD [heron@32473 sys="PROP"] LOX fill valve open
           <34>Apr 18 14:25:03 gse1 valves[8710]: LOX fill valve open
           2031-04-18T14:25:03.123+00:00 gse1 valves[8710]: LOX fill valve open
Conventions: the station is the application or host that the count knows, else the application, else the host. A nil
time is an entry without time. RFC 3164 times are local, the year that nearest scheduled T-0. A sender that tells how
far its clock may be off (timeQuality syncAccuracy) widens the resolution to that.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from aftercount.logs.entries import LONGEST_ENTRY, Context, Entries
from aftercount.logs.names import Names
from aftercount.logs.walltime import LONGEST_COUNT_S, Stamp, read_stamp, rfc3339

_HEADER = re.compile(
    r"<(0|[1-9]\d{0,2})>([1-9]\d{0,2}) (\S+) ([!-~]{1,255}) ([!-~]{1,48}) ([!-~]{1,128}) ([!-~]{1,32}) (?=[-\[])", re.ASCII
)
_ELEMENT = re.compile(r'\[([^\s="\]]{1,32})((?: [^\s="\]]{1,32}="(?:[^"\\\]]|\\.)*")*)\]')
_PARAM = re.compile(r' ([^\s="\]]{1,32})="((?:[^"\\\]]|\\.)*)"')
_PRI = re.compile(r"<(\d{1,3})>", re.ASCII)
_STRICT_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:[0-5]\d(?:\.\d{1,6})?(?:Z|[+-]\d\d:\d\d)", re.ASCII)
_OLD = re.compile(
    r"(?P<time>[A-Z][a-z]{2} [ \d]?\d (?:\d{4} )?\d\d:\d\d:\d\d(?:\.\d{1,9})?(?: \d{4}(?= ))?|\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?(?:Z|[+-]\d\d:?\d\d)?)"
    r" (?:(?P<host>[^\s:\[\]]{1,255}) (?=[^\s:\[\]]{1,64}(?:\[[^\]\s]{0,64}\])?:))?(?:(?P<tag>[^\s:\[\]]{1,64})(?:\[[^\]\s]{0,64}\])?:)?\s*(?P<msg>.*)",
    re.ASCII | re.DOTALL,
)
_STATION_PARAMS = ("station", "sys", "system", "console", "position", "callsign", "from", "origin")
_COUNT_PARAMS = ("count", "t", "tminus", "count_time", "t_minus")


class Message(NamedTuple):
    """One RFC 5424 message. facility = priority // 8, severity = priority % 8."""

    priority: int
    version: int
    time: str | None
    host: str | None
    app: str | None
    procid: str | None
    msgid: str | None
    data: dict[str, list[tuple[str, str]]]
    text: str


def parse(line: str) -> Message | str:
    """One RFC 5424 line, or why it is none."""
    found = _HEADER.match(line)
    if not found:
        return "not an RFC 5424 header"
    if int(found[1]) > 191:
        return f"priority {found[1]} is above 191"
    if found[3] != "-" and not (_STRICT_TIME.fullmatch(found[3]) and rfc3339(found[3])):
        return f"not an RFC 5424 time: {found[3][:60]}"
    at = found.end()
    data: dict[str, list[tuple[str, str]]] = {}
    if line[at] == "-":
        at += 1
    else:
        while element := _ELEMENT.match(line, at):
            data.setdefault(element[1], []).extend((k, re.sub(r'\\(["\\\]])', r"\1", v)) for k, v in _PARAM.findall(element[2]))
            at = element.end()
        if not data:
            return "structured data that cannot be read"
    if at < len(line) and line[at] != " ":
        return "structured data that cannot be read"
    nil = [None if found[i] == "-" else found[i] for i in range(3, 8)]
    return Message(int(found[1]), int(found[2]), nil[0], nil[1], nil[2], nil[3], nil[4], data, line[at + 1:].lstrip("\ufeff"))


def read(text: str, context: Context) -> Entries:
    """All messages of a syslog file."""
    out, names = Entries(medium="machine"), Names(context.stations, context.terms)
    for number, raw in enumerate(text.split("\n"), 1):
        line = raw.strip()
        if not line:
            continue
        if len(line) > LONGEST_ENTRY:
            out.reject(number, f"a line of {len(line)} characters; at most {LONGEST_ENTRY} are read", raw)
            continue
        # Octet counting (RFC 6587), as a capture of a TCP stream keeps it.
        line = re.sub(r"^\d{1,6} (?=<\d{1,3}>)", "", line)
        reason = _new(number, line, names, out) if re.match(r"<\d{1,4}>[1-9]\d{0,2} ", line) else _old(number, line, names, context, out)
        if reason:
            out.reject(number, reason, raw)
    return out


def _new(number: int, line: str, names: Names, out: Entries) -> str | None:
    message = parse(line)
    if isinstance(message, str):
        return message
    params = {k.lower(): v for element in message.data.values() for k, v in element}
    text = message.text.strip() or _from_data(message)
    if not text:
        return "a message without words"
    stamp = rfc3339(message.time) if message.time else None
    if stamp is not None:
        stamp = stamp._replace(resolution_s=max(stamp.resolution_s, _accuracy_s(message)))
    named = next((params[k] for k in _STATION_PARAMS if params.get(k)), None)
    count = next((c for k in _COUNT_PARAMS if (c := read_count(params.get(k, ""))) is not None), None)
    out.add(number, message.time, stamp, text, station=_station([named, message.app, message.host], names), stamp_t_us=count)
    return None


def read_count(text: str) -> int | None:
    from aftercount.counttime import parse_count

    seconds = parse_count(text) if text else None
    return None if seconds is None or abs(seconds) > LONGEST_COUNT_S else round(seconds * 1e6)


def _from_data(message: Message) -> str:
    """A message without text says what its name and parameters say."""
    pairs = [f"{k}={v}" for name, element in message.data.items() if name != "timeQuality" for k, v in element]
    return " ".join([message.msgid or "", *pairs]).strip()


def _accuracy_s(message: Message) -> float:
    quality = dict(message.data.get("timeQuality", []))
    accuracy = quality.get("syncAccuracy", "")
    return int(accuracy) / 1e6 if accuracy.isascii() and accuracy.isdigit() and len(accuracy) < 15 else 0.0


def _station(candidates: list[str | None], names: Names) -> str | None:
    given = [c for c in candidates if c]
    return names.sign(next((c for c in given if names.is_known(c)), given[0])) if given else None


def _old(number: int, line: str, names: Names, context: Context, out: Entries) -> str | None:
    priority = _PRI.match(line)
    if priority and (int(priority[1]) > 191 or (len(priority[1]) > 1 and priority[1][0] == "0")):
        return f"priority {priority[1]} is not one of 0 to 191"
    body = line[priority.end():].lstrip() if priority else line
    found = _OLD.match(body)
    if not found:
        if not priority:
            return "not a syslog line"
        out.add(number, None, None, body)
        return None
    stamp = read_stamp(old_time(found["time"]), context.frame)
    if not isinstance(stamp, Stamp):
        return stamp or f"not a time: {found['time']}"
    text = found["msg"].strip().lstrip("\ufeff")
    if not text:
        return "a message without words"
    out.add(number, found["time"], stamp, text, station=_station([found["tag"], found["host"]], names))
    return None


def old_time(text: str) -> str:
    """'Apr 18 14:25:03', with a year before or after the clock if any, in an order that stamps are read in."""
    found = re.fullmatch(r"([A-Z][a-z]{2}) +(\d{1,2}) (?:(\d{4}) )?([\d:.]+)(?: (\d{4}))?", text)
    if not found:
        return text
    year = found[3] or found[5]
    return f"{found[1]} {found[2]}, {year} {found[4]}" if year else f"{found[1]} {found[2]} {found[4]}"
