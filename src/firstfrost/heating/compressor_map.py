"""Mass flow, power and current of the compressor: from the maker's ten coefficients, or its displacement.

    X = C1 + C2 S + C3 D + C4 S2 + C5 S D + C6 D2 + C7 S3 + C8 D S2 + C9 S D2 + C10 D3

over the dew temperatures S of suction and D of discharge, in the map's own units (AHRI 540; the order of the
terms as open compressor models quote it). A map holds at its own superheat; at another one (Dabiri and Rice,
ASHRAE Trans. 87(2), 1981, as open compressor models quote it)::

    m = m_map [1 + 0.75 (v_map / v - 1)],    P = P_map (m / m_map) (w / w_map)

with v the specific volume at the suction port and w the isentropic work, which at one pressure ratio goes as
p v, so that w / w_map = v / v_map.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from firstfrost.equipment.unit import Unit
from firstfrost.errors import OutOfRange
from firstfrost.instruments.budget import Value, combine
from firstfrost.quantities.convert import to_si
from firstfrost.quantities.show import show
from firstfrost.refrigerants import refrigerant
from firstfrost.refrigerants.vapor import vapor

SUPERHEAT_FACTOR: Final = 0.75
"""Part of a change of the suction density that reaches the mass flow (Dabiri and Rice 1981)."""
MAP_LIMIT: Final = 0.05
"""Half-width of what a compressor may differ from its published map, as a part (AHRI 540, from memory: 5 % in
the middle of the map)."""
FACTOR_U: Final = 0.25 / math.sqrt(3.0)
"""Standard uncertainty of that factor: between half of the change and all of it."""

VOLUMETRIC: Final = (0.70, 0.98)
"""Bounds of the volumetric efficiency of hermetic scroll and rotary compressors at heating's pressure
ratios of 2 to 6: common practice, no source."""

SUCTION_RANGE_C: Final = (-40.0, 20.0)
DISCHARGE_RANGE_C: Final = (10.0, 70.0)
"""Dew temperatures that a map can mean anything at; the maker's envelope is narrower."""


def ten_coefficients(coefficients: Sequence[float], suction: float, discharge: float) -> float:
    """The polynomial of AHRI 540.

    Parameters
    ----------
    coefficients : (10,) sequence of float
        As published, C1 first.
    suction, discharge : float
        Dew temperatures, in the map's unit.

    Returns
    -------
    float
        In the map's unit.
    """
    c, s, d = coefficients, suction, discharge
    return (
        c[0]
        + c[1] * s
        + c[2] * d
        + c[3] * s * s
        + c[4] * s * d
        + c[5] * d * d
        + c[6] * s**3
        + c[7] * d * s * s
        + c[8] * s * d * d
        + c[9] * d**3
    )


def specific_volume(name: str, dew_c: float, superheat_k: float) -> float:
    """Volume [m3/kg] of superheated vapor at its dew temperature [degC] and superheat [K].

    Saturated density from the refrigerant's table, and a short fit for the superheat, within 0.8 % of
    CoolProp for dew from -35 to 15 degC and up to 60 K.
    """
    row = vapor(name)
    k = max(superheat_k, 0.0)
    over = 1.0 + (row.r0 + row.r1 * dew_c) * k + row.r2 * k * k
    return over / refrigerant(name).vapor_density(dew_c)


@dataclass(frozen=True, kw_only=True)
class CompressorSays:
    """What the map says of the compressor at this visit."""

    mass_flow_kg_s: Value | None
    power_w: Value | None
    current_a: Value | None
    notes: tuple[str, ...]


