"""Numbers of the backup heat: its power a stage, and whether it runs when it should not.

Resistance heat has a power factor of one: P = V I. A stage is a plateau of the current: it is held for half a
minute and lies apart from the one below it by more than a tenth and two amperes (common practice, no source).
"""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np

from firstfrost.heating.backup_plate import Step, sequence
from firstfrost.heating.state import Reading, State
from firstfrost.instruments.budget import Value, measured
from firstfrost.proofs.context import pick

ON_A: Final = 2.0
"""Below this the backup heat is off: a clamp's zero and a transformer's current."""
STEP_A: Final = 2.0
"""A stage takes more than this; common practice, no source."""
HELD_S: Final = 30.0


def plateaus(state: State) -> list[tuple[float, float, float]]:
    """Spans [start_s, end_s) in which the backup current held still, and its level [A], in order of time."""
    trace, step = state.context.trace, state.context.step_s
    t, amps = pick(trace.time_s, trace.get("backup_current"), -np.inf, np.inf)
    out: list[tuple[float, float, float]] = []
    if len(t) < 3:
        return out
    jump = np.flatnonzero(
        (np.abs(np.diff(amps)) > np.maximum(1.0, 0.08 * np.maximum(amps[1:], amps[:-1])))
        | (np.diff(t) > 5 * step)
    )
    edges = [0, *(jump + 1).tolist(), len(t)]
    for a, b in itertools.pairwise(edges):
        level = float(np.median(amps[a:b]))
        end = float(t[b - 1]) + step
        if level > ON_A and end - float(t[a]) >= HELD_S and b - a >= 3:
            out.append((float(t[a]), end, level))
    return out


def stages(state: State) -> list[tuple[float, float, float]]:
    """The longest plateau of each level, lowest level first: start_s, end_s, level [A]."""
    levels: list[list[tuple[float, float, float]]] = []
    for one in sorted(plateaus(state), key=lambda one: one[2]):
        if levels and one[2] - levels[-1][-1][2] <= max(2.0, 0.1 * one[2]):
            levels[-1].append(one)
        else:
            levels.append([one])
    return [max(group, key=lambda one: one[1] - one[0]) for group in levels]


def power_of(state: State, stage: tuple[float, float, float]) -> Value | None:
    """Power of the backup heat on a plateau [W]; None without the line voltage."""
    volts = state.mean("line_voltage", stage[:2])
    if volts is None or volts.value < 50.0:
        return None
    unit = state.context.unit
    source = unit.shared.get("backup_current", "backup_current")
    return volts * measured(stage[2], unit.instruments["backup_current"], source)


def power(state: State) -> Reading | None:
    """Power of the backup heat with all the stages on that were seen [W]."""
    found = stages(state)
    if not found:
        return None
    powers = [power_of(state, one) for one in found]
    value = powers[-1]
    if value is None:
        return None
    names = ("first", "second", "third", "fourth", "fifth", "sixth")
    how = ""
    if len(found) > 1:
        seen = [watts.value for watts in powers if watts is not None]
        parts = [f"{name} {watts:.0f} W" for name, watts in zip(names, seen, strict=False)]
        how = f"in {len(found)} steps: {', '.join(parts)}, each with those before it"
    return Reading(
        value=value,
        start_s=found[-1][0],
        end_s=found[-1][1],
        channels=("backup_current", "line_voltage"),
        how=how,
    )


def when_not_called(state: State) -> Reading | None:
    """Part of the time of plain heating in which backup heat ran, not counting defrost and recovery [1]."""
    context = state.context
    trace = context.trace
    if not trace.has("backup_current"):
        return None
    counted: list[tuple[float, float]] = []
    on = total = 0
    for phase in context.found.phases:
        if phase.name not in ("heating", "chilldown"):
            continue
        start = phase.start_s
        if any(
            abs(one.end_s - start) < 1.0 or one.end_s <= start < one.end_s + 900.0
            for one in context.found.defrosts
        ):
            start += 120.0  # boards let the backup heat run out after a defrost
        _, amps = pick(trace.time_s, trace.get("backup_current"), start, phase.end_s - context.step_s)
        if len(amps):
            counted.append((start, phase.end_s))
            on += int(np.sum(amps > ON_A))
            total += len(amps)
    if total < 10:
        return None
    part = on / total
    return Reading(
        value=Value(value=part, sources={"time between readings": 1.0 / total}),
        start_s=counted[0][0],
        end_s=counted[-1][1],
        channels=("backup_current",),
    )


def delay(state: State) -> Reading | None:
    """From the start of the last whole defrost to the backup heat coming on [s]."""
    context = state.context
    last: Reading | None = None
    if not context.trace.has("backup_current"):
        return None
    for one in context.found.defrosts:
        if one.cut in ("start", "both") or one.gap:
            continue
        t, amps = pick(
            context.trace.time_s,
            context.trace.get("backup_current"),
            one.start_s - 3.0 * context.step_s - one.start_half_width_s,
            one.end_s,
        )
        on = t[amps > ON_A]
        if len(on) == 0 or amps[0] > ON_A:
            continue
        late = float(on[0]) - one.start_s
        value = Value(
            value=max(0.0, late),
            sources={
                "time between readings": context.step_s / np.sqrt(3.0),
                "start of the defrost": one.start_half_width_s / np.sqrt(3.0),
            },
        )
        last = Reading(value=value, start_s=one.start_s, end_s=float(on[0]), channels=("backup_current",))
    return last


def rises(state: State, start_s: float, end_s: float, volts: float) -> list[Step]:
    """Steps up of the backup heat's power in a span, each at the sample that ends it."""
    trace = state.context.trace
    t, amps = pick(trace.time_s, trace.get("backup_current"), start_s, end_s)
    found: list[Step] = []
    k = 0
    while k + 1 < len(amps):
        base = k
        while k + 1 < len(amps) and amps[k + 1] - amps[k] > 0.5 * STEP_A:
            k += 1
        rise = float(amps[k] - amps[base])
        if rise > STEP_A:
            found.append(Step(time_s=float(t[k]), rise_w=rise * volts))
        k += 1 if k == base else 0
    return found


def out_of_turn(state: State) -> Reading | None:
    """How many stages came out of order, late or too soon at the start of the last defrost [1].

    The call is the start of the defrost. Only what the unit file gives is held against: the order of stages
    of different size, the first delay, the delay between stages.
    """
    context, plate = state.context, state.context.unit.backup
    told = len(set(plate.stages_w)) > 1 or plate.first_delay_s is not None or plate.stage_delay_s is not None
    if not plate.stages_w or not told or not context.trace.has("backup_current", "line_voltage"):
        return None
    last: Reading | None = None
    for one in context.found.defrosts:
        volts = state.mean("line_voltage", (one.start_s, one.end_s))
        if one.cut in ("start", "both") or one.gap or volts is None:
            continue
        slack = 3.0 * context.step_s + one.start_half_width_s
        steps = rises(state, one.start_s - slack, one.end_s, volts.value)
        if not steps:
            continue
        order = sequence(plate, call_s=one.start_s, steps=steps, volts=volts.value, slack_s=slack)
        wrong = len(order.late) + len(order.early) + (order.in_order is False)
        stages = ", ".join("one that fits no stage" if n is None else f"stage {n}" for n in order.stages)
        delays = ", ".join(f"{max(delay, 0.0):.0f} s" for delay in order.delays_s)
        last = Reading(
            value=Value(value=float(wrong)),
            start_s=one.start_s,
            end_s=steps[-1].time_s,
            channels=("backup_current", "line_voltage"),
            how=f"{stages} came on, after {delays}",
        )
    return last
