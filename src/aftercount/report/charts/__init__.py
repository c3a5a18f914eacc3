"""The two charts as PNG files at slide size; the figures themselves are in `aftercount.plot`."""

from __future__ import annotations

from aftercount.report.charts.deviation import deviation_figure
from aftercount.report.charts.figure import png_bytes
from aftercount.report.charts.profile import profile_figure
from aftercount.report.data import ReviewData

__all__ = ["deviation_png", "profile_png"]


def deviation_png(data: ReviewData) -> bytes:
    return png_bytes(deviation_figure(data))


def profile_png(data: ReviewData) -> bytes:
    return png_bytes(profile_figure(data))