def by_map(unit: Unit, *, suction_c: Value, discharge_c: Value, superheat_k: Value) -> CompressorSays:
    """Mass flow, power and current by the maker's map, corrected to the superheat that was read.

    Parameters
    ----------
    unit : Unit
        With the coefficients in `unit.compressor`; what has none is None in the result.
    suction_c, discharge_c : Value
        Dew temperatures at the suction and discharge pressures. [degC]
    superheat_k : Value
        At the compressor's suction port. [K]

    Raises
    ------
    OutOfRange
        If a dew temperature lies where no map goes, or the map gives no positive value.

    Notes
    -----
    The current is corrected as the power is. Line voltage and compressor wear are not in a map.
    """
    _check("suction", suction_c.value, SUCTION_RANGE_C)
    _check("discharge", discharge_c.value, DISCHARGE_RANGE_C)
    compressor = unit.compressor
    notes = [f"map at {_map_words(unit)}, corrected to the superheat read (factor 0.75)"]
    if superheat_k.value < 0.0:
        notes.append("superheat below zero: liquid may reach the compressor, and the map does not hold")
    flow = _corrected(unit, compressor.mass_flow, "mass flow", suction_c, discharge_c, superheat_k)
    power = _corrected(unit, compressor.power, "power", suction_c, discharge_c, superheat_k)
    current = _corrected(unit, compressor.current, "current", suction_c, discharge_c, superheat_k)
    return CompressorSays(mass_flow_kg_s=flow, power_w=power, current_a=current, notes=tuple(notes))


def _map_words(unit: Unit) -> str:
    gas = unit.compressor.map_return_gas_c
    if gas is not None:
        return f"{show(gas, 'temperature')} return gas"
    return f"{show(unit.compressor.map_superheat_k, 'temperature_difference')} superheat"


def _check(what: str, value: float, bounds: tuple[float, float]) -> None:
    if not bounds[0] <= value <= bounds[1]:
        raise OutOfRange(
            f"The {what} dew temperature is {show(value, 'temperature')}. Expected "
            f"{show(bounds[0], 'temperature')} to {show(bounds[1], 'temperature')}, where compressor maps "
            "go. "
            "Check the pressure and the refrigerant."
        )


def _corrected(
    unit: Unit,
    coefficients: Sequence[float] | None,
    name: str,
    suction_c: Value,
    discharge_c: Value,
    superheat_k: Value,
) -> Value | None:
    if coefficients is None:
        return None

    def f(s: float, d: float, k: float, factor: float = SUPERHEAT_FACTOR) -> float:
        return _si(unit, coefficients, name, s, d) * _over(unit, name, s, k, factor)

    s, d, k = suction_c.value, discharge_c.value, superheat_k.value
    value = f(s, d, k)
    if not value > 0.0:
        raise OutOfRange(
            f"The compressor's map gives a {name} of {value:g} at {show(s, 'temperature')} and "
            f"{show(d, 'temperature')}. Expected above 0. Check the ten coefficients, their order, and "
            "map_temperature under [compressor]."
        )
    step = 0.05
    slopes = [
        (suction_c, (f(s + step, d, k) - f(s - step, d, k)) / (2 * step)),
        (discharge_c, (f(s, d + step, k) - f(s, d - step, k)) / (2 * step)),
        (superheat_k, (f(s, d, k + step) - f(s, d, max(k - step, 0.0))) / (step + min(step, max(k, 0.0)))),
    ]
    result = combine(value, slopes)
    result = result.with_source(f"map of {name}", MAP_LIMIT / math.sqrt(3.0) * value)
    lever = f(s, d, k, SUPERHEAT_FACTOR + FACTOR_U) - value
    return result.with_source("superheat correction", lever)


def _si(unit: Unit, coefficients: Sequence[float], name: str, suction_c: float, discharge_c: float) -> float:
    if unit.compressor.map_temperature == "degF":
        suction_c, discharge_c = suction_c * 1.8 + 32.0, discharge_c * 1.8 + 32.0
    raw = ten_coefficients(coefficients, suction_c, discharge_c)
    return to_si(raw, unit.compressor.map_mass_flow, "mass_flow") if name == "mass flow" else raw


def _over(unit: Unit, name: str, suction_c: float, superheat_k: float, factor: float) -> float:
    """What the map's figure is multiplied by for the superheat that was read."""
    gas = unit.compressor.map_return_gas_c
    made_k = unit.compressor.map_superheat_k if gas is None else gas - suction_c
    v_map = specific_volume(unit.refrigerant, suction_c, made_k)
    v = specific_volume(unit.refrigerant, suction_c, superheat_k)
    flow = 1.0 + factor * (v_map / v - 1.0)
    return flow if name == "mass flow" else flow * v / v_map


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """A lowest and a highest value."""

    low: float
    high: float


