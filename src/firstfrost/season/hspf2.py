"""HSPF2: the heating seasonal performance factor of the US rating procedure.

Over 5 degF bins j of a region (`regions`), n_j / N the part of the hours in each:

    HSPF2 = F_def sum(n_j/N BL_j) / sum(e_j + rh_j)                                       [Btu/(W h)]
    BL_j  = max(0, (T_zl - T_j) / (T_zl - T_od)) C Q_A                                    building load
    e_j   = power of the unit in the bin, rh_j = backup heat that makes up the load

Source: 10 CFR 430 subpart B appendix M1 (2017 to 2024) and AHRI 210/240 (2023), the equations through open
code that implements them and through EnergyPlus' engineering reference ("Standard Ratings"); equation
numbers below are AHRI's as that code quotes them. The standards themselves were not read. Where that code
departs from what its own equation names ask, this module follows the equation, and says so.

The regulation moved to AHRI 210/240 (2024) in 2025; what that changes was not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from firstfrost.errors import InputError
from firstfrost.heating.rating_points import FROST_CAPACITY, FROST_POWER
from firstfrost.quantities.constants import BTU_J
from firstfrost.refrigerants.curves import Floats
from firstfrost.season.points import Point
from firstfrost.season.regions import BINS_F, Region

BTU_PER_WH: Final = 3600.0 / BTU_J
DEFAULT_CD: Final = 0.25
"""Loss by cycling where it was not tested."""


@dataclass(frozen=True, kw_only=True)
class FullSpeed:
    """Points of the one or the highest speed: H1 (47 degF), H2 (35 degF, with frost), H3 (17 degF)."""

    h1: Point
    h3: Point
    h2: Point | None = None
    """Where it was not tested: 0.90 (0.985) of what lies between H3 and H1 at 35 degF."""
    h4: Point | None = None
    """Optional, at 5 degF; used by a variable-speed unit at loads above its capacity."""

    @property
    def frosted(self) -> Point:
        """H2, tested or by the book: Q35 = 0.90 (Q17 + 0.6 (Q47 - Q17)), E35 with 0.985."""
        if self.h2 is not None:
            return self.h2
        return Point(
            capacity_w=FROST_CAPACITY * _between(self.h3.capacity_w, self.h1.capacity_w),
            power_w=FROST_POWER * _between(self.h3.power_w, self.h1.power_w),
        )


@dataclass(frozen=True, kw_only=True)
class LowSpeed:
    """Points of the lowest speed: H0 (62 degF), H1 (47 degF); two-speed units also H2 and H3."""

    h0: Point
    h1: Point
    h2: Point | None = None
    h3: Point | None = None


@dataclass(frozen=True, kw_only=True)
class Demand:
    """A demand-defrost control: times between defrost terminations. [s]."""

    test_s: float
    """In the frost accumulation test."""
    longest_s: float
    """The longest that the control allows."""


@dataclass(frozen=True, kw_only=True)
class Rated:
    """All that HSPF2 depends on."""

    cooling_w: float
    """Net cooling capacity at 95 degF (test A) at full speed: it sets the load. [W]"""
    full: FullSpeed
    low: LowSpeed | None = None
    middle: Point | None = None
    """Variable speed: H2 at the intermediate speed, 35 degF with frost."""
    cd: float = DEFAULT_CD
    between: Literal["low and full", "off and full"] = "low and full"
    """Two speeds: between which it cycles when the load lies between theirs."""
    off_f: float = -np.inf
    """The compressor stops at or below. [degF]"""
    on_f: float = -np.inf
    """It starts again above. [degF]"""
    demand: Demand | None = None

    @property
    def kind(self) -> Literal["single speed", "two speeds", "variable speed"]:
        """By which points there are."""
        if self.low is None:
            return "single speed"
        return "two speeds" if self.middle is None else "variable speed"


@dataclass(frozen=True, kw_only=True)
class Hspf2:
    """The factor and what it is made of, each bin (18,) as a mean over the season's hours. [W]."""

    value: float
    """[Btu/(W h)]"""
    credit: float
    region: Region
    load_w: Floats
    power_w: Floats
    backup_w: Floats


def demand_credit(demand: Demand | None) -> float:
    """F_def = 1 + 0.03 (1 - (t_def - 1.5) / (t_max - 1.5)), times in hours; 1 without demand control.

    t_def is not below 1.5 h, t_max not above 12 h (AHRI 210/240 eq. 11.129 and 11.130).

    Raises
    ------
    InputError
        The longest time is not above 1.5 h, or below that of the test.
    """
    if demand is None:
        return 1.0
    test_h, longest_h = max(demand.test_s / 3600.0, 1.5), min(demand.longest_s / 3600.0, 12.0)
    if not (longest_h > 1.5 and longest_h >= test_h):
        raise InputError(
            f"A demand control with {demand.test_s / 60.0:g} min between defrosts in the test and at most "
            f"{demand.longest_s / 60.0:g} min makes no sense. Expected a longest time above 90 min, and not "
            "below that of the test."
        )
    return 1.0 + 0.03 * (1.0 - (test_h - 1.5) / (longest_h - 1.5))


