"""Numbers made from others: COP, the agreement of two capacities, and the ratios of measured to needed."""

from __future__ import annotations

from dataclasses import replace

from firstfrost.heating import air_side, backup_heat, electric, refrigerant_side
from firstfrost.heating.state import Reading, State

WORTH = 0.15
"""With an expanded uncertainty above this, that two capacities agree says nothing: common practice,
no source."""
NEXT_STAGE = 0.12
"""Part by which a power may lie above the plates of some stages before one more must be on: common practice,
no source."""


def over(one: Reading | None, other: Reading | None, *, how: str = "") -> Reading | None:
    """The ratio of two readings, with what both say of themselves."""
    if one is None or other is None or other.value.value == 0.0:
        return None
    notes = dict.fromkeys(text for text in (one.how, other.how, how) if text)
    return Reading(
        value=one.value / other.value,
        start_s=min(one.start_s, other.start_s),
        end_s=max(one.end_s, other.end_s),
        channels=tuple(dict.fromkeys((*one.channels, *other.channels))),
        how="; ".join(notes),
        weak=one.weak or other.weak,
    )


def agreement(state: State) -> Reading | None:
    """Capacity on the air side over that on the refrigerant side [1]."""
    both = over(air_side.capacity(state), refrigerant_side.capacity(state))
    if both is None or both.value.expanded <= WORTH:
        return both
    weak = f"both together are worth no better than ± {100 * both.value.expanded:.0f} %"
    return replace(both, weak=both.weak or weak)


def cop(state: State) -> Reading | None:
    """Delivered heat over electric power, both without backup heat [1]."""
    heat = air_side.capacity(state) or refrigerant_side.capacity(state)
    if state.backup:
        return None
    return over(heat, electric.power(state))


def current_ratio(state: State) -> Reading | None:
    """Compressor current over the plate's rated load current [1]; None without that."""
    amps, plate = state.mean("compressor_current"), state.context.unit.compressor.rated_load_current_a
    if amps is None or plate is None:
        return None
    return state.reading(amps / plate, "compressor_current")


def valve_rise(state: State) -> Reading | None:
    """True suction port less outlet of the outdoor coil, across the reversing valve [K]."""
    out = state.mean("valve_inlet_temp")
    suction = state.mean("suction_line_temp")
    if out is None or suction is None:
        return None
    return state.reading(suction - out, "suction_line_temp", "valve_inlet_temp")


def backup_ratio(state: State) -> Reading | None:
    """Power of the backup heat over that of its plate at the plate's voltage [1]; None without its plate.

    A resistance takes the square of the voltage: the measured power is brought to the plate's voltage, so
    that V cancels but for one: P V_plate^2 / V^2 = I V_plate^2 / V.
    """
    plate, found = state.context.unit.backup, backup_heat.power(state)
    if found is None or not plate.stages_w:
        return None
    volts = state.mean("line_voltage", (found.start_s, found.end_s))
    if volts is None:
        return None
    at_plate = found.value / volts / volts * plate.plate_voltage_v**2
    on = _stages_for(plate.stages_w, at_plate.value)
    weak, of = "", len(plate.stages_w)
    if on < of:
        weak = f"only {on} of {of} stages were seen to come on"
    how = f"{found.how}; " if found.how else ""
    how = f"{how}against {on} of {of} stages at {plate.plate_voltage_v:.0f} V"
    return replace(found, value=at_plate / sum(plate.stages_w[:on]), how=how, weak=weak)


def _stages_for(stages_w: tuple[float, ...], power_w: float) -> int:
    """How many stages, in their order, must be on for a power at the plate's voltage."""
    total = 0.0
    for count, watts in enumerate(stages_w, 1):
        total += watts
        if power_w <= total * (1.0 + NEXT_STAGE):
            return count
    return len(stages_w)


def lockout(state: State) -> Reading | None:
    """Outdoor air above the compressor's lockout, with the compressor running in steady heating [K]."""
    limit, outdoor = state.context.unit.backup.compressor_lockout_c, state.mean("outdoor_air_temp")
    if limit is None or outdoor is None:
        return None
    return state.reading(outdoor - limit, "outdoor_air_temp")
