"""The maker's extended performance table and charging table: read from CSV, and interpolated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.plates import TableFile
from firstfrost.errors import DataError, InputError
from firstfrost.heating.grid import Grid, distinct, grid_from
from firstfrost.heating.quantity_csv import Column, Sheet, read_sheet
from firstfrost.instruments.budget import Value

Floats = NDArray[np.float64]

_OUTDOOR: Final = Column(name="outdoor_air_temp", kind="temperature")
_RETURN: Final = Column(name="return_air_temp", kind="temperature", needed=False)
PERFORMANCE: Final = (
    _OUTDOOR,
    _RETURN,
    Column(name="airflow", kind="flow", needed=False),
    Column(name="capacity", kind="power"),
    Column(name="power", kind="power", needed=False),
)
CHARGING: Final = (
    _OUTDOOR,
    _RETURN,
    Column(name="superheat", kind="temperature_difference", needed=False),
    Column(name="subcooling", kind="temperature_difference", needed=False),
)
_AXES: Final = (
    ("outdoor_air_temp", "outdoor air", "temperature"),
    ("return_air_temp", "indoor air", "temperature"),
    ("airflow", "airflow", "flow"),
)


@dataclass(frozen=True, kw_only=True)
class MakerTable:
    """A maker's table over outdoor air, and indoor air and airflow where it has more than one of them."""

    grid: Grid
    columns: tuple[str, ...]
    """The axes of the grid by their columns."""
    fixed: Mapping[str, float]
    """Axes with one coordinate alone: what the table was made at. [degC], [m3/s]"""

    @property
    def source(self) -> str:
        """The file."""
        return self.grid.source

    def has(self, name: str) -> bool:
        """Tell whether the table gives `capacity`, `power`, `superheat` or `subcooling`."""
        return name in self.grid.values

    def at(self, name: str, **conditions: Value | None) -> Value:
        """One value, straight between the rows in each direction, with what its conditions are worth.

        Parameters
        ----------
        name : str
            `capacity`, `power` [W], `superheat` or `subcooling` [K].
        **conditions : Value
            `outdoor_air_temp`, `return_air_temp` [degC], `airflow` [m3/s]; those the table has no axis for
            are left alone.

        Raises
        ------
        OutOfRange
            Outside the table, naming the nearest edge.
        InputError
            If a condition that the table goes over is missing, or the table lacks `name`.
        """
        if name not in self.grid.values:
            raise InputError(f"{self.source} has no column {name}. Type it off the maker's sheet.")
        points = []
        for column in self.columns:
            value = conditions.get(column)
            if value is None:
                raise InputError(
                    f"{self.source} goes over {column}, which is not known at this visit. Measure it, or "
                    "give "
                    "the rows for one value of it alone."
                )
            points.append(value)
        return self.grid.one(name, points)

    def many(self, name: str, outdoor_c: Floats, **others: float) -> Floats:
        """Values (n,) over outdoor temperatures (n,) [degC], the other conditions fixed; NaN outside."""
        points = [
            outdoor_c if column == "outdoor_air_temp" else np.full(outdoor_c.shape, others[column])
            for column in self.columns
        ]
        return self.grid.many(name, *points)


def read_performance(path: TableFile | str) -> MakerTable:
    """Read a maker's extended performance table; columns as `PERFORMANCE`.

    Raises
    ------
    DataError
        With row and column; or where the rows do not fill their grid.
    """
    return table_from(read_sheet(path, PERFORMANCE), ("capacity", "power"))


def read_charging(path: TableFile | str) -> MakerTable:
    """Read a maker's charging table in heating; columns as `CHARGING`; errors as `read_performance`."""
    return table_from(read_sheet(path, CHARGING), ("superheat", "subcooling"))


def table_from(sheet: Sheet, wanted: tuple[str, ...]) -> MakerTable:
    """The table in a file's columns; errors as `read_performance`."""
    values = {name: sheet.numbers[name] for name in wanted if name in sheet.numbers}
    if not values:
        raise DataError(
            f"{sheet.source} has none of the columns {', '.join(wanted)}. Expected one at least. Type it in."
        )
    axes, columns, fixed = [], [], {}
    for column, name, kind in _AXES:
        if column not in sheet.numbers:
            continue
        cells = sheet.numbers[column]
        _whole(sheet, column, cells)
        if len(distinct(cells)) > 1:
            axes.append((name, kind, cells))
            columns.append(column)
        else:
            fixed[column] = float(cells[0])
    if "outdoor_air_temp" not in columns:
        raise DataError(
            f"{sheet.source} has rows at one outdoor temperature alone. Expected two or more, to go between "
            "them. Type in more of the maker's rows."
        )
    for name, cells in values.items():
        _whole(sheet, name, cells)
    grid = grid_from(source=sheet.source, lines=sheet.lines, axes=axes, values=values)
    return MakerTable(grid=grid, columns=tuple(columns), fixed=fixed)


def _whole(sheet: Sheet, column: str, cells: Floats) -> None:
    """Refuse a column that is empty in some rows."""
    empty = np.flatnonzero(np.isnan(cells))
    if len(empty):
        raise DataError(
            f"{sheet.source}, row {sheet.lines[int(empty[0])]}, column {column} is empty, and other rows "
            "have it. "
            "Expected a number in each row. Fill it in, or leave the column out."
        )
