"""Which airflow the visit has: each method that record and unit file allow, the surest of them taken.

Hood, traverse and a log's airflow are volumes, and count at the density midway between return and supply air:
where along the duct they were read is not known, and half of that difference is the half-width of a source.
The temperature rise needs backup heat alone: three minutes of it with the compressor off, the rise no longer
moving (0.5 K between the halves of the last two minutes; common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from firstfrost.errors import InputError, OutOfRange
from firstfrost.heating import tables
from firstfrost.heating.airflow import Airflow, airflow_by_rise, airflow_by_volume
from firstfrost.heating.backup_heat import plateaus, power_of
from firstfrost.heating.state import Reading, State, once
from firstfrost.heating.typed_airflow import (
    airflow_by_hood,
    airflow_by_static,
    airflow_by_typed_traverse,
    site_pressure,
)
from firstfrost.instruments.budget import Value, combine

ALONE_S: Final = 180.0
READ_S: Final = 120.0
MOVES_K: Final = 0.5
BLOWER_GOOD_TO: Final = 0.05
"""Half-width of a blower's power that was given, as a part; common practice, no source."""
INDOOR_HUMIDITY: Final = (0.40, 0.25)
"""What is taken for an indoor humidity that was not read, and its half-width; common practice, no source."""

Found = tuple[Airflow, Reading]
"""An airflow, and the reading it is told as."""


def moisture(state: State, return_c: float, span: tuple[float, float] | None = None) -> Value:
    """Humidity ratio of the return air [kg/kg], from its humidity or what is taken for it."""
    read = state.mean("return_air_humidity", span)
    pressure = state.context.unit.site.atmosphere_pa
    if read is None:
        middle, half = INDOOR_HUMIDITY
        read = Value(value=middle, sources={"indoor humidity not read": half / math.sqrt(3.0)})
    part = min(max(read.value, 0.0), 1.0)
    here, more = (humidity_ratio(return_c, x, pressure) for x in (part, part + 0.01))
    return combine(here, [(read, (more - here) / 0.01)])


def humidity_ratio(temp_c: float, humidity: float, pressure_pa: float) -> float:
    """Humidity ratio [kg/kg] of air from 0 to 60 degC from relative humidity [ratio] and pressure [Pa].

    ``W = 0.621945 p_w / (p - p_w)`` (ASHRAE Handbook of Fundamentals 2017, chapter 1, equations 20 and 22).
    """
    from firstfrost.air.moist import saturation_over_water_pa

    vapor_pa = humidity * saturation_over_water_pa(temp_c)
    return 0.621945 * vapor_pa / (pressure_pa - vapor_pa)


@once
def airflow(state: State) -> Found | None:
    """The surest airflow of the visit.

    Raises
    ------
    InputError, OutOfRange
        What stands in the way of the only method there is: a static pressure outside the blower table, say.
    """
    found: list[Found] = []
    trouble: InputError | OutOfRange | None = None
    methods = _volumes(state)
    while True:
        try:
            one = next(methods, None)
        except (InputError, OutOfRange) as err:
            trouble = err
            break
        if one is None:
            break
        found.append(one)
    if not found and trouble is not None:
        raise trouble
    if not found:
        return None
    best = min(found, key=lambda one: one[0].dry_air_kg_s.u / one[0].dry_air_kg_s.value)
    return best


def _volumes(state: State) -> Iterator[Found]:
    unit = state.context.unit
    by_rise = _by_rise(state)
    if by_rise is not None:
        yield by_rise
    warm, back = state.mean("supply_air_temp"), state.mean("return_air_temp")
    if back is None or state.span is None:
        return
    at = back if warm is None else 0.5 * (warm + back)
    apart = 0.0 if warm is None else abs(warm.value - back.value)
    at = at.with_source("where the airflow was read", 0.5 * apart / math.sqrt(3.0))
    ratio, pressure = moisture(state, back.value), site_pressure(unit)
    read = state.mean("airflow")
    if read is not None and read.value > 0.0:
        flow = airflow_by_volume(
            flow_m3_s=read, temp_c=at, humidity_ratio=ratio, atmosphere_pa=pressure, how="airflow as logged"
        )
        yield _told(state, flow, ("airflow",))
    for how in (airflow_by_hood, airflow_by_typed_traverse):
        typed = how(unit, temp_c=at, humidity_ratio=ratio, atmosphere_pa=pressure)
        if typed is not None:
            yield _told(state, typed, ())
    table = tables.blower(unit)
    if table is not None:
        static = state.mean("external_static_pressure")
        by_table = airflow_by_static(
            unit, table, static_pa=static, temp_c=at, humidity_ratio=ratio, atmosphere_pa=pressure
        )
        if by_table is not None:
            yield _told(state, by_table, ("external_static_pressure",) if static is not None else ())


def _told(state: State, flow: Airflow, channels: tuple[str, ...]) -> Found:
    reading = state.reading(flow.flow_m3_s, *channels, how="; ".join((flow.how, *flow.notes)))
    assert reading is not None  # the caller has seen a span
    return flow, reading


def _by_rise(state: State) -> Found | None:
    """By the temperature rise over backup heat alone, from the longest such stretch."""
    context = state.context
    if not context.trace.has("backup_current", "line_voltage", "supply_air_temp", "return_air_temp"):
        return None
    alone: list[tuple[float, float, float]] = []
    for start, end, level in plateaus(state):
        for rest, over in context.rests:
            a, b = max(start, rest), min(end, over)
            if b - a >= ALONE_S:
                alone.append((a, b, level))
    for a, b, level in sorted(alone, key=lambda one: one[0] - one[1]):
        span = (max(a, b - READ_S), b - context.step_s)
        middle = 0.5 * (span[0] + span[1])
        warm, back = state.mean("supply_air_temp", span), state.mean("return_air_temp", span)
        early, late = (state.mean("supply_air_temp", part) for part in ((span[0], middle), (middle, span[1])))
        heat = power_of(state, (*span, level))
        if warm is None or back is None or early is None or late is None or heat is None:
            continue
        if abs(late.value - early.value) > MOVES_K:
            continue
        blower = context.unit.blower
        watts = None
        if blower.power_w is not None:
            spread = BLOWER_GOOD_TO * blower.power_w / math.sqrt(3.0)
            watts = Value(value=blower.power_w, sources={"power of the blower": spread})
        flow = airflow_by_rise(
            heat_w=heat,
            rise_k=warm - back,
            return_c=back,
            humidity_ratio=moisture(state, back.value, span),
            atmosphere_pa=site_pressure(context.unit),
            blower_w=watts,
            blower_between=blower.between_probes,
        )
        names = ("backup_current", "line_voltage", "supply_air_temp", "return_air_temp")
        how = "; ".join((flow.how, *flow.notes))
        reading = Reading(value=flow.flow_m3_s, start_s=span[0], end_s=b, channels=names, how=how)
        return flow, reading
    return None
