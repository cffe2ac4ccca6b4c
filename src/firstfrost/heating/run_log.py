"""A log of run time and weather, for the house's load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.plates import TableFile
from firstfrost.errors import DataError
from firstfrost.heating.quantity_csv import Column, Sheet, read_sheet

Floats = NDArray[np.float64]

COLUMNS: Final = (
    Column(name="outdoor_air_temp", kind="temperature"),
    Column(name="run_fraction", kind="ratio"),
    Column(name="backup_energy", kind="energy", needed=False),
    Column(name="hours", kind="time", needed=False),
    Column(name="date", kind=None, needed=False),
)


@dataclass(frozen=True, kw_only=True)
class RunLog:
    """Spans of time, (n,) each."""

    outdoor_c: Floats
    """Mean outdoor temperature. [degC]"""
    run_fraction: Floats
    """Part of the span in which the compressor heated, 0 to 1."""
    backup_w: Floats | None
    """Mean power of backup heat, NaN where it was not read; None without the column. [W]"""


def read_run_log(path: TableFile | str) -> RunLog:
    """Read a log of run time; columns as `COLUMNS`. A span without `hours` is a day.

    Raises
    ------
    DataError
        With row and column.
    """
    return run_log_from(read_sheet(path, COLUMNS))


def run_log_from(sheet: Sheet) -> RunLog:
    """The log in a file's columns; errors as `read_run_log`."""
    fraction = sheet.numbers["run_fraction"]
    bad = np.flatnonzero((fraction < 0.0) | (fraction > 1.0))
    if len(bad):
        row = int(bad[0])
        raise DataError(
            f"{sheet.source}, row {sheet.lines[row]}, column run_fraction is {100.0 * fraction[row]:.4g} "
            "%. Expected "
            "0 to 100 %. Check the unit of the header: run_fraction [%], or [1]."
        )
    backup: Floats | None = None
    if "backup_energy" in sheet.numbers:
        span_s = sheet.numbers.get("hours", np.full(len(fraction), 86_400.0))
        span_s = np.where(np.isnan(span_s), 86_400.0, span_s)
        if (span_s <= 0.0).any():
            row = int(np.flatnonzero(span_s <= 0.0)[0])
            raise DataError(
                f"{sheet.source}, row {sheet.lines[row]}, column hours is {span_s[row] / 3600.0:g} h. "
                "Expected the "
                "length of the span, above 0. Correct that cell."
            )
        backup = sheet.numbers["backup_energy"] / span_s
    return RunLog(outdoor_c=sheet.numbers["outdoor_air_temp"], run_fraction=fraction, backup_w=backup)
