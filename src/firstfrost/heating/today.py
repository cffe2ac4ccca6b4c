"""What is expected of the unit: today, by the maker's figures; and on the coldest day, by its load."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from firstfrost.errors import InputError, OutOfRange
from firstfrost.heating import air_side, electric, refrigerant_side, tables
from firstfrost.heating.expected import Expected, expected
from firstfrost.heating.flow import airflow
from firstfrost.heating.load import Floats, Load, balance_point, coverage, load_from_run_time, load_line
from firstfrost.heating.maker_table import MakerTable
from firstfrost.heating.state import Reading, State, once
from firstfrost.instruments.budget import Value
from firstfrost.proofs.finding import Limit

RANGE_C: Final = (-25.0, 18.0)
"""Outdoor temperatures between which the balance point is looked for; the rating lines go a little
further."""


@once
def target(state: State, name: str) -> Limit | None:
    """The maker's target of `superheat` or `subcooling` in heating [K]: the table's, else the plate's.

    Raises
    ------
    OutOfRange
        If today's weather lies outside the table and the unit file gives no figure.
    """
    targets = state.context.unit.targets
    width = getattr(targets, f"{name}_tolerance_k")
    figure = getattr(targets, f"{name}_k")
    table = tables.charging(state.context.unit)
    if table is not None and table.has(name):
        at = {
            "outdoor_air_temp": state.mean("outdoor_air_temp"),
            "return_air_temp": state.mean("return_air_temp"),
        }
        try:
            wanted = table.at(name, **at).value
        except (OutOfRange, InputError):
            if figure is None:
                raise
        else:
            source = f"unit file: the maker's charging table in heating, {table.source}"
            return Limit(low=wanted - width, high=wanted + width, unit="K", source=source)
    if figure is None:
        return None
    source = "unit file: the maker's target in heating"
    return Limit(low=figure - width, high=figure + width, unit="K", source=source)


@once
def expect(state: State) -> Expected | None:
    """Capacity and power expected in the steady window; None without a window or an outdoor temperature.

    Raises
    ------
    InputError
        If neither table nor ratings are there: what to look up.
    OutOfRange
        If the day lies outside both.
    """
    outdoor = state.mean("outdoor_air_temp")
    if outdoor is None:
        return None
    unit = state.context.unit
    table = tables.performance(unit)
    flow = airflow(state) if table is not None and "airflow" in table.columns else None
    return expected(
        unit,
        outdoor_c=outdoor,
        indoor_c=state.mean("return_air_temp"),
        airflow_m3_s=None if flow is None else flow[0].standard_m3_s,
        table=table,
    )


def _told(one: Expected) -> str:
    estimate = " (an estimate)" if one.estimate else ""
    return "; ".join((f"expected by {one.source}{estimate}", *one.corrected))


def capacity_ratio(state: State) -> Reading | None:
    """Delivered heat over what is expected today [1]; backup heat must be off."""
    heat = air_side.capacity(state) or refrigerant_side.capacity(state)
    if heat is None or state.backup:
        return None
    want = expect(state)
    if want is None:
        return None
    return replace(heat, value=heat.value / want.capacity_w, how=f"{heat.how}; {_told(want)}")


def power_ratio(state: State) -> Reading | None:
    """Electric power over what is expected today [1]."""
    watts = electric.power(state)
    if watts is None:
        return None
    want = expect(state)
    if want is None or want.power_w is None:
        return None
    return replace(watts, value=watts.value / want.power_w, how=f"{watts.how}; {_told(want)}")


def _curve(state: State, outdoor_c: Floats) -> Floats:
    """Expected capacity with frost counted (n,) [W] over outdoor temperatures [degC]; NaN where not known."""
    return np.array([_at(state, float(t)) for t in outdoor_c])


def _at(state: State, outdoor_c: float) -> float:
    want = _on(state, outdoor_c)
    return math.nan if want is None else want.capacity_w.value


def _on(state: State, outdoor_c: float) -> Expected | None:
    """What is expected with frost counted at an outdoor temperature and the house's set point."""
    unit = state.context.unit
    table: MakerTable | None = tables.performance(unit)
    indoor = Value(value=unit.house.indoor_c)
    try:
        return expected(unit, outdoor_c=Value(value=outdoor_c), indoor_c=indoor, table=table, frost=True)
    except OutOfRange:
        return None


@once
def house_load(state: State) -> Load | None:
    """The house's load, by its design load or else by its run time; None without either."""
    unit = state.context.unit
    line = load_line(unit.house)
    if line is not None:
        return line
    log = tables.run_log(unit)
    if log is None:
        return None
    return load_from_run_time(
        outdoor_c=log.outdoor_c,
        run_fraction=log.run_fraction,
        capacity=lambda t: _curve(state, t),
        backup_w=log.backup_w,
    )


def _whole(state: State) -> tuple[float, float]:
    trace = state.context.trace
    return float(trace.time_s[0]), float(trace.time_s[-1])


def balance(state: State) -> Reading | None:
    """Outdoor temperature at which the expected capacity just carries the house [degC]."""
    load = house_load(state)
    if load is None:
        return None
    low, high = RANGE_C
    coarse = np.linspace(low, high, 19)
    curve = _curve(state, coarse)
    known = np.isfinite(curve)
    if known.sum() < 2:
        return None
    found = balance_point(
        load,
        lambda t: np.interp(t, coarse[known], curve[known]),
        coldest_c=float(coarse[known][0]),
        warmest_c=float(coarse[known][-1]),
    )
    if found.temp_c is None:
        return None
    bounds = [abs(found.temp_c - one) for one in (found.low_c, found.high_c) if one is not None]
    spread = max(bounds) if bounds else 5.0
    start, end = _whole(state)
    value = Value(value=found.temp_c, sources={"load and capacity": 0.5 * spread})
    return Reading(value=value, start_s=start, end_s=end, channels=(), how=found.says)


def design_day(state: State) -> Reading | None:
    """Heat pump and backup heat together over the house's load on the coldest design day [1]."""
    unit, load = state.context.unit, house_load(state)
    if load is None or unit.house.design_temp_c is None:
        return None
    day = unit.house.design_temp_c
    want = _on(state, day)
    lockout = unit.backup.compressor_lockout_c
    stopped = [limit for limit in (lockout, unit.ratings.cut_out_c) if limit is not None]
    rests = any(day < limit for limit in stopped)
    if want is None and not rests:
        raise OutOfRange(
            "What the heat pump gives on the coldest design day is not known: it lies outside the maker's "
            "figures. Look up the capacity at 5 degF, or the rows for colder weather."
        )
    heat = Value(value=0.0) if rests or want is None else want.capacity_w
    backup = Value(value=float(sum(unit.backup.stages_w)))
    both = coverage(load, heat + backup, day)
    start, end = _whole(state)
    how = "the heat pump rests below its lockout; " if rests else ""
    kw = f"{heat.value / 1e3:.1f} kW of the heat pump and {backup.value / 1e3:.1f} kW of backup heat"
    return Reading(
        value=both.part,
        start_s=start,
        end_s=end,
        channels=(),
        how=f"{how}{kw} against {both.load_w.value / 1e3:.1f} kW",
    )
