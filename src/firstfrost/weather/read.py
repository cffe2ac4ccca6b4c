"""Read a weather file of whichever kind: EPW, TMY3, or a plain CSV of hours."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from firstfrost.errors import DataError, InputError
from firstfrost.weather import table, tmy3
from firstfrost.weather.epw import read_epw
from firstfrost.weather.hours import Hours


def read_weather(path: Path | str, *, altitude_m: float = 0.0) -> Hours:
    """Hours of a file.

    Parameters
    ----------
    path : path
        What it holds tells its kind, not its ending.
    altitude_m : float
        Of a plain CSV, for the pressure where it has none. [m]

    Raises
    ------
    InputError
        There is no such file.
    DataError
        It cannot be used; with the line.
    """
    path = Path(path)
    try:
        text = path.read_bytes().decode("utf-8-sig", errors="replace")
    except OSError as err:
        raise InputError(
            f"The weather file {path} cannot be read: {err.strerror or err}. Expected an EPW, a "
            "TMY3 or a CSV "
            "file. Check its name and place."
        ) from err
    if text.lstrip()[:8].upper() == "LOCATION" or path.suffix.lower() == ".epw":
        return read_epw(path)
    head = text[:4000]
    comma = max(",;\t", key=head.count)
    try:
        rows = [row for row in csv.reader(io.StringIO(text, newline=None), delimiter=comma) if row]
    except csv.Error as err:
        raise DataError(
            f"{path.name} is not a table: {err}. Expected an EPW, a TMY3 or a CSV file of hours."
        ) from err
    if not rows:
        raise DataError(f"{path.name} is empty. Expected an EPW, a TMY3 or a CSV file of hours.")
    if tmy3.is_tmy3(rows):
        return tmy3.hours_of(rows, path.name)
    return table.hours_of(rows, path.name, altitude_m=altitude_m)
