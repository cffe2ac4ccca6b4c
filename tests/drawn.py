"""Records drawn by hand: channels from corner points, and a cold-day defrost that shows everything.

No machine is simulated here. A test takes the drawn visit, redraws the one channel that matters, and knows
from the drawing what must come out.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.read import unit_from
from firstfrost.equipment.unit import Unit
from firstfrost.proofs.finding import Finding
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.marks import Mark, Marks
from firstfrost.trace.trace import Trace
from firstfrost.visit.check import check_trace
from firstfrost.visit.result import Result

Floats = NDArray[np.float64]
Corners = Sequence[tuple[float, float]]
Drawing = float | Corners

SATURATION = {
    "low": "suction_pressure",
    "high": "discharge_pressure",
    "liquid": "liquid_pressure",
}
"""Pressures are drawn by their dew temperature [degC]."""
FLUID = "R-410A"

UNIT = """
[unit]
refrigerant = "R-410A"
[coil_sensor]
closes_at = "-1.0 degC"
opens_at = "15.0 degC"
tolerance = "3.0 delta_degC"
[board]
interval = "30 min"
longest_defrost = "10 min"
kind = "time-temperature"
[limits]
saturation_ceiling = "54.4 degC"
high_pressure_cutout = "42 bar"
[site]
altitude = "0 m"
[instruments]
outdoor_coil_temp = "0.5 delta_degC"
suction_pressure = "1 %"
discharge_pressure = "1 %"
"""


def unit(*changes: tuple[str, str]) -> Unit:
    """The drawn visit's unit, with pieces of its file replaced: (old, new)."""
    text = UNIT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return unit_from(tomllib.loads(text), source="the drawn unit")


def steps(first: float, *changes: tuple[float, float]) -> Corners:
    """Corner points of a two-state channel: `first`, and from each time on its value."""
    points = [(-1e9, first)]
    for time_s, value in changes:
        points += [(time_s - 1e-6, points[-1][1]), (time_s, value)]
    return points


def draw(
    time_s: Floats, channels: dict[str, Drawing], *, noise: dict[str, float] | None = None, seed: int = 1
) -> Trace:
    """A trace of straight lines between corner points; `noise` has a standard deviation by channel."""
    rng = np.random.default_rng(seed)
    columns: dict[str, Floats] = {}
    for name, drawing in channels.items():
        if isinstance(drawing, (int, float)):
            values = np.full(len(time_s), float(drawing))
        else:
            t, v = np.array(drawing, dtype=float).T
            values = np.interp(time_s, t, v)
        if noise and name in noise:
            values = values + rng.normal(0.0, noise[name], len(values))
        if name in SATURATION:
            values = refrigerant(FLUID).dew_pressures_pa(values)
        columns[SATURATION.get(name, name)] = values
    return Trace(time_s=time_s, columns=columns)


START_S, MELT_S, MELTED_S, END_S, LAST_S = 900.0, 960.0, 1080.0, 1200.0, 2100.0
"""Start of the drawn defrost, its melting plateau, its end, and the end of the record [s]."""
CLOSES_S = 300.0


def cold_day() -> dict[str, Drawing]:
    """A cold day left alone: the coil frosts, the contact closes, one defrost, heating comes back."""
    coil = [
        (0, 2), (CLOSES_S, -1), (600, -8), (START_S, -8), (MELT_S, 0), (MELTED_S, 0.4), (END_S, 15),
        (END_S + 60, 2), (END_S + 150, -3), (LAST_S, -4),
    ]  # fmt: skip
    low = [
        (0, -3), (CLOSES_S, -6), (600, -13), (START_S, -13), (START_S + 8, 6), (START_S + 60, -2),
        (END_S, 2), (END_S + 8, 9), (END_S + 40, -8), (LAST_S, -9),
    ]  # fmt: skip
    high = [
        (0, 42), (START_S, 41), (START_S + 8, 8), (START_S + 60, 9), (MELTED_S, 12), (END_S, 32),
        (END_S + 8, 12), (END_S + 90, 40), (END_S + 200, 42), (LAST_S, 42),
    ]  # fmt: skip
    vapor = [
        (0, 62), (START_S, 61), (START_S + 45, 4), (END_S, 2), (END_S + 100, 58), (LAST_S, 62),
    ]  # fmt: skip
    supply = [
        (0, 38), (START_S, 38), (START_S + 60, 24), (END_S, 24), (END_S + 120, 37), (LAST_S, 38),
    ]  # fmt: skip
    return {
        "low": low,
        "high": high,
        "vapor_line_temp": vapor,
        "outdoor_coil_temp": coil,
        "outdoor_air_temp": 1.0,
        "supply_air_temp": supply,
        "return_air_temp": 21.0,
        "sensor_voltage": steps(25.0, (CLOSES_S, 0.1), (END_S, 25.0)),
        "fan_current": steps(0.9, (START_S, 0.0), (END_S, 0.9)),
        "compressor_current": 9.0,
        "backup_current": steps(0.0, (START_S, 21.0), (END_S, 0.0)),
        "valve_voltage": steps(0.1, (START_S, 25.0), (END_S, 0.1)),
        "heating_call": 1.0,
    }


