"""Airflows from readings typed into the unit file: hood, traverse, static pressure with a blower table."""

from __future__ import annotations

import math
from typing import Final

from firstfrost.equipment.unit import Unit
from firstfrost.errors import OutOfRange
from firstfrost.heating.airflow import (
    STANDARD_DENSITY,
    Airflow,
    airflow_by_traverse,
    airflow_by_volume,
    specific_volume,
)
from firstfrost.heating.blower_table import BlowerTable
from firstfrost.instruments.accuracy import parse_accuracy
from firstfrost.instruments.budget import Value, measured

WEATHER_PA: Final = 2e3
"""Half-width of what the weather moves the ambient pressure by about the standard atmosphere's: common
practice, no source. [Pa]"""
BAROMETER_PA: Final = 200.0
"""The same of a barometer's reading at the site."""


def site_pressure(unit: Unit) -> Value:
    """Ambient pressure at the site, with what weather or barometer make of it. [Pa].

    An altitude that was not given either is sea level, and counts as if it were right: its default is named.
    """
    half = BAROMETER_PA if unit.site.barometer_read else WEATHER_PA
    return Value(value=unit.site.atmosphere_pa, sources={"ambient pressure": half / math.sqrt(3.0)})


def airflow_by_hood(
    unit: Unit, *, temp_c: Value, humidity_ratio: Value, atmosphere_pa: Value | None = None
) -> Airflow | None:
    """The airflow read off a hood or grid; None where none is given.

    Parameters
    ----------
    unit : Unit
        With `airflow.measured`, at the density of the air there.
    temp_c, humidity_ratio : Value
        Of the air there. [degC], [kg/kg]
    atmosphere_pa : Value, optional
        `site_pressure` where it is left out. [Pa]
    """
    read = unit.airflow.measured_m3_s
    if read is None:
        return None
    worth = unit.airflow.measured_accuracy or parse_accuracy("10 % of reading", "flow")
    return airflow_by_volume(
        flow_m3_s=measured(read, worth, "flow hood"),
        temp_c=temp_c,
        humidity_ratio=humidity_ratio,
        atmosphere_pa=atmosphere_pa or site_pressure(unit),
        how="flow hood",
    )


def airflow_by_typed_traverse(
    unit: Unit, *, temp_c: Value, humidity_ratio: Value, atmosphere_pa: Value | None = None
) -> Airflow | None:
    """The airflow of the traverse in the unit file, or None; arguments as `airflow_by_hood`."""
    typed = unit.airflow
    if not typed.traverse_m_s or typed.traverse_area_m2 is None:
        return None
    worth = typed.traverse_accuracy or parse_accuracy("5 % of reading + 10 ft/min", "velocity")
    return airflow_by_traverse(
        velocities_m_s=typed.traverse_m_s,
        area_m2=typed.traverse_area_m2,
        accuracy=worth,
        temp_c=temp_c,
        humidity_ratio=humidity_ratio,
        atmosphere_pa=atmosphere_pa or site_pressure(unit),
    )


def airflow_by_static(
    unit: Unit,
    table: BlowerTable,
    *,
    static_pa: Value | None = None,
    temp_c: Value,
    humidity_ratio: Value,
    atmosphere_pa: Value | None = None,
) -> Airflow | None:
    """The airflow by the maker's blower table, at an external static pressure.

    Tables are made in standard air. At one speed a blower moves the same volume in thinner air, against a
    static pressure that is less by the density (fan laws), so the table is entered at
    ``p_s rho_standard / rho``. A motor that holds its torque or its airflow goes by laws of its own: what the
    step changes is a source.

    Parameters
    ----------
    unit : Unit
        For the tap, and for `airflow.external_static` where `static_pa` is left out.
    table : BlowerTable
        As `blower_table.read_blower_table` reads it.
    static_pa : Value, optional
        From the log. [Pa]
    temp_c, humidity_ratio, atmosphere_pa : Value
        Of the air at the blower.

    Raises
    ------
    OutOfRange
        Outside the table, naming the nearest edge.
    InputError
        If the tap is missing or unknown.
    """
    if static_pa is None:
        if unit.airflow.external_static_pa is None:
            return None
        name = "external_static_pressure"
        source = unit.shared.get(name, name)
        static_pa = measured(unit.airflow.external_static_pa, unit.instruments[name], source)
    pressure = atmosphere_pa or site_pressure(unit)
    wet = 1.0 + humidity_ratio.value
    density = wet / specific_volume(temp_c.value, humidity_ratio.value, pressure.value)
    flow = table.airflow_m3_s(static_pa * (STANDARD_DENSITY / density), unit.blower.tap)
    plain = _or_none(table, static_pa, unit.blower.tap)
    change = abs(flow.value - plain) if plain is not None else 0.05 * flow.value
    flow = flow.with_source("blower in thin air", change / math.sqrt(3.0))
    return airflow_by_volume(
        flow_m3_s=flow,
        temp_c=temp_c,
        humidity_ratio=humidity_ratio,
        atmosphere_pa=pressure,
        how="external static pressure and the maker's blower table",
        notes=("the table holds for a coil and filter as the maker had them",),
    )


def _or_none(table: BlowerTable, static_pa: Value, tap: str | None) -> float | None:
    """The table's airflow at the static pressure as read; None outside the table."""
    try:
        return table.airflow_m3_s(static_pa, tap).value
    except OutOfRange:
        return None
