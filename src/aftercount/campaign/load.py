"""A trend folder read back as the season it was made from."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.fs as pafs
import pyarrow.parquet as pq

from aftercount.campaign.season import Season
from aftercount.campaign.tables import COUNTS, HISTORY, HOLD_CAUSES, PLAN_CHANGES, TREND
from aftercount.errors import InputError, Problem
from aftercount.tables import Table


def load_trend(folder: str) -> Season:
    """The season of a trend folder. Raises InputError when it is none."""
    try:
        filesystem, path = pafs.FileSystem.from_uri(folder) if "://" in folder else (pafs.LocalFileSystem(), str(folder))
        trend, history, counts, causes, changes = (_read(filesystem, path, t) for t in (TREND, HISTORY, COUNTS, HOLD_CAUSES, PLAN_CHANGES))
    except (OSError, ValueError, pa.ArrowException) as fault:
        text = f"a folder that `trend` wrote was expected: {str(fault).splitlines()[0]}"
        raise InputError([Problem(str(folder), 0, "gate-no-baseline", text)]) from fault
    return Season(trend[["step", "action", "by", "phase", "planned_t_s"]], history, counts, causes, changes)


def _read(filesystem: Any, path: str, table: Table) -> pd.DataFrame:
    return table.from_arrow(pq.read_table(f"{path}/{table.name}.parquet", filesystem=filesystem))
