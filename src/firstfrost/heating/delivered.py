"""Numbers made from others: COP, the agreement of two capacities, and the ratios of measured to needed."""

from __future__ import annotations

from firstfrost.heating import air_side, electric
from firstfrost.heating.limits import airflow_needed_m3_s
from firstfrost.heating.state import Reading, State


def over(one: Reading | None, other: Reading | None, *, how: str = "") -> Reading | None:
    """The ratio of two readings, with what both say of themselves."""
    if one is None or other is None or other.value.value == 0.0:
        return None
    notes = dict.fromkeys(text for text in (one.how, other.how, how) if text)
    return Reading(
        value=one.value / other.value,
        start_s=min(one.start_s, other.start_s),
        end_s=max(one.end_s, other.end_s),
        channels=tuple(dict.fromkeys((*one.channels, *other.channels))),
        how="; ".join(notes),
        weak=one.weak or other.weak,
    )


def capacity_refrigerant(state: State) -> Reading | None:
    """Heat that the refrigerant gives off indoors [W]; None without the compressor's map or displacement."""
    return None


def agreement(state: State) -> Reading | None:
    """Capacity on the air side over that on the refrigerant side [1]."""
    return over(air_side.capacity(state), capacity_refrigerant(state))


def cop(state: State) -> Reading | None:
    """Delivered heat over electric power, both without backup heat [1]."""
    heat = air_side.capacity(state) or capacity_refrigerant(state)
    if state.backup:
        return None
    return over(heat, electric.power(state))


def airflow_ratio(state: State) -> Reading | None:
    """Measured airflow over what the capacity needs [1]."""
    flow, needed = air_side.airflow(state), airflow_needed_m3_s(state)
    if flow is None or needed is None:
        return None
    amount, source = needed
    return state.reading(flow.value / amount, *flow.channels, how=f"needed: {source}")


def capacity_ratio(state: State) -> Reading | None:
    """Delivered heat over what the maker's data expect today [1]; None without such data."""
    return None


def power_ratio(state: State) -> Reading | None:
    """Electric power over what the maker's data expect today [1]; None without such data."""
    return None


def current_ratio(state: State) -> Reading | None:
    """Compressor current over the plate's [1]; None without the plate's."""
    return None


def valve_rise(state: State) -> Reading | None:
    """True suction port less outlet of the outdoor coil, across the reversing valve [K]."""
    out = state.mean("valve_inlet_temp")
    suction = state.mean("suction_line_temp")
    if out is None or suction is None:
        return None
    return state.reading(suction - out, "suction_line_temp", "valve_inlet_temp")


def backup_ratio(state: State) -> Reading | None:
    """Backup heat measured over its plate [1]; None without the plate's."""
    return None
