"""trend.html: a season on one page that opens from disk, runs no script and asks nothing of the network."""

from __future__ import annotations

import base64
import hashlib
from typing import Any

import pandas as pd

from aftercount.campaign import grid, panels
from aftercount.campaign.stats import FALSE_DISCOVERY
from aftercount.campaign.trend import Trend
from aftercount.counttime import format_count
from aftercount.report import look
from aftercount.report.safe import visible

# Rows of a list on the page; all are in the tables.
MOST_ROWS = 40
# Steps told to be the worst, and the most improved.
MOST_RANKED = 10
SIGNAL_WORDS = {
    "beyond_limit": "one value beyond its limit", "shift": "two in a row beyond", "ewma": "moving average", "cusum": "cumulative sum",
    "change": "change of level", "drift": "steady trend", "missed": "first miss",
}


def render_trend(trend: Trend) -> str:
    """The page."""
    import jinja2

    loader = jinja2.PackageLoader("aftercount.campaign")
    environment = jinja2.Environment(loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
                                     finalize=lambda v: visible(v) if type(v) is str else v)
    environment.filters.update(seconds=grid.signed, count_time=format_count, place=lambda v: f"{v:.1f}")
    tables, style = trend.tables, _style(environment)
    counts = grid.shown_counts(tables)
    small, reach, count_ticks = panels.smalls(tables)
    return environment.get_template("trend.html").render(
        summary=trend.summary, policy=f"default-src 'none'; img-src data:; style-src '{_hash(style)}'; base-uri 'none'; form-action 'none'",
        style=style, look=look, sentences=sentences(trend), signals=_rows(tables["signals"].iloc[::-1]), signal_words=SIGNAL_WORDS,
        counts=list(zip(counts["count"].tolist(), grid.short_names(counts["count"].tolist()), strict=True)), picture=grid.picture(tables),
        per_count=grid.per_count(tables), held=grid.held_for(tables), shades=grid.SHADES_S, smalls=small, reach=reach, count_ticks=count_ticks,
        controls=panels.controls(tables), panels=panels, steps=_rows(tables["trend"], None), groups=_rows(tables["groups"], None),
        changes=_rows(tables["plan_changes"], None), improved=_rows(_by_slope(tables["trend"], better=True), MOST_RANKED),
        slipping=_rows(_by_slope(tables["trend"], better=False), MOST_RANKED), worst=_rows(_worst(tables["trend"]), MOST_RANKED),
        suggested=_rows(tables["trend"].dropna(subset=["suggested_t_s"]), None),
    ) + "\n"


def _style(environment: Any) -> str:
    from jinja2 import PackageLoader

    shared = PackageLoader("aftercount.report", "templates").get_source(environment, "style.css")[0]
    shared = shared.replace("/*light*/", look.css_variables(look.LIGHT)).replace("/*dark*/", look.css_variables(look.DARK))
    return str(shared + environment.loader.get_source(environment, "trend.css")[0])


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


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
    changed = trend.tables["signals"]
    changed = changed[changed["kind"] == "change"]
    if len(changed):
        lines.append("At another level than before: " + "; ".join(f"{r['step']} since {r['count']}" for r in changed.head(8).to_dict("records"))
                     + (" and more." if len(changed) > 8 else "."))
    return lines


def _by_slope(steps: pd.DataFrame, *, better: bool) -> pd.DataFrame:
    steady = steps[steps["q"] < FALSE_DISCOVERY]
    steady = steady[steady["slope_s"] < 0] if better else steady[steady["slope_s"] > 0]
    return steady.sort_values("slope_s", ascending=better, kind="stable")


def _worst(steps: pd.DataFrame) -> pd.DataFrame:
    """The steps most often missed or late, the surest first: by the lower end of the share's interval."""
    from aftercount.campaign.stats import wilson

    failed = steps["missed"].to_numpy(dtype=int) + steps["late"].to_numpy(dtype=int)
    least = [wilson(int(f), int(n))[0] for f, n in zip(failed, steps["n"], strict=True)]
    return steps.assign(failed=failed, least=least).query("failed > 0").sort_values(["least", "failed"], ascending=False, kind="stable")


def _rows(frame: pd.DataFrame, most: int | None = MOST_ROWS) -> list[dict[str, Any]]:
    rows = frame.to_dict("records") if most is None else frame.head(most).to_dict("records")
    return [{str(k): None if not isinstance(v, list) and pd.isna(v) else v for k, v in row.items()} for row in rows]
