"""What is known of a unit, in SI, and which of it is a default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from firstfrost.equipment.plates import (
    Backup,
    Blower,
    Compressor,
    House,
    Maker,
    Ratings,
    Supply,
    Targets,
    TypedAirflow,
)
from firstfrost.instruments.accuracy import Accuracy


@dataclass(frozen=True, kw_only=True)
class CoilSensor:
    """Ratings of the defrost thermostat or its like on the outdoor coil."""

    closes_at_c: float
    opens_at_c: float
    tolerance_k: float


@dataclass(frozen=True, kw_only=True)
class Board:
    """The defrost board and its settings."""

    interval_s: float
    """Run time between defrosts that is set on it. [s]"""
    longest_defrost_s: float
    """After this long it ends a defrost by itself. [s]"""
    kind: Literal["time-temperature", "demand"]
    pins_s: float
    """Test pins bridged this long with the sensor closed must have started a defrost. [s]"""


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a defrost must stay below."""

    saturation_ceiling_c: float
    high_pressure_cutout_pa: float
    """Absolute. [Pa]"""


@dataclass(frozen=True, kw_only=True)
class Site:
    """Where the unit stands."""

    altitude_m: float
    atmosphere_pa: float
    """The ambient pressure added to gauge readings, from the altitude or a barometer. [Pa]"""
    zone: str | None
    barometer_read: bool = False
    """Whether the pressure is a barometer's, read at the site."""


@dataclass(frozen=True, kw_only=True)
class Default:
    """A value the unit file did not give."""

    setting: str
    """As in the file: `board.interval`."""
    value: str
    """With its unit, as it would be written in the file."""
    why: str


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit as a visit needs it."""

    name: str
    refrigerant: str
    """Canonical: `R-410A`."""
    coil_sensor: CoilSensor
    board: Board
    limits: Limits
    site: Site
    instruments: Mapping[str, Accuracy]
    """Accuracy of each canonical channel."""
    shared: Mapping[str, str]
    """Channel -> name of the instrument that reads it; channels of one instrument share its error."""
    defaults: tuple[Default, ...]
    nominal_capacity_w: float | None = None
    metering: Literal["expansion valve", "fixed orifice"] | None = None
    ratings: Ratings = field(default_factory=Ratings)
    targets: Targets = field(default_factory=Targets)
    maker: Maker = field(default_factory=Maker)
    compressor: Compressor = field(default_factory=Compressor)
    backup: Backup = field(default_factory=Backup)
    blower: Blower = field(default_factory=Blower)
    airflow: TypedAirflow = field(default_factory=TypedAirflow)
    house: House = field(default_factory=House)
    supply: Supply = field(default_factory=Supply)
    heating_defaults: tuple[Default, ...] = ()
    """Values of the tables from `ratings` on that were not given; a result names those it rests on."""

    def is_default(self, setting: str) -> bool:
        """Tell whether `setting`, written as in the file, is a default."""
        return self.default_of(setting) is not None

    def default_of(self, setting: str) -> Default | None:
        """The default taken for `setting`, written as in the file; None where the file gave it."""
        return next((d for d in (*self.defaults, *self.heating_defaults) if d.setting == setting), None)
