"""Hours of weather from an EPW file.

Eight lines of header, then rows: year, month, day, hour (1 to 24, the moment at its end), minute, flags, dry
bulb [degC], dew point [degC], relative humidity [%], station pressure [Pa], and more that is not used. A
missing dry bulb or dew point is 99.9, humidity 999, pressure 999999. Source: EnergyPlus, Auxiliary Programs,
"EnergyPlus Weather File (EPW) Data Dictionary" (from memory). Relative humidity below freezing is taken over
ice.
"""

from __future__ import annotations

import csv
import difflib
import io
from pathlib import Path
from typing import Final

import numpy as np

from firstfrost.errors import DataError, InputError
from firstfrost.weather.hours import BEFORE, DAYS, Hours

HEADER: Final = 8
_MISSING: Final = {"dry bulb": 99.9, "dew point": 99.9, "relative humidity": 999.0, "pressure": 999999.0}
_FIELDS: Final = {"dry bulb": 6, "dew point": 7, "relative humidity": 8, "pressure": 9}
_BOUNDS: Final = {
    "dry bulb": (-70.0, 70.0),
    "dew point": (-90.0, 70.0),
    "relative humidity": (0.0, 110.0),
    "pressure": (31000.0, 120000.0),
}
"""What the data dictionary allows; the dew point's lower bound is wider, because dry frost is that cold."""


def read_epw(path: Path | str) -> Hours:
    """Read a file.

    Raises
    ------
    InputError
        There is no such file.
    DataError
        It is not EPW, a row cannot be read, or rows are missing or out of order; with the line.
    """
    path = Path(path)
    try:
        text = path.read_bytes().decode("utf-8", errors="replace")
    except OSError as err:
        raise InputError(
            f"The weather file {path} cannot be read: {err.strerror or err}. "
            "Expected an EPW file. Check its name and place."
        ) from err
    rows = list(csv.reader(io.StringIO(text)))
    source = path.name
    if len(rows) <= HEADER or not rows[0] or rows[0][0].strip().upper() != "LOCATION":
        met = rows[0][0][:40] if rows and rows[0] else "nothing"
        raise DataError(
            f"{source} is not an EPW file: it begins with {met!r}. Expected eight lines of header, the first "
            "beginning with LOCATION, then one row for each hour. Give an EPW file."
        )
    altitude = _header_number(rows[0], 9, source, 1, "elevation [m]")
    latitude = _header_number(rows[0], 6, source, 1, "latitude [deg]")
    per_hour = _per_hour(rows[:HEADER], source)
    body = [
        (line, row) for line, row in enumerate(rows[HEADER:], HEADER + 1) if any(cell.strip() for cell in row)
    ]
    if not body:
        raise DataError(f"{source} has a header and no hours. Expected one row for each hour. Get it anew.")
    step_s = 3600.0 / per_hour
    moments = [_moment(row, line, source, per_hour) for line, row in body]
    _check_order(moments, [line for line, _ in body], step_s, source)
    columns = {name: np.array([_value(row, line, source, name) for line, row in body]) for name in _FIELDS}
    return Hours(
        source=source,
        place=", ".join(cell.strip() for cell in rows[0][1:4] if cell.strip() not in ("", "-")),
        altitude_m=altitude,
        latitude_deg=latitude,
        step_s=step_s,
        moments_s=np.array(moments),
        lines=tuple(line for line, _ in body),
        dry_c=columns["dry bulb"],
        dew_c=columns["dew point"],
        humidity=columns["relative humidity"] / 100.0,
        pressure_pa=columns["pressure"],
    )


def _header_number(row: list[str], at: int, source: str, line: int, what: str) -> float:
    try:
        return float(row[at])
    except (IndexError, ValueError) as err:
        met = row[at] if at < len(row) else "nothing"
        raise DataError(
            f"{source}, line {line}: the {what} is {met!r}. Expected a number in field {at + 1}. "
            "Correct the header."
        ) from err


def _per_hour(header: list[list[str]], source: str) -> int:
    for line, row in enumerate(header, 1):
        if row and row[0].strip().upper() == "DATA PERIODS":
            number = _header_number(row, 2, source, line, "number of records in an hour")
            if number < 1 or 60 % number:
                raise DataError(
                    f"{source}, line {line}: {number:g} records in an hour. Expected a number that "
                    "divides 60. "
                    "Correct the header."
                )
            return int(number)
    words = [row[0] for row in header if row]
    near = difflib.get_close_matches("DATA PERIODS", words, n=1)
    raise DataError(
        f"{source}: its first eight lines have no DATA PERIODS"
        + (f" (but {near[0]!r})" if near else "")
        + ". Expected the header of an EPW file. Get it anew."
    )


def _moment(row: list[str], line: int, source: str, per_hour: int) -> float:
    try:
        month, day, hour, minute = (int(float(cell)) for cell in row[1:5])
        sound = len(row) > 9 and 1 <= month <= 12 and 1 <= day <= DAYS[month - 1] and 1 <= hour <= 24
    except ValueError:
        sound = False
    if not sound:
        raise DataError(
            f"{source}, line {line} begins with {','.join(row[:6])!r}. Expected year, month, day, "
            "hour 1 to 24, "
            "minute, flags, and values from field 7 on. Correct that row."
        )
    # Hourly files write the minute as 0, 30 or 60, and mean the end of the hour.
    into = 3600.0 if per_hour == 1 else 60.0 * (minute or 60)
    return ((BEFORE[month - 1] + day - 1) * 24 + hour - 1) * 3600.0 + into


def _check_order(moments: list[float], lines: list[int], step_s: float, source: str) -> None:
    year = 366 * 86400.0
    for before, after, line in zip(moments[:-1], moments[1:], lines[1:], strict=True):
        gone = (after - before) % year
        over_leap_day = before == 59 * 86400.0 and gone == step_s + 86400.0
        if gone != step_s and not over_leap_day:
            raise DataError(
                f"{source}, line {line} is {gone / 3600.0:g} h after the row before it. Expected "
                f"{step_s / 3600.0:g} h: rows are missing, repeated or out of order. Get the file anew."
            )


def _value(row: list[str], line: int, source: str, name: str) -> float:
    text = row[_FIELDS[name]].strip()
    low, high = _BOUNDS[name]
    try:
        value = float(text) if text else np.nan
    except ValueError as err:
        raise DataError(
            f"{source}, line {line}: the {name} is {text!r}. Expected a number in field {_FIELDS[name] + 1}. "
            "Correct that row."
        ) from err
    if np.isnan(value) or value >= _MISSING[name]:
        return float("nan")
    if not low <= value <= high:
        raise DataError(
            f"{source}, line {line}: the {name} is {text}. Expected {low:g} to {high:g}, or "
            f"{_MISSING[name]:g} "
            "for missing. Correct that row."
        )
    return value
