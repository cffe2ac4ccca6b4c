"""From a unit file to a case of the winter model, with what had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from firstfrost.equipment.unit import Unit
from firstfrost.heating.load import LoadFit, LoadLine, load_from_run_time, load_line
from firstfrost.heating.rating_points import RatingLines, rating_lines
from firstfrost.heating.run_log import read_run_log
from firstfrost.quantities.show import show
from firstfrost.season.at_visit import AtVisit
from firstfrost.season.points import Point
from firstfrost.season.regions import region
from firstfrost.season.table import Table, table
from firstfrost.season.winter import Case

GENERIC_W: Final = 8792.0
"""The bench's generic unit: 2.5 tons."""
BACKUP_PART: Final = 1.2
"""Backup heat assumed, over the design load: common practice, no source (it must heat the house alone)."""
POWER_U: Final = 0.05
DEMAND_BACK_UP_S: Final = 6 * 3600.0
"""A demand control may start a defrost by time only after six hours of run time: 10 CFR 430 appendix M1, from
memory."""


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """What was taken for granted, and what would make it better."""

    what: str
    better: str


@dataclass(frozen=True, kw_only=True)
class House:
    """The load line that the season rests on, with its relative uncertainty."""

    load: LoadLine | LoadFit
    design_temp_c: float
    part_u: float
    """Half-width of the load as a part."""
    given: bool


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """A case as the unit file and the visit have it, before the board's setting is varied."""

    case: Case
    house: House
    lines: RatingLines
    """Through the rating points, or the bench's scaled to the unit's size."""
    """As they were at the visit, where that told more than the ratings."""
    rating_lines: RatingLines
    """The same before the visit."""
    rated: bool
    capacity_u: float
    """Half-width of capacity in the cold as a part."""
    sensor_k: float
    """How far the coil sensor may switch from what is taken. [K]"""
    measured: tuple[str, ...]
    """Which of `closes`, `opens`, `capacity`, `power` are as measured."""
    assumptions: tuple[Assumption, ...]


def prepare(
    unit: Unit,
    *,
    design_temp_c: float | None = None,
    visit: AtVisit | None = None,
    base: Table | None = None,
) -> Prepared:
    """What a unit file says, as a case.

    Parameters
    ----------
    unit : Unit
        As read.
    design_temp_c : float, optional
        Coldest design hour where the file has none: the 99 % temperature of the weather, say. [degC]
    visit : AtVisit, optional
        What it measured goes before the file: the coil sensor's temperatures unless they failed, capacity
        and power at all temperatures alike.
    base : Table, optional
        The winter model's.

    Raises
    ------
    InputError
        A log of run time cannot give a load; as `load_from_run_time`.
    """
    base = base or table()
    notes: list[Assumption] = []
    seen = visit or AtVisit()
    own, rated = _lines(unit, base, notes)
    lines = own if seen.capacity is None and seen.power is None else _scaled(own, seen)
    warm, cold = (
        Point(capacity_w=lines.points[at].capacity_w, power_w=lines.points[at].power_w or 0.0)
        for at in (47, 17)
    )
    house = _house(unit, lines, design_temp_c, notes)
    line = house.load.line if isinstance(house.load, LoadFit) else house.load
    backup = sum(unit.backup.stages_w)
    if not backup:
        backup = BACKUP_PART * line.load_w(house.design_temp_c)
        notes.append(
            Assumption(
                what=f"Backup heat of {show(backup, 'power')}: enough for the house by itself.",
                better="stages under [backup]",
            )
        )
    lockout = unit.backup.compressor_lockout_c
    if lockout is None:
        lockout = unit.ratings.cut_out_c
    sensor = unit.coil_sensor
    # A unit that heats less has no smaller coil.
    size = own.points[47].capacity_w / float(base.clean(np.array([25.0 / 3.0]))[0][0])
    closes, opens = (None if one is None or one.failed else one for one in (seen.closes, seen.opens))
    bands = [sensor.tolerance_k if one is None else one.expanded for one in (closes, opens)]
    airflow = unit.ratings.airflow_m3_s
    case = Case(
        warm=warm,
        cold=cold,
        coil_size=size,
        interval_s=unit.board.interval_s,
        demand=unit.board.kind == "demand",
        longest_s=unit.board.longest_defrost_s,
        closes_c=sensor.closes_at_c if closes is None else closes.value,
        opens_c=sensor.opens_at_c if opens is None else opens.value,
        conductance_wk=line.ua_w_k,
        gain_w=max(line.ua_w_k * (unit.house.indoor_c - line.zero_load_c), 0.0),
        set_c=unit.house.indoor_c,
        backup_w=backup,
        # In a defrost the first stage runs, as far as one is known.
        backup_defrost_w=unit.backup.stages_w[0] if unit.backup.stages_w else 0.5 * backup,
        lockout_c=-100.0 if lockout is None else lockout,
        airflow_wk=None if airflow is None else airflow * 1.204 * 1015.0,
    )
    if case.demand:
        case = replace(case, interval_s=max(case.interval_s, DEMAND_BACK_UP_S))
    part = seen.capacity
    taken = {"closes": closes, "opens": opens, "capacity": part, "power": seen.power}
    return Prepared(
        case=case,
        house=house,
        lines=lines,
        rating_lines=own,
        rated=rated,
        capacity_u=(0.05 if rated else 0.15) if part is None else max(part.expanded / part.value, 0.05),
        sensor_k=max(bands),
        measured=tuple(name for name, one in taken.items() if one is not None),
        assumptions=tuple(notes),
    )


