"""What a board is set to: a dataclass in SI for people, a flat array for the kernels.

All defaults are common practice without a source unless a comment says otherwise; a maker's document goes
first.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any, Final

import numpy as np

from firstfrost.refrigerants.curves import Floats


def _b(default: float, meaning: str) -> Any:
    return field(default=default, metadata={"meaning": meaning})


@dataclass(frozen=True, kw_only=True)
class Controls:
    """Board, coil sensor, switches and thermostat; every number in SI, temperatures in degC."""

    demand: float = _b(0.0, "0 time-temperature control, 1 demand control")
    interval_s: float = _b(5400.0, "run time to a defrost; demand control: the back-up timer")
    longest_s: float = _b(720.0, "longest defrost")
    pins_speed: float = _b(256.0, "how much faster the clock runs with the test pins bridged")
    pins_need_sensor: float = _b(1.0, "1: pins speed the clock only with the sensor closed")
    count_always: float = _b(
        0.0, "0: run time counts while the sensor is closed; 1: always, asked at its end"
    )
    reset_on_open: float = _b(1.0, "1: an opening sensor sets the clock to 0; 0: the clock holds")
    timer_rate: float = _b(1.0, "fault: speed of the board's clock")
    start_delay_s: float = _b(0.0, "compressor rests this long before the valve shifts to defrost")
    end_delay_s: float = _b(0.0, "compressor rests this long before the valve returns")
    rest_s: float = _b(180.0, "shortest rest of the compressor")
    demand_split_k: float = _b(6.0, "demand: growth of air over coil split that starts a defrost")
    demand_learn_s: float = _b(480.0, "demand: run time after a defrost at which the clean split is learnt")
    demand_least_s: float = _b(1500.0, "demand: shortest run time between defrosts")
    closes_c: float = _b(-1.1, "coil sensor's contact closes at (30 degF)")
    opens_c: float = _b(15.6, "coil sensor's contact opens at (60 degF)")
    sensor_stuck: float = _b(-1.0, "fault: contact stays open (0) or closed (1); below 0: works")
    hp_opens_pa: float = _b(4.307e6, "high pressure switch opens, absolute (610 psig)")
    hp_closes_pa: float = _b(3.27e6, "high pressure switch closes again, absolute (460 psig)")
    hp_locks: float = _b(3.0, "trips in one call that lock the unit out; 0: never")
    lp_opens_pa: float = _b(1.7e5, "low pressure switch opens, absolute (10 psig)")
    lp_closes_pa: float = _b(3.1e5, "low pressure switch closes again, absolute (30 psig)")
    lp_locks: float = _b(0.0, "trips in one call that lock the unit out; 0: never")
    lp_delay_s: float = _b(90.0, "low pressure is ignored this long after a start and in defrost")
    backup_defrost_w: float = _b(5000.0, "backup heat energised in defrost")
    backup_stage_w: float = _b(5000.0, "backup heat on the thermostat's second stage")
    stage_defrost_on: float = _b(1.0, "fault: part of the defrost stage that works (0: dead or not wired)")
    stage_house_on: float = _b(1.0, "fault: part of the thermostat's stage that works (0: dead)")
    dead: float = _b(0.0, "fault: 1: the board never counts nor starts a defrost")
    fan_relay: float = _b(0.0, "fault: 1 welded (fan runs in defrost), 2 open (fan never runs)")
    valve_relay: float = _b(0.0, "fault: 1 welded (valve always shifted), 2 open (never)")
    backup_relay: float = _b(0.0, "fault: 1 welded (always on with a call), 2 open (never in defrost)")
    thermostat: float = _b(0.0, "0: heating is called for all the time; 1: by house temperature")
    set_c: float = _b(21.1, "thermostat's set point")
    swing_k: float = _b(1.0, "thermostat's on-off difference")
    second_k: float = _b(1.2, "second stage comes this far below the set point")
    blower_off_s: float = _b(60.0, "blower runs on after a call")
    line_volt: float = _b(1.0, "fault: line voltage over nominal")
    cover_open: float = _b(0.08, "part of the outdoor air that still comes through a covered coil")


CONTROLS: Final = tuple(f.name for f in fields(Controls))


def meaning(name: str) -> str:
    """What a field of `Controls` is."""
    found: str = Controls.__dataclass_fields__[name].metadata["meaning"]
    return found


def pack(controls: Controls) -> Floats:
    """Flat settings (n,) in the order of `CONTROLS`."""
    return np.array([float(getattr(controls, name)) for name in CONTROLS])
