"""A unit's season: frost, settings, load, energy, money, in one result."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.heating.load import BalancePoint, Coverage, balance_point, coverage
from firstfrost.instruments.budget import Value
from firstfrost.refrigerants.curves import Floats
from firstfrost.season.at_visit import AtVisit
from firstfrost.season.compare import Comparison, compare, factors
from firstfrost.season.faults import FaultCost, fault_costs
from firstfrost.season.hspf2 import Demand, FullSpeed, Hspf2, Rated, hspf2
from firstfrost.season.money import Prices
from firstfrost.season.points import Point
from firstfrost.season.regions import REGIONS
from firstfrost.season.risk import COIL_SPLIT_K, Risk, frost_risk
from firstfrost.season.setup import Assumption, House, Prepared, prepare
from firstfrost.season.table import Driven, drive, table
from firstfrost.season.winter import Case, winters
from firstfrost.weather.hours import Air

DESIGN_PART: Final = 0.01
"""The design temperature of the weather is what 99 % of the hours are warmer than."""
LOCKOUTS_C: Final = (-100.0, -20.0, -15.0, -10.0, -5.0, 0.0, 5.0)
DROOPS_K: Final = (0.6, 1.2, 2.2)
COLDEST_C, WARMEST_C = -30.0, 16.0
_CREDIT: Final = Assumption(
    what=(
        "HSPF2 has the full credit for demand defrost, 1.03: the time between defrosts in the test is not "
        "known."
    ),
    better="the published HSPF2 the last word",
)


@dataclass(frozen=True, kw_only=True)
class Trial:
    """One way to set a lockout or a droop, and what it takes."""

    value: float
    """[degC] or [K]; -100: no lockout."""
    energy_j: float
    backup_j: float
    slots_j: Floats


@dataclass(frozen=True, kw_only=True)
class Season:
    """All that a season says of a unit."""

    unit: Unit
    air: Air
    driven: Driven
    prepared: Prepared
    risk: Risk
    comparison: Comparison
    balance: BalancePoint
    design: Coverage
    heat_j: float
    """What the house needs over the hours. [J]"""
    ratings: tuple[Hspf2, ...]
    """In each region; none where the unit's rating points are not known."""
    lockouts: tuple[Trial, ...]
    droops: tuple[Trial, ...]
    sound_j: float
    """Energy of the sound unit as its board is set."""
    sound_slots_j: Floats
    fault_costs: tuple[FaultCost, ...]
    prices: Prices | None
    visit: AtVisit | None
    assumptions: tuple[Assumption, ...]

    @property
    def current(self) -> int:
        """Which of the settings the board has."""
        case = self.prepared.case
        for n, row in enumerate(self.comparison.settings):
            if row.offered and (case.demand or row.case.interval_s == case.interval_s):
                return n
        return self.comparison.best

    @property
    def frosts(self) -> bool:
        """Whether any hour of the weather frosts the coil."""
        return self.risk.hours > 0.0

    @property
    def house(self) -> House:
        """Its load line."""
        return self.prepared.house


