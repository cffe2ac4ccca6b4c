"""Ambient pressure from altitude."""

from __future__ import annotations

from typing import Final

from firstfrost.errors import OutOfRange
from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA

LOWEST_M: Final = -5000.0
HIGHEST_M: Final = 11_000.0
_RATE: Final = 2.25577e-5  # 1/m
_POWER: Final = 5.2559


def pressure_at_altitude_pa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere.

    ``p = 101325 (1 - 2.25577e-5 z)^5.2559``, for -5000 m to 11 000 m.

    Parameters
    ----------
    altitude_m : float
        Above sea level. [m]

    Returns
    -------
    float
        [Pa]

    Raises
    ------
    OutOfRange
        Outside the range of the equation.

    Notes
    -----
    Weather moves the true pressure by some ±2 kPa about it; a barometer read at the site is better.

    References
    ----------
    ASHRAE Handbook of Fundamentals (2017), chapter 1, equation 3, which restates the U.S. Standard
    Atmosphere, 1976.
    """
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise OutOfRange(
            f"The altitude is {altitude_m:g} m. Expected {LOWEST_M:g} m to {HIGHEST_M:g} m, "
            "where the standard atmosphere's equation holds. Check its unit."
        )
    return float(STANDARD_ATMOSPHERE_PA * (1.0 - _RATE * altitude_m) ** _POWER)


def altitude_at_pressure_m(pressure_pa: float) -> float:
    """Altitude [m] at which the standard atmosphere has a pressure [Pa].

    The inverse of `pressure_at_altitude_pa`.

    Raises
    ------
    OutOfRange
        Outside the range of the equation.
    """
    top, bottom = pressure_at_altitude_pa(HIGHEST_M), pressure_at_altitude_pa(LOWEST_M)
    if not top <= pressure_pa <= bottom:
        raise OutOfRange(
            f"The ambient pressure is {pressure_pa:g} Pa. Expected {top:.0f} Pa to {bottom:.0f} Pa, "
            "where the standard atmosphere's equation holds. Check its unit."
        )
    return float((1.0 - (pressure_pa / STANDARD_ATMOSPHERE_PA) ** (1.0 / _POWER)) / _RATE)
