"""A run's weather out of the hours of a file."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from firstfrost.air.atmosphere import pressure_at_altitude_pa
from firstfrost.air.moist import humidity_from_dew_point, humidity_ratio
from firstfrost.bench.weather import Weather
from firstfrost.errors import DataError, InputError
from firstfrost.refrigerants.curves import Floats
from firstfrost.weather.hours import BEFORE, DAYS, LEAP_DAY, Hours

_START: Final = re.compile(r"(\d{1,2})-(\d{1,2})(?:[ T](\d{1,2}):(\d{2}))?")


def weather_from(hours: Hours, start: str, duration_s: float) -> Weather:
    """Weather from a moment on, straight between rows.

    Parameters
    ----------
    hours : Hours
        From `read_epw`.
    start : str
        Month, day and time in the file's own (standard) time: "01-15 06:00".
    duration_s : float
        How long. [s]

    Raises
    ------
    InputError
        The start cannot be read or is not in the file, or the file ends too early.
    DataError
        A value that is needed is missing; with its line.
    """
    at = _own_calendar(hours.moments_s, hours)
    begin = float(_own_calendar(np.array([start_s(start, hours)]), hours)[0])
    year = (366 if hours.leap else 365) * 86400.0
    after = (begin - at) % year
    first = int(np.argmin(after))
    into = float(after[first])
    if into >= hours.step_s or first == len(at) - 1:
        # The first row of a file holds for the step before it as well.
        if (at[0] - begin) % year > hours.step_s:
            raise InputError(f'{hours.source} does not hold "{start}". Take another day, or another file.')
        first, into = 0, 0.0
    count = int(np.ceil((into + duration_s) / hours.step_s)) + 1
    if first + count > len(at):
        left = (len(at) - 1 - first) * hours.step_s - into
        raise InputError(
            f'{hours.source} ends {left / 3600.0:.1f} h after "{start}", and the run lasts '
            f"{duration_s / 3600.0:.1f} h. Start earlier, or run shorter."
        )
    temps, ratios = zip(*(_air(hours, row) for row in range(first, first + count)), strict=True)
    span = np.arange(count) * hours.step_s
    grid = into + np.arange(int(np.ceil(duration_s / 60.0)) + 1) * 60.0
    return Weather(
        temps_c=np.interp(grid, span, temps), humidity_ratios=np.interp(grid, span, ratios), step_s=60.0
    )


def start_s(start: str, hours: Hours) -> float:
    """Seconds into a leap year of "01-15 06:00".

    Raises
    ------
    InputError
        It cannot be read, or the file has no such day.
    """
    match = _START.fullmatch(start.strip())
    wanted = f'The start "{start}" is not a month, day and time. Write it such as "01-15 06:00".'
    if match is None:
        raise InputError(wanted)
    month, day, hour, minute = (int(part or 0) for part in match.groups())
    if not (1 <= month <= 12 and 1 <= day <= DAYS[month - 1] and hour <= 24 and minute < 60):
        raise InputError(wanted)
    if (month, day) == (2, 29) and not hours.leap:
        raise InputError(f"{hours.source} has no 29 February. Take another day.")
    return ((BEFORE[month - 1] + day - 1) * 24 + hour) * 3600.0 + minute * 60.0


def _own_calendar(moments: Floats, hours: Hours) -> Floats:
    """Seconds into the file's own year, without the 29 February that a common year does not have."""
    skips = 0.0 if hours.leap else 86400.0
    return np.where(moments >= LEAP_DAY * 86400.0, moments - skips, moments)


def _air(hours: Hours, row: int) -> tuple[float, float]:
    """Temperature [degC] and humidity ratio [kg/kg] of a row."""
    dry, part, dew, pressure = (
        float(column[row]) for column in (hours.dry_c, hours.humidity, hours.dew_c, hours.pressure_pa)
    )
    where = f"{hours.source}, line {hours.lines[row]}"
    if np.isnan(dry):
        raise DataError(
            f"{where}: the dry bulb is missing (99.9). A run needs it in every hour. Start at another "
            "time, or "
            "fill the file from the station's own record."
        )
    if np.isnan(part):
        if np.isnan(dew):
            raise DataError(
                f"{where}: humidity (999) and dew point (99.9) are both missing. A run needs one of them in "
                "every hour. Start at another time, or fill the file from the station's own record."
            )
        part = float(humidity_from_dew_point(dry, min(dew, dry)))
    if np.isnan(pressure):
        pressure = pressure_at_altitude_pa(hours.altitude_m)
    return dry, float(humidity_ratio(dry, min(part, 1.0), pressure))
