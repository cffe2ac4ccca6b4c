"""The dew line or the bubble line of one refrigerant, between a lowest and a highest temperature."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from firstfrost.errors import OutOfRange
from firstfrost.refrigerants.curves import Curve, Floats, temp_at

_WAY_OUT = "Check the refrigerant, or the unit of the reading."


@dataclass(frozen=True, kw_only=True)
class Line:
    """One edge of the two-phase region; temperatures in degC, pressures absolute in Pa.

    NaN gives NaN. Outside the range single values raise `OutOfRange`, arrays hold NaN.
    """

    called: str
    """For error texts: `dew line of R-410A`."""
    temp: Curve
    """[degC] over the square root of the pressure [sqrt(Pa)]."""
    pressure: Curve
    """[Pa] over temperature [degC]."""
    density: Curve
    """[kg/m3] over temperature [degC]."""
    enthalpy: Curve
    """[J/kg] over temperature [degC], from saturated liquid at 0 degC."""
    temp_low_c: float
    temp_high_c: float
    pressure_low_pa: float = field(init=False)
    pressure_high_pa: float = field(init=False)

    def __post_init__(self) -> None:
        # From the same curve, so that a pressure got from a temperature in range is in range, too.
        object.__setattr__(self, "pressure_low_pa", self.pressure.at(self.temp_low_c))
        object.__setattr__(self, "pressure_high_pa", self.pressure.at(self.temp_high_c))

    def arguments(self) -> tuple[Floats, float, float, float, float, float, float]:
        """What `curves.temp_at` needs after the pressure."""
        return (
            self.temp.pieces,
            self.temp.start,
            self.temp.per_step,
            self.pressure_low_pa,
            self.pressure_high_pa,
            self.temp_low_c,
            self.temp_high_c,
        )

    def temp_at(self, pressure_pa: float) -> float:
        """Temperature at one pressure, in degC."""
        temp_c = float(temp_at(pressure_pa, *self.arguments()))
        if math.isnan(temp_c) and not math.isnan(pressure_pa):
            raise OutOfRange(self._pressure_text(pressure_pa))
        return temp_c

    def temps_at(self, pressures_pa: Floats) -> Floats:
        """Temperatures at pressures (n,): (n,), in degC."""
        return self._many(
            pressures_pa,
            self.pressure_low_pa,
            self.pressure_high_pa,
            lambda p: np.minimum(np.maximum(self.temp.many(np.sqrt(p)), self.temp_low_c), self.temp_high_c),
        )

    def slope_at(self, pressure_pa: float) -> float:
        """dT/dp at one pressure, in K/Pa."""
        self.temp_at(pressure_pa)
        return float(self.slopes_at(np.array([pressure_pa]))[0])

    def slopes_at(self, pressures_pa: Floats) -> Floats:
        """dT/dp at pressures (n,): (n,), in K/Pa; dT/dp = (dT/dx) / (2 x) with x = sqrt(p)."""

        def slope(p: Floats) -> Floats:
            x = np.sqrt(p)
            return self.temp.slopes(x) / (2.0 * x)

        return self._many(pressures_pa, self.pressure_low_pa, self.pressure_high_pa, slope)

    def pressure_at(self, temp_c: float) -> float:
        """Pressure at one temperature, in Pa."""
        pressure_pa = self.at_temp(self.pressure, temp_c)
        return min(max(pressure_pa, self.pressure_low_pa), self.pressure_high_pa)

    def pressures_at(self, temps_c: Floats) -> Floats:
        """Pressures at temperatures (n,): (n,), in Pa."""
        return self._many(
            temps_c,
            self.temp_low_c,
            self.temp_high_c,
            lambda t: np.minimum(
                np.maximum(self.pressure.many(t), self.pressure_low_pa), self.pressure_high_pa
            ),
        )

    def at_temp(self, curve: Curve, temp_c: float) -> float:
        """Value of one of the line's curves over temperature, in that curve's unit."""
        if math.isnan(temp_c):
            return math.nan
        if not self.temp_low_c <= temp_c <= self.temp_high_c:
            where = "ends" if temp_c > self.temp_high_c else "begins"
            end = self.temp_high_c if temp_c > self.temp_high_c else self.temp_low_c
            raise OutOfRange(
                f"Temperature is {temp_c:.6g} degC; the {self.called} {where} at {end:.1f} degC. {_WAY_OUT}"
            )
        return curve.at(temp_c)

    def _pressure_text(self, pressure_pa: float) -> str:
        high = pressure_pa > self.pressure_high_pa
        where = "ends" if high else "begins"
        end_pa = self.pressure_high_pa if high else self.pressure_low_pa
        end_c = self.temp_high_c if high else self.temp_low_c
        return (
            f"Pressure is {pressure_pa / 1000:.6g} kPa absolute; the {self.called} {where} at "
            f"{end_pa / 1000:.1f} kPa ({end_c:.1f} degC). {_WAY_OUT}"
        )

    @staticmethod
    def _many(x: Floats, low: float, high: float, value: Callable[[Floats], Floats]) -> Floats:
        x = np.asarray(x, dtype=np.float64)
        inside = (x >= low) & (x <= high)
        if inside.all():
            return value(x)
        found = np.full(x.shape, np.nan)
        found[inside] = value(x[inside])
        return found
