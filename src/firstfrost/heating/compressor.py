"""The refrigerant that goes round, and the heat it gives off indoors.

    X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3     (AHRI 540)

over the dew temperatures of suction S and discharge D, in the map's own units. The map holds at its
superheat; at another the flow is

    m / m_map = 1 + 0.75 (rho / rho_map - 1)                           (Dabiri and Rice, 1981)

Without a map, m = rho V n eta, with the swept volume V, the speed n and a volumetric efficiency taken
anywhere from 0.85 to 1. All three from memory; the efficiency's range is common practice, no source. A map is
taken to be good to 5 % of the flow (AHRI 540's tolerance, from memory). Then

    Q = m (h(T_vapor, p_high) - h_liquid(T_liquid))
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from firstfrost.equipment.plates import Compressor
from firstfrost.heating.propagate import propagate
from firstfrost.heating.state import Reading, State
from firstfrost.instruments.budget import Value
from firstfrost.quantities.constants import POUND_KG
from firstfrost.refrigerants import Refrigerant
from firstfrost.refrigerants.vapor import vapor

MAP_GOOD_TO: Final = 0.05
EFFICIENCY: Final = (0.85, 1.0)
DENSITY_PART: Final = 0.75
KG_S: Final = {"lb/h": POUND_KG / 3600.0, "kg/h": 1.0 / 3600.0, "kg/s": 1.0, "g/s": 1e-3}


def polynomial(coefficients: Sequence[float], suction: float, discharge: float) -> float:
    """The ten-term polynomial of AHRI 540 at two dew temperatures, all in the map's own units."""
    c, s, d = coefficients, suction, discharge
    return (
        c[0] + c[1] * s + c[2] * d + c[3] * s * s + c[4] * s * d + c[5] * d * d
        + c[6] * s**3 + c[7] * d * s * s + c[8] * s * d * d + c[9] * d**3
    )  # fmt: skip


def suction_density(fluid: Refrigerant, dew_c: float, superheat_k: float) -> float:
    """Density of the suction gas [kg/m3], `superheat_k` [K] above its dew temperature [degC]."""
    share = vapor(fluid.name).density_share(dew_c, max(superheat_k, 0.0))
    return fluid.vapor_density(dew_c) * share


def map_flow_kg_s(
    *, plate: Compressor, fluid: Refrigerant, suction_c: float, discharge_c: float, superheat_k: float
) -> float:
    """Mass flow by the compressor's map [kg/s], corrected for superheat; NaN outside the property tables."""
    if plate.mass_flow is None or not _inside(fluid, suction_c, discharge_c):
        return math.nan
    s, d = suction_c, discharge_c
    if plate.map_temperature == "degF":
        s, d = 1.8 * s + 32.0, 1.8 * d + 32.0
    flow = polynomial(plate.mass_flow, s, d) * KG_S[plate.map_mass_flow]
    at = plate.map_superheat_k
    if plate.map_return_gas_c is not None:
        at = plate.map_return_gas_c - suction_c
    ratio = suction_density(fluid, suction_c, superheat_k) / suction_density(fluid, suction_c, at)
    return flow * (1.0 + DENSITY_PART * (ratio - 1.0))


def swept_flow_kg_s(*, plate: Compressor, fluid: Refrigerant, suction_c: float, superheat_k: float) -> float:
    """Mass flow that the compressor sweeps [kg/s], its volumetric efficiency taken as 1."""
    if plate.displacement_m3 is None or not _inside(fluid, suction_c):
        return math.nan
    return suction_density(fluid, suction_c, superheat_k) * plate.displacement_m3 * plate.speed_per_s


def heat_given_off(*, fluid: Refrigerant, condensing_c: float, vapor_c: float, liquid_c: float) -> float:
    """Enthalpy of the hot gas less that of the liquid that leaves [J/kg]; NaN outside the property tables.

    Parameters
    ----------
    fluid : Refrigerant
        Its properties.
    condensing_c : float
        Dew temperature of the high side. [degC]
    vapor_c, liquid_c : float
        Temperatures of the vapor line and of the liquid line. [degC]
    """
    if not _inside(fluid, condensing_c, liquid_c):
        return math.nan
    gas = fluid.vapor_enthalpy_above(condensing_c, liquid_c)
    return gas + vapor(fluid.name).enthalpy_above_dew(condensing_c, max(vapor_c - condensing_c, 0.0))


def _inside(fluid: Refrigerant, *temps_c: float) -> bool:
    return all(fluid.lowest_temp_c <= temp_c <= fluid.highest_temp_c for temp_c in temps_c)


def mass_flow(state: State) -> tuple[Value, str] | None:
    """Mass flow of refrigerant [kg/s], and how it was had; None without map and displacement, or readings."""
    plate, fluid = state.context.unit.compressor, state.fluid
    low, high, gas = state.evaporating(), state.condensing, state.mean("suction_line_temp")
    if low is None or gas is None:
        return None
    if plate.mass_flow is not None and high is not None:
        flow = propagate(
            lambda s, d, t: map_flow_kg_s(
                plate=plate, fluid=fluid, suction_c=s, discharge_c=d, superheat_k=t - s
            ),
            low,
            high,
            gas,
        )
        if flow is not None and flow.value > 0.0:
            worth = flow.value * MAP_GOOD_TO / math.sqrt(3.0)
            return flow.with_source("the compressor's map", worth), "mass flow by the compressor's map"
    bottom, top = EFFICIENCY
    part = 0.5 * (bottom + top)
    swept = propagate(
        lambda s, t: part * swept_flow_kg_s(plate=plate, fluid=fluid, suction_c=s, superheat_k=t - s),
        low,
        gas,
    )
    if swept is None:
        return None
    worth = swept.value * (top - bottom) / (top + bottom) / math.sqrt(3.0)
    how = f"mass flow by displacement, volumetric efficiency taken anywhere from {bottom:g} to {top:g}"
    return swept.with_source("volumetric efficiency not known", worth), how


def capacity(state: State) -> Reading | None:
    """Heat that the refrigerant gives off indoors [W]."""
    flow, high, liquid = mass_flow(state), state.condensing, state.mean("liquid_line_temp")
    hot_name = "vapor_line_temp" if state.mean("vapor_line_temp") is not None else "discharge_temp"
    hot = state.mean(hot_name)
    if flow is None or high is None or liquid is None or hot is None:
        return None
    kg_s, how = flow
    fluid = state.fluid
    heat = propagate(
        lambda m, c, v, q: m * heat_given_off(fluid=fluid, condensing_c=c, vapor_c=v, liquid_c=q),
        kg_s,
        high,
        hot,
        liquid,
    )
    bubble = state.bubble
    if heat is None or (bubble is not None and (bubble - liquid).value + (bubble - liquid).expanded < 0.0):
        return None  # what leaves is no liquid, and how much of it is vapor nobody knows
    worth = kg_s.value * vapor(fluid.name).h_error / math.sqrt(3.0)
    heat = heat.with_source("fit of the vapor's enthalpy", worth)
    names = ("suction_pressure", "suction_line_temp", state.high, hot_name, "liquid_line_temp")
    return state.reading(heat, *names, how=how)
