"""Moist air and ice, by PsychroLib's formulas (ASHRAE Handbook of Fundamentals 2017, chapter 1).

Each function takes floats, or arrays that broadcast, and gives the same kind. A float outside the range of
an equation raises `OutOfRange`; in an array it gives NaN, and NaN stays NaN. Arrays are looped over in
Python, a few microseconds a point: meant for a visit, not for a fleet.

Air is an ideal gas here. ASHRAE's tables carry the real gas, so a saturation humidity ratio is up to 0.5 %
low between -20 and 25 degC, and up to 2 % at 85 degC.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from firstfrost.air.psychro import psychrolib
from firstfrost.errors import OutOfRange

Floats = NDArray[np.float64]
Value = TypeVar("Value", float, Floats)


def _each(function: Callable[..., float], *args: Any, what: str) -> Any:
    """Call `function` on floats, or point by point on arrays."""
    if not any(isinstance(arg, np.ndarray) for arg in args):
        if any(math.isnan(arg) for arg in args):
            return math.nan
        try:
            return float(function(*args))
        except (ValueError, OverflowError, ZeroDivisionError) as err:
            given = ", ".join(f"{arg:g}" for arg in args)
            raise OutOfRange(
                f"{what} cannot be had from {given}: {err}. Check the readings and units."
            ) from err
    full = np.broadcast_arrays(*(np.asarray(arg, dtype=np.float64) for arg in args))
    out = np.full(full[0].shape, np.nan)
    for place in np.ndindex(out.shape):
        point = [float(column[place]) for column in full]
        if all(map(math.isfinite, point)):
            try:
                out[place] = function(*point)
            except (ValueError, OverflowError, ZeroDivisionError):
                continue  # outside: stays NaN
    return out


def saturation_pa(temp_c: Value) -> Value:
    """Saturation vapor pressure, over ice below 0.01 degC and over water above.

    Valid from -100 to 200 degC, within 300 ppm (ASHRAE 2017, chapter 1, equations 5 and 6).

    Parameters
    ----------
    temp_c : float or array
        [degC]

    Returns
    -------
    float or array
        [Pa]

    Raises
    ------
    OutOfRange
        If a float lies outside -100 to 200 degC.
    """
    return cast(Value, _each(psychrolib().GetSatVapPres, temp_c, what="A saturation pressure"))


def _over_water(temp_c: float) -> float:
    # ASHRAE 2017, chapter 1, equation 6, carried below freezing as Hyland and Wexler's equation for water.
    if not -50.0 <= temp_c <= 200.0:
        raise ValueError("temperature outside -50 to 200 degC")
    t = temp_c + 273.15
    return math.exp(
        -5.8002206e3 / t
        + 1.3914993
        - 4.8640239e-2 * t
        + 4.1764768e-5 * t**2
        - 1.4452093e-8 * t**3
        + 6.5459673 * math.log(t)
    )


def saturation_over_water_pa(temp_c: Value) -> Value:
    """Saturation vapor pressure over liquid water, below freezing over supercooled water.

    Many humidity probes report over water at all temperatures. Below freezing this carries ASHRAE's
    equation 6 past its stated range, to -50 degC.

    Parameters
    ----------
    temp_c : float or array
        [degC]

    Returns
    -------
    float or array
        [Pa]

    Raises
    ------
    OutOfRange
        If a float lies outside -50 to 200 degC.
    """
    return cast(Value, _each(_over_water, temp_c, what="A saturation pressure over water"))


def humidity_over_ice(temp_c: Value, humidity_over_water: Value) -> Value:
    """Relative humidity as ASHRAE defines it from that of a probe which reports over water.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [degC]
    humidity_over_water : float or array
        [ratio]

    Returns
    -------
    float or array
        [ratio], above 1 in air that is supersaturated over ice; unchanged above freezing.
    """
    ice, water = saturation_pa(temp_c), saturation_over_water_pa(temp_c)
    return humidity_over_water * water / ice


def humidity_ratio(temp_c: Value, humidity: Value, pressure_pa: float) -> Value:
    """Humidity ratio from relative humidity (equations 20 and 22).

    Parameters
    ----------
    temp_c : float or array
        Dry bulb. [degC]
    humidity : float or array
        Relative humidity, 0 to 1, over ice below freezing. [ratio]
    pressure_pa : float
        Ambient. [Pa]

    Returns
    -------
    float or array
        Water per dry air. [kg/kg]

    Raises
    ------
    OutOfRange
        If a float is outside 0 to 1, or -100 to 200 degC.
    """
    what = "A humidity ratio"
    return cast(Value, _each(psychrolib().GetHumRatioFromRelHum, temp_c, humidity, pressure_pa, what=what))


def relative_humidity(temp_c: Value, ratio: Value, pressure_pa: float) -> Value:
    """Relative humidity [ratio] from dry bulb [degC], humidity ratio [kg/kg] and ambient pressure [Pa].

    Raises
    ------
    OutOfRange
        If a float is outside the range of the equations.
    """
    what = "A relative humidity"
    return cast(Value, _each(psychrolib().GetRelHumFromHumRatio, temp_c, ratio, pressure_pa, what=what))


def dew_point_c(temp_c: Value, humidity: Value) -> Value:
    """Dew point, or below freezing frost point: where the vapor pressure is that of saturation.

    Parameters
    ----------
    temp_c : float or array
        Dry bulb. [degC]
    humidity : float or array
        Relative humidity, above 0 and up to 1. [ratio]

    Returns
    -------
    float or array
        [degC], never above the dry bulb.

    Raises
    ------
    OutOfRange
        If a float is outside the range of the equations.
    """

    def solve(dry: float, part: float) -> float:
        library = psychrolib()
        # PsychroLib starts from the dry bulb and stops at 0.001 K.
        return float(library.GetTDewPointFromVapPres(dry, library.GetVapPresFromRelHum(dry, part)))

    return cast(Value, _each(solve, temp_c, humidity, what="A dew point"))


def humidity_from_dew_point(temp_c: Value, dew_c: Value) -> Value:
    """Relative humidity [ratio] from dry bulb and dew (or frost) point [degC].

    Raises
    ------
    OutOfRange
        If a float dew point lies above its dry bulb, or outside the range of the equations.
    """
    return cast(Value, _each(psychrolib().GetRelHumFromTDewPoint, temp_c, dew_c, what="A relative humidity"))


def wet_bulb_c(temp_c: Value, humidity: Value, pressure_pa: float) -> Value:
    """Thermodynamic wet bulb [degC] (equations 33 and 35, iced below freezing) from dry bulb [degC],
    relative humidity [ratio] and ambient pressure [Pa].

    Raises
    ------
    OutOfRange
        If a float is outside the range of the equations.
    """  # noqa: D205
    what = "A wet bulb"
    return cast(Value, _each(psychrolib().GetTWetBulbFromRelHum, temp_c, humidity, pressure_pa, what=what))


def humidity_from_wet_bulb(temp_c: Value, wet_c: Value, pressure_pa: float) -> Value:
    """Relative humidity [ratio] from dry bulb and wet bulb [degC] and ambient pressure [Pa].

    Raises
    ------
    OutOfRange
        If a float wet bulb lies above its dry bulb, or outside the range of the equations.
    """
    what = "A relative humidity"
    return cast(Value, _each(psychrolib().GetRelHumFromTWetBulb, temp_c, wet_c, pressure_pa, what=what))


def enthalpy(temp_c: Value, ratio: Value) -> Value:
    """Enthalpy of moist air (equation 30), zero for dry air and for liquid water at 0 degC.

    Parameters
    ----------
    temp_c : float or array
        Dry bulb. [degC]
    ratio : float or array
        Humidity ratio. [kg/kg]

    Returns
    -------
    float or array
        [J per kg of dry air]

    Raises
    ------
    OutOfRange
        If a float humidity ratio is negative.
    """
    return cast(Value, _each(psychrolib().GetMoistAirEnthalpy, temp_c, ratio, what="An enthalpy"))


def density(temp_c: Value, ratio: Value, pressure_pa: float) -> Value:
    """Density of moist air (equations 9b and 26).

    Parameters
    ----------
    temp_c : float or array
        Dry bulb. [degC]
    ratio : float or array
        Humidity ratio. [kg/kg]
    pressure_pa : float
        Ambient. [Pa]

    Returns
    -------
    float or array
        Dry air and water together. [kg/m3]

    Raises
    ------
    OutOfRange
        If a float humidity ratio is negative.
    """
    what = "A density"
    return cast(Value, _each(psychrolib().GetMoistAirDensity, temp_c, ratio, pressure_pa, what=what))
