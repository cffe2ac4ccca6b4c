"""The keys of a unit file, as rows: what each means, its default, and why that one.

docs/unit-file.md is held against these rows by a test.
"""

from __future__ import annotations

from typing import Final

from firstfrost.equipment.heating_settings import (
    HEATING_CHOICES,
    HEATING_FILES,
    HEATING_SERIES,
    HEATING_SETTINGS,
    HEATING_STATEMENTS,
    HEATING_TABLES,
)
from firstfrost.equipment.rows import Choice, File, Series, Setting, Statement

SETTINGS: Final[tuple[Setting, ...]] = (
    Setting(
        table="unit",
        key="nominal_capacity",
        kind="power",
        meaning="heating or cooling capacity on the rating plate",
        lowest="0.1 ton_refrigeration",
        highest="50 ton_refrigeration",
    ),
    Setting(
        table="coil_sensor",
        key="closes_at",
        kind="temperature",
        meaning="coil temperature at which the sensor's contact closes",
        lowest="-20 degF",
        highest="50 degF",
        default="30 degF",
        why="common practice, no source: sensors close near 26 to 32 degF",
    ),
    Setting(
        table="coil_sensor",
        key="opens_at",
        kind="temperature",
        meaning="coil temperature at which the sensor's contact opens",
        lowest="32 degF",
        highest="120 degF",
        default="60 degF",
        why="common practice, no source: sensors open near 55 to 65 degF",
    ),
    Setting(
        table="coil_sensor",
        key="tolerance",
        kind="temperature_difference",
        meaning="how far from its ratings the sensor may switch",
        lowest="0 delta_degF",
        highest="20 delta_degF",
        default="5 delta_degF",
        why="common practice, no source: bimetal sensors are rated to some 3 to 6 degF",
    ),
    Setting(
        table="board",
        key="interval",
        kind="time",
        meaning="compressor run time between defrosts, as set on the board",
        lowest="5 min",
        highest="24 h",
        default="90 min",
        why="common practice, no source: boards offer 30, 60 and 90 min, and come set to 90",
    ),
    Setting(
        table="board",
        key="longest_defrost",
        kind="time",
        meaning="the board ends a defrost by itself after this long",
        lowest="1 min",
        highest="60 min",
        default="12 min",
        why="common practice, no source: boards end a defrost by time after 10 to 14 min",
    ),
    Setting(
        table="board",
        key="pins_time",
        kind="time",
        meaning="test pins bridged this long, with the sensor closed, must have started a defrost",
        lowest="1 s",
        highest="30 min",
        default="90 s",
        why="common practice, no source: bridged pins run an interval through within a minute and a half",
    ),
    Setting(
        table="limits",
        key="saturation_ceiling",
        kind="temperature",
        meaning="condensing saturation that a defrost must stay below",
        lowest="80 degF",
        highest="200 degF",
        default="130 degF",
        why="common practice, no source",
    ),
    Setting(
        table="limits",
        key="high_pressure_cutout",
        kind="pressure_gauge",
        meaning="gauge pressure at which the high-pressure switch opens, as on the rating plate",
        lowest="100 psi",
        highest="2500 psi",
        default="610 psi",
        why="common practice, no source: switches on R-410A open near 600 to 650 psi",
    ),
    Setting(
        table="site",
        key="altitude",
        kind="length",
        meaning="height above sea level",
        lowest="-500 m",
        highest="6000 m",
        default="0 ft",
        why="sea level: each 1000 ft above it puts an absolute pressure 0.5 psi too high",
    ),
    Setting(
        table="site",
        key="barometer",
        kind="pressure_absolute",
        meaning="ambient pressure read at the site, not corrected to sea level; goes before the altitude",
        lowest="45 kPa",
        highest="110 kPa",
    ),
    *HEATING_SETTINGS,
)

CHOICES: Final[tuple[Choice, ...]] = (
    Choice(table="unit", key="name", meaning="what to call the unit in the report"),
    Choice(table="unit", key="refrigerant", meaning="from the rating plate, such as R-410A"),
    Choice(
        table="unit",
        key="metering",
        meaning="how the refrigerant is metered in heating",
        words=("expansion valve", "fixed orifice"),
    ),
    Choice(
        table="board",
        key="kind",
        meaning="what starts a defrost: run time with a cold sensor, or a measured need",
        words=("time-temperature", "demand"),
        default="time-temperature",
        why="common practice, no source: the usual board, and the one with a set interval",
    ),
    Choice(
        table="site",
        key="zone",
        meaning="time zone of the site by its IANA name, such as America/Denver",
        default="none",
        why="times are shown as in the file, or in UTC",
    ),
    *HEATING_CHOICES,
)

SERIES: Final[tuple[Series, ...]] = HEATING_SERIES
STATEMENTS: Final[tuple[Statement, ...]] = HEATING_STATEMENTS
FILES: Final[tuple[File, ...]] = HEATING_FILES

TABLES: Final[dict[str, tuple[str, ...]]] = {
    "unit": ("name", "refrigerant", "nominal_capacity", "metering"),
    "coil_sensor": ("closes_at", "opens_at", "tolerance"),
    "board": ("interval", "longest_defrost", "pins_time", "kind"),
    "limits": ("saturation_ceiling", "high_pressure_cutout"),
    "site": ("altitude", "barometer", "zone"),
    "instruments": (),
    **HEATING_TABLES,
}
"""The tables of a unit file and their keys; those of `instruments` are the channels."""
