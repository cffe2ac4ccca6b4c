"""SCOP: the seasonal coefficient of performance by the bin method of EN 14825.

    P(T_j)   = P_design (T_j - 16) / (T_design - 16)                               load of a 1 K bin
    SCOP_on  = sum h_j P_j / sum h_j ((P_j - s_j) / COP_j + s_j)                    s_j: supplementary heat
    SCOP     = Q / (Q / SCOP_on + H_TO P_TO + H_SB P_SB + H_CK P_CK + H_OFF P_OFF),  Q = P_design H_HE

Between the test points capacity and COP are straight in the temperature, beyond them on the line of the
nearest two; below the operation limit the unit gives nothing. Where the declared capacity is above the load
the COP is that of the test times CR / (Cd CR + 1 - Cd), CR = load / capacity.

Source: EN 14825 (2018), clauses 6 to 8 and annexes A and B, through open code that implements it and a page
that quotes its hours; the standard was not read. The hours of the bins are from memory and add to the
published 4,910, 3,590 and 6,446 h.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Floats
from firstfrost.season.points import Point

BALANCE_C: Final = 16.0
"""Outdoor temperature at which the load is zero, in every climate. [degC]"""
DEFAULT_CD: Final = 0.9
"""Where it was not tested."""


@dataclass(frozen=True, kw_only=True)
class Climate:
    """A heating season of EN 14825."""

    name: str
    design_c: float
    first_c: int
    hours: tuple[int, ...]
    """In each bin of 1 K from `first_c` to 15 degC."""
    active_h: float
    """Equivalent active hours H_HE."""
    off_h: float
    """Off mode, heating only; a unit that also cools has none."""
    thermostat_h: float
    crankcase_h: float
    """Heating only; with cooling as many as thermostat off."""


# fmt: off
CLIMATES: Final = (
    Climate(
        name="average", design_c=-10.0, first_c=-10, active_h=2066.0, off_h=3672.0, thermostat_h=179.0,
        crankcase_h=3851.0,
        hours=(1, 25, 23, 24, 27, 68, 91, 89, 165, 173, 240, 280, 320, 357, 356, 303, 330, 326, 348, 335, 315,
               215, 169, 151, 105, 74),
    ),
    Climate(
        name="warmer", design_c=2.0, first_c=2, active_h=1336.0, off_h=4345.0, thermostat_h=755.0,
        crankcase_h=4476.0,
        hours=(3, 22, 63, 63, 175, 162, 259, 360, 428, 430, 503, 444, 384, 294),
    ),
    Climate(
        name="colder", design_c=-22.0, first_c=-22, active_h=2465.0, off_h=2189.0, thermostat_h=131.0,
        crankcase_h=2944.0,
        hours=(1, 6, 13, 17, 19, 26, 39, 41, 35, 52, 37, 41, 43, 54, 90, 125, 169, 195, 278, 306, 454, 385,
        490,
               533, 380, 228, 261, 279, 229, 269, 233, 230, 243, 191, 146, 150, 97, 61),
    ),
)
# fmt: on


def climate(name: str) -> Climate:
    """The climate called "average", "warmer" or "colder".

    Raises
    ------
    InputError
        There is none of that name.
    """
    for one in CLIMATES:
        if one.name == name.strip().lower():
            return one
    raise InputError(
        f"EN 14825 has no climate {name!r}. Expected one of {', '.join(c.name for c in CLIMATES)}."
    )


@dataclass(frozen=True, kw_only=True)
class Standby:
    """Powers [W] outside of active heating, and whether the unit also cools."""

    off_w: float = 0.0
    thermostat_w: float = 0.0
    standby_w: float = 0.0
    crankcase_w: float = 0.0
    also_cools: bool = True

    def energy_j(self, season: Climate) -> float:
        """Over a year. Standby has no hours in any climate."""
        off_h = 0.0 if self.also_cools else season.off_h
        crankcase_h = season.thermostat_h if self.also_cools else season.crankcase_h
        watt_hours = (
            self.thermostat_w * season.thermostat_h + self.crankcase_w * crankcase_h + self.off_w * off_h
        )
        return 3600.0 * watt_hours


@dataclass(frozen=True, kw_only=True)
class Declared:
    """What EN 14825 needs of a unit."""

    design_w: float
    """Load at the climate's design temperature. [W]"""
    points: Mapping[float, Point]
    """Outdoor temperature [degC] -> tested capacity and power: -7, 2, 7, 12, bivalent, limit, ..."""
    limit_c: float = -np.inf
    """Below this the unit does not run (operation limit). [degC]"""
    cd: float = DEFAULT_CD
    """Degradation coefficient, 1: none."""
    standby: Standby = field(default_factory=Standby)


@dataclass(frozen=True, kw_only=True)
class Scop:
    """The factor and what it is made of."""

    value: float
    active: float
    """SCOP_on: without standby."""
    load_w: Floats
    """(n,) in each bin."""
    backup_w: Floats
    """(n,) supplementary heat in each bin."""
    cop: Floats
    """(n,) of each bin."""


def scop(unit: Declared, season: Climate) -> Scop:
    """SCOP in a climate.

    Raises
    ------
    InputError
        There are fewer than two points.
    """
    if len(unit.points) < 2:
        raise InputError(
            f"SCOP needs at least two test points, and there are {len(unit.points)}. "
            "Take them from the declaration: -7, 2, 7 and 12 degC."
        )
    temps = season.first_c + np.arange(len(season.hours), dtype=np.float64)
    hours = np.array(season.hours, dtype=np.float64)
    load = _load(unit, season, temps)
    at = np.array(sorted(unit.points))
    capacities = np.array([unit.points[t].capacity_w for t in at.tolist()])
    tested = np.array([unit.points[t].cop for t in at.tolist()])
    ratio = np.clip(_load(unit, season, at) / capacities, 1e-6, 1.0)
    cops = tested * ratio / (unit.cd * ratio + 1.0 - unit.cd)
    cop = np.maximum(_through(temps, at, cops), 1.0)
    capacity = np.where(temps < unit.limit_c, 0.0, np.maximum(_through(temps, at, capacities), 0.0))
    given = np.minimum(load, capacity)
    backup = load - given
    active = float((hours * load).sum() / (hours * (given / cop + backup)).sum())
    need_j = unit.design_w * season.active_h * 3600.0
    value = need_j / (need_j / active + unit.standby.energy_j(season))
    return Scop(value=value, active=active, load_w=load, backup_w=backup, cop=cop)


def _load(unit: Declared, season: Climate, temps: Floats) -> Floats:
    return np.maximum(0.0, unit.design_w * (temps - BALANCE_C) / (season.design_c - BALANCE_C))


def _through(temps: Floats, at: Floats, values: Floats) -> Floats:
    """Straight between points, and beyond them on the line of the nearest two."""
    inside = np.interp(temps, at, values)
    low = values[0] + (values[1] - values[0]) / (at[1] - at[0]) * (temps - at[0])
    high = values[-1] + (values[-1] - values[-2]) / (at[-1] - at[-2]) * (temps - at[-1])
    return np.where(temps < at[0], low, np.where(temps > at[-1], high, inside))
