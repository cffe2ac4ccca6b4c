"""What ended a defrost: the sensor, the board's time limit, a pressure trip, or a call taken away."""

from __future__ import annotations

import numpy as np

from firstfrost.cycle.channels import Cycle
from firstfrost.equipment.unit import Unit
from firstfrost.phases import fold
from firstfrost.phases.events import Events
from firstfrost.phases.phase import EndedBy
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

SENSOR_BEFORE_S = 15.0
PRESSURE_WITHIN = 0.04
"""A switch may open a few percent below its plate value; common practice, no source."""


def ended_by(
    *,
    trace: Trace,
    cycle: Cycle,
    unit: Unit,
    marks: Marks | None,
    events: Events,
    start_s: float,
    end_s: float,
    start_known: bool,
    start_half_width_s: float,
    stops: bool,
    step_s: float,
) -> EndedBy:
    """Name the cause of the end of a defrost over [start_s, end_s).

    `stops` tells that the compressor stopped at the end and stayed off for long; `step_s` is the sampling
    [s].
    """
    near = 2 * step_s + 2.0
    t = trace.time_s
    inside = (t >= end_s - 10.0 - near) & (t <= end_s + near)
    pressure = cycle.high_pressure_pa[inside]
    runs_on = not stops and events.state_at(fold.SW_COMPRESSOR, end_s + near + 10.0) is True
    if np.isfinite(pressure).any() and not runs_on:
        top = float(np.nanmax(pressure))
        gauge = unit.limits.high_pressure_cutout_pa - unit.site.atmosphere_pa
        if top >= unit.limits.high_pressure_cutout_pa - PRESSURE_WITHIN * gauge:
            return "pressure"
    if _call_taken(marks, events, end_s, near + 8.0):
        return "call"
    after = 0.6 * step_s if stops else near
    opened = any(
        end_s - SENSOR_BEFORE_S - near <= change.time_s <= end_s + after
        for change in events.of(fold.SW_CONTACT, on=True)
    )
    if opened:
        return "sensor"
    if stops:
        return "unknown"
    open_at_end = events.state_at(fold.SW_CONTACT, end_s)
    longest = unit.board.longest_defrost_s
    lasted = end_s - start_s
    if start_half_width_s < longest / 10.0:
        lasted += start_half_width_s  # it may have begun that much earlier
    by_default = unit.is_default("board.longest_defrost")
    if open_at_end is False and (by_default or not start_known or lasted >= 0.93 * longest - near):
        return "time"
    if (
        open_at_end is None
        and start_known
        and not by_default
        and abs(end_s - start_s - longest) <= 0.03 * longest + near
    ):
        return "time"
    return "unknown"


def _call_taken(marks: Marks | None, events: Events, end_s: float, near: float) -> bool:
    if any(mark.act == "call-off" and abs(mark.time_s - end_s) <= near for mark in marks or ()):
        return True
    return any(abs(change.time_s - end_s) <= near for change in events.of(fold.SW_CALL, on=False))
