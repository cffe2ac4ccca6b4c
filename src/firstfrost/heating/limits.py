"""What each number is held against: the plate, the maker's table, a published standard, or common practice.

No target is invented: a function gives None where the unit file holds nothing to hold a number against.
"""

from __future__ import annotations

from typing import Final

from firstfrost.heating.state import Reading, State
from firstfrost.proofs.finding import Limit
from firstfrost.quantities.constants import FOOT_M

CFM_M3_S: Final = FOOT_M**3 / 60.0
TON_W: Final = 3516.8528
DISCHARGE_MOST_C: Final = 107.2
"""225 degF at the discharge line; common practice, no source: oil suffers above it. [degC]"""
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
BACKUP_WIDTH: Final = 0.10
"""Elements differ from their plate by some; common practice, no source."""
FROST_LEFT_MOST_K: Final = 0.0


def at_most(high: float, unit: str, source: str) -> Limit:
    """An upper limit."""
    return Limit(low=None, high=high, unit=unit, source=source)


def at_least(low: float, unit: str, source: str) -> Limit:
    """A lower limit."""
    return Limit(low=low, high=None, unit=unit, source=source)


def _about(target: float | None, width: float, source: str) -> Limit | None:
    if target is None:
        return None
    return Limit(low=target - width, high=target + width, unit="K", source=source)


def superheat(state: State, reading: Reading) -> Limit | None:
    """The maker's heating target."""
    targets = state.context.unit.targets
    return _about(
        targets.superheat_k, targets.superheat_tolerance_k, "unit file: the maker's target in heating"
    )


def subcooling(state: State, reading: Reading) -> Limit | None:
    """The maker's heating target."""
    targets = state.context.unit.targets
    source = "unit file: the maker's target in heating"
    return _about(targets.subcooling_k, targets.subcooling_tolerance_k, source)


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
    """The plate's power, within a tenth."""
    width = BACKUP_WIDTH
    source = "rating plate: power of all stages; 10 % is common practice, no source"
    return Limit(low=1.0 - width, high=1.0 + width, unit="1", source=source)


def discharge_temp(state: State, reading: Reading) -> Limit | None:
    """The maker's limit is not in the unit file; common practice stands in."""
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


def airflow_needed_m3_s(state: State) -> tuple[float, str] | None:
    """Airflow that the capacity needs [m3/s], and where that comes from."""
    nominal = state.context.unit.nominal_capacity_w
    if nominal is None:
        return None
    needed = CFM_PER_TON[1] * CFM_M3_S * nominal / TON_W
    return needed, "400 cfm a ton of nominal capacity, common practice, no source"


def airflow_ratio(state: State, reading: Reading) -> Limit | None:
    """The least airflow a ton of capacity."""
    least, usual = CFM_PER_TON
    source = "published standard: California 2008 Residential Appendix RA3.2 (cooling), 300 cfm a ton"
    return at_least(least / usual, "1", source)


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
