"""The charts as matplotlib figures, for notebooks and slides of one's own.

    import aftercount as ac
    from aftercount import plot
    plot.deviation(ac.review("my-count")).savefig("deviation.svg")

Each takes a review, or a review read back with `aftercount.report.load.load_folder`, and returns a new figure; nothing
global in matplotlib is touched.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["deviation", "profile"]


def deviation(review: Any) -> Figure:
    """The time-deviation chart: planned count time against deviation, every step, the tolerance band, the holds."""
    from aftercount.report.charts.deviation import deviation_figure
    from aftercount.report.data import data_of

    return deviation_figure(data_of(review))


def profile(review: Any) -> Figure:
    """The count profile: wall time against count time, holds and recycles labelled, marks used and not believed."""
    from aftercount.report.charts.profile import profile_figure
    from aftercount.report.data import data_of

    return profile_figure(data_of(review))
