"""Frost left after a defrost, by the evaporating approach before and after it.

A frosted coil evaporates colder under the same air: its approach, outdoor air less suction saturation, is
wide just before a defrost and narrow after it. If it is as wide after as before, the defrost cleared little.
The same gauge and the same probe read both, so their errors nearly cancel; what is left is how well the
approach of one machine repeats from one window to the next, taken as 0.5 K (k = 1; common practice, no
source).
"""

from __future__ import annotations

from typing import Final

from firstfrost.heating.circuit import difference
from firstfrost.heating.state import Reading, State

BEFORE_S: Final = 120.0
AFTER_S: Final = (240.0, 600.0)
"""From four to ten minutes after the end: heating is back, and little new frost has grown."""
REPEATS_K: Final = 0.5


def frost_left(state: State) -> Reading | None:
    """Evaporating approach after the last whole defrost less that before it [K]."""
    context = state.context
    last: Reading | None = None
    if not context.marks_known:
        return None  # a person may have stopped the outdoor air before the defrost
    for one in context.found.defrosts:
        if not one.whole or one.gap:
            continue
        before = (one.start_s - BEFORE_S, one.start_s - 2 * context.step_s)
        after = (one.end_s + AFTER_S[0], one.end_s + AFTER_S[1])
        if not (_heats(state, *before) and _heats(state, *after)):
            continue
        was = difference(state.mean("outdoor_air_temp", before), state.evaporating(before))
        now = difference(state.mean("outdoor_air_temp", after), state.evaporating(after))
        left = difference(now, was)
        if left is None:
            continue
        last = Reading(
            value=left.with_source("repeatability of the approach", REPEATS_K),
            start_s=before[0],
            end_s=after[1],
            channels=("outdoor_air_temp", "suction_pressure"),
            weak=""
            if context.marks_known
            else "no marks tell whether the outdoor air was stopped on purpose",
        )
    return last


def _heats(state: State, start_s: float, end_s: float) -> bool:
    """Whether the unit heats all through a span, the outdoor air not stopped on purpose."""
    found = state.context.found
    if start_s < state.context.first_s or end_s > state.context.last_s + state.context.step_s:
        return False
    if any(a < end_s and b > start_s - 120.0 for a, b in found.purpose):
        return False
    return all(
        one.name in ("heating", "recovery")
        for one in found.phases
        if one.start_s < end_s and one.end_s > start_s
    )