def hspf2(unit: Rated, region: Region) -> Hspf2:
    """HSPF2 in a region.

    Raises
    ------
    InputError
        A two- or variable-speed unit lacks points that its kind needs.
    """
    temps = np.array(BINS_F)
    hours = np.array(region.hours)
    slope = region.slope_variable if unit.kind == "variable speed" else region.slope
    part = np.maximum(0.0, (region.zero_load_f - temps) / (region.zero_load_f - region.design_f))
    load = part * slope * unit.cooling_w
    if unit.kind == "single speed":
        power, backup = _single(unit, temps, load)
    elif unit.kind == "two speeds":
        power, backup = _two(unit, temps, load)
    else:
        power, backup = _variable(unit, temps, load)
    load, power, backup = load * hours, power * hours, backup * hours
    credit = demand_credit(unit.demand)
    value = float(credit * load.sum() / (power.sum() + backup.sum()) * BTU_PER_WH)
    return Hspf2(value=value, credit=credit, region=region, load_w=load, power_w=power, backup_w=backup)


def full_speed(full: FullSpeed, temps_f: Floats) -> tuple[Floats, Floats]:
    """Capacity and power (n,) [W] over outdoor temperature (n,) [degF], frost included.

    Straight through H3 and H1 from 45 degF up and from 17 degF down, through H3 and H2 between (eq. 11.117
    and 11.118). Valid from about -23 to 62 degF.
    """
    outer = (temps_f >= 45.0) | (temps_f <= 17.0)
    capacity, power = (
        np.where(outer, _line(temps_f, 17.0, a, 47.0, b), _line(temps_f, 17.0, a, 35.0, c))
        for a, b, c in (
            (full.h3.capacity_w, full.h1.capacity_w, full.frosted.capacity_w),
            (full.h3.power_w, full.h1.power_w, full.frosted.power_w),
        )
    )
    return capacity, power


def _between(cold: float, mild: float) -> float:
    return cold + 0.6 * (mild - cold)


def _line(temps: Floats, a: float, at_a: float, b: float, at_b: float) -> Floats:
    return at_a + (at_b - at_a) * (temps - a) / (b - a)


def _allowed(unit: Rated, temps: Floats, cop: Floats) -> Floats:
    """Part of the time it may run: 0 at or below off, or with COP below 1; 1/2 up to on; else 1."""
    held = np.where(temps > unit.on_f, 1.0, 0.5)
    return np.where((temps <= unit.off_f) | (cop < 1.0), 0.0, held)


def _cycling(unit: Rated, load: Floats, capacity: Floats, power: Floats) -> tuple[Floats, Floats]:
    """Load factor X, and power with the loss by cycling: X P / (1 - C_D (1 - X))."""
    x = np.minimum(1.0, load / capacity)
    return x, x * power / (1.0 - unit.cd * (1.0 - x))


def _single(unit: Rated, temps: Floats, load: Floats) -> tuple[Floats, Floats]:
    """X = min(1, BL/Q), PLF = 1 - C_D (1 - X), e = X P d / PLF, rh = BL - X Q d."""
    capacity, power = full_speed(unit.full, temps)
    may = _allowed(unit, temps, capacity / power)
    x, cycled = _cycling(unit, load, capacity, power)
    return cycled * may, load - x * capacity * may


def _low_two(low: LowSpeed, temps: Floats) -> tuple[Floats, Floats]:
    """Low of two (eq. 11.134 to 11.140): H0, H1 from 40 degF up, H3, H1 from 17 down, H3, H2 between."""
    h2, h3 = low.h2, low.h3
    if h2 is None or h3 is None:
        raise InputError(
            "A two-speed unit needs its low speed at 35 degF (H2) and 17 degF (H3) as well. "
            "Take them from the rating sheet; for a variable-speed unit give its intermediate point."
        )
    made = []
    for name in ("capacity_w", "power_w"):
        at_0, at_1, at_2, at_3 = (float(getattr(p, name)) for p in (low.h0, low.h1, h2, h3))
        warm = _line(temps, 47.0, at_1, 62.0, at_0)
        cold = _line(temps, 17.0, at_3, 47.0, at_1)
        frosty = _line(temps, 17.0, at_3, 35.0, at_2)
        made.append(np.where(temps >= 40.0, warm, np.where(temps <= 17.0, cold, frosty)))
    return made[0], made[1]


