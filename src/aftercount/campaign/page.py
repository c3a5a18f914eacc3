"""trend.html: a season on one page that opens from disk, runs no script and asks nothing of the network."""

from __future__ import annotations

import base64
from typing import Any

import pandas as pd

from aftercount.campaign.stats import FALSE_DISCOVERY
from aftercount.campaign.trend import Trend
from aftercount.counttime import format_count
from aftercount.report import look
from aftercount.report.exports.safe import visible

# Rows of a list on the page; all are in the tables.
MOST_ROWS = 40


def render_trend(trend: Trend, pictures: dict[str, bytes]) -> str:
    """The page; `pictures` are PNG bytes by file name."""
    import jinja2

    environment = jinja2.Environment(loader=jinja2.PackageLoader("aftercount.campaign"), autoescape=True,
                                     undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
                                     finalize=lambda v: visible(v) if type(v) is str else v)
    environment.filters.update(seconds=seconds, count_time=format_count)
    tables = trend.tables
    return environment.get_template("trend.html").render(
        summary=trend.summary, sentences=sentences(trend), signals=_rows(tables["signals"].iloc[::-1]), steps=_rows(tables["trend"], None),
        groups=_rows(tables["groups"], None), causes=_rows(tables["hold_causes"]), changes=_rows(tables["plan_changes"]),
        improved=_rows(_by_slope(tables["trend"], better=True)), worst=_rows(_by_slope(tables["trend"], better=False)),
        suggested=_rows(tables["trend"].dropna(subset=["suggested_t_s"]), None),
        pictures={name: base64.b64encode(data).decode() for name, data in pictures.items()},
        light=look.css_variables(look.LIGHT), dark=look.css_variables(look.DARK),
    ) + "\n"


def sentences(trend: Trend) -> list[str]:
    """The season in words."""
    summary, counts = trend.summary, trend.tables["counts"]
    n = summary["rehearsals"]
    lines = [f"{n} rehearsal{'' if n == 1 else 's'}, {summary['steps']} steps in the last plan."]
    if summary["small"]:
        lines.append("So few rehearsals show large changes only: read the intervals before the figures.")
    if n > 1:
        lines.append(f"Missed steps: {counts['missed'].iloc[0]} in the first, {counts['missed'].iloc[-1]} in the last. "
                     f"Late: {counts['late'].iloc[0]} and {counts['late'].iloc[-1]}.")
    for key, words in (("improving", "earlier from rehearsal to rehearsal"), ("worsening", "later from rehearsal to rehearsal")):
        if summary[key]:
            shown = ", ".join(summary[key][:8]) + (" and more" if len(summary[key]) > 8 else "")
            lines.append(f"Steadily {words}: {shown}.")
    if not summary["improving"] and not summary["worsening"]:
        lines.append("No step shows a steady trend that chance does not explain.")
    return lines


def seconds(value: Any) -> str:
    """A signed number of seconds for a cell; a dash where there is none."""
    return "\N{EN DASH}" if value is None or pd.isna(value) else f"{value:+.1f}".replace("-", "\N{MINUS SIGN}")


def _by_slope(steps: pd.DataFrame, *, better: bool) -> pd.DataFrame:
    steady = steps[steps["q"] < FALSE_DISCOVERY]
    steady = steady[steady["slope_s"] < 0] if better else steady[steady["slope_s"] > 0]
    return steady.sort_values("slope_s", ascending=better, kind="stable")


def _rows(frame: pd.DataFrame, most: int | None = MOST_ROWS) -> list[dict[str, Any]]:
    rows = frame.to_dict("records") if most is None else frame.head(most).to_dict("records")
    return [{str(k): None if not isinstance(v, list) and pd.isna(v) else v for k, v in row.items()} for row in rows]
