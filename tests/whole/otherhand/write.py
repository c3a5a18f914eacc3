"""The count folder of a story, and the truth beside it."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import random
import zipfile
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from .logs import Log, Rows, notes, transcript
from .loop import sound
from .machine import records
from .radio import Said
from .scenarios import ALL
from .story import Row, Story, tell
from .truth import truth_of

LOGS = {"all": ("voice", "typed", "machine"), "voice": ("voice",), "typed": ("typed",), "pair": ("voice", "typed")}


def write_count(folder: Path, name: str, seed: int, plot: str = "clean", logs: str = "all", noise: float = 0.0) -> dict[str, Any]:
    """Write `folder` and `folder.truth.json`. Same arguments, same bytes."""
    rng = random.Random(f"{name} {seed} {plot}")
    story = tell(ALL[name], rng, plot)
    zero = dt.datetime(2033, 1, 9, 3, 0, tzinfo=dt.UTC) + dt.timedelta(days=rng.randrange(300), minutes=15 * rng.randrange(90))
    said = sound(story, rng)
    for s in said:
        for text in ("words", "typed"):
            if "ZERO(" in getattr(s, text):
                before, _, rest = getattr(s, text).partition("ZERO(")
                at, _, after = rest.partition(")")
                stamp = zero + dt.timedelta(seconds=round(float(at)))
                setattr(s, text, before + stamp.strftime("%H:%M:%S") + (" UTC" if text == "typed" else " zulu") + after)
    folder.mkdir(parents=True)
    style = random.Random(f"{name} {seed} style")
    lines: list[dict[str, Any]] = []
    sources: list[dict[str, Any]] = []
    listed = []
    for kind in LOGS[logs]:
        log = Log.drawn(kind, LOGS[logs], story, zero, style, noise)
        text, rows, source = _log(log, said, style)
        data = text.encode()
        (folder / log.path).write_bytes(gzip.compress(data, mtime=0) if log.path.endswith(".gz") else data)
        lines += rows
        sources.append(source)
        listed.append(log.listed())
    _write_plan(folder, story, style)
    _write_toml(folder, story, zero, listed if any(len(x) > 1 for x in listed) else [], style)
    truth = truth_of(story, zero, lines, sources)
    folder.with_name(folder.name + ".truth.json").write_text(json.dumps(truth, indent=1))
    return truth


def _write_toml(folder: Path, story: Story, zero: dt.datetime, listed: list[dict[str, str]], rng: random.Random) -> None:
    s = story.scenario
    out = [
        "[count]",
        f'id = "{folder.name}"',
        f'title = "Tern {s.name} count"',
        'kind = "rehearsal"',
        f"t0 = {zero.strftime('%Y-%m-%dT%H:%M:%SZ')}",
        f'zone = "{s.zone}"',
        f'plan = "{_plan_name(s.xlsx)}"',
        "",
    ]
    for entry in listed:
        out += ["[[log]]", *(f"{k} = {v}" for k, v in entry.items()), ""]
    out += ["[stations]", *(f"{k} = {json.dumps(v)}" for k, v in s.stations.items()), ""]
    if s.glossary:
        out += ["[glossary]", *(f"{k} = {json.dumps(v)}" for k, v in s.glossary.items())]
    (folder / "count.toml").write_text("\n".join(out) + "\n")


def _plan_name(xlsx: bool) -> str:
    return "procedure.xlsx" if xlsx else "plan.csv"


def _t(seconds: float, way: str) -> str:
    s, sign = round(abs(seconds)), "-" if seconds <= 0 else "+"
    if way == "minutes" or (way == "secs" and s >= 60):
        return f"T{sign}{s // 60}:{s % 60:02d}"
    if way == "secs":
        return f"T{sign}{s}s"
    return f"{'' if way == 'sign' else 'T'}{sign}{s // 3600:02d}:{s % 3600 // 60:02d}:{s % 60:02d}"


def _length(seconds: float, rng: random.Random) -> str:
    s = round(seconds)
    return rng.choice(
        [str(s), f"{s // 60}m" if s % 60 == 0 else f"{s}s", f"{s // 3600:02d}:{s % 3600 // 60:02d}:{s % 60:02d}", f"{s // 60}:{s % 60:02d}"]
    )


_COLUMNS = (
    "step",
    "action",
    "t",
    "by",
    "to",
    "kind",
    "duration",
    "into_hold",
    "early_s",
    "late_s",
    "after",
    "response_s",
    "says",
    "must",
    "page",
)


def _cells(row: Row, story: Story, rng: random.Random, n: int) -> list[str]:
    f = row.flags
    kind = "hold" if "hold" in f else "poll" if "poll" in f else ""
    return [
        row.step,
        row.action,
        _t(row.t, story.scenario.plan_times),
        row.by or story.scenario.lead,
        story.scenario.lead if row.order else "",
        kind,
        _length(float(f["hold"]), rng) if "hold" in f else "",
        _length(float(f["into"]), rng) if "into" in f else "",
        f.get("e", f.get("l", "")),
        f.get("l", ""),
        f.get("after", ""),
        f.get("r", ""),
        f.get("says", "").replace("_", " "),
        "no" if "opt" in f else "yes",
        str(n // 12 + 1),
    ]


def _write_plan(folder: Path, story: Story, rng: random.Random) -> None:
    rows = [list(_COLUMNS), *(_cells(r, story, rng, n) for n, r in enumerate(story.rows))]
    if not story.scenario.xlsx:
        quoted = [",".join(f'"{c}"' if "," in c or '"' in c else c for c in row) for row in rows]
        (folder / "plan.csv").write_text("\r\n".join(quoted) + "\r\n")
        return
    cells = "".join(f"<row>{''.join(_cell(c) for c in row)}</row>" for row in rows)
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    pkg = "http://schemas.openxmlformats.org/package/2006"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    rels = "application/vnd.openxmlformats-package.relationships+xml"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{pkg}/content-types"><Default Extension="rels" ContentType="{rels}"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kind}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{pkg}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{rel}">'
        '<sheets><sheet name="Procedure" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{pkg}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{cells}</sheetData></worksheet>',
    }
    with zipfile.ZipFile(folder / _plan_name(True), "w") as book:
        for name, text in parts.items():
            book.writestr(zipfile.ZipInfo(name), '<?xml version="1.0" encoding="UTF-8"?>' + text)


def _cell(text: str) -> str:
    if text.isdigit():
        return f"<c><v>{text}</v></c>"
    return f'<c t="inlineStr"><is><t>{escape(text)}</t></is></c>'


def _log(log: Log, said: list[Said], rng: random.Random) -> tuple[str, Rows, dict[str, Any]]:
    if log.kind == "voice":
        text, rows = transcript(log, said, rng)
    elif log.kind == "typed":
        text, rows = notes(log, said, rng)
    else:
        text, rows = records(log, rng)
    known = log.start_known
    return (
        text,
        rows,
        {
            "source": log.path,
            "format": log.form,
            "time": log.stamp,
            "offset_s": round(log.offset_s, 3) if known else None,
            "drift_ppm": None,
            "start_known": known,
        },
    )
