"""A trend folder read back as the season it was made from."""

from __future__ import annotations

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from aftercount.campaign.places import Place, Whole, first_line, place, shown
from aftercount.campaign.season import Season
from aftercount.campaign.tables import COUNTS, HELD, HISTORY, PLAN_CHANGES, TREND
from aftercount.errors import InputError, Problem
from aftercount.tables import Table


def load_trend(folder: str) -> Season:
    """The season of a trend folder, on a disk or in a store. Raises InputError when it is none."""
    try:
        there = place(folder)
        whole = Whole([there])
        trend, history, counts, held, changes = (_read(there, t) for t in (TREND, HISTORY, COUNTS, HELD, PLAN_CHANGES))
    except (OSError, ValueError, pa.ArrowException) as fault:
        text = f"a folder that `trend` wrote was expected: {first_line(fault)}"
        raise InputError([Problem(shown(folder), 0, "gate-no-baseline", text)]) from fault
    if whole.changed():
        text = "it has no summary.json, or was written anew while it was read"
        raise InputError([Problem(shown(folder), 0, "gate-baseline-changed", text, "try again")])
    return Season(trend[["step", "action", "by", "phase", "planned_t_s"]], history, counts, held, changes)


def _read(there: Place, table: Table) -> pd.DataFrame:
    return table.from_arrow(pq.read_table(f"{there.path}/{table.name}.parquet", filesystem=there.filesystem))
