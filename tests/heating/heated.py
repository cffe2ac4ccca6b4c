"""Records of plain heating drawn by hand: a compressor that starts at one minute and heats evenly on.

Nothing is simulated. A test redraws the one channel that matters, and knows from the drawing what must come
out.
"""

from __future__ import annotations

import tomllib

import numpy as np
from drawn import UNIT, Drawing, draw, steps

from firstfrost.equipment.read import unit_from
from firstfrost.equipment.unit import Unit
from firstfrost.heating.number import Heating, Number
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace
from firstfrost.visit.check import check_trace

STARTS_S, LAST_S = 60.0, 2400.0

SOUND = {
    "ratings": {
        "capacity_47": "9.0 kW",
        "power_47": "2.9 kW",
        "capacity_17": "5.5 kW",
        "power_17": "2.6 kW",
        "airflow": "1050 cfm",
    },
    "targets": {"superheat": "6.0 delta_degC", "subcooling": "7.0 delta_degC"},
    "compressor": {"rated_load_current": "14 A"},
    "supply": {"voltage": "240 V"},
    "backup": {"stages": ["5 kW"], "backup_lockout": "-5 degC", "compressor_lockout": "-15 degC"},
    "house": {"design_load": "9 kW", "design_temp": "-15 degC"},
}
"""Plates under which the drawn record is in order."""


def day() -> dict[str, Drawing]:
    """Steady heating at 5 degC, all in order under `SOUND`."""
    on = STARTS_S
    return {
        "low": [(0, 8), (on, 8), (on + 40, -5), (LAST_S, -5)],
        "high": [(0, 8), (on, 8), (on + 120, 42), (LAST_S, 42)],
        "liquid": [(0, 8), (on, 8), (on + 120, 42), (LAST_S, 42)],
        "suction_line_temp": [(0, 8), (on, 8), (on + 60, 1), (LAST_S, 1)],
        "liquid_line_temp": [(0, 20), (on + 120, 34.9), (LAST_S, 34.9)],
        "discharge_temp": [(0, 20), (on + 150, 75), (LAST_S, 75)],
        "vapor_line_temp": [(0, 20), (on + 150, 71), (LAST_S, 71)],
        "valve_inlet_temp": [(0, 8), (on + 60, 0.6), (LAST_S, 0.6)],
        "outdoor_coil_temp": [(0, 5), (on + 60, -2), (LAST_S, -2)],
        "outdoor_air_temp": 5.0,
        "return_air_temp": 21.0,
        "supply_air_temp": [(0, 21), (on + 150, 35), (LAST_S, 35)],
        "airflow": 0.5,
        "power": steps(30.0, (on, 2750.0)),
        "line_voltage": steps(241.0, (on, 238.0)),
        "compressor_current": steps(0.0, (on, 11.0)),
        "fan_current": steps(0.0, (on, 0.9)),
        "backup_current": 0.0,
        "heating_call": steps(0.0, (on, 1.0)),
    }


def trace(
    *without: str, step_s: float = 2.0, noise: dict[str, float] | None = None, **redrawn: Drawing
) -> Trace:
    """The steady day, `without` some channels (as they are drawn) and with others `redrawn`."""
    channels = {**day(), **redrawn}
    for name in without:
        del channels[name]
    return draw(np.arange(0.0, LAST_S + 1e-9, step_s), channels, noise=noise)


def unit(*without: str, **tables: dict[str, object]) -> Unit:
    """The drawn unit with `SOUND` plates, some tables or keys ("house", "backup.stages") left out."""
    content = tomllib.loads(UNIT)
    for name, table in SOUND.items():
        content[name] = dict(table)
    for name in without:
        table, _, key = name.partition(".")
        if key:
            del content[table][key]
        else:
            del content[table]
    for name, table in tables.items():
        content.setdefault(name, {}).update(table)
    content["instruments"].update(
        {
            "liquid_pressure": "1 %",
            "suction_line_temp": "0.5 delta_degC",
            "liquid_line_temp": "0.5 delta_degC",
            "discharge_temp": "0.5 delta_degC",
            "vapor_line_temp": "0.5 delta_degC",
            "valve_inlet_temp": "0.3 delta_degC",
            "outdoor_air_temp": "0.5 delta_degC",
            "return_air_temp": "0.3 delta_degC",
            "supply_air_temp": "0.3 delta_degC",
            "airflow": "4 %",
            "power": "1 %",
        }
    )
    return unit_from(content, source="the drawn unit")


def heating(record: Trace | None = None, machine: Unit | None = None, marks: Marks | None = ()) -> Heating:
    """The heating check of a drawn record."""
    made = check_trace(trace() if record is None else record, machine or unit(), marks).heating
    assert made is not None
    return made


def number(name: str, record: Trace | None = None, machine: Unit | None = None) -> Number:
    """One number of it."""
    return heating(record, machine).number(name)
