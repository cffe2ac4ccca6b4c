"""What a unit should deliver and draw at any outdoor temperature, from two or three rating points.

Straight lines through the points, as the US rating procedure itself draws them for a single-speed unit::

    T <= 17 or T >= 45 degF   Q(T) = Q17 + (Q47 - Q17) (T - 17) / 30
    17 < T < 45 degF          Q(T) = Q17 + (Q35 - Q17) (T - 17) / 18        frost and defrost counted

and the same for the power E. Without a 35 degF test: Q35 = 0.90 [Q17 + 0.6 (Q47 - Q17)] and
E35 = 0.985 [E17 + 0.6 (E47 - E17)]. With a 5 degF test the line below 17 degF goes through 5 and 17 degF
(from memory). Without frost, as a unit runs right after a defrost, the first line holds all along.

References: 10 CFR 430 subpart B, appendix M1, and AHRI 210/240, as quoted in open rating code and in the
EnergyPlus Engineering Reference.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.plates import RatingPoint, Ratings
from firstfrost.errors import InputError, OutOfRange

Floats = NDArray[np.float64]
Temps = TypeVar("Temps", float, Floats)

FROST_CAPACITY: Final = 0.90
FROST_POWER: Final = 0.985
"""What frost and defrost leave of capacity and power at 35 degF, where the test was not made."""

LOWEST_C: Final = (-25.5 - 32.0) / 1.8
HIGHEST_C: Final = (64.5 - 32.0) / 1.8
"""The bins that the procedure draws its lines over, -23 to 62 degF, each 5 degF wide."""

_AT_C: Final = {temp_f: (temp_f - 32.0) / 1.8 for temp_f in (47, 45, 35, 17, 5)}


@dataclass(frozen=True, kw_only=True)
class RatingLines:
    """Lines through rating points, indoor air at 70 degF."""

    points: Mapping[int, RatingPoint]
    """47 and 17 at least. [degF]"""
    frost_tested: bool
    """Whether the 35 degF point is a test's; else it is 0.90 and 0.985 of the line."""

    @property
    def has_power(self) -> bool:
        """Whether the 47 and 17 degF points have a power."""
        return all(self.points[temp_f].power_w is not None for temp_f in (47, 17))

    @property
    def steady_35(self) -> tuple[float, float | None]:
        """Capacity and power [W] at 35 degF without frost, on the line through 17 and 47 degF."""
        low, high = self.points[17], self.points[47]
        capacity = low.capacity_w + 0.6 * (high.capacity_w - low.capacity_w)
        if low.power_w is None or high.power_w is None:
            return capacity, None
        return capacity, low.power_w + 0.6 * (high.power_w - low.power_w)

    def capacity_w(self, outdoor_c: Temps, *, frost: bool) -> Temps:
        """Heating capacity.

        Parameters
        ----------
        outdoor_c : float or (n,) float64
            Outdoor dry bulb. [degC]
        frost : bool
            Whether frost and defrost count, as over a whole cycle in usual humidity.

        Returns
        -------
        float or (n,) float64
            [W]; in an array NaN outside -25.5 to 64.5 degF.

        Raises
        ------
        OutOfRange
            If a float lies outside.
        """
        known = {temp_f: point.capacity_w for temp_f, point in self.points.items()}
        steady, _ = self.steady_35
        return self._on_lines(known, FROST_CAPACITY * steady, outdoor_c, frost)

    def power_w(self, outdoor_c: Temps, *, frost: bool) -> Temps:
        """Electric power of the whole unit; as `capacity_w`.

        Raises
        ------
        OutOfRange
            If a float lies outside.
        InputError
            If there is no power at 47 or 17 degF.
        """
        _, steady = self.steady_35
        if steady is None:
            raise InputError(
                "The electric power at 47 and 17 degF is not known. Look up power_47 and power_17, or "
                "cop_47 and "
                "cop_17, and write them under [ratings]."
            )
        known = {temp_f: p.power_w for temp_f, p in self.points.items() if p.power_w is not None}
        return self._on_lines(known, FROST_POWER * steady, outdoor_c, frost)

    def _on_lines(self, known: Mapping[int, float], at_35: float, outdoor_c: Temps, frost: bool) -> Temps:
        scalar = not isinstance(outdoor_c, np.ndarray)
        if scalar and not (math.isnan(outdoor_c) or LOWEST_C <= outdoor_c <= HIGHEST_C):
            raise OutOfRange(
                f"The outdoor air is at {outdoor_c * 1.8 + 32.0:.1f} degF. Expected -25.5 to 64.5 degF, "
                "where the "
                "rating procedure draws its lines. Measure within that."
            )
        t = np.atleast_1d(np.asarray(outdoor_c, dtype=np.float64))
        out = _line(t, (17, known[17]), (47, known[47]))
        if 5 in known:
            out = np.where(t < _AT_C[17], _line(t, (5, known[5]), (17, known[17])), out)
        if frost:
            frosted = _line(t, (17, known[17]), (35, known.get(35, at_35)))
            out = np.where((t > _AT_C[17]) & (t < _AT_C[45]), frosted, out)
        out = np.where((t >= LOWEST_C) & (t <= HIGHEST_C), out, np.nan)
        return cast(Temps, float(out[0]) if scalar else out)