def _scaled(lines: RatingLines, seen: AtVisit) -> RatingLines:
    """Lines as the visit found the unit: the same part of capacity, and of power, at each point."""
    heat, watts = (1.0 if one is None else one.value for one in (seen.capacity, seen.power))
    points = {
        at: replace(
            point,
            capacity_w=point.capacity_w * heat,
            power_w=None if point.power_w is None else point.power_w * watts,
        )
        for at, point in lines.points.items()
    }
    return replace(lines, points=points)


def _lines(unit: Unit, base: Table, notes: list[Assumption]) -> tuple[RatingLines, bool]:
    """Lines through the ratings with power; without them those of the bench's generic unit at this size."""
    found = rating_lines(unit.ratings)
    if found is not None and found.has_power:
        return found, True
    from firstfrost.equipment.plates import RatingPoint, Ratings

    at = np.array([-25.0 / 3.0, 25.0 / 3.0])
    capacity, power = base.clean(at)
    if found is not None:
        grown = found.points[47].capacity_w / capacity[1]
        points = {
            temp: RatingPoint(
                capacity_w=found.points[temp].capacity_w,
                power_w=float(power[n] * found.points[temp].capacity_w / capacity[n]),
            )
            for n, temp in enumerate((17, 47))
        }
        notes.append(
            Assumption(
                what="The unit's electric power is that of a generic single-speed unit of its capacity.",
                better="power_47 and power_17, or cop_47 and cop_17, under [ratings]",
            )
        )
    else:
        grown = (unit.nominal_capacity_w or GENERIC_W) / GENERIC_W
        points = {
            temp: RatingPoint(capacity_w=float(capacity[n] * grown), power_w=float(power[n] * grown))
            for n, temp in enumerate((17, 47))
        }
        size = show(unit.nominal_capacity_w or GENERIC_W, "ton_refrigeration")
        notes.append(
            Assumption(
                what=f"Capacity and power are those of a generic single-speed unit of {size}.",
                better="capacity_47, cop_47, capacity_17, cop_17 under [ratings]",
            )
        )
    made = rating_lines(Ratings(points=points))
    assert made is not None
    return made, False


def _house(unit: Unit, lines: RatingLines, design_c: float | None, notes: list[Assumption]) -> House:
    """By run time where there is a log, else by the design load, else as the rating procedure has it."""
    house = unit.house
    cold = house.design_temp_c if house.design_temp_c is not None else design_c
    if house.run_time is not None:
        log = read_run_log(house.run_time)
        fit = load_from_run_time(
            outdoor_c=log.outdoor_c,
            run_fraction=log.run_fraction,
            capacity=lambda t: lines.capacity_w(t, frost=True),
            backup_w=log.backup_w,
        )
        cold = -15.0 if cold is None else cold
        need = fit.load(cold)
        return House(load=fit, design_temp_c=cold, part_u=2.0 * need.u / max(need.value, 1.0), given=True)
    line = load_line(house)
    if line is not None:
        assert house.design_temp_c is not None
        return House(load=line, design_temp_c=house.design_temp_c, part_u=0.20, given=True)
    here = region("IV")
    zero_c, od_c = ((t - 32.0) / 1.8 for t in (here.zero_load_f, here.design_f))
    cooling = unit.ratings.cooling_capacity_w or unit.nominal_capacity_w or lines.points[47].capacity_w
    ua = here.slope * cooling / (zero_c - od_c)
    notes.append(
        Assumption(
            what=(
                f"The house needs {show(ua * (zero_c - od_c), 'kBtu/h')} at {show(od_c, 'temperature')}, as "
                f"the "
                "rating procedure sizes a house for this unit."
            ),
            better="design_load and design_temp, or a log of run_time, under [house]",
        )
    )
    return House(
        load=LoadLine(
            ua_w_k=ua, zero_load_c=zero_c, source="the rating procedure's building load, region IV"
        ),
        design_temp_c=od_c if cold is None else cold,
        part_u=0.40,
        given=False,
    )
