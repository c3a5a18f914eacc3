"""The summary as Markdown, to paste in a message: the words, the holds, the findings. Log text is escaped."""

from __future__ import annotations

from aftercount.report import wording
from aftercount.report.data import ReviewData, rows
from aftercount.report.safe import marked_down
from aftercount.report.summary_text import cautions, eye_lines, headline, hold_lines, step_lines, t0_lines

_MOST_FINDINGS = 40  # a message is read, not searched; the rest is in the page


def markdown(data: ReviewData) -> str:
    lines = [f"# {marked_down(headline(data))}", ""]
    lines += [marked_down(line) + "\n" for line in t0_lines(data)]
    lines += _points(hold_lines(data)) + [""] + _points(step_lines(data)) + [""] + [marked_down(e) + "\n" for e in eye_lines(data)]
    lines += _findings(data) + [f"*{marked_down(c)}*\n" for c in cautions(data)]
    return "\n".join(lines)


def _points(lines: list[str]) -> list[str]:
    return [("  " if line.startswith("  ") else "") + f"- {marked_down(line.strip())}" for line in lines]


def _findings(data: ReviewData) -> list[str]:
    found = rows(data.findings)
    if not found:
        return []
    lines = ["| finding | step | deviation | where |", "|---|---|---|---|"]
    for f in found[:_MOST_FINDINGS]:
        place = f"{f['source']}:{f['line']}" if f["source"] else ""
        texts = (f["text"], f["step"] or "", wording.deviation(f["deviation_s"]) if f["deviation_s"] is not None else "", place)
        lines.append("| " + " | ".join(marked_down(t) for t in texts) + " |")
    if len(found) > _MOST_FINDINGS:
        lines.append(f"\n{len(found) - _MOST_FINDINGS} more in the page.")
    return [*lines, ""]