def _line(t: Floats, one: tuple[int, float], other: tuple[int, float]) -> Floats:
    start_c, end_c = _AT_C[one[0]], _AT_C[other[0]]
    return one[1] + (other[1] - one[1]) * (t - start_c) / (end_c - start_c)


def rating_lines(ratings: Ratings) -> RatingLines | None:
    """Lines through the rating points; None without the capacities at 47 and 17 degF."""
    if not {47, 17} <= ratings.points.keys():
        return None
    return RatingLines(points=ratings.points, frost_tested=35 in ratings.points)


# Cutler et al., "Improved Modeling of Residential Air Conditioners and Heat Pumps for Energy Calculations",
# NREL 2013: single-speed heat pumps in heating, steady, over indoor and outdoor dry bulb in degF (a + b i +
# c i2 + d o + e o2 + f i o) and over the airflow as a part of the rated. Coefficients as several open
# programs have them; the report not seen.
_CAPACITY: Final = (0.566333415, -0.000744164, -0.0000103, 0.009414634, 0.0000506, -0.00000675)
_INPUT_RATIO: Final = (0.718398423, 0.003498178, 0.000142202, -0.005724331, 0.00014085, -0.000215321)
_CAPACITY_FLOW: Final = (0.694045465, 0.474207981, -0.168253446)
_INPUT_RATIO_FLOW: Final = (2.185418751, -1.942827919, 0.757409168)

INDOOR_RANGE_C: Final = (10.0, 30.0)
"""Indoor air that the curves are used for: 50 to 86 degF, a little past where such tests are made."""
FLOW_RANGE: Final = (0.6, 1.3)
"""Airflow over rated, likewise."""


def _biquadratic(c: tuple[float, ...], indoor_c: float, outdoor_c: float) -> float:
    i, o = indoor_c * 1.8 + 32.0, outdoor_c * 1.8 + 32.0
    return c[0] + c[1] * i + c[2] * i * i + c[3] * o + c[4] * o * o + c[5] * i * o


def single_speed_curve(indoor_c: float, outdoor_c: float) -> tuple[float, float]:
    """Capacity and power of a usual single-speed unit without frost, over those at 47 degF (70 indoors).

    Parameters
    ----------
    indoor_c, outdoor_c : float
        Dry bulbs. [degC]

    References
    ----------
    Cutler et al., NREL 2013, quoted in open code.
    """
    base_c, at_47 = (70.0 - 32.0) / 1.8, _AT_C[47]
    capacity = _biquadratic(_CAPACITY, indoor_c, outdoor_c) / _biquadratic(_CAPACITY, base_c, at_47)
    ratio = _biquadratic(_INPUT_RATIO, indoor_c, outdoor_c) / _biquadratic(_INPUT_RATIO, base_c, at_47)
    return capacity, capacity * ratio


def indoor_correction(indoor_c: float, outdoor_c: float) -> tuple[float, float]:
    """What capacity and power at 70 degF indoors are to be multiplied by for another indoor temperature.

    Raises
    ------
    OutOfRange
        Outside `INDOOR_RANGE_C`.

    References
    ----------
    As `single_speed_curve`. At 47 degF outdoors a degF warmer indoors takes 0.25 % of the capacity and adds
    1.1 % to the power; two-speed units in the same source differ by up to half of that.
    """
    low, high = INDOOR_RANGE_C
    if not low <= indoor_c <= high:
        raise OutOfRange(
            f"The indoor air is at {indoor_c * 1.8 + 32.0:.1f} degF. Expected 50 to 86 degF, where the "
            "correction to "
            "70 degF holds. Let the house come near its set point first."
        )
    base = single_speed_curve((70.0 - 32.0) / 1.8, outdoor_c)
    here = single_speed_curve(indoor_c, outdoor_c)
    return here[0] / base[0], here[1] / base[1]


def airflow_correction(flow_ratio: float) -> tuple[float, float]:
    """What capacity and power at rated airflow are to be multiplied by for another airflow, as a part of it.

    It says what an airflow that is wrong costs; it is left out of what is expected of the unit, because it
    would explain the fault away.

    Raises
    ------
    OutOfRange
        Outside `FLOW_RANGE`.

    References
    ----------
    As `single_speed_curve`.
    """
    low, high = FLOW_RANGE
    if not low <= flow_ratio <= high:
        raise OutOfRange(
            f"The airflow is {100 * flow_ratio:.0f} % of the rated one. Expected {100 * low:.0f} to "
            f"{100 * high:.0f} "
            "%, where the correction holds. Put the airflow right first."
        )
    capacity = _CAPACITY_FLOW[0] + flow_ratio * (_CAPACITY_FLOW[1] + flow_ratio * _CAPACITY_FLOW[2])
    ratio = _INPUT_RATIO_FLOW[0] + flow_ratio * (_INPUT_RATIO_FLOW[1] + flow_ratio * _INPUT_RATIO_FLOW[2])
    return capacity, capacity * ratio
