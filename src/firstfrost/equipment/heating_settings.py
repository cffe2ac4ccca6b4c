"""The keys of a unit file that only the heating check, its causes and the season use, as rows.

None is needed for the defrost check. A default here counts, and is named in a result, only where a number
rests on it.
"""

from __future__ import annotations

from typing import Final

from firstfrost.equipment.rows import Choice, File, Row, Series, Setting, Statement

RATING_TEMPS_F: Final = (47, 35, 17, 5)
"""Outdoor dry bulbs of the heating tests H1, H2, H3 and H4 of the US rating procedure. [degF]

10 CFR 430 subpart B, appendix M1, and AHRI 210/240, through open rating code; indoor air at 70 degF in all.
"""

_CAPACITY: Final = ("0.1 ton_refrigeration", "50 ton_refrigeration")
_OUTDOOR: Final = ("-40 degF", "75 degF")


def _rated(temp_f: int) -> tuple[Setting, ...]:
    frost = ", frost and defrost counted" if temp_f == 35 else ""
    at = f"at {temp_f} degF outdoors and 70 degF indoors{frost}"
    low, high = _CAPACITY
    return (
        Setting(
            table="ratings",
            key=f"capacity_{temp_f}",
            kind="power",
            meaning=f"rated heating capacity {at}",
            lowest=low,
            highest=high,
        ),
        Setting(
            table="ratings",
            key=f"power_{temp_f}",
            kind="power",
            meaning=f"rated electric power of the whole unit, blower and all, {at}",
            lowest="50 W",
            highest="100 kW",
        ),
        Setting(
            table="ratings",
            key=f"cop_{temp_f}",
            kind="ratio",
            meaning=f"rated COP {at}; in place of the power",
            lowest="0.8 W/W",
            highest="9 W/W",
        ),
    )


