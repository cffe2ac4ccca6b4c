"""Numbers of the refrigerant circuit: superheat, subcooling, discharge, approaches, the mass that goes round.

Superheat = T(suction line) - T_dew(p_suction); subcooling = T_bubble(p_liquid) - T(liquid line); discharge
superheat = T(discharge) - T_dew(p_high) [K]: the trade's and the handbooks' definitions. In heating the vapor
line is on the discharge side, so the suction side is read at the compressor's own (true) suction port alone.
"""

from __future__ import annotations

from firstfrost.heating.state import Reading, State, once
from firstfrost.instruments.budget import Value


def difference(one: Value | None, other: Value | None) -> Value | None:
    """`one` less `other`, or None if either is missing."""
    return None if one is None or other is None else one - other


@once
def superheat(state: State) -> Reading | None:
    """Superheat at the true suction port [K]."""
    value = difference(state.mean("suction_line_temp"), state.evaporating())
    return state.reading(value, "suction_line_temp", "suction_pressure")


@once
def subcooling(state: State) -> Reading | None:
    """Subcooling at the liquid line, from bubble [K]."""
    value = difference(state.bubble, state.mean("liquid_line_temp"))
    how = "" if state.liquid == "liquid_pressure" else "the high side read at the discharge port"
    return state.reading(value, state.liquid, "liquid_line_temp", how=how)


def discharge_temp(state: State) -> Reading | None:
    """Temperature of the discharge line [degC]."""
    return state.reading(state.mean("discharge_temp"), "discharge_temp")


def discharge_superheat(state: State) -> Reading | None:
    """Discharge temperature less the dew temperature of the high side [K]."""
    value = difference(state.mean("discharge_temp"), state.condensing)
    return state.reading(value, "discharge_temp", state.high)


def pressure_ratio(state: State) -> Reading | None:
    """High-side over suction pressure, both absolute [1]."""
    if state.high is None:
        return None
    high, low = state.mean(state.high), state.mean("suction_pressure")
    if high is None or low is None or low.value <= 0.0:
        return None
    return state.reading(high / low, state.high, "suction_pressure")


def evaporating_approach(state: State) -> Reading | None:
    """Outdoor air less suction saturation (dew) [K]."""
    value = difference(state.mean("outdoor_air_temp"), state.evaporating())
    return state.reading(value, "outdoor_air_temp", "suction_pressure")


def condensing_approach(state: State) -> Reading | None:
    """High-side dew saturation less return air [K]."""
    value = difference(state.condensing, state.mean("return_air_temp"))
    return state.reading(value, state.high, "return_air_temp")


def coil_to_suction(state: State) -> Reading | None:
    """Surface of the outdoor coil less suction saturation [K]."""
    value = difference(state.mean("outdoor_coil_temp"), state.evaporating())
    return state.reading(value, "outdoor_coil_temp", "suction_pressure")


def vapor_line(state: State) -> Reading | None:
    """Discharge less vapor line: what the hot gas loses up to the vapor line [K]."""
    value = difference(state.mean("discharge_temp"), state.mean("vapor_line_temp"))
    return state.reading(value, "discharge_temp", "vapor_line_temp")
