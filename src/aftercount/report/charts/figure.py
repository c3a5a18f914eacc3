"""The ground both charts stand on: size, type, colours, and PNG bytes that are the same every time.

Figures are made through matplotlib's objects, never its global state, so a notebook's own figures are left alone.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from aftercount.report.data import ReviewData
from aftercount.report.look import LIGHT, SLIDE_DPI, SLIDE_INCHES, Palette

FONT = "DejaVu Sans"  # comes with matplotlib, so the picture is the same on every machine
_UNPRINTABLE = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_LONGEST_TITLE = 48  # characters that fit a slide's first line with the chart's own name
_LEGEND_COLUMNS = 7
TITLE, TEXT, SMALL = 19, 12, 10  # points, readable from the back of a room at slide size


def blank(title: str, subtitle: str, palette: Palette = LIGHT) -> Figure:
    figure = Figure(figsize=SLIDE_INCHES, dpi=SLIDE_DPI, facecolor=palette.ground)
    FigureCanvasAgg(figure)
    write(figure, 0.03, 0.955, title, size=TITLE, color=palette.ink, weight="bold", va="center")
    write(figure, 0.03, 0.912, subtitle, size=TEXT, color=palette.soft, va="center")
    return figure


def write(where: Figure | Axes, x: float, y: float, text: str, *, size: float = TEXT, **kwargs: Any) -> Any:
    """Text as it stands: nothing in it is read as mathematics. Lines of our own may be joined by a line feed."""
    style = {k: kwargs.pop(k) for k in ("weight", "style") if k in kwargs}
    font = FontProperties(family=FONT, size=size, **style)
    return where.text(x, y, "\n".join(printable(line) for line in text.split("\n")), fontproperties=font, parse_math=False, **kwargs)


def printable(text: str) -> str:
    return _UNPRINTABLE.sub("\N{REPLACEMENT CHARACTER}", text)


def plain_axes(figure: Figure, box: tuple[float, float, float, float], palette: Palette = LIGHT) -> Axes:
    axes = figure.add_axes(box, facecolor=palette.panel)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(palette.line)
    axes.tick_params(colors=palette.soft, labelsize=SMALL, labelfontfamily=FONT, length=4)
    return axes


def title_of(data: ReviewData) -> str:
    summary = data.summary
    title = printable(str(summary.get("title") or summary.get("count") or "Count"))
    return title if len(title) <= _LONGEST_TITLE else title[: _LONGEST_TITLE - 1] + "…"


def legend(figure: Figure, handles: list[Any]) -> None:
    """One legend for every chart: under it, in rows of equal length."""
    rows = -(-len(handles) // _LEGEND_COLUMNS)
    figure.legend(
        handles=handles, loc="lower center", ncols=-(-len(handles) // max(rows, 1)), frameon=False, labelcolor=LIGHT.ink,
        prop={"family": FONT, "size": SMALL}, bbox_to_anchor=(0.53, 0.005), handletextpad=0.4, columnspacing=1.6,
    )


def extent(text: Text) -> Bbox:
    """Where on the picture a text stands, in dots."""
    with _any_letter():
        return text.get_window_extent()


def png_bytes(figure: Figure) -> bytes:
    with _any_letter():
        return _saved(figure)


@contextmanager
def _any_letter() -> Iterator[None]:
    """A letter that the font lacks is drawn as a box; that is not worth a warning on a person's terminal."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def _saved(figure: Figure) -> bytes:
    sink = io.BytesIO()
    # Without the writing program's name and version: the same review gives the same bytes.
    figure.savefig(sink, format="png", facecolor=figure.get_facecolor(), metadata={"Software": None})
    return sink.getvalue()
