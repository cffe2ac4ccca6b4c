"""What each number is held against: the plate, the maker's table, a published standard, or common practice.

No target is invented: a function gives None where the unit file holds nothing to hold a number against.
"""

from __future__ import annotations

from typing import Final

from firstfrost.heating.airflow import needed_airflow
from firstfrost.heating.backup_plate import ELEMENT_LIMIT
from firstfrost.heating.state import Reading, State
from firstfrost.heating.today import target
from firstfrost.proofs.finding import Limit

HEAT_LEAST: Final = 0.85
POWER_MOST: Final = 1.15
"""What a sound unit may be short of or above the maker's figures, age and dust granted; common practice, no
source."""
DISCHARGE_MOST_C: Final = 107.2
"""225 degF at the discharge line; common practice, no source: oil suffers above it. [degC]"""
RUN_HOTTER: Final = frozenset({"R-32", "R-454B"})
"""Refrigerants whose compressors are made for more; common practice, no source."""
AGREE: Final = 0.06
"""Two methods of measuring capacity agree within 6 % in the laboratory (ASHRAE 37, from memory)."""
SAG_MOST: Final = 0.05
"""Voltage drop of feeder and branch together (NFPA 70, informational note, from memory: 5 %)."""
VALVE_RISE_MOST_K: Final = 3.0 / 1.8
"""3 degF across the reversing valve; common practice, no source. [K]"""
BACKUP_WITHIN_S: Final = 60.0
"""Backup heat is to follow the start of a defrost within this; common practice, no source. [s]"""
CFM_PER_TON: Final = (300.0, 400.0)
"""Least airflow (California 2008 Residential Appendix RA3.2, cooling); the usual one (common practice)."""
RESTS_SHARE: Final = 0.02
"""Backup heat that is on for less of the time than this rests; common practice, no source."""
FROST_LEFT_MOST_K: Final = 0.0


def at_most(high: float, unit: str, source: str) -> Limit:
    """An upper limit."""
    return Limit(low=None, high=high, unit=unit, source=source)


def at_least(low: float, unit: str, source: str) -> Limit:
    """A lower limit."""
    return Limit(low=low, high=None, unit=unit, source=source)


def superheat(state: State, reading: Reading) -> Limit | None:
    """The maker's heating target."""
    return target(state, "superheat")


def subcooling(state: State, reading: Reading) -> Limit | None:
    """The maker's heating target."""
    return target(state, "subcooling")


def current_ratio(state: State, reading: Reading) -> Limit | None:
    """The plate's rated load current."""
    return at_most(1.0, "1", "rating plate: rated load current")


def line_voltage(state: State, reading: Reading) -> Limit | None:
    """The plate's voltage; a default would fail sound supplies of 208 V."""
    supply = state.context.unit.supply
    if state.context.unit.is_default("supply.voltage"):
        return None
    width = supply.tolerance * supply.voltage_v
    source = "rating plate: rated voltage; its tolerance by NEMA MG 1 (from memory)"
    return Limit(low=supply.voltage_v - width, high=supply.voltage_v + width, unit="V", source=source)


def backup_ratio(state: State, reading: Reading) -> Limit | None:
    """The plate's power, within what elements may differ from it."""
    low, high = ELEMENT_LIMIT
    source = "rating plate: power of the stages; UL lets elements differ by -10 to +5 % (from memory)"
    return Limit(low=1.0 + low, high=1.0 + high, unit="1", source=source)


def lockout(state: State, reading: Reading) -> Limit | None:
    """The compressor rests below its lockout."""
    return at_least(0.0, "K", "unit file: lockout of the compressor")


def discharge_temp(state: State, reading: Reading) -> Limit | None:
    """The rule of thumb of the older refrigerants; R-32 and its blends run hotter by design."""
    if state.fluid.name in RUN_HOTTER:
        return None
    return at_most(DISCHARGE_MOST_C, "degC", "common practice, no source: 225 degF at the discharge line")


def evaporating_approach(state: State, reading: Reading) -> Limit | None:
    """Heat flows from the warmer air to the colder refrigerant."""
    return at_least(0.0, "K", "physics: heat flows from warm to cold")


