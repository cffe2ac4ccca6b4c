"""Outdoor air over time, for the bench."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from firstfrost.air.moist import humidity_ratio
from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Floats


@dataclass(frozen=True, kw_only=True)
class Weather:
    """Outdoor air, straight between points `step_s` apart from time 0 on; held beyond the last.

    temps_c : (n,) [degC]; humidity_ratios : (n,) [kg/kg]
    """

    temps_c: Floats
    humidity_ratios: Floats
    step_s: float = 60.0

    def __post_init__(self) -> None:
        if len(self.temps_c) < 1 or len(self.temps_c) != len(self.humidity_ratios) or not self.step_s > 0:
            raise InputError("Weather needs as many humidity ratios as temperatures, and a step above 0 s.")
        if not (np.isfinite(self.temps_c).all() and np.isfinite(self.humidity_ratios).all()):
            raise InputError("Weather holds a value that is not a number. Give every point.")
        if min(self.temps_c) < -35.0 or max(self.temps_c) > 45.0:
            raise InputError(
                f"Outdoor air goes from {min(self.temps_c):.1f} to {max(self.temps_c):.1f} degC. "
                "The bench is made for -35 to 45 degC."
            )


def constant(temp_c: float, humidity: float, pressure_pa: float = 101325.0) -> Weather:
    """Weather that stays: temperature [degC], relative humidity [ratio, over ice below freezing]."""
    return ramp([0.0], [temp_c], [humidity], pressure_pa=pressure_pa)


def ramp(
    times_s: list[float],
    temps_c: list[float],
    humidities: list[float],
    *,
    pressure_pa: float = 101325.0,
    step_s: float = 60.0,
) -> Weather:
    """Weather straight between given points (n,) of time [s], temperature [degC], relative humidity.

    Raises
    ------
    InputError
        If the points do not match, or times do not rise.
    """
    if not len(times_s) == len(temps_c) == len(humidities) or any(np.diff(times_s) <= 0):
        raise InputError("Weather points need times that rise, each with a temperature and a humidity.")
    count = math.ceil(times_s[-1] / step_s) + 1
    grid = np.arange(count) * step_s
    temps = np.interp(grid, times_s, temps_c)
    parts = np.interp(grid, times_s, humidities)
    if count == 1:
        ratios = np.array([humidity_ratio(float(temps[0]), float(parts[0]), pressure_pa)])
    else:
        ratios = humidity_ratio(temps, parts, pressure_pa)
    return Weather(temps_c=temps, humidity_ratios=ratios, step_s=step_s)
