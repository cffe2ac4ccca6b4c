"""Numbers of the indoor air: temperature rise, airflow, and the heat that the air takes up.

    m = V rho / (1 + W)                                   dry air [kg/s]
    Q = m (1006 + 1860 W) (T_supply - T_return)           [W]
    rho = p (1 + W) / (R_da T (1 + 1.607858 W)),  R_da = 287.042 J/kg K     (ASHRAE Fundamentals 2017, ch. 1)

The humidity ratio does not change in a coil that heats. Where the indoor humidity was not read it is taken as
40 % with a half-width of 25 % (common practice, no source), which moves the heat by less than 1 %.
"""

from __future__ import annotations

import math
from typing import Final

from firstfrost.air.moist import saturation_over_water_pa
from firstfrost.heating.state import Reading, State
from firstfrost.instruments.budget import Value, combine
from firstfrost.quantities.constants import ICE_POINT_K

DRY_AIR_J_KGK: Final = 1006.0
VAPOR_J_KGK: Final = 1860.0
"""Specific heats as in the handbook's enthalpy of moist air (ASHRAE Fundamentals 2017, ch. 1, eq. 30)."""
GAS_DRY_AIR_J_KGK: Final = 287.042
"""Gas constant of dry air (ASHRAE Fundamentals 2017, ch. 1, eq. 1)."""
MASS_RATIO: Final = 0.621945
"""Molar mass of water over that of dry air (ASHRAE Fundamentals 2017, ch. 1, eq. 20)."""
INDOOR_HUMIDITY: Final = (0.40, 0.25)
"""What is taken for an indoor humidity that was not read, and its half-width; common practice, no source."""


def humidity_ratio(temp_c: float, humidity: float, pressure_pa: float) -> float:
    """Humidity ratio [kg/kg] of indoor air from relative humidity [ratio] (eq. 20 and 22), 0 to 60 degC."""
    vapor_pa = humidity * saturation_over_water_pa(temp_c)
    return MASS_RATIO * vapor_pa / (pressure_pa - vapor_pa)


def moist_density(temp_c: float, ratio: float, pressure_pa: float) -> float:
    """Density of moist air [kg/m3], dry air and water together (eq. 9b and 26)."""
    kelvin = temp_c + ICE_POINT_K
    return pressure_pa * (1.0 + ratio) / (GAS_DRY_AIR_J_KGK * kelvin * (1.0 + ratio / MASS_RATIO))


def dry_air_flow(airflow_m3_s: float, density: float, ratio: float) -> float:
    """Mass flow of dry air [kg/s] in a volume flow of moist air of `density` [kg/m3]."""
    return airflow_m3_s * density / (1.0 + ratio)


def sensible_heat_w(dry_air_kg_s: float, ratio: float, rise_k: float) -> float:
    """Heat that warms (above 0) or cools (below 0) moist air by `rise_k` [W]."""
    return dry_air_kg_s * (DRY_AIR_J_KGK + VAPOR_J_KGK * ratio) * rise_k


def air_heat_w(
    *, airflow_m3_s: float, return_c: float, supply_c: float, ratio: float, pressure_pa: float, at_c: float
) -> float:
    """Heat of an airflow that has the density of air at `at_c` [W]."""
    flow = dry_air_flow(airflow_m3_s, moist_density(at_c, ratio, pressure_pa), ratio)
    return sensible_heat_w(flow, ratio, supply_c - return_c)


def rise(state: State) -> Reading | None:
    """Supply less return air [K]."""
    supply, back = state.mean("supply_air_temp"), state.mean("return_air_temp")
    if supply is None or back is None:
        return None
    how = "with backup heat on" if state.backup else ""
    return state.reading(supply - back, "supply_air_temp", "return_air_temp", how=how)


def moisture(state: State, return_c: float) -> tuple[Value, str]:
    """Humidity ratio of the return air [kg/kg], and what was assumed for it."""
    pressure = state.context.unit.site.atmosphere_pa
    read = state.mean("return_air_humidity")
    how = ""
    if read is None:
        middle, half = INDOOR_HUMIDITY
        read = Value(value=middle, sources={"indoor humidity not read": half / math.sqrt(3.0)})
        how = f"indoor humidity not read, taken as {100 * middle:.0f} ± {100 * half:.0f} %"
    part = min(max(read.value, 0.0), 1.0)
    ratio = humidity_ratio(return_c, part, pressure)
    slope = (humidity_ratio(return_c, part + 0.01, pressure) - ratio) / 0.01
    return combine(ratio, [(read, slope)]), how


def airflow(state: State) -> Reading | None:
    """Indoor airflow at the return air's density [m3/s]."""
    value = state.mean("airflow")
    if value is None or value.value <= 0.0:
        return None
    return state.reading(value, "airflow", how="airflow as read")


def capacity(state: State) -> Reading | None:
    """Heat that the indoor air takes up [W].

    The airflow is taken at the density midway between return and supply air: where along the duct it was read
    is not in the record, and half of that difference is the half-width of a source of its own.
    """
    flow, warm, back = airflow(state), state.mean("supply_air_temp"), state.mean("return_air_temp")
    if flow is None or warm is None or back is None:
        return None
    pressure = state.context.unit.site.atmosphere_pa
    ratio, assumed = moisture(state, back.value)

    def heat(v: float, low: float, high: float, w: float, at: float) -> float:
        return air_heat_w(airflow_m3_s=v, return_c=low, supply_c=high, ratio=w, pressure_pa=pressure, at_c=at)

    middle = 0.5 * (warm.value + back.value)
    v, w = flow.value.value, ratio.value
    here = heat(v, back.value, warm.value, w, middle)
    per_k = (heat(v, back.value, warm.value + 0.1, w, middle) - here) / 0.1
    per_ratio = (heat(v, back.value, warm.value, w + 1e-4, middle) - here) / 1e-4
    value = combine(here, [(flow.value, here / v), (warm, per_k), (back, -per_k), (ratio, per_ratio)])
    end = heat(v, back.value, warm.value, w, back.value)
    value = value.with_source("where the airflow was read", abs(end - here) / math.sqrt(3.0))
    notes = [text for text in (flow.how, assumed) if text]
    if state.backup:
        notes.append("backup heat included")
    return state.reading(value, *flow.channels, "supply_air_temp", "return_air_temp", how="; ".join(notes))
