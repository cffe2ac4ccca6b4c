"""A scenario in memory, in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.weather import Weather
from firstfrost.equipment.unit import Unit


@dataclass(frozen=True, kw_only=True)
class PlannedAct:
    """What a person does: at a time, or once something is so, `wait_s` later, at the latest at `latest_s`."""

    act: str
    at_s: float | None = None
    when: str = ""
    wait_s: float = 0.0
    latest_s: float = 0.0
    """After the act before. [s]"""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PlannedFault:
    """A fault of the machine or of an instrument, from `at_s` until `until_s` (none: to the end)."""

    name: str
    severity: float
    at_s: float | None = None
    """None: from before the run."""
    until_s: float | None = None


@dataclass(frozen=True, kw_only=True)
class Probe:
    """How a probe errs beyond its accuracy, in the channel's SI unit."""

    noise: float = 0.0
    """Standard deviation of each reading."""
    lag_s: float = 0.0
    resolution: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Lost:
    """A stretch without readings: of one channel, or of all (`channel` empty)."""

    start_s: float
    end_s: float
    channel: str = ""


@dataclass(frozen=True, kw_only=True)
class Recording:
    """How the run was written down."""

    channels: tuple[str, ...]
    every_s: int = 1
    starts: datetime | None = None
    """None: bare seconds."""
    marks: bool = True
    marks_late_s: float = 0.0
    drop_outs: float = 0.0
    lost: tuple[Lost, ...] = ()
    clock_jump: tuple[float, float] | None = None
    """At this time the logger's clock is put on by so much. [s]"""


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """All that a run, its record and its truth depend on."""

    name: str
    title: str
    lesson: str
    look_for: tuple[str, ...]
    seed: int
    duration_s: int
    unit: Unit
    unit_tables: Mapping[str, Mapping[str, Any]]
    """As in the file, for the unit file that goes with the record."""
    plant: Plant
    """Without faults."""
    controls: Controls
    """Without faults."""
    weather: Weather
    start: str
    house_c: float
    frost_kg: float
    clock_s: float
    settle_s: int
    acts: tuple[PlannedAct, ...]
    faults: tuple[PlannedFault, ...]
    recording: Recording
    probes: Mapping[str, Probe]
    """Of each recorded channel."""
