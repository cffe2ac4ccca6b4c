"""Hours at risk of frost: the coil's surface is below freezing and below the air's frost point.

With the surface a split D below the outdoor air, an hour of heating frosts where

    T - D < 0 degC   and   e(T, RH) > e_ice(T - D)

e the vapor pressure. In drier air the coil stays bare however cold it is; in milder air it only gets wet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.air.moist import saturation_pa
from firstfrost.refrigerants.curves import Floats
from firstfrost.weather.hours import Air

COIL_SPLIT_K: Final = 4.6
"""Air over clean coil surface of the bench's generic unit between -8 and 5 degC; another at a visit."""


@dataclass(frozen=True, kw_only=True)
class Risk:
    """Hours at risk."""

    at_risk: NDArray[np.bool_]
    """(n,)"""
    split_k: float
    hours: float
    """In all. [h]"""
    calendar: Floats
    """(12, 24) hours at risk by month, January first, and hour of the day. [h]"""
    possible: Floats
    """(12, 24) hours that there are. [h]"""
    worst_c: float
    """Outdoor temperature [degC] about which an hour brings most frost; NaN without any."""


def frost_risk(air: Air, *, split_k: float = COIL_SPLIT_K) -> Risk:
    """Count the hours at risk of frost.

    Parameters
    ----------
    air : Air
        n hours.
    split_k : float
        Outdoor air over the clean coil's surface in heating, as measured at a visit. [K]
    """
    surface = air.temps_c - split_k
    ice = np.asarray(saturation_pa(np.minimum(surface, 0.0)))
    vapor = air.humidity * np.asarray(saturation_pa(air.temps_c))
    excess = vapor - ice
    at_risk = (surface < 0.0) & (excess > 0.0)
    step_h = air.step_s / 3600.0
    where = (air.months - 1) * 24 + air.hours
    hours = np.bincount(where, weights=at_risk * step_h, minlength=288).astype(np.float64)
    calendar = hours.reshape(12, 24)
    possible = step_h * np.bincount(where, minlength=288).reshape(12, 24).astype(np.float64)
    worst = float("nan")
    if at_risk.any():
        bins = np.round(air.temps_c[at_risk])
        kinds = np.unique(bins)
        means = [np.mean(excess[at_risk][bins == one]) for one in kinds]
        worst = float(kinds[int(np.argmax(means))])
    return Risk(
        at_risk=at_risk,
        split_k=split_k,
        hours=float(at_risk.sum() * step_h),
        calendar=calendar,
        possible=possible,
        worst_c=worst,
    )