HEATING_SETTINGS: Final[tuple[Setting, ...]] = (
    *(row for temp_f in RATING_TEMPS_F for row in _rated(temp_f)),
    Setting(
        table="ratings",
        key="cooling_capacity",
        kind="power",
        meaning="rated cooling capacity at 95 degF outdoors",
        lowest=_CAPACITY[0],
        highest=_CAPACITY[1],
    ),
    Setting(
        table="ratings",
        key="airflow",
        kind="flow",
        meaning="rated indoor airflow in heating, of standard air",
        lowest="50 cfm",
        highest="20000 cfm",
    ),
    Setting(
        table="ratings",
        key="cut_out",
        kind="temperature",
        meaning="outdoor temperature below which the unit stops heating by itself, as the maker declares",
        lowest="-60 degF",
        highest="60 degF",
    ),
    Setting(
        table="ratings",
        key="cut_in",
        kind="temperature",
        meaning="outdoor temperature above which it starts again after that",
        lowest="-60 degF",
        highest="60 degF",
    ),
    Setting(
        table="targets",
        key="superheat",
        kind="temperature_difference",
        meaning="superheat in heating that the maker asks for",
        lowest="0 delta_degF",
        highest="60 delta_degF",
    ),
    Setting(
        table="targets",
        key="superheat_tolerance",
        kind="temperature_difference",
        meaning="how far from it the superheat may be",
        lowest="0.5 delta_degF",
        highest="20 delta_degF",
        default="5 delta_degF",
        why="California appendix RA3.2 (2008), installer's band in cooling; ACCA 5 QI, from memory",
    ),
    Setting(
        table="targets",
        key="subcooling",
        kind="temperature_difference",
        meaning="subcooling in heating that the maker asks for",
        lowest="0 delta_degF",
        highest="60 delta_degF",
    ),
    Setting(
        table="targets",
        key="subcooling_tolerance",
        kind="temperature_difference",
        meaning="how far from it the subcooling may be",
        lowest="0.5 delta_degF",
        highest="20 delta_degF",
        default="3 delta_degF",
        why="California appendix RA3.2 (2008), installer's band in cooling; ACCA 5 QI, from memory",
    ),
    Setting(
        table="compressor",
        key="map_superheat",
        kind="temperature_difference",
        meaning="superheat at which the maker's map was made",
        lowest="0 delta_degF",
        highest="60 delta_degF",
        default="20 delta_degF",
        why="AHRI 540, from memory: maps are published at 20 degF of superheat, or at 65 degF return gas",
    ),
    Setting(
        table="compressor",
        key="map_return_gas",
        kind="temperature",
        meaning="suction gas temperature at which the map was made; in place of the superheat",
        lowest="-20 degF",
        highest="100 degF",
    ),
    Setting(
        table="compressor",
        key="displacement",
        kind="volume",
        meaning="swept volume of one turn",
        lowest="1 cm3",
        highest="1000 cm3",
    ),
    Setting(
        table="compressor",
        key="speed",
        kind="rotation",
        meaning="speed under load",
        lowest="600 rpm",
        highest="9000 rpm",
        default="3500 rpm",
        why="common practice, no source: a two-pole motor on 60 Hz slips to some 3450 to 3550 rpm under load",
    ),
    Setting(
        table="compressor",
        key="rated_load_current",
        kind="current",
        meaning="RLA on the plate; a size for wires and contactors, not what the motor draws in heating",
        lowest="0.5 A",
        highest="400 A",
    ),
    Setting(
        table="compressor",
        key="power_factor",
        kind="ratio",
        meaning="power over volts times amps, where watts are not measured",
        lowest="40 %",
        highest="100 %",
        default="93 %",
        why="common practice, no source: single-phase compressors with a run capacitor lie near 88 to 98 %",
    ),
    Setting(
        table="backup",
        key="plate_voltage",
        kind="voltage",
        meaning="volts at which the stages have their plate power",
        lowest="100 V",
        highest="600 V",
        default="240 V",
        why="common practice, no source: US elements are rated at 240 V, and give 75 % of that at 208 V",
    ),
    Setting(
        table="backup",
        key="first_delay",
        kind="time",
        meaning="from the call for backup heat to the first stage, at most",
        lowest="0 s",
        highest="30 min",
    ),
    Setting(
        table="backup",
        key="stage_delay",
        kind="time",
        meaning="from one stage to the next, at least",
        lowest="0 s",
        highest="60 min",
    ),
    Setting(
        table="backup",
        key="compressor_lockout",
        kind="temperature",
        meaning="outdoor temperature below which the control keeps the compressor off",
        lowest=_OUTDOOR[0],
        highest=_OUTDOOR[1],
    ),
    Setting(
        table="backup",
        key="backup_lockout",
        kind="temperature",
        meaning="outdoor temperature above which backup heat stays off, but for defrost and emergency heat",
        lowest=_OUTDOOR[0],
        highest=_OUTDOOR[1],
    ),
    Setting(
        table="blower",
        key="power",
        kind="power",
        meaning="electric power of the indoor blower as it runs",
        lowest="10 W",
        highest="10 kW",
    ),
    Setting(
        table="airflow",
        key="measured",
        kind="flow",
        meaning="indoor airflow read off a flow hood or grid, by hand",
        lowest="50 cfm",
        highest="20000 cfm",
    ),
    Setting(
        table="airflow",
        key="traverse_area",
        kind="area",
        meaning="free cross section of the duct where the velocities were read",
        lowest="10 in2",
        highest="100 ft2",
    ),
    Setting(
        table="airflow",
        key="external_static",
        kind="pressure_difference",
        meaning="external static pressure read by hand: supply above return, over the air handler",
        lowest="0 inH2O",
        highest="4 inH2O",
    ),
    Setting(
        table="house",
        key="design_load",
        kind="power",
        meaning="heat loss of the house at the design temperature",
        lowest="500 W",
        highest="500 kW",
    ),
    Setting(
        table="house",
        key="design_temp",
        kind="temperature",
        meaning="outdoor temperature of the coldest design hour",
        lowest="-60 degF",
        highest="60 degF",
    ),
    Setting(
        table="house",
        key="indoor",
        kind="temperature",
        meaning="indoor set point in heating",
        lowest="45 degF",
        highest="85 degF",
        default="70 degF",
        why="the indoor air of the US rating procedure",
    ),
    Setting(
        table="house",
        key="zero_load",
        kind="temperature",
        meaning="outdoor temperature at which the house needs no heat, its own gains being enough",
        lowest="30 degF",
        highest="75 degF",
        default="55 degF",
        why="US rating region IV (10 CFR 430 subpart B, appendix M1, quoted in open code)",
    ),
    Setting(
        table="supply",
        key="voltage",
        kind="voltage",
        meaning="rated line voltage on the plate",
        lowest="100 V",
        highest="600 V",
        default="240 V",
        why="common practice, no source: single-phase US units are rated at 208/230 V and meet some 240 V",
    ),
    Setting(
        table="supply",
        key="tolerance",
        kind="ratio",
        meaning="how far from it the line may be with the compressor running",
        lowest="1 %",
        highest="25 %",
        default="10 %",
        why="NEMA MG 1, from memory: motors run within 10 % of their plate voltage",
    ),
)

