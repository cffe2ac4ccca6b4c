"""Airflow from external static pressure and the maker's blower table."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from firstfrost.equipment.plates import TableFile
from firstfrost.errors import DataError, InputError, nearest
from firstfrost.heating.grid import Grid, distinct, grid_from
from firstfrost.heating.quantity_csv import Column, Sheet, read_sheet
from firstfrost.instruments.budget import Value

COLUMNS: Final = (
    Column(name="tap", kind=None, needed=False),
    Column(name="external_static_pressure", kind="pressure_difference"),
    Column(name="airflow", kind="flow"),
    Column(name="power", kind="power", needed=False),
)
TABLE_LIMIT: Final = 0.07
"""Half-width of a blower table's error, as a part of the airflow: common practice, no source. A table is made
with a dry coil, a clean filter or none, and one sample blower."""


@dataclass(frozen=True, kw_only=True)
class BlowerTable:
    """A maker's blower table: airflow [m3/s], and power [W] where it is printed, by tap and static [Pa]."""

    source: str
    grids: Mapping[str, Grid]
    """By tap; one called "" where the table names none."""

    def airflow_m3_s(self, static_pa: Value, tap: str | None = None) -> Value:
        """Airflow at an external static pressure, straight between the rows.

        Parameters
        ----------
        static_pa : Value
            Supply above return over the air handler, as the maker's drawing has it. [Pa]
        tap : str, optional
            As the table names it; not needed where there is only one.

        Raises
        ------
        OutOfRange
            Outside the rows of that tap, naming the nearest edge.
        InputError
            If the tap is missing or unknown.
        """
        flow = self._grid(tap).one("airflow", [static_pa])
        return flow.with_source(f"table {self.source}", TABLE_LIMIT / math.sqrt(3.0) * flow.value)

    def power_w(self, static_pa: Value, tap: str | None = None) -> Value | None:
        """The blower's electric power there; None where the table has none. Errors as `airflow_m3_s`."""
        grid = self._grid(tap)
        if "power" not in grid.values:
            return None
        power = grid.one("power", [static_pa])
        return power.with_source(f"table {self.source}", TABLE_LIMIT / math.sqrt(3.0) * power.value)

    def _grid(self, tap: str | None) -> Grid:
        if tap is None:
            if len(self.grids) == 1:
                return next(iter(self.grids.values()))
            raise InputError(
                f"{self.source} has the taps {', '.join(self.grids)}, and which one the blower is on is not "
                "known. "
                'Look at the blower\'s lead or setting, and write it: tap = "..." under [blower].'
            )
        found = next((grid for name, grid in self.grids.items() if name.casefold() == tap.casefold()), None)
        if found is None:
            if list(self.grids) == [""]:
                return self.grids[""]
            raise InputError(f"{self.source} has no tap {tap!r}. {nearest(tap, self.grids)}")
        return found


def read_blower_table(path: TableFile | str) -> BlowerTable:
    """Read a maker's blower table.

    Raises
    ------
    DataError
        With row and column; or where a tap has fewer than two rows, or two for one static pressure.
    """
    return blower_table_from(read_sheet(path, COLUMNS))


def blower_table_from(sheet: Sheet) -> BlowerTable:
    """The blower table in a file's columns; errors as `read_blower_table`."""
    taps = sheet.words.get("tap", ("",) * len(sheet.lines))
    grids: dict[str, Grid] = {}
    for tap in dict.fromkeys(taps):
        rows = np.array([i for i, name in enumerate(taps) if name == tap])
        called = f"{sheet.source}, tap {tap}" if tap else sheet.source
        static = sheet.numbers["external_static_pressure"][rows]
        if len(distinct(static)) < 2:
            raise DataError(
                f"{called} has rows at one static pressure alone. Expected two or more, to go between them. "
                "Type in more of the maker's rows."
            )
        values = {
            name: sheet.numbers[name][rows]
            for name in ("airflow", "power")
            if name in sheet.numbers and not np.isnan(sheet.numbers[name][rows]).any()
        }
        grids[tap] = grid_from(
            source=called,
            lines=[sheet.lines[i] for i in rows],
            axes=[("external static pressure", "pressure_difference", static)],
            values=values,
        )
    return BlowerTable(source=sheet.source, grids=grids)
