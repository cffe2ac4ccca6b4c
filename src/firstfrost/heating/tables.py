"""The tables that a unit file names, each read once as long as its file stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final, TypeVar

from firstfrost.equipment.plates import HeldTable, TableFile
from firstfrost.equipment.unit import Unit
from firstfrost.errors import FirstfrostError, InputError
from firstfrost.heating.blower_table import BlowerTable, read_blower_table
from firstfrost.heating.maker_table import MakerTable, read_charging, read_performance
from firstfrost.heating.run_log import RunLog, read_run_log

Table = TypeVar("Table")
KEPT: Final = 64
"""So many tables are kept at hand."""


@lru_cache(KEPT)
def _kept(read: Callable[[TableFile], object], path: TableFile, changed_ns: int) -> object:
    return read(path)


def _table(read: Callable[[TableFile], Table], path: TableFile | None, setting: str) -> Table | None:
    """The table at `path`, or in the unit file; None for None.

    Raises
    ------
    InputError
        If there is no such file.
    DataError
        If it cannot be used.
    """
    if path is None:
        return None
    if isinstance(path, HeldTable):
        held: Table = _kept(read, path, 0)  # type: ignore[assignment]
        return held
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


def mistakes(unit: Unit) -> list[str]:
    """What is wrong with the tables that a unit names or holds, each in the words of its reader."""
    out = []
    for setting, read in READERS.items():
        try:
            read(unit)
        except FirstfrostError as err:
            out.append(f"{setting}: {err}")
    return out


READERS: Final[dict[str, Callable[[Unit], object]]] = {
    "maker.performance": performance,
    "maker.blower": blower,
    "targets.table": charging,
    "house.run_time": run_log,
}
"""How each file that a unit may name is read."""