def cold_trace(
    *without: str, step_s: float = 1.0, last_s: float = LAST_S, first_s: float = 0.0, **redrawn: Drawing
) -> Trace:
    """The cold day from `first_s` to `last_s`, `without` some channels and with others `redrawn`."""
    channels = {**cold_day(), **redrawn}
    for name in without:
        del channels[name]
    return draw(np.arange(first_s, last_s + 1e-9, step_s), channels)


def acts(*pairs: tuple[float, str]) -> Marks:
    """Marks from (time, act)."""
    return tuple(Mark(time_s=time_s, act=act) for time_s, act in pairs)


def check(trace: Trace, marks: Marks | None = (), machine: Unit | None = None) -> Result:
    """Judge a drawn visit; by default with an empty marks file: nothing was touched."""
    return check_trace(trace, machine or unit(), marks)


def finding(result: Result, function: str) -> Finding:
    """What a result says of one function."""
    return next(one for one in result.findings if one.function == function)


def with_gap(trace: Trace, start_s: float, end_s: float) -> Trace:
    """The trace without its samples in [start_s, end_s)."""
    keep = (trace.time_s < start_s) | (trace.time_s >= end_s)
    return Trace(time_s=trace.time_s[keep], columns={n: c[keep] for n, c in trace.columns.items()})


def _points(drawing: Drawing) -> Corners:
    assert not isinstance(drawing, (int, float))
    return drawing


def later(drawing: Drawing, by_s: float, *, from_s: float) -> list[tuple[float, float]]:
    """The corner points of a drawing from `from_s` on, moved by `by_s`."""
    points = [(from_s, drawing)] if isinstance(drawing, (int, float)) else drawing
    return [(time_s + by_s, value) for time_s, value in points if time_s >= from_s]


RECLOSES_S = END_S + 115.0
"""When the contact closes again after the first defrost: the coil passes -1 degC there. [s]"""


def two_defrosts(wait_s: float, *without: str, **redrawn: Drawing) -> Trace:
    """The cold day twice over: the second defrost begins `wait_s` after the end of the first."""
    by_s = END_S + wait_s - START_S
    channels: dict[str, Drawing] = {}
    for name, drawing in cold_day().items():
        if isinstance(drawing, (int, float)):
            channels[name] = drawing
        else:
            first = [point for point in drawing if point[0] <= END_S + 300.0]
            channels[name] = [*first, *later(drawing, by_s, from_s=START_S - 1.0)]
    channels["sensor_voltage"] = steps(
        25.0, (CLOSES_S, 0.1), (END_S, 25.0), (RECLOSES_S, 0.1), (END_S + by_s, 25.0)
    )
    channels.update(redrawn)
    for name in without:
        del channels[name]
    return draw(np.arange(0.0, LAST_S + by_s + 1e-9, 2.0), channels)


def timed_out() -> dict[str, Drawing]:
    """Redrawn channels of a defrost that runs into the board's limit of 10 min: the contact never opens."""
    end_s = START_S + 600.0
    day = cold_day()
    return {
        "outdoor_coil_temp": [
            (0, 2), (CLOSES_S, -1), (600, -8), (START_S, -8), (MELT_S, 0), (MELTED_S, 0.4), (1250, 26),
            (end_s, 34), (end_s + 60, 5), (end_s + 150, -3), (LAST_S + 300, -4),
        ],
        "low": [
            *[p for p in _points(day["low"]) if p[0] < END_S],
            *later(day["low"], end_s - END_S, from_s=END_S),
        ],
        "high": [
            *[p for p in _points(day["high"]) if p[0] < END_S],
            *[(end_s, 44), *later(day["high"], end_s - END_S, from_s=END_S + 1)],
        ],
        "vapor_line_temp": [(0, 62), (START_S, 61), (START_S + 45, 4), (end_s, 2), (end_s + 100, 58)],
        "supply_air_temp": [(0, 38), (START_S, 38), (START_S + 60, 24), (end_s, 24), (end_s + 120, 38)],
        "sensor_voltage": steps(25.0, (CLOSES_S, 0.1)),
        "fan_current": steps(0.9, (START_S, 0.0), (end_s, 0.9)),
        "backup_current": steps(0.0, (START_S, 21.0), (end_s, 0.0)),
        "valve_voltage": steps(0.1, (START_S, 25.0), (end_s, 0.1)),
    }  # fmt: skip