def by_displacement(unit: Unit, *, suction_c: float, superheat_k: float) -> Bounds | None:
    """Bounds of the mass flow [kg/s] from displacement and speed; None where no displacement is known.

    ``m = eta_v V n / v`` with the volumetric efficiency anywhere in `VOLUMETRIC`. A mass flow outside is one
    that a sound compressor of this size and speed cannot have; one inside says little.

    Parameters
    ----------
    unit : Unit
        With `compressor.displacement_m3` and `compressor.speed_per_s`.
    suction_c : float
        Dew temperature at the suction pressure. [degC]
    superheat_k : float
        At the suction port. [K]
    """
    swept = unit.compressor.displacement_m3
    if swept is None:
        return None
    v = specific_volume(unit.refrigerant, suction_c, superheat_k)
    full = swept * unit.compressor.speed_per_s / v
    return Bounds(low=VOLUMETRIC[0] * full, high=VOLUMETRIC[1] * full)


def heat_given_off(
    unit: Unit, *, mass_flow_kg_s: Value, high_dew_c: Value, vapor_line_c: Value, liquid_line_c: Value
) -> Value:
    """Heat [W] that the refrigerant gives off indoors: ``m (h_vapor line - h_liquid line)``.

    Parameters
    ----------
    unit : Unit
        For its refrigerant.
    mass_flow_kg_s : Value
        From `by_map`.
    high_dew_c : Value
        Dew temperature at the high-side pressure. [degC]
    vapor_line_c : Value
        Hot gas into the indoor coil; a discharge temperature reads too high by what the line loses. [degC]
    liquid_line_c : Value
        Liquid out of the indoor coil. [degC]

    Notes
    -----
    h above dew by a short fit to CoolProp, whose greatest error (0.4 to 3 kJ/kg up to 60 K of superheat and
    55 degC of dew) is a source of its own, doubled beyond that range; the liquid is taken as saturated at its
    own temperature, within 0.2 kJ/kg of compressed liquid.
    """
    fluid, row = refrigerant(unit.refrigerant), vapor(unit.refrigerant)

    def above(dew_c: float, hot_c: float, cold_c: float) -> float:
        k = max(hot_c - dew_c, 0.0)
        c = row.c0 + dew_c * (row.c1 + dew_c * row.c2)
        b = row.b0 + dew_c * row.b1
        return fluid.vapor_enthalpy_above(dew_c, liquid_temp_c=cold_c) + c * k / (1.0 + b * k)

    dew, hot, cold = high_dew_c.value, vapor_line_c.value, liquid_line_c.value
    h, step = above(dew, hot, cold), 0.05
    m = mass_flow_kg_s.value
    parts = [
        (mass_flow_kg_s, h),
        (high_dew_c, m * (above(dew + step, hot, cold) - above(dew - step, hot, cold)) / (2 * step)),
        (vapor_line_c, m * (above(dew, hot + step, cold) - above(dew, hot - step, cold)) / (2 * step)),
        (liquid_line_c, m * (above(dew, hot, cold + step) - above(dew, hot, cold - step)) / (2 * step)),
    ]
    wide = 2.0 if hot - dew > 60.0 or dew > 55.0 else 1.0
    return combine(m * h, parts).with_source("enthalpy of hot gas", wide * m * row.h_error / math.sqrt(3.0))


def power_from_current(unit: Unit, *, volts: Value, amps: Value, power_factor: Value | None = None) -> Value:
    """Electric power [W] from volts and amps: ``V I cos(phi)``, times the root of 3 on three phases.

    Without a measured power factor that of the unit file is taken, within `POWER_FACTOR_LIMIT`; with three
    phases the volts are between two lines.
    """
    if power_factor is None:
        middle = unit.compressor.power_factor
        limit = POWER_FACTOR_LIMIT if unit.is_default("compressor.power_factor") else POWER_FACTOR_GIVEN
        power_factor = Value(value=middle, sources={"power factor": limit / math.sqrt(3.0)})
    phases = math.sqrt(3.0) if unit.supply.phases == 3 else 1.0
    return volts * amps * power_factor * phases


POWER_FACTOR_LIMIT: Final = 0.10
"""Half-width of a power factor that was not given: common practice, no source; it falls at light load."""
POWER_FACTOR_GIVEN: Final = 0.03
"""The same of one that was given, which holds at one load."""
