"""What is known of a unit, in SI, and which of it is a default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

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

    def is_default(self, setting: str) -> bool:
        """Tell whether `setting`, written as in the file, is a default."""
        return any(default.setting == setting for default in self.defaults)
