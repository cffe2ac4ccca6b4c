"""Numbers of the indoor air: temperature rise, airflow, and the heat that the air takes up.

    Q = m (1006 + 1860 W) (T_supply - T_return)                              [W]

with m the dry air [kg/s] and W the humidity ratio, which a coil that heats does not change (ASHRAE Handbook
of Fundamentals 2017, chapter 1, equation 30). Where the indoor humidity was not read it is taken as 40 % with
a half-width of 25 % (common practice, no source), which moves the heat by less than 1 %.
"""

from __future__ import annotations

from firstfrost.heating.airflow import heat_capacity, needed_airflow
from firstfrost.heating.flow import airflow as find_airflow
from firstfrost.heating.flow import moisture
from firstfrost.heating.propagate import propagate
from firstfrost.heating.state import Reading, State, once


def air_heat_w(dry_air_kg_s: float, humidity_ratio: float, rise_k: float) -> float:
    """Heat [W] that moves moist air by `rise_k` [K]: above 0 it warms."""
    return dry_air_kg_s * heat_capacity(humidity_ratio) * rise_k


@once
def rise(state: State) -> Reading | None:
    """Supply less return air [K]."""
    supply, back = state.mean("supply_air_temp"), state.mean("return_air_temp")
    if supply is None or back is None:
        return None
    how = "with backup heat on" if state.backup else ""
    return state.reading(supply - back, "supply_air_temp", "return_air_temp", how=how)


def airflow(state: State) -> Reading | None:
    """Indoor airflow at its own density [m3/s]."""
    found = find_airflow(state)
    return None if found is None else found[1]


def airflow_ratio(state: State) -> Reading | None:
    """Airflow as standard air over what the unit needs [1]."""
    found, needed = find_airflow(state), needed_airflow(state.context.unit)
    if found is None or needed is None:
        return None
    flow, told = found
    value = flow.standard_m3_s / needed.target_m3_s
    return Reading(
        value=value,
        start_s=told.start_s,
        end_s=told.end_s,
        channels=told.channels,
        how=f"{told.how}; needed: {needed.source}",
        weak=told.weak,
    )


@once
def capacity(state: State) -> Reading | None:
    """Heat that the indoor air takes up [W]."""
    found, warm, back = find_airflow(state), state.mean("supply_air_temp"), state.mean("return_air_temp")
    if found is None or warm is None or back is None:
        return None
    flow, told = found
    ratio = moisture(state, back.value)
    heat = propagate(air_heat_w, flow.dry_air_kg_s, ratio, warm - back)
    how = f"{told.how}; backup heat included" if state.backup else told.how
    return state.reading(heat, *told.channels, "supply_air_temp", "return_air_temp", how=how)
