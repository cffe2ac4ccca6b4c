"""What a reader of a result should know beside the standings."""

from __future__ import annotations

import numpy as np

from firstfrost.phases import fold
from firstfrost.proofs.contact import examine
from firstfrost.proofs.context import Context


def warnings(context: Context) -> tuple[str, ...]:
    """One sentence each for what is odd in the record."""
    out: list[str] = []
    trace, cycle, events = context.trace, context.cycle, context.events
    if len(trace) == 0:
        return ("The record holds no sample.",)
    if cycle.outside:
        out.append(
            f"{cycle.outside} pressure readings lie outside the property tables of "
            f"{context.unit.refrigerant}. "
            "Check the refrigerant, or the unit of the readings."
        )
    if events.gaps:
        longest = max(b - a for a, b in events.gaps)
        often = "once" if len(events.gaps) == 1 else f"{len(events.gaps)} times"
        out.append(f"Readings are missing {often}, for up to {longest:.0f} s.")
    both = np.isfinite(cycle.low_dew_c) & np.isfinite(cycle.high_dew_c)
    if both.any() and float(np.mean(cycle.high_dew_c[both] < cycle.low_dew_c[both] - 2.0)) > 0.2:
        out.append(
            "The suction pressure lies above the high side for long: check which probe is on which port."
        )
    if not context.marks_known:
        out.append(
            "No marks were given, so what a person may have done is not known. "
            "Give a marks file, even an empty one."
        )
    contact = examine(context)
    marked = context.marked("sensor-jumpered")
    for span in contact.closed:
        if (
            span.jumpered
            and context.marks_known
            and not any(a < span.end_s and b > span.start_s for a, b in marked)
        ):
            out.append("The readings show a jumper across the coil sensor that the marks do not name.")
            break
    if not context.found.purpose:
        for phase in context.found.phases:
            if phase.name != "heating" or phase.end_s - phase.start_s < 60:
                continue
            middle = 0.5 * (phase.start_s + phase.end_s)
            if events.state_at(fold.SW_FAN, middle) is False and context.running(middle):
                out.append(
                    "The outdoor fan stands still while the unit heats, and no mark says that this was "
                    "on purpose."
                )
                break
    return tuple(out)
