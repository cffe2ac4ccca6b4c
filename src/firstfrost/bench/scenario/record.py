"""From a run to what a person brings home of it: a trace and marks, as instruments and hands give them."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC

import numpy as np

from firstfrost.air.moist import relative_humidity
from firstfrost.bench.scenario.build import Played
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.scenario import Probe
from firstfrost.refrigerants.curves import Floats
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import Mark, Marks
from firstfrost.trace.trace import Trace

OPEN_V = 24.0
"""Across an open coil sensor, and on a valve coil that is powered."""


@dataclass(frozen=True, kw_only=True)
class Record:
    """A record of a run."""

    trace: Trace
    marks: Marks | None
    """None: nobody wrote down what was done."""
    run_times_s: Floats
    """True times of the samples, (n,) [s]."""
    errors: Mapping[str, float]
    """The systematic error of each probe, in standard uncertainties of what its maker states."""


def true_channels(played: Played) -> dict[str, Floats]:
    """Each channel (n,) at each second of the run, in memory's unit, as a perfect probe would read it.

    Probes on pipes, the coil probe and the supply air probe have their lag already: the plant has it.
    """
    run, volts = played.run, played.plant.volts
    air_c, ratio = run.weather()
    line = volts * _line_volt(played)
    running = (run.board("call") > 0.5) & (run.board("hand_call") > 0.5)
    return {
        "suction_pressure": run.derived("p_suction"),
        "liquid_pressure": run.derived("p_liquid"),
        "discharge_pressure": run.derived("p_discharge"),
        "vapor_line_temp": run.state("t_vapor"),
        "liquid_line_temp": run.state("t_liquid"),
        "suction_line_temp": run.state("t_suction"),
        "discharge_temp": run.state("t_discharge"),
        "outdoor_coil_temp": run.state("t_clamp"),
        "outdoor_air_temp": air_c,
        "outdoor_humidity": np.minimum(relative_humidity(air_c, ratio, played.plant.atmosphere_pa), 1.0),
        "return_air_temp": run.state("t_house"),
        "supply_air_temp": run.state("t_supply"),
        "sensor_voltage": np.where(run.board("sensed") > 0.5, 0.0, OPEN_V),
        "fan_current": run.derived("i_fan"),
        "compressor_current": run.derived("i_comp"),
        "backup_current": run.state("backup") / line,
        "valve_voltage": np.where(run.board("valve") > 0.5, OPEN_V, 0.0),
        "heating_call": running.astype(float),
        "line_voltage": line,
        "power": run.derived("power") + run.state("backup"),
        "airflow": run.derived("airflow_ind"),
    }


def record(played: Played) -> Record:
    """Write a run down as its scenario says."""
    scenario, how = played.scenario, played.scenario.recording
    rng = np.random.default_rng(scenario.seed)
    true = true_channels(played)
    n = len(played.run.times_s)
    picks = np.arange(0, n, how.every_s)
    times = picks.astype(float)
    whole = np.ones(len(picks), dtype=bool)
    for gap in how.lost:
        if not gap.channel:
            whole &= ~((times >= gap.start_s) & (times < gap.end_s))
    columns: dict[str, Floats] = {}
    errors: dict[str, float] = {}
    for name in how.channels:
        # A generator of its own: another channel in the file leaves this one's noise as it is.
        own = np.random.default_rng([scenario.seed, zlib.crc32(name.encode())])
        shared = scenario.unit.shared.get(name, name)
        errors[name] = _bias(scenario.seed, shared)
        values = _read(
            true[name], true["outdoor_air_temp"], name, played, scenario.probes[name], errors[name], own
        )
        values = values[picks]
        if how.drop_outs:
            values = np.where(own.random(len(values)) < how.drop_outs, np.nan, values)
        for gap in how.lost:
            if gap.channel == name:
                values = np.where((times >= gap.start_s) & (times < gap.end_s), np.nan, values)
        columns[name] = values[whole]
    shown = shown_times(played, times[whole])
    epoch = how.starts.astimezone(UTC) if how.starts is not None else None
    trace = Trace(time_s=shown, columns=columns, epoch=epoch, zone=scenario.unit.site.zone)
    return Record(
        trace=trace,
        marks=_marks(played, rng) if how.marks else None,
        run_times_s=times[whole],
        errors=errors,
    )


def shown_times(played: Played, times_s: Floats) -> Floats:
    """Times of the run (n,) [s] as the logger's clock shows them."""
    jump = played.scenario.recording.clock_jump
    if jump is None:
        return times_s
    return np.where(times_s >= jump[0], times_s + jump[1], times_s)


def _bias(seed: int, instrument: str) -> float:
    """Uniform within the maker's limits of error: -sqrt(3) to sqrt(3) standard uncertainties."""
    own = np.random.default_rng([seed, 1, zlib.crc32(instrument.encode())])
    return float(own.uniform(-1.0, 1.0)) * math.sqrt(3.0)


def _read(
    true: Floats, air: Floats, name: str, played: Played, probe: Probe, bias: float, rng: np.random.Generator
) -> Floats:
    values = true
    for fault in played.scenario.faults:
        row = INSTRUMENT_FAULTS.get(fault.name)
        if row is not None and name in row.channels:
            values = values + row.shift * fault.severity
            values = values + row.air * fault.severity * (air - values)
    if probe.lag_s > 0.0:
        values = _lagged(values, probe.lag_s)
    if CHANNELS[name].kind == "switch":
        return values.copy()
    accuracy = played.scenario.unit.instruments[name]
    values = values + bias / math.sqrt(3.0) * accuracy.limit(values)
    values = values + probe.noise * rng.standard_normal(len(values))
    if CHANNELS[name].kind in ("humidity", "current", "power"):
        values = np.maximum(values, 0.0)
    if CHANNELS[name].kind == "humidity":
        values = np.minimum(values, 1.0)
    if probe.resolution > 0.0:
        zero = accuracy.zero
        values = np.round((values - zero) / probe.resolution) * probe.resolution + zero
    return values


def _lagged(values: Floats, lag_s: float) -> Floats:
    """First-order lag, exact for values that hold over each second."""
    keep = float(np.exp(-1.0 / lag_s))
    out = np.empty_like(values)
    now = float(values[0])
    for i, value in enumerate(values.tolist()):
        now = keep * now + (1.0 - keep) * value
        out[i] = now
    return out


def marks_apart_s(played: Played) -> float:
    """How far the marks' clock is ahead of the record's [s]."""
    return sum(
        INSTRUMENT_FAULTS[fault.name].apart_s * fault.severity
        for fault in played.scenario.faults
        if fault.name in INSTRUMENT_FAULTS
    )


def _marks(played: Played, rng: np.random.Generator) -> Marks:
    apart = marks_apart_s(played)
    late = played.scenario.recording.marks_late_s
    written: list[Mark] = []
    for act in played.acts:
        time_s = float(shown_times(played, np.array([act.time_s + float(rng.uniform(0.0, 1.0)) * late]))[0])
        time_s = float(np.ceil(time_s + apart))
        if written and time_s < written[-1].time_s:
            time_s = written[-1].time_s
        written.append(Mark(time_s=time_s, act=act.act, note=act.note))
    return tuple(written)


def _line_volt(played: Played) -> Floats:
    """Line voltage over nominal at each second: a fault may begin and end during the run."""
    run = played.run
    volt = np.full(len(run.times_s), played.controls.line_volt)
    for act in sorted(run.setup.acts, key=lambda one: one.time_s):
        if act.act == "set" and act.name == "line_volt":
            volt[run.times_s >= act.time_s] = act.value
    return volt
