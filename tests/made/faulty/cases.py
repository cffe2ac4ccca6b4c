"""One case: a machine, a fault, a visit, a van's instruments; all from one seed."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace

import numpy as np

from firstfrost.bench.faults import FAULTS
from firstfrost.bench.scenario.build import PROBES, SIMULATED
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.scenario import PlannedAct, PlannedFault, Probe, Recording, Scenario
from firstfrost.bench.weather import constant
from firstfrost.trace.channels import CHANNELS
from made.faulty.machines import Machine, People, machine

SEVERITIES: dict[str, tuple[float, float]] = {
    "charge-low": (0.08, 0.55),
    "charge-high": (0.08, 0.50),
    "outdoor-coil-fouled": (0.12, 0.70),
    "indoor-coil-fouled": (0.12, 0.70),
    "outdoor-fan-weak": (0.15, 1.0),
    "blower-weak": (0.12, 0.75),
    "filter-blocked": (0.20, 0.85),
    "liquid-line-restricted": (0.70, 0.985),
    "valve-stuck-shut": (0.30, 1.0),
    "valve-stuck-open": (0.30, 1.0),
    "compressor-leaks": (0.10, 0.80),
    "reversing-valve-leaks": (0.12, 1.0),
    "reversing-valve-half-way": (0.4, 1.0),
    "check-valve-stuck-open": (0.05, 0.60),
    "check-valve-stuck-shut": (0.5, 1.0),
    "sensor-out-of-place": (0.25, 1.0),
    "sensor-closes-cold": (0.25, 1.0),
    "sensor-opens-hot": (0.25, 1.0),
    "sensor-opens-cold": (0.35, 1.0),
    "timer-slow": (0.15, 0.9),
    "timer-fast": (0.10, 1.0),
    "backup-stage-dead": (0.3, 1.0),
    "line-voltage-low": (0.30, 1.0),
    "drain-blocked": (0.5, 1.0),
    "suction-gauge-zero-off": (0.15, 1.0),
    "high-gauge-zero-off": (0.15, 1.0),
    "coil-clamp-loose": (0.15, 1.0),
    "vapor-clamp-loose": (0.15, 1.0),
    "clocks-apart": (0.2, 1.0),
}
"""From slight to gross; a fault that is not here has but one state."""
NAMES = (*FAULTS, *INSTRUMENT_FAULTS)
KINDS = ("mild", "frost-pins", "frost-waited", "heating")
KIND_SHARE = (0.40, 0.25, 0.30, 0.05)
KIT = tuple(name for name in SIMULATED if name != "airflow")
"""A van that carries all: what the bench simulates but for a flow hood."""
LEAST = ("suction_pressure", "liquid_pressure", "suction_line_temp", "sensor_voltage")


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a run was, beside its scenario."""

    people: str
    seed: int
    faults: dict[str, float]
    kind: str
    scenario: Scenario
    machine: Machine
    kit: tuple[str, ...]


def severity(name: str, rng: np.random.Generator) -> float:
    """A severity from slight to gross, evenly."""
    low, high = SEVERITIES.get(name, (1.0, 1.0))
    return float(rng.uniform(low, high))