def coil_to_suction(state: State, reading: Reading) -> Limit | None:
    """The coil lies above suction saturation, but for the glide of a blend at its inlet."""
    mean = state.mean("suction_pressure")
    glide = 0.0 if mean is None else state.fluid.glide_k(mean.value)
    return at_least(-glide, "K", "physics: heat flows from warm to cold, the glide of a blend granted")


def vapor_line(state: State, reading: Reading) -> Limit | None:
    """The vapor line cannot be warmer than the discharge that feeds it."""
    return at_least(0.0, "K", "physics: heat flows from warm to cold")


def airflow_ratio(state: State, reading: Reading) -> Limit | None:
    """The rated airflow within its band; else the least airflow a ton of capacity."""
    needed = needed_airflow(state.context.unit)
    if needed is not None and state.context.unit.ratings.airflow_m3_s is not None:
        low, high = (flow / needed.target_m3_s for flow in (needed.low_m3_s, needed.high_m3_s))
        source = "published standard: rated airflow within 15 %, ACCA 5 QI (from memory)"
        return Limit(low=low, high=high, unit="1", source=source)
    least, usual = CFM_PER_TON
    source = "published standard: California 2008 Residential Appendix RA3.2 (cooling), 300 cfm a ton"
    return at_least(least / usual, "1", source)


def capacity_ratio(state: State, reading: Reading) -> Limit | None:
    """How much of the expected heat must be there."""
    return at_least(HEAT_LEAST, "1", "common practice, no source: 85 % of what the maker states")


def power_ratio(state: State, reading: Reading) -> Limit | None:
    """How much of the expected power may be taken."""
    return at_most(POWER_MOST, "1", "common practice, no source: 115 % of what the maker states")


def design_day(state: State, reading: Reading) -> Limit | None:
    """Heat pump and backup heat carry the house."""
    return at_least(1.0, "1", "unit file: the house's load on its coldest design day")


def cop(state: State, reading: Reading) -> Limit | None:
    """A plain resistance heater gives as much heat as it takes."""
    return at_least(1.0, "W/W", "physics: a resistance heater gives as much")


def agreement(state: State, reading: Reading) -> Limit | None:
    """Air side over refrigerant side."""
    source = "published standard: ASHRAE 37, 6 % (from memory)"
    return Limit(low=1.0 - AGREE, high=1.0 + AGREE, unit="1", source=source)


def sag(state: State, reading: Reading) -> Limit | None:
    """The voltage that the wiring may lose."""
    source = "published standard: NFPA 70, informational note, 5 % for feeder and branch (from memory)"
    return at_most(SAG_MOST, "1", source)


def valve_rise(state: State, reading: Reading) -> Limit | None:
    """The rule of thumb for a leaking reversing valve."""
    return at_most(VALVE_RISE_MOST_K, "K", "common practice, no source: 3 degF across the valve")


def frost_left(state: State, reading: Reading) -> Limit | None:
    """No wider an approach after the defrost than before it."""
    return at_most(FROST_LEFT_MOST_K, "K", "this record: the approach before the defrost")


def backup_delay(state: State, reading: Reading) -> Limit | None:
    """Backup heat carries the house from the start of a defrost."""
    given = state.context.unit.backup.first_delay_s
    if given is not None:
        return at_most(given, "s", "unit file: delay of the first stage of backup heat")
    return at_most(BACKUP_WITHIN_S, "s", "common practice, no source")


def backup_rests(state: State, reading: Reading) -> Limit | None:
    """Where next to none ran all is well; that some ran is wrong only where a lockout forbids it."""
    lockout = state.context.unit.backup.backup_lockout_c
    outdoor = state.mean("outdoor_air_temp", (reading.start_s, reading.end_s))
    if lockout is not None and outdoor is not None and outdoor.value - outdoor.expanded > lockout:
        return at_most(RESTS_SHARE, "1", "unit file: lockout of the backup heat")
    if reading.value.value <= 0.5 * RESTS_SHARE:
        return at_most(RESTS_SHARE, "1", "common practice, no source")
    return None


def none_out_of_turn(state: State, reading: Reading) -> Limit | None:
    """Each stage in its order and time."""
    return at_most(0.0, "count", "unit file: stages and delays of the backup heat")
