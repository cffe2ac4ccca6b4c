"""Hours of weather from a TMY3 file of the US National Solar Radiation Data Base.

Two lines of header: station, name, state, zone [h], latitude, longitude [deg], elevation [m]; then the
columns' names. Rows have date (MM/DD/YYYY), time (HH:MM, 01:00 to 24:00, the moment at the hour's end), dry
bulb and dew point [degC], relative humidity [%] and pressure [mbar] by their names; -9900 or -99 is missing.
Source: Wilcox and Marion, "Users Manual for TMY3 Data Sets", NREL/TP-581-43156, 2008 (form from memory, held
against a file that `pvlib` carries). Months come from different years, so the year is not read.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from firstfrost.errors import DataError
from firstfrost.refrigerants.curves import Floats
from firstfrost.weather.hours import BEFORE, DAYS, Hours

DATE, TIME = "Date (MM/DD/YYYY)", "Time (HH:MM)"
_COLUMNS: Final = {
    "dry bulb": ("Dry-bulb (C)", 1.0, -70.0, 70.0),
    "dew point": ("Dew-point (C)", 1.0, -90.0, 70.0),
    "relative humidity": ("RHum (%)", 0.01, 0.0, 1.1),
    "pressure": ("Pressure (mbar)", 100.0, 31000.0, 120000.0),
}
_MISSING: Final = -99.0


def is_tmy3(rows: list[list[str]]) -> bool:
    """Whether the second line names TMY3's date column."""
    return len(rows) > 1 and DATE in [cell.strip() for cell in rows[1]]


def hours_of(rows: list[list[str]], source: str) -> Hours:
    """Hours of a file's rows.

    Raises
    ------
    DataError
        A row or the header cannot be read, or rows are missing or out of order; with the line.
    """
    names = [cell.strip() for cell in rows[1]]
    wanted = [DATE, TIME, *(column for column, *_ in _COLUMNS.values())]
    absent = [name for name in wanted if name not in names]
    if absent:
        raise DataError(
            f"{source}, line 2 lacks the columns {', '.join(absent)}. Expected the header of a TMY3 file. "
            "Get it anew."
        )
    latitude, altitude = _station(rows[0], source)
    body = [(line, row) for line, row in enumerate(rows[2:], 3) if any(cell.strip() for cell in row)]
    moments = np.array([_moment(row, names, line, source) for line, row in body])
    if len(moments) < 2:
        raise DataError(f"{source} has a header and no hours. Expected one row for each hour. Get it anew.")
    _check_order(moments, [line for line, _ in body], source)
    columns = {
        name: np.array([_value(row, names, line, source, name) for line, row in body]) for name in _COLUMNS
    }
    return Hours(
        source=source,
        place=", ".join(cell.strip() for cell in rows[0][1:3] if cell.strip()),
        altitude_m=altitude,
        latitude_deg=latitude,
        step_s=3600.0,
        moments_s=moments,
        lines=tuple(line for line, _ in body),
        dry_c=columns["dry bulb"],
        dew_c=columns["dew point"],
        humidity=columns["relative humidity"],
        pressure_pa=columns["pressure"],
    )


def _station(row: list[str], source: str) -> tuple[float, float]:
    try:
        return float(row[4]), float(row[6])
    except (IndexError, ValueError) as err:
        raise DataError(
            f"{source}, line 1 begins with {','.join(row[:7])!r}. Expected station, name, state, zone, "
            "latitude, longitude, elevation. Correct the header."
        ) from err


def _moment(row: list[str], names: list[str], line: int, source: str) -> float:
    try:
        month, day = (int(part) for part in row[names.index(DATE)].split("/")[:2])
        hour, minute = (int(part) for part in row[names.index(TIME)].split(":"))
        sound = 1 <= month <= 12 and 1 <= day <= DAYS[month - 1] and 0 <= hour <= 24 and minute == 0
    except (ValueError, IndexError):
        sound = False
    if not sound:
        raise DataError(
            f"{source}, line {line} begins with {','.join(row[:3])!r}. Expected a date as "
            "MM/DD/YYYY and a time "
            "as HH:00. Correct that row."
        )
    return ((BEFORE[month - 1] + day - 1) * 24 + hour) * 3600.0


def _check_order(moments: Floats, lines: list[int], source: str) -> None:
    year, leap_end = 366 * 86400.0, 60 * 86400.0
    gone = np.diff(moments) % year
    # From 28 February 24:00 on to 1 March 01:00 there is a day less in a common year.
    fine = (gone == 3600.0) | ((moments[1:] == leap_end + 3600.0) & (gone == 90000.0))
    if not fine.all():
        at = int(np.flatnonzero(~fine)[0])
        raise DataError(
            f"{source}, line {lines[at + 1]} is {gone[at] / 3600.0:g} h after the row before it. "
            "Expected 1 h: "
            "rows are missing, repeated or out of order. Get the file anew."
        )


def _value(row: list[str], names: list[str], line: int, source: str, name: str) -> float:
    column, factor, low, high = _COLUMNS[name]
    at = names.index(column)
    text = row[at].strip() if at < len(row) else ""
    try:
        value = float(text) if text else np.nan
    except ValueError as err:
        raise DataError(
            f"{source}, line {line}: {column} is {text!r}. Expected a number. Correct that row."
        ) from err
    if np.isnan(value) or value <= _MISSING:
        return float("nan")
    if not low <= value * factor <= high:
        raise DataError(
            f"{source}, line {line}: {column} is {text}. Expected {low / factor:g} to {high / factor:g}, or "
            "-9900 for missing. Correct that row."
        )
    return value * factor