def case(people: People, seed: int, faults: tuple[str, ...], *, all_channels: bool = False) -> Case:
    """The case of a seed; without faults the same seed gives the sound twin of the same visit."""
    rng = np.random.default_rng([seed, 77])
    made = machine(people, rng)
    kind = str(rng.choice(KINDS, p=KIND_SHARE))
    rested = rng.random() < 0.5
    every = int(rng.choice([1, 2, 5]))
    temp, humidity, frost_kg, clock, duration = _conditions(kind, made, rng)
    house = float(rng.uniform(17.5, 23.5))
    humidity_room = rng.random()
    lost = rng.random() < 1.0 / 3.0
    kit = half_of_it(rng) if lost and not all_channels else KIT
    planned = {
        name: severity(name, np.random.default_rng([seed, 78, zlib.crc32(name.encode())])) for name in faults
    }
    scenario = Scenario(
        name=f"{people.name}-{seed}",
        title="",
        lesson="",
        look_for=(),
        seed=seed % (2**31),
        duration_s=duration,
        unit=made.unit,
        unit_tables=made.tables,
        plant=made.plant,
        controls=replace(made.controls, set_c=house),
        weather=constant(temp, humidity, made.unit.site.atmosphere_pa),
        start="rest" if rested else "running",
        house_c=house,
        frost_kg=frost_kg,
        clock_s=clock,
        settle_s=1200,
        acts=_acts(kind, rested, made, rng),
        faults=tuple(PlannedFault(name=name, severity=s) for name, s in planned.items()),
        recording=Recording(
            channels=tuple(name for name in CHANNELS if name in KIT or name == "airflow"),
            every_s=every,
            marks=humidity_room < 0.8,
            marks_late_s=3.0,
        ),
        probes={name: _probe(name, rng) for name in (*KIT, "airflow")},
    )
    return Case(
        people=people.name, seed=seed, faults=planned, kind=kind, scenario=scenario, machine=made, kit=kit
    )


def half_of_it(rng: np.random.Generator) -> tuple[str, ...]:
    """A van with half of the channels, and at least four."""
    kit = tuple(name for name in KIT if rng.random() >= 0.5)
    return kit if len(kit) >= 4 else LEAST


def _probe(name: str, rng: np.random.Generator) -> Probe:
    usual = PROBES[CHANNELS[name].kind]
    return replace(usual, noise=usual.noise * float(rng.uniform(0.7, 2.0)))


def _conditions(kind: str, made: Machine, rng: np.random.Generator) -> tuple[float, float, float, float, int]:
    """Outdoor temperature [degC], humidity, frost [kg], run time on the clock [s], length of the run [s]."""
    interval = made.controls.interval_s
    size = made.plant.area_m2
    if kind == "mild":
        return float(rng.uniform(3.0, 15.0)), float(rng.uniform(0.45, 0.9)), 0.0, 0.0, 3300
    if kind == "heating":
        return float(rng.uniform(-8.0, 13.0)), float(rng.uniform(0.5, 0.9)), 0.0, 0.0, 1800
    cold, damp = float(rng.uniform(-8.0, 2.5)), float(rng.uniform(0.65, 0.98))
    frost = float(rng.uniform(0.0, 0.045)) * size
    if kind == "frost-pins":
        return cold, damp, frost, 0.0, 3000
    whole = rng.random() < 0.5
    clock = max(0.0, interval - float(rng.uniform(900.0, 1500.0)))
    length = int(min(2700.0 + (interval if whole else 0.0), 6600.0))
    return cold, damp, frost, clock, length


def _acts(kind: str, rested: bool, made: Machine, rng: np.random.Generator) -> tuple[PlannedAct, ...]:
    begin = float(rng.uniform(900.0, 1200.0) if rested else rng.uniform(500.0, 900.0))
    pins = made.unit.board.pins_s + 40.0
    # Gauges on first, then the call: what they read at rest is in the record.
    rest = (PlannedAct(act="call-off", at_s=0.0), PlannedAct(act="call-on", at_s=120.0)) if rested else ()
    if kind == "mild":
        return (
            *rest,
            PlannedAct(act="fan-lead-off", at_s=begin),
            PlannedAct(act="pins-bridged", when="sensor-closed", wait_s=15.0, latest_s=600.0),
            PlannedAct(act="pins-released", when="defrosting", wait_s=4.0, latest_s=pins),
            PlannedAct(act="fan-lead-on", when="heating", wait_s=10.0, latest_s=960.0),
        )
    if kind == "frost-pins":
        return (
            *rest,
            PlannedAct(act="pins-bridged", at_s=begin),
            PlannedAct(act="pins-released", when="defrosting", wait_s=4.0, latest_s=pins),
        )
    return rest
