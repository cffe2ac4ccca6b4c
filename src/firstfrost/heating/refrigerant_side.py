"""The heat that the refrigerant gives off indoors: mass flow by the compressor's map or displacement."""

from __future__ import annotations

import math

from firstfrost.heating import circuit
from firstfrost.heating.compressor_map import by_displacement, by_map, heat_given_off
from firstfrost.heating.state import Reading, State, once
from firstfrost.instruments.budget import Value


def mass_flow(state: State) -> tuple[Value, str] | None:
    """Mass flow of refrigerant [kg/s] and how it was had; None without map and displacement, or readings.

    From a displacement the flow is known between two bounds, and taken midway with that half-width.

    Raises
    ------
    OutOfRange
        If the dew temperatures lie where no map goes.
    """
    unit = state.context.unit
    low, high, over = state.evaporating(), state.condensing, circuit.superheat(state)
    if low is None or high is None or over is None:
        return None
    if unit.compressor.mass_flow is not None:
        says = by_map(unit, suction_c=low, discharge_c=high, superheat_k=over.value)
        if says.mass_flow_kg_s is not None:
            return says.mass_flow_kg_s, "; ".join(says.notes)
    bounds = by_displacement(unit, suction_c=low.value, superheat_k=over.value.value)
    if bounds is None:
        return None
    half = 0.5 * (bounds.high - bounds.low)
    flow = Value(
        value=0.5 * (bounds.low + bounds.high),
        sources={"volumetric efficiency not known": half / math.sqrt(3.0)},
    )
    return flow, "displacement and speed, the volumetric efficiency not known"


@once
def capacity(state: State) -> Reading | None:
    """Heat that the refrigerant gives off indoors [W]."""
    hot_name = "vapor_line_temp" if state.mean("vapor_line_temp") is not None else "discharge_temp"
    hot, liquid, high = state.mean(hot_name), state.mean("liquid_line_temp"), state.condensing
    if hot is None or liquid is None or high is None:
        return None
    cool = circuit.subcooling(state)
    if cool is not None and cool.value.value + cool.value.expanded < 0.0:
        return None  # what leaves is no liquid, and how much of it is vapor nobody knows
    flow = mass_flow(state)
    if flow is None:
        return None
    kg_s, how = flow
    heat = heat_given_off(
        state.context.unit, mass_flow_kg_s=kg_s, high_dew_c=high, vapor_line_c=hot, liquid_line_c=liquid
    )
    names = ("suction_pressure", "suction_line_temp", state.high, hot_name, "liquid_line_temp")
    return state.reading(heat, *names, how=how)