HEATING_CHOICES: Final[tuple[Choice, ...]] = (
    Choice(
        table="maker",
        key="performance_is",
        meaning="whether the maker's table counts frost and defrost",
        words=("steady", "integrated"),
    ),
    Choice(
        table="compressor",
        key="map_temperature",
        meaning="scale of the map's dew temperatures",
        words=("degF", "degC"),
        default="degF",
        why="AHRI 540, from memory: maps in inch-pound units are over degF",
    ),
    Choice(
        table="compressor",
        key="map_mass_flow",
        meaning="unit of the map's mass flow",
        words=("lb/h", "kg/h", "kg/s", "g/s"),
        default="lb/h",
        why="AHRI 540, from memory: maps in inch-pound units give lb/h",
    ),
    Choice(table="blower", key="tap", meaning="speed tap or setting, as the maker's blower table names it"),
    Choice(
        table="blower",
        key="place",
        meaning="whether the blower's heat is in the temperature rise",
        words=("between the probes", "outside the probes"),
        default="between the probes",
        why="common practice, no source: one probe in the return, one in the supply, the blower between them",
    ),
    Choice(
        table="supply",
        key="phases",
        meaning="phases of the compressor's supply",
        words=("1", "3"),
        default="1",
        why="common practice, no source: houses are on single phase in the US",
    ),
)

HEATING_SERIES: Final[tuple[Series, ...]] = (
    Series(
        table="compressor",
        key="mass_flow",
        kind=None,
        meaning="ten AHRI 540 coefficients of the mass flow",
        shortest=10,
        longest=10,
    ),
    Series(
        table="compressor",
        key="power",
        kind=None,
        meaning="ten AHRI 540 coefficients of the electric power in W",
        shortest=10,
        longest=10,
    ),
    Series(
        table="compressor",
        key="current",
        kind=None,
        meaning="ten AHRI 540 coefficients of the current in A",
        shortest=10,
        longest=10,
    ),
    Series(
        table="backup",
        key="stages",
        kind="power",
        meaning="plate power of each stage, in the order in which they come on",
        shortest=1,
        longest=8,
        lowest="200 W",
        highest="60 kW",
    ),
    Series(
        table="airflow",
        key="traverse",
        kind="velocity",
        meaning="air velocities of a duct traverse, each standing for an equal share of the duct",
        shortest=4,
        longest=400,
        lowest="0 ft/min",
        highest="4000 ft/min",
    ),
)

HEATING_STATEMENTS: Final[tuple[Statement, ...]] = (
    Statement(
        table="airflow",
        key="measured_accuracy",
        kind="flow",
        meaning="what the hood's maker states",
        default="10 % of reading",
        why="common practice, no source: a hood or grid away from the laboratory",
    ),
    Statement(
        table="airflow",
        key="traverse_accuracy",
        kind="velocity",
        meaning="what the velocity probe's maker states",
        default="5 % of reading + 10 ft/min",
        why="common practice, no source: a hot-wire or vane probe",
    ),
)

HEATING_FILES: Final[tuple[File, ...]] = (
    File(table="targets", key="table", meaning="maker's charging table in heating, as CSV"),
    File(table="maker", key="performance", meaning="maker's extended performance table in heating, as CSV"),
    File(table="maker", key="blower", meaning="maker's blower table, as CSV"),
    File(table="house", key="run_time", meaning="log of run time and outdoor temperature, as CSV"),
)


def _tables() -> dict[str, tuple[str, ...]]:
    rows: tuple[Row, ...] = (
        *HEATING_SETTINGS,
        *HEATING_CHOICES,
        *HEATING_SERIES,
        *HEATING_STATEMENTS,
        *HEATING_FILES,
    )
    names = dict.fromkeys(row.table for row in rows)
    return {name: tuple(row.key for row in rows if row.table == name) for name in names}


HEATING_TABLES: Final[dict[str, tuple[str, ...]]] = _tables()
"""The tables of the heating check and their keys."""