def _two(unit: Rated, temps: Floats, load: Floats) -> tuple[Floats, Floats]:
    """Two speeds: by where the load lies against the two capacities (eq. 11.153 to 11.170).

    Between them either low and full share the time (11.162 to 11.164), or full cycles with off (11.165,
    11.166). In the latter the open code takes the loss by cycling from the share of low, which has no part
    in it; here it is taken from the load over the full capacity.
    """
    assert unit.low is not None
    q_low, p_low = _low_two(unit.low, temps)
    q, p = full_speed(unit.full, temps)
    may_low, may = _allowed(unit, temps, q_low / p_low), _allowed(unit, temps, q / p)
    _, at_low = _cycling(unit, load, q_low, p_low)
    _, at_full = _cycling(unit, load, q, p)
    low_share = np.clip((q - load) / np.where(q > q_low, q - q_low, np.inf), 0.0, 1.0)
    if unit.between == "low and full":
        middle, may_middle = p_low * low_share + p * (1.0 - low_share), may_low
    else:
        middle, may_middle = at_full, may
    small, great = load <= q_low, load >= q
    power = np.where(small, at_low * may_low, np.where(great, p * may, middle * may_middle))
    backup = np.where(
        small, load * (1.0 - may_low), np.where(great, load - q * may, load * (1.0 - may_middle))
    )
    return power, backup


def _variable(unit: Rated, temps: Floats, load: Floats) -> tuple[Floats, Floats]:
    """Variable speed (eq. 11.177 to 11.206).

    Low speed on the line through H0 and H1, without frost. Intermediate speed through its point at 35 degF
    with the slope

        M = (Y_H0 - Y_H1)_low / 15 (1 - N) + (Y_H2 - Y_H3)_full / 18 N,
        N = (Y_int,35 - Y_low,35) / (Y_full,35 - Y_low,35)

    for Y capacity and power each (the open code takes N of the capacity for both). Between the speeds the
    COP is straight in the load. Above the full capacity the point at 5 degF counts, where there is one.
    """
    assert unit.low is not None
    assert unit.middle is not None
    low, full, middle = unit.low, unit.full, unit.middle
    frosted = full.frosted
    lines = {}
    for name in ("capacity_w", "power_w"):
        h0, h1, mid, h2, h3 = (float(getattr(p, name)) for p in (low.h0, low.h1, middle, frosted, full.h3))
        at_low = _line(temps, 47.0, h1, 62.0, h0)
        low_35 = h1 + (h0 - h1) * (35.0 - 47.0) / 15.0
        n = (mid - low_35) / (h2 - low_35)
        slope = (h0 - h1) / 15.0 * (1.0 - n) + (h2 - h3) / 18.0 * n
        lines[name] = at_low, mid + slope * (temps - 35.0)
    (q_low, q_mid), (p_low, p_mid) = lines["capacity_w"], lines["power_w"]
    q, p = full_speed(full, temps)
    if not ((q_mid > q_low) & (q > q_mid))[(temps >= 17.0) & (temps <= 47.0)].all():
        raise InputError(
            "The speeds do not follow each other: low, intermediate and full capacity must rise in this "
            "order from 17 to 47 degF. Look at the rating sheet again."
        )
    cop_low, cop_mid, cop = q_low / p_low, q_mid / p_mid, q / p
    below = cop_low + (cop_mid - cop_low) / (q_mid - q_low) * (load - q_low)
    above = cop_mid + (cop - cop_mid) / (q - q_mid) * (load - q_mid)
    between = np.where(load <= q_mid, below, above)
    may_low, may_between = _allowed(unit, temps, cop_low), _allowed(unit, temps, between)
    _, at_low = _cycling(unit, load, q_low, p_low)
    q_most, p_most = _coldest(full, temps)
    may = _allowed(unit, temps, q_most / p_most)
    small, great = load <= q_low, load >= q
    power = np.where(small, at_low * may_low, np.where(great, p_most * may, load / between * may_between))
    backup = np.where(
        small, load * (1.0 - may_low), np.where(great, load - q_most * may, load * (1.0 - may_between))
    )
    return power, backup


def _coldest(full: FullSpeed, temps: Floats) -> tuple[Floats, Floats]:
    """Full speed with H4: through H4 and H3 from 5 to 17 degF, below with the slope of H3 to H1."""
    q, p = full_speed(full, temps)
    if full.h4 is None:
        return q, p
    made = []
    for line, name in ((q, "capacity_w"), (p, "power_w")):
        h1, h3, h4 = (float(getattr(point, name)) for point in (full.h1, full.h3, full.h4))
        mild = _line(temps, 5.0, h4, 17.0, h3)
        cold = h4 + (h1 - h3) / 30.0 * (temps - 5.0)
        made.append(np.where(temps > 17.0, line, np.where(temps >= 5.0, mild, cold)))
    return made[0], made[1]
