"""Parquet event logs: a time, a text and the rest in columns.

Conventions: `line` is the row's number, from 1. Time stamps without a zone are wall time as a bare time would be;
those with one are UTC. Nested columns are flattened with dots. A file too large for memory is refused, not half read.
"""

from __future__ import annotations

from typing import Any

from aftercount.logs.entries import Context, Entries
from aftercount.logs.files import LARGEST_FILE
from aftercount.logs.tabular import Rows
from aftercount.logs.tabular import read as read_rows

# Cells, by what they take as text in memory (1.5 GB), whatever they pack to; columns.
_MOST_CELLS, _MOST_COLUMNS = 10_000_000, 300


def read(data: bytes, context: Context) -> Entries:
    """All rows of a Parquet file."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    out = Entries(medium="machine")
    try:
        file = pq.ParquetFile(pa.BufferReader(data))
        size = sum(file.metadata.row_group(i).total_byte_size for i in range(file.metadata.num_row_groups))
        if size > LARGEST_FILE or file.metadata.num_rows * file.metadata.num_columns > _MOST_CELLS or file.metadata.num_columns > _MOST_COLUMNS:
            out.reject(0, f"too large: {file.metadata.num_rows} rows, {file.metadata.num_columns} columns, {size} bytes", "")
            return out
        table = file.read()
        for _ in range(4):
            table = table.flatten()
    except (pa.ArrowException, OSError, ValueError) as error:
        out.reject(0, f"not a readable Parquet file: {str(error).splitlines()[0][:200]}", "")
        return out
    columns = [_strings(table.column(i)) for i in range(table.num_columns)]
    cells = [list(row) for row in zip(*columns, strict=True)]
    return read_rows(Rows(list(table.column_names), list(range(1, len(cells) + 1)), cells), context, out)


def _strings(column: Any) -> list[str]:
    """Every cell as text: instants by RFC 3339, empty for null."""
    import pyarrow as pa
    import pyarrow.compute as pc

    kind = column.type
    if pa.types.is_dictionary(kind):
        column, kind = column.cast(kind.value_type), kind.value_type
    if pa.types.is_timestamp(kind):
        whole = column.cast(pa.timestamp("us", tz=kind.tz), safe=False)
        values = whole.cast(pa.int64()).to_pylist()
        fine = any(v % 1_000_000 for v in values if v is not None)
        return [_instant(v, bool(kind.tz), fine) for v in values]
    if pa.types.is_time(kind) or pa.types.is_date(kind):
        return ["" if v is None else v.isoformat() for v in column.to_pylist()]
    if pa.types.is_duration(kind):
        return ["" if v is None else f"{v / 1e6:.6f}" for v in column.cast(pa.duration("us"), safe=False).cast(pa.int64()).to_pylist()]
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        return ["" if v is None else v.replace("\0", "\ufffd") for v in column.to_pylist()]
    if pa.types.is_integer(kind):
        return pc.fill_null(column.cast(pa.string()), "").to_pylist()
    if pa.types.is_floating(kind):
        return ["" if v is None or v != v else repr(v) for v in column.to_pylist()]
    return ["" if v is None else str(v)[:2000] for v in column.to_pylist()]


def _instant(us: int | None, zoned: bool, fine: bool) -> str:
    """An instant by RFC 3339. fine: with a fraction though it be zero, as the rest of the column has one: such a column is no person's."""
    from aftercount.counttime import format_utc

    if us is None:
        return ""
    try:
        text = format_utc(us)
    except OverflowError:
        return str(us)
    if fine and "." not in text:
        text = text.replace("Z", ".000Z")
    return text if zoned else text.rstrip("Z").replace("T", " ")
