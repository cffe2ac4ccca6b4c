"""The tables that a unit file names, each read once as long as its file stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TypeVar

from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.heating.blower_table import BlowerTable, read_blower_table
from firstfrost.heating.maker_table import MakerTable, read_charging, read_performance
from firstfrost.heating.run_log import RunLog, read_run_log

Table = TypeVar("Table")


@cache
def _kept(read: Callable[[Path], object], path: Path, changed_ns: int) -> object:
    return read(path)


def _table(read: Callable[[Path], Table], path: Path | None, setting: str) -> Table | None:
    """The table at `path`; None for None.

    Raises
    ------
    InputError
        If there is no such file.
    DataError
        If it cannot be used.
    """
    if path is None:
        return None
    try:
        changed = path.stat().st_mtime_ns
    except OSError as err:
        raise InputError(
            f"{setting} is {path}, which cannot be read: {err.strerror or err}. Expected a CSV file "
            "beside the unit file. Check its name and place."
        ) from err
    kept: Table = _kept(read, path, changed)  # type: ignore[assignment]
    return kept


def performance(unit: Unit) -> MakerTable | None:
    """The maker's extended performance table; errors as `_table`."""
    return _table(read_performance, unit.maker.performance, "maker.performance")


def charging(unit: Unit) -> MakerTable | None:
    """The maker's charging table in heating; errors as `_table`."""
    return _table(read_charging, unit.targets.table, "targets.table")


def blower(unit: Unit) -> BlowerTable | None:
    """The maker's blower table; errors as `_table`."""
    return _table(read_blower_table, unit.maker.blower, "maker.blower")


def run_log(unit: Unit) -> RunLog | None:
    """The log of run time; errors as `_table`."""
    return _table(read_run_log, unit.house.run_time, "house.run_time")
