"""report.html from the tables: one file that opens from disk, asks nothing of the network, and runs only its own script."""

from __future__ import annotations

import base64
from pathlib import Path

from aftercount.report.charts import deviation_png, profile_png
from aftercount.report.data import ReviewData, rows
from aftercount.report.summary_text import text_of


def render_page(data: ReviewData, *, notes: Path | None = None, baseline: Path | None = None) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(loader=PackageLoader("aftercount.report", "templates"), autoescape=True, undefined=StrictUndefined)
    pictures = [base64.b64encode(png(data)).decode() for png in (profile_png, deviation_png)]
    return environment.get_template("report.html").render(
        title=data.summary.get("title") or data.summary.get("count"), words=text_of(data).splitlines(), pictures=pictures,
        steps=rows(data.steps), findings=rows(data.findings),
    )
