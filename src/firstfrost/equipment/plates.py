"""What plates, ratings and the maker's papers say of a unit's heating, in SI; None where they say nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from firstfrost.instruments.accuracy import Accuracy


@dataclass(frozen=True, kw_only=True)
class HeldTable:
    """A table that stands in the unit file itself: as in the store, which has no files beside a plate."""

    name: str
    """Of the file that it is from, for what is told about it."""
    text: str
    """CSV, as the file was."""


TableFile = Path | HeldTable
"""A table of the maker, or a log of run time."""


@dataclass(frozen=True, kw_only=True)
class RatingPoint:
    """One heating test of the rating procedure, indoor air at 70 degF."""

    capacity_w: float
    power_w: float | None
    """Electric, of the whole unit. [W]"""


@dataclass(frozen=True, kw_only=True)
class Ratings:
    """The rated figures of a unit."""

    points: Mapping[int, RatingPoint] = field(default_factory=dict)
    """By outdoor dry bulb as the trade names the tests: 47, 35, 17, 5 [degF]; only those with a capacity."""
    cooling_capacity_w: float | None = None
    airflow_m3_s: float | None = None
    """Of standard air. [m3/s]"""
    cut_out_c: float | None = None
    cut_in_c: float | None = None


@dataclass(frozen=True, kw_only=True)
class Targets:
    """What the maker asks of the charge in heating."""

    superheat_k: float | None = None
    superheat_tolerance_k: float = 5.0 / 1.8
    subcooling_k: float | None = None
    subcooling_tolerance_k: float = 3.0 / 1.8
    table: TableFile | None = None


@dataclass(frozen=True, kw_only=True)
class Maker:
    """The maker's tables."""

    performance: TableFile | None = None
    performance_is: Literal["steady", "integrated"] | None = None
    blower: TableFile | None = None


@dataclass(frozen=True, kw_only=True)
class Compressor:
    """The compressor's map, size and plate."""

    mass_flow: tuple[float, ...] | None = None
    """Ten coefficients, over and in the units below."""
    power: tuple[float, ...] | None = None
    """Ten coefficients, in W."""
    current: tuple[float, ...] | None = None
    """Ten coefficients, in A."""
    map_temperature: Literal["degF", "degC"] = "degF"
    map_mass_flow: Literal["lb/h", "kg/h", "kg/s", "g/s"] = "lb/h"
    map_superheat_k: float = 20.0 / 1.8
    map_return_gas_c: float | None = None
    """Goes before the superheat."""
    displacement_m3: float | None = None
    """Swept in one turn. [m3]"""
    speed_per_s: float = 3500.0 / 60.0
    rated_load_current_a: float | None = None
    power_factor: float = 0.93


@dataclass(frozen=True, kw_only=True)
class Backup:
    """Resistance heat and its lockouts."""

    stages_w: tuple[float, ...] = ()
    """Plate power of each stage, in the order in which they come on. [W]"""
    plate_voltage_v: float = 240.0
    first_delay_s: float | None = None
    stage_delay_s: float | None = None
    compressor_lockout_c: float | None = None
    backup_lockout_c: float | None = None


@dataclass(frozen=True, kw_only=True)
class Blower:
    """The indoor blower."""

    tap: str | None = None
    power_w: float | None = None
    between_probes: bool = True
    """Whether its heat is part of the temperature rise."""


@dataclass(frozen=True, kw_only=True)
class TypedAirflow:
    """Readings of airflow typed in by hand."""

    measured_m3_s: float | None = None
    measured_accuracy: Accuracy | None = None
    traverse_m_s: tuple[float, ...] = ()
    traverse_area_m2: float | None = None
    traverse_accuracy: Accuracy | None = None
    external_static_pa: float | None = None


@dataclass(frozen=True, kw_only=True)
class House:
    """What the house needs."""

    design_load_w: float | None = None
    design_temp_c: float | None = None
    indoor_c: float = 190.0 / 9.0
    zero_load_c: float = 115.0 / 9.0
    run_time: TableFile | None = None


@dataclass(frozen=True, kw_only=True)
class Supply:
    """The electric supply of the outdoor unit."""

    voltage_v: float = 240.0
    tolerance: float = 0.10
    phases: Literal[1, 3] = 1