def season(
    unit: Unit,
    air: Air,
    *,
    prices: Prices | None = None,
    split_k: float = COIL_SPLIT_K,
    visit: AtVisit | None = None,
    quick: bool = False,
) -> Season:
    """Work out a season.

    Parameters
    ----------
    unit : Unit
        From its file.
    air : Air
        Hours of a year, or a winter.
    prices : Prices, optional
        Without them there is energy and no money.
    split_k : float
        Outdoor air over clean coil as measured at a visit. [K]
    visit : AtVisit, optional
        What was measured at a visit, and what failed there.
    quick : bool
        Leave out the factors' bounds: no uncertainty of the settings' order.

    Raises
    ------
    InputError
        No hour needs heat, or the house's load cannot be told.
    """
    base = table()
    design_c = float(np.quantile(air.temps_c, DESIGN_PART))
    prepared = prepare(unit, design_temp_c=design_c, visit=visit, base=base)
    case = prepared.case
    need = np.maximum(case.conductance_wk * (case.set_c - air.temps_c) - case.gain_w, 0.0)
    if not need.any():
        raise InputError(
            f"{air.source} has no hour in which this house needs heat: its coldest is "
            f"{air.temps_c.min():.1f} degC. Give the weather of a winter."
        )
    driven = drive(air, base)
    hourly = prices is not None
    asked = (
        ()
        if quick
        else factors(
            load_part=prepared.house.part_u,
            sensor_k=prepared.sensor_k,
            capacity_part=prepared.capacity_u,
            whence=_whence(prepared),
        )
    )
    comparison = compare(air, case, asked, hourly=hourly, base=base, driven=driven)
    sound, costs = fault_costs(driven, case, visit=visit, hourly=hourly, base=base)
    lines, part = prepared.lines, None if visit is None else visit.capacity
    meets = balance_point(
        prepared.house.load,
        lambda t: lines.capacity_w(t, frost=True),
        coldest_c=COLDEST_C,
        warmest_c=WARMEST_C,
        capacity_u=0.03 if prepared.rated and part is None else max(0.08, 0.5 * prepared.capacity_u),
    )
    assumptions = prepared.assumptions
    if unit.board.kind == "demand" and prepared.rated:
        assumptions = (*assumptions, _CREDIT)
    made = Season(
        unit=unit,
        air=air,
        driven=driven,
        prepared=prepared,
        risk=frost_risk(air, split_k=split_k),
        comparison=comparison,
        balance=meets,
        design=_design(prepared),
        heat_j=float(need.sum() * air.step_s),
        ratings=_ratings(unit, prepared),
        lockouts=_trials(driven, case, "lockout", LOCKOUTS_C, hourly),
        droops=_trials(driven, case, "droop", DROOPS_K, hourly),
        sound_j=sound,
        sound_slots_j=np.zeros(0),
        fault_costs=costs,
        prices=prices,
        visit=visit,
        assumptions=assumptions,
    )
    return replace(made, sound_slots_j=comparison.found.electricity_slots[made.current])


def _whence(prepared: Prepared) -> str:
    if "capacity" in prepared.measured:
        return ", as well as it was measured"
    return "" if prepared.rated else ", as no rating is given"


def _design(prepared: Prepared) -> Coverage:
    at = max(prepared.house.design_temp_c, -31.0)
    capacity = float(np.asarray(prepared.lines.capacity_w(np.array([at]), frost=True))[0])
    value = Value(value=capacity, sources={"capacity": prepared.capacity_u * capacity / np.sqrt(3.0)})
    return coverage(prepared.house.load, value, at)


def _ratings(unit: Unit, prepared: Prepared) -> tuple[Hspf2, ...]:
    if not prepared.rated:
        return ()
    points = {
        at: Point(capacity_w=p.capacity_w, power_w=p.power_w)
        for at, p in prepared.rating_lines.points.items()
        if p.power_w is not None
    }
    cooling = unit.ratings.cooling_capacity_w or unit.nominal_capacity_w or points[47].capacity_w
    demand = None
    if unit.board.kind == "demand":
        demand = Demand(test_s=5400.0, longest_s=6 * 3600.0)
    rated = Rated(
        cooling_w=cooling,
        full=FullSpeed(h1=points[47], h2=points.get(35), h3=points[17], h4=points.get(5)),
        demand=demand,
    )
    return tuple(hspf2(rated, one) for one in REGIONS)


def _trials(
    driven: Driven, case: Case, what: str, values: Sequence[float], hourly: bool
) -> tuple[Trial, ...]:
    cases = [
        replace(case, lockout_c=one) if what == "lockout" else replace(case, second_k=one) for one in values
    ]
    found = winters(driven, cases, hourly=hourly)
    backup = found.total("backup") + found.total("backup_defrost") + found.total("short")
    return tuple(
        Trial(
            value=one,
            energy_j=float(found.energy_j[n]),
            backup_j=float(backup[n]),
            slots_j=found.electricity_slots[n],
        )
        for n, one in enumerate(values)
    )
