"""Numbers of the electric side: power, line voltage and its sag, the compressor's current.

Where no watts were read, P = V I cos(phi) of compressor and outdoor fan; see
`compressor_map.power_from_current`.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from firstfrost.heating.compressor_map import power_from_current
from firstfrost.heating.state import Reading, State, once
from firstfrost.instruments.budget import measured
from firstfrost.proofs.context import pick

BEFORE_START_S: Final = (60.0, 3.0)
AFTER_START_S: Final = (5.0, 60.0)
"""The voltage before a start, and with the compressor running after it, is read over these. [s]"""


@once
def power(state: State) -> Reading | None:
    """Electric power in the steady window, without backup heat [W]."""
    if state.backup:
        return None
    watts = state.mean("power")
    if watts is not None:
        return state.reading(watts, "power", how="watts as read")
    volts, amps = state.mean("line_voltage"), state.mean("compressor_current")
    if volts is None or amps is None:
        return None
    fan = state.mean("fan_current")
    names = ["line_voltage", "compressor_current"]
    if fan is not None:
        amps, names = amps + fan, [*names, "fan_current"]
    unit = state.context.unit
    watts = power_from_current(unit, volts=volts, amps=amps)
    known = "not known, " if unit.is_default("compressor.power_factor") else ""
    how = f"volts times amps; power factor {known}taken as {unit.compressor.power_factor:g}"
    return state.reading(watts, *names, how=how)


def line_voltage(state: State) -> Reading | None:
    """Line voltage with the compressor running [V]."""
    return state.reading(state.mean("line_voltage"), "line_voltage")


def voltage_sag(state: State) -> Reading | None:
    """Part of the line voltage that is lost as the compressor comes on [1]: the worst of all starts.

    One voltmeter reads both, so that its error nearly cancels. The inrush itself, a tenth of a second long,
    is in no log of this kind.
    """
    context = state.context
    if not context.trace.has("line_voltage"):
        return None
    time_s, volts = context.trace.time_s, context.trace.get("line_voltage")
    source = context.unit.shared.get("line_voltage", "line_voltage")
    worst: Reading | None = None
    for _, start in context.rests:
        if start >= context.last_s - AFTER_START_S[1]:
            continue
        _, idle = pick(time_s, volts, start - BEFORE_START_S[0], start - BEFORE_START_S[1])
        _, busy = pick(time_s, volts, start + AFTER_START_S[0], start + AFTER_START_S[1])
        if len(idle) < 3 or len(busy) < 3 or float(np.median(idle)) < 50.0:
            continue
        accuracy = context.unit.instruments["line_voltage"]
        before, after = (measured(float(np.median(y)), accuracy, source) for y in (idle, busy))
        noise = math.hypot(*(float(np.std(y)) / math.sqrt(min(len(y), 3)) for y in (idle, busy)))
        sag = (1.0 - after / before).with_source("scatter of line_voltage", noise / before.value)
        if worst is None or sag.value > worst.value.value:
            worst = Reading(
                value=sag,
                start_s=start - BEFORE_START_S[0],
                end_s=start + AFTER_START_S[1],
                channels=("line_voltage",),
            )
    return worst
