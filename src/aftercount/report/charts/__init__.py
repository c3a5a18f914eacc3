"""The two charts as PNG files at slide size; the figures themselves are in `aftercount.plot`."""

from __future__ import annotations

from aftercount.report.charts.figure import png_bytes
from aftercount.report.data import ReviewData

__all__ = ["deviation_png", "profile_png"]


# Each is imported when it is drawn: a season's charts share the figure's look, not what a review is drawn from.
def deviation_png(data: ReviewData) -> bytes:
    from aftercount.report.charts.deviation import deviation_figure

    return png_bytes(deviation_figure(data))


def profile_png(data: ReviewData) -> bytes:
    from aftercount.report.charts.profile import profile_figure

    return png_bytes(profile_figure(data))
