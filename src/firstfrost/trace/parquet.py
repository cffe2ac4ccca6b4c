"""Parquet to cells. PyArrow is imported here and only when a Parquet file is read."""

from __future__ import annotations

from datetime import tzinfo
from pathlib import Path
from typing import Any

import numpy as np

from firstfrost.errors import DataError, InputError
from firstfrost.trace.jsonlines import cell
from firstfrost.trace.text import Sheet
from firstfrost.trace.times import Times, from_local

MAGIC = b"PAR1"


def read_parquet(
    path: Path, *, source: str
) -> tuple[Sheet, tuple[str | None, ...], dict[int, tuple[Any, str | None]]]:
    """Read a Parquet file.

    Returns
    -------
    tuple of Sheet, tuple, dict
        The cells; the unit of each column where the file's metadata holds it (key `unit`); and, for each
        column of timestamps by its place, the (n,) datetime64 array and its zone (None where they are local).

    Raises
    ------
    DataError
        If it cannot be read.
    InputError
        If PyArrow is not installed.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as err:
        raise InputError(
            f"{source} is Parquet, and PyArrow is not installed. Install pyarrow, or export CSV."
        ) from err
    try:
        table = pq.read_table(path)
    except (pa.ArrowException, OSError, ValueError) as err:
        raise DataError(
            f"{source} begins like Parquet and cannot be read as such. Expected a whole file, not one cut "
            "off or changed on the way. Copy or export it again."
        ) from err
    columns: list[Any] = []
    stamps: dict[int, tuple[Any, str | None]] = {}
    units: list[str | None] = []
    for i, column in enumerate(table.schema):
        data, kind = table.column(i), column.type
        meta = column.metadata or {}
        units.append(meta[b"unit"].decode("utf-8", "replace") if b"unit" in meta else None)
        if pa.types.is_timestamp(kind):
            stamps[i] = (data.to_numpy().astype(f"datetime64[{kind.unit}]"), kind.tz)
            columns.append([""] * len(data))
        elif pa.types.is_floating(kind) or pa.types.is_integer(kind):
            columns.append(np.asarray(data.cast(pa.float64()).to_numpy(), dtype=np.float64))
        else:
            columns.append(
                [
                    cell(value if isinstance(value, (str, bool, int, float)) else value and str(value))
                    for value in data.to_pylist()
                ]
            )
    if table.num_rows == 0:
        raise DataError(f"{source} has columns but no rows. Expected readings. Export the log again.")
    sheet = Sheet(
        source=source,
        headers=tuple(table.schema.names),
        columns=columns,
        lines=range(1, table.num_rows + 1),
        header_line=0,
        delimiter=",",
        comments=(),
    )
    return sheet, tuple(units), stamps


def times_of(stamps: Any, zone_name: str | None, *, zone: tzinfo | None, source: str, header: str) -> Times:
    """Times from a column of timestamps; those without a zone are local to `zone`.

    Raises
    ------
    DataError
        If they are local and no zone is given.
    """
    good = ~np.isnat(stamps)
    whole = np.where(good, stamps, np.datetime64(0, "s")).astype("datetime64[s]")
    part = (np.where(good, stamps, np.datetime64(0, "s")) - whole).astype("timedelta64[ns]").astype(
        np.int64
    ) / 1e9
    seconds = whole.astype(np.int64)
    notes: tuple[str, ...] = ()
    where = f"{source}, column {header!r}"
    if not good.any():
        raise DataError(f"{where}: no row has a time. Expected timestamps. Export the log again.")
    if zone_name is None:
        first = repr(str(stamps[good][0]))
        seconds, notes = from_local(seconds, part, good, zone=zone, where=where, first=first)
    dropped = () if good.all() else (f"{where}: {int((~good).sum())} row(s) without a time were dropped.",)
    return Times(base="instant", whole=seconds, part=part, good=good, notes=notes, dropped=dropped)
