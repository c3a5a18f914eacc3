"""Whole count folders drawn by hypothesis: sound, nearly sound, and broken; every file in the form a person or a machine might leave it."""

from __future__ import annotations

import json

from hypothesis import strategies as st

from armour.words import WORDS

Files = dict[str, str | bytes]
T0 = "2031-04-18T14:30:00Z"
STATIONS = ("TC", "PROP", "GND", "pad chief", "E-1")
DEEDS = ("Close the vent", "Open the fill valve", "Start the pumps", "Arm the igniter", "Verify tank A pressure", "Verify tank B pressure", "Go/no-go poll",
         "=cmd()|x", "<b>bold</b>", "Öffne das Ventil", "x")
counts = st.builds(lambda sign, m, s: f"T{sign}{m:02d}:{s:02d}", st.sampled_from("-+-"), st.integers(0, 59), st.integers(0, 59))
odd = st.sampled_from(["", "T-", "99:99", "T-999999999999:00:00", "nan", "-inf", "1e400", "²", "9" * 40, "0001-01-01", "9999-12-31T23:59:60Z", "T-0", " ", "\u202e", "-"])
said = st.lists(st.sampled_from(WORDS) | st.text(st.characters(codec="utf-8", exclude_characters="\r\n\0"), max_size=3), min_size=1, max_size=12).map(" ".join) | st.sampled_from(DEEDS)


def mostly(usual: st.SearchStrategy[str], *, strange: st.SearchStrategy[str] = odd) -> st.SearchStrategy[str]:
    """Nearly always the usual."""
    return st.integers(0, 24).flatmap(lambda k: strange if k == 0 else usual)


def quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


@st.composite
def plans(draw: st.DrawFn) -> str:
    rows = ["step,t,action,kind,duration,into_hold,by,to,late_s,after,response_s,says,must,phase"]
    for i in range(draw(st.integers(0, 7))):
        hold = draw(st.integers(0, 5)) == 0
        cells = [draw(mostly(st.just(f"1.{i}"))), draw(mostly(counts)), draw(mostly(st.sampled_from(DEEDS))), "hold" if hold else draw(st.sampled_from(["", "step", "poll"])),
                 "10:00" if hold else "", "", draw(st.sampled_from(("", *STATIONS))), "TC", draw(mostly(st.sampled_from(["", "30"]))),
                 draw(st.sampled_from(["", "", "1.0", "1.1 1.2"])), draw(st.sampled_from(["", "20"])), draw(st.sampled_from(["", "shut it; close it"])),
                 draw(st.sampled_from(["", "no"])), "a"]
        rows.append(",".join(map(quoted, cells)))
    return "\n".join(rows) + "\n"


@st.composite
def entries(draw: st.DrawFn) -> list[tuple[int, str, str]]:
    """(seconds after noon, speaker, words) of a log."""
    at, out = 2 * 3600, []
    for _ in range(draw(st.integers(0, 14))):
        at += draw(st.integers(-20, 300))
        out.append((at, draw(st.sampled_from(("", *STATIONS))), draw(said)))
    return out


def clock(s: int, point: str = "") -> str:
    return f"{s // 3600:02d}:{s // 60 % 60:02d}:{s % 60:02d}{f'{point}000' if point else ''}"


def utc(s: int) -> str:
    return f"2031-04-18T{clock(s + 43_200)}Z"


def text_of(form: str, talk: list[tuple[int, str, str]]) -> str:
    """The log in one of the formats."""
    cue = [(s - 7200, f"{clock(max(s - 7200, 0), '.')} --> {clock(max(s - 7199, 1), '.')}", w, t) for s, w, t in talk]
    return {
        "notes.txt": "".join(f"{clock(s + 43_200)} {f'{w}: ' if w else ''}{t}\n" for s, w, t in talk),
        "table.csv": "time,station,message\n" + "".join(f"{utc(s)},{quoted(w)},{quoted(t)}\n" for s, w, t in talk),
        "seq.jsonl": "".join(json.dumps({"time": utc(s), "station": w or None, "message": t}) + "\n" for s, w, t in talk),
        "net.vtt": "WEBVTT\n\n" + "".join(f"{times}\n{f'<v {w}>' if w else ''}{t}\n\n" for _, times, w, t in cue),
        "net2.srt": "".join(f"{i}\n{times.replace('.', ',')}\n{t}\n\n" for i, (_, times, _, t) in enumerate(cue, 1)),
        "seq.log": "".join(f"<34>1 {utc(s)} pad {w.replace(' ', '-') or '-'} - - - {t}\n" for s, w, t in talk),
    }[form]


FORMS = ("notes.txt", "table.csv", "seq.jsonl", "net.vtt", "net2.srt", "seq.log")


@st.composite
def hurt(draw: st.DrawFn, text: str) -> str | bytes:
    """The file as it is, mostly; else cut short, with bytes replaced, in another encoding, or with other line ends."""
    data = text.encode()
    how = draw(st.integers(0, 11))
    if how == 0:
        return data[: draw(st.integers(0, len(data)))]
    if how == 1:
        at = draw(st.integers(0, len(data)))
        return data[:at] + draw(st.binary(max_size=6)) + data[at + draw(st.integers(0, 6)):]
    if how == 2:
        return text.encode(draw(st.sampled_from(["utf-16", "utf-8-sig", "utf-16-le"])))
    if how == 3:
        return text.replace("\n", draw(st.sampled_from(["\r", "\r\n"]))).encode()
    return data


@st.composite
def folders(draw: st.DrawFn) -> Files:
    """count.toml, plan.csv, and logs of one to three formats."""
    logs: Files = {form: draw(hurt(text_of(form, draw(entries())))) for form in draw(st.lists(st.sampled_from(FORMS), min_size=1, max_size=3, unique=True))}
    lines = ["[count]", f"id = {json.dumps(draw(mostly(st.just('drawn-1'))))}", f"t0 = {T0}", f'zone = "{draw(st.sampled_from(["UTC", "UTC", "America/New_York"]))}"']
    if draw(st.booleans()):
        for name in logs:
            lines += ["[[log]]", f'path = "{name}"'] + ([f"start = {T0}"] if draw(st.booleans()) and name.startswith("net") else [])
    lines += ["[stations]", *(f"{json.dumps(s)} = []" for s in STATIONS if draw(st.booleans()))]
    if draw(st.integers(0, 15)) == 0:
        lines.append(draw(said))
    return {"count.toml": "\n".join(lines) + "\n", "plan.csv": draw(hurt(draw(plans()))), **logs}
