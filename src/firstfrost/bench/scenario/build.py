"""From what a file says to a Scenario, and from a Scenario to a run."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import numpy as np

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.faults import FAULTS, apply
from firstfrost.bench.hours import weather_from
from firstfrost.bench.plant.parameters import PARAMETERS, Plant
from firstfrost.bench.presets import RATED_W, unit
from firstfrost.bench.scenario.scenario import (
    Lost,
    PlannedAct,
    PlannedFault,
    Probe,
    Recording,
    Scenario,
)
from firstfrost.bench.simulate import Act, Run, Setup, simulate
from firstfrost.bench.weather import Weather, constant, ramp
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.quantities.convert import parse
from firstfrost.trace.channels import CHANNELS, Kind
from firstfrost.trace.marks import Mark
from firstfrost.weather.epw import read_epw

USUAL: Final = (
    "suction_pressure", "liquid_pressure", "discharge_pressure", "vapor_line_temp", "liquid_line_temp",
    "suction_line_temp", "discharge_temp", "outdoor_coil_temp", "outdoor_air_temp", "outdoor_humidity",
    "return_air_temp", "supply_air_temp", "sensor_voltage", "fan_current", "compressor_current",
    "backup_current", "valve_voltage", "heating_call", "power",
)  # fmt: skip
"""What is recorded where the file names no channels."""
SIMULATED: Final = (*USUAL, "line_voltage", "airflow")
"""What the bench has a number for."""
PROBES: Final[Mapping[Kind, Probe]] = {
    "pressure": Probe(noise=700.0, resolution=parse("0.1 psi", "pressure_difference")),
    "temperature": Probe(noise=0.04, resolution=0.1 / 1.8),
    "humidity": Probe(noise=0.003, resolution=0.001),
    "voltage": Probe(noise=0.04, resolution=0.1),
    "current": Probe(noise=0.01, resolution=0.01),
    "power": Probe(noise=6.0, resolution=1.0),
    "flow": Probe(noise=0.002, resolution=1e-4),
    "pressure_difference": Probe(),
    "switch": Probe(),
}
"""Where the file says nothing: steady digital instruments. Common practice, no source."""
_FROST_DENSITY: Final = 150.0
_RESET: Final = 3.27 / 4.307
"""A high pressure switch closes again at this part of the pressure it opens at, as `Controls` has it."""


@dataclass(frozen=True, kw_only=True)
class Values:
    """What a file says, in SI; NaN where it says nothing and nothing is taken."""

    title: str
    lesson: str
    look_for: tuple[str, ...]
    seed: int
    quantities: Mapping[str, float]
    words: Mapping[str, str]
    unit: Unit | None
    unit_tables: Mapping[str, Mapping[str, Any]]
    points: tuple[tuple[float, float, float], ...]
    epw: tuple[str, str] | None
    acts: tuple[PlannedAct, ...]
    faults: tuple[PlannedFault, ...]
    channels: tuple[str, ...] | None
    starts: datetime | None
    lost: tuple[Lost, ...]
    clock_jump: tuple[float, float] | None
    probes: Mapping[str, Probe]


def build(values: Values, *, name: str, folder: Path) -> Scenario:
    """The scenario.

    Raises
    ------
    FirstfrostError
        Parts that are sound alone do not go together, or the weather file cannot be used.
    """
    q, w, about = values.quantities, values.words, values.unit
    assert about is not None
    channels = values.channels or USUAL
    for channel in channels:
        if channel not in SIMULATED:
            raise InputError(
                f"recording.channels: the bench has no number for {channel}. It has {', '.join(SIMULATED)}. "
                "Leave it out."
            )
    for fault in values.faults:
        if fault.name.startswith("charge-") and (fault.at_s is not None or fault.until_s is not None):
            raise InputError(
                f"faults.{fault.name} changes what the circuit was filled with. Leave at and until out."
            )
    plant, controls = _machine(about, values)
    clash = sorted({f.name for f in values.faults if f.name in FAULTS and f.severity > 0.0})
    apply(plant, controls, dict.fromkeys(clash, 0.5))
    duration = q["duration"]
    weather = _weather(values, about.site.atmosphere_pa, folder)
    return Scenario(
        name=name,
        title=values.title or name,
        lesson=values.lesson,
        look_for=values.look_for,
        seed=values.seed,
        duration_s=int(duration),
        unit=about,
        unit_tables=values.unit_tables,
        plant=plant,
        controls=controls,
        weather=weather,
        start=w["start.state"],
        house_c=q["start.house"],
        frost_kg=q["start.frost"] * _FROST_DENSITY * plant.area_m2,
        clock_s=q["start.run_time"],
        settle_s=int(q["start.settle"]),
        acts=values.acts,
        faults=values.faults,
        recording=Recording(
            channels=tuple(name for name in CHANNELS if name in channels),
            every_s=int(q["recording.every"]),
            starts=values.starts,
            marks=w["recording.marks"] == "given",
            marks_late_s=q["recording.marks_late"],
            drop_outs=q["recording.drop_outs"],
            lost=values.lost,
            clock_jump=values.clock_jump,
        ),
        probes={
            name: values.probes.get(name, values.probes.get(CHANNELS[name].kind, PROBES[CHANNELS[name].kind]))
            for name in channels
        },
    )


def _machine(about: Unit, values: Values) -> tuple[Plant, Controls]:
    q, w = values.quantities, values.words
    plant, controls = unit(
        about.refrigerant,
        capacity_w=about.nominal_capacity_w or RATED_W,
        metering=about.metering or "expansion valve",
    )
    loss = plant.house_ua_wk
    if not math.isnan(q["house.load"]):
        loss = (q["house.load"] + plant.house_gain_w) / (21.1 - q["house.load_at"])
    plant = replace(
        plant,
        atmosphere_pa=about.site.atmosphere_pa,
        house_fixed=float(w["house.room"] == "fixed"),
        house_ua_wk=loss,
        sensor_s=q["controls.sensor_lag"],
    )
    opens = about.limits.high_pressure_cutout_pa
    given = {
        "backup_defrost_w": q["controls.backup"],
        "backup_stage_w": q["controls.backup_stage"],
    }
    controls = replace(
        controls,
        demand=float(about.board.kind == "demand"),
        interval_s=about.board.interval_s,
        longest_s=about.board.longest_defrost_s,
        closes_c=about.coil_sensor.closes_at_c,
        opens_c=about.coil_sensor.opens_at_c,
        hp_opens_pa=opens,
        hp_closes_pa=_RESET * opens,
        pins_speed=about.board.interval_s / q["controls.pins_run_out"],
        count_always=float(w["controls.counts"] == "always"),
        reset_on_open=float(w["controls.opening"] == "resets"),
        start_delay_s=q["controls.start_delay"],
        end_delay_s=q["controls.end_delay"],
        rest_s=q["controls.rest"],
        thermostat=float(w["controls.call"] == "thermostat"),
        set_c=q["controls.set_point"],
        swing_k=q["controls.swing"],
        second_k=q["controls.second_stage"],
        demand_split_k=q["controls.demand_split"],
        demand_learn_s=q["controls.demand_learns_after"],
        demand_least_s=q["controls.demand_shortest"],
        **{name: value for name, value in given.items() if not math.isnan(value)},
    )
    return plant, controls


def _weather(values: Values, pressure_pa: float, folder: Path) -> Weather:
    if values.epw is not None:
        name, start = values.epw
        return weather_from(read_epw(folder / name), start, values.quantities["duration"])
    if values.points:
        times, temps, humidities = (list(column) for column in zip(*values.points, strict=True))
        if times[0] != 0.0:
            raise InputError('weather.points begins after the run does. Give the first point at = "0 min".')
        return ramp(times, temps, humidities, pressure_pa=pressure_pa)
    q = values.quantities
    return constant(q["weather.temperature"], q["weather.humidity"], pressure_pa)


@dataclass(frozen=True, kw_only=True)
class Played:
    """A scenario that has been run."""

    scenario: Scenario
    run: Run
    plant: Plant
    """With the faults that held from before the run."""
    controls: Controls
    acts: tuple[Mark, ...]
    """What the person did, at its true times, in order."""


def play(scenario: Scenario, *, compiled: bool | None = None) -> Played:
    """Run a scenario; acts that wait for something are placed where it is so.

    Raises
    ------
    FirstfrostError
        As `simulate`.
    """
    plant, controls, breaks = _broken(scenario)
    setup = Setup(
        plant=plant,
        controls=controls,
        weather=scenario.weather,
        acts=breaks,
        duration_s=scenario.duration_s,
        start="rest" if scenario.start == "rest" else "running",
        settle_s=scenario.settle_s,
        house_c=scenario.house_c,
        frost_kg=scenario.frost_kg,
        clock_s=scenario.clock_s,
    )
    done: list[Mark] = []
    last_s = 0.0
    for planned in scenario.acts:
        if planned.at_s is not None:
            time_s = planned.at_s
        else:
            # As far as the person waits, and no further.
            until_s = min(math.ceil(last_s + planned.latest_s) + 1, scenario.duration_s)
            trial = replace(setup, acts=_all(breaks, done), duration_s=until_s)
            time_s = _reached(simulate(trial, compiled=compiled), planned, last_s)
        if time_s > scenario.duration_s:
            break
        last_s = max(last_s, time_s)
        done.append(Mark(time_s=time_s, act=planned.act, note=planned.note))
    run = simulate(replace(setup, acts=_all(breaks, done)), compiled=compiled)
    marks = tuple(sorted(done, key=lambda mark: mark.time_s))
    return Played(scenario=scenario, run=run, plant=plant, controls=controls, acts=marks)


def _all(breaks: tuple[Act, ...], done: list[Mark]) -> tuple[Act, ...]:
    return breaks + tuple(Act(time_s=mark.time_s, act=mark.act) for mark in done)


def _reached(run: Run, planned: PlannedAct, last_s: float) -> float:
    """When a person who waits for something from `last_s` on acts."""
    mode, sensed = run.board("mode"), run.board("sensed")
    holds = {
        "sensor-closed": sensed > 0.5,
        "sensor-open": sensed < 0.5,
        "defrosting": mode == 3.0,
        "heating": mode == 1.0,
        "resting": mode == 0.0,
    }[planned.when]
    from_i = math.ceil(last_s)
    later = np.flatnonzero(holds[from_i:])
    seen_s = float(from_i + later[0]) if len(later) else math.inf
    return min(seen_s, last_s + planned.latest_s) + planned.wait_s


def _broken(scenario: Scenario) -> tuple[Plant, Controls, tuple[Act, ...]]:
    """The machine as it is at the start, and what changes of it during the run."""
    faults = [fault for fault in scenario.faults if fault.name in FAULTS]
    moments = sorted({t for fault in faults for t in (fault.at_s, fault.until_s) if t is not None})
    machines = [
        apply(
            scenario.plant,
            scenario.controls,
            {fault.name: fault.severity for fault in faults if _holds(fault, moment)},
        )
        for moment in (-1.0, *moments)
    ]
    acts: list[Act] = []
    for moment, before, after in zip(moments, machines[:-1], machines[1:], strict=True):
        pairs: tuple[tuple[Any, Any], ...] = tuple(zip(before, after, strict=True))
        for old, new in pairs:
            for field in fields(new):
                value = getattr(new, field.name)
                if value != getattr(old, field.name):
                    assert isinstance(new, Controls) or field.name in PARAMETERS
                    acts.append(Act(time_s=moment, act="set", name=field.name, value=float(value)))
    plant, controls = machines[0]
    return plant, controls, tuple(acts)


def _holds(fault: PlannedFault, moment: float) -> bool:
    begun = fault.at_s is None or fault.at_s <= moment
    return begun and (fault.until_s is None or moment < fault.until_s)
