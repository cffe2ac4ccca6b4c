"""`valve_returns`, `fan_returns` and `heating_resumes`: what comes after a defrost."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from firstfrost.phases import fold
from firstfrost.phases.assemble import Turned
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context, pick
from firstfrost.proofs.during import DIRECT, pairs, ran_up_to, running_level
from firstfrost.proofs.finding import Evidence, Limit, Measured, Standing
from firstfrost.proofs.occasion import evidence

FAN_WITHIN_S: Final = 120.0
"""Boards bring the fan back at once or with a delay of up to a minute; common practice, no source."""
BY_PASS_K: Final = 12.0
"""No machine heats or cools a house with its saturations closer than this; common practice, no source."""
RESUME_S: Final = 600.0
"""Ten minutes: what the frost accumulation test leaves out after a termination (appendix M1; from memory)."""
RESUME_SHARE: Final = 0.90
ROOM_C: Final = 21.0


def _gone(context: Context, defrost: Defrost) -> bool:
    return context.events.gap_in(defrost.end_s - context.step_s, defrost.end_s + context.step_s)


def valve_returns(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the turn back at each end."""
    out: list[Evidence] = []
    for defrost, turned in pairs(context):
        if defrost.cut in ("end", "both") or not turned.shifted:
            continue
        place = (defrost.end_s - 30.0, turned.back_s + 60.0)
        channels = defrost.decided_by
        direct = DIRECT & set(channels)
        if turned.returned is False and turned.already and _by_passes(context, defrost):
            what = (
                "Before and after the defrost the pressures lay together with the compressor running: the "
                "circuit carried heat neither way."
            )
            out.append(evidence("doubtful", defrost.end_s, context.last_s, channels, what))
        elif turned.returned is False:
            what = "After the defrost the circuit stayed turned over: the valve did not go back."
            out.append(evidence("failed", defrost.end_s, context.last_s, channels, what))
        elif turned.returned is None:
            what = "The record does not hold what the circuit did after the defrost."
            out.append(evidence("unseen", *place, channels, what))
        elif _gone(context, defrost):
            what = "The circuit heats again, but readings are missing where it went back."
            out.append(evidence("doubtful", *place, channels, what))
        elif direct:
            what = "The circuit went back to heating as the defrost ended."
            out.append(evidence("shown", *place, channels, what))
        else:
            what = "The circuit seems to heat again, as far as these channels can tell."
            out.append(evidence("doubtful", *place, channels, what))
    return out


def _by_passes(context: Context, defrost: Defrost) -> bool:
    """Tell whether discharge blew over to suction before a defrost, as through a valve half-way over."""
    lift = context.cycle.high_dew_c - context.cycle.low_dew_c
    _, before = pick(context.trace.time_s, lift, defrost.start_s - 120.0, defrost.start_s)
    return len(before) > 2 and float(np.median(before)) < BY_PASS_K


def fan_returns(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the outdoor fan after each end."""
    out: list[Evidence] = []
    if not context.trace.has("fan_current"):
        return out
    channels = ("fan_current",)
    on_above = max(0.12, 0.4 * running_level(context, "fan_current"))
    for defrost, turned in pairs(context):
        if defrost.cut in ("end", "both"):
            continue
        end = defrost.end_s
        if turned.stops:
            out.append(
                evidence("unseen", end, end + 60, channels, "The unit stopped at the end of the defrost.")
            )
            continue
        back = turned.back_s if turned.returned else end
        until = max(end, min(back, end + 120.0)) + FAN_WITHIN_S + 2 * context.step_s
        t, amps = context.window("fan_current", end - context.step_s, until)
        on = t[amps > on_above]
        if len(on) and float(np.mean(amps[t >= on[0]] > on_above)) < 0.3:
            on = on[:0]  # a stray reading or two; a fan that is back runs on
        lead = context.during("fan-lead-off", min(until, context.last_s) - 1.0)
        lead_at_end = context.during("fan-lead-off", end + 2 * context.step_s)
        _, before = context.window("fan_current", defrost.start_s, end - 2 * context.step_s)
        _, last = context.window("fan_current", end - 15.0 - 3 * context.step_s, end - 2 * context.step_s)
        ran_on = len(before) > 0 and float(np.mean(before > on_above)) > 0.9
        ran_on = ran_on or (len(last) > 2 and float(np.mean(last > on_above)) > 0.8)
        ran_on = ran_on or _with_its_lead(context, defrost, on_above)
        if len(on) and ran_on:
            what = "The outdoor fan ran before the defrost was over, so it could not come back."
            out.append(evidence("unseen", end, until, channels, what))
        elif _gone(context, defrost):
            what = "Readings are missing where the defrost ended."
            out.append(evidence("doubtful" if len(on) else "unseen", end, until, channels, what))
        elif lead_at_end:
            what = "The fan's lead was off: that the board would start the fan cannot be seen."
            out.append(evidence("bypassed", end, until, channels, what))
        elif len(on) and not context.marks_known and not _moved(context, defrost):
            what = (
                "The outdoor fan ran after the defrost, but stood still before it; no marks tell whether "
                "its lead was off."
            )
            out.append(evidence("doubtful", end, until, channels, what))
        elif len(on):
            delay = max(0.0, float(on[0]) - end)
            measured = Measured(value=delay, unit="s", expanded=2 * context.step_s + defrost.end_half_width_s)
            limit = Limit(low=None, high=FAN_WITHIN_S, unit="s", source="common practice, no source")
            what = "The outdoor fan ran again after the defrost."
            out.append(evidence("shown", end, until, channels, what, measured=measured, limit=limit))
        elif context.last_s < until - 2 * context.step_s:
            what = "The record, or the run, ends before the fan had time to come back."
            out.append(evidence("unseen", end, context.last_s, channels, what))
        elif any(a < until and b > end for a, b in context.rests if b - a > 60.0 or b >= context.last_s):
            out.append(evidence("unseen", end, until, channels, "The unit stopped after the defrost."))
        elif lead:
            what = "The fan's lead was off: that the board would start the fan cannot be seen."
            out.append(evidence("bypassed", end, until, channels, what))
        else:
            earlier = context.events.state_at(fold.SW_FAN, defrost.start_s - 3 * context.step_s - 3.0)
            if not context.marks_known and earlier is not True:
                what = (
                    "The fan stood still before and after the defrost; no marks tell whether its lead "
                    "was off."
                )
                out.append(evidence("doubtful", end, until, channels, what))
            else:
                what = "The outdoor fan did not come back after the defrost."
                amps_u = context.u("fan_current", 0.0)
                measured = Measured(
                    value=float(np.mean(amps)) if len(amps) else 0.0, unit="A", expanded=2 * amps_u
                )
                out.append(evidence("failed", end, until, channels, what, measured=measured))
    return out


def _with_its_lead(context: Context, defrost: Defrost, on_above: float) -> bool:
    """Tell whether the fan began to run within a defrost, as its lead came back, and ran on to its end."""
    back = [b for _, b in context.marked("fan-lead-off") if defrost.start_s < b < defrost.end_s]
    sure_s = defrost.end_s - max(5.0, 3 * context.step_s, defrost.end_half_width_s)
    on_s = ran_up_to(context, sure_s, on_above) if back else None
    return on_s is not None and on_s >= back[-1] - context.near_s


def _by_hand(context: Context, defrost: Defrost) -> bool:
    """Tell whether, for want of marks, a person may have had the outdoor fan off as the defrost ended."""
    return not context.marks_known and context.trace.has("fan_current") and not _moved(context, defrost)


def _moved(context: Context, defrost: Defrost) -> bool:
    """Tell whether the fan ran up to the defrost's start."""
    early = defrost.start_s - 3 * context.step_s - 3.0
    if context.sparse:
        return False
    if defrost.cut in ("start", "both"):
        return True
    if any(early < c.time_s <= defrost.start_s + 10.0 for c in context.events.of(fold.SW_FAN, on=False)):
        return True
    return context.events.state_at(fold.SW_FAN, early) is True


def _measures(context: Context) -> list[tuple[str, tuple[str, ...], bool]]:
    """The measures of heating that the record holds, best first: name, channels, whether a temperature."""
    found: list[tuple[str, tuple[str, ...], bool]] = []
    if context.cycle.high_channel is not None:
        found.append(("high", (context.cycle.high_channel,), True))
    if context.trace.has("supply_air_temp"):
        found.append(("supply", ("supply_air_temp",), True))
    if context.trace.has("power"):
        found.append(("power", ("power",), False))
    return found


def _series(context: Context, measure: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    if measure == "high":
        return context.cycle.high_dew_c
    return context.trace.get("supply_air_temp" if measure == "supply" else "power")


def _before(context: Context, defrost: Defrost) -> tuple[float, float] | None:
    """The window of plain heating before a defrost that it is compared with."""
    plain = [
        (max(p.start_s, r), p.end_s)
        for p in context.found.phases
        if p.name == "heating" and p.end_s <= defrost.start_s + 1.0
        for r in [_settled(context, p.start_s)]
    ]
    plain = [(a, b) for a, b in plain if b - a >= max(45.0, 3 * context.step_s)]
    if not plain:
        return None
    good = [w for w in plain if w[1] - w[0] >= 120.0] or plain
    a, b = good[-1]
    return max(a, b - 300.0), b


def _settled(context: Context, start_s: float) -> float:
    """Three minutes after a start of the compressor; the start itself otherwise."""
    if any(abs(b - start_s) < 5.0 for _, b in context.rests):
        return start_s + 180.0
    return start_s


def heating_resumes(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the heating after each end against that before its start."""
    out: list[Evidence] = []
    measures = _measures(context)
    for k, (defrost, turned) in enumerate(pairs(context)):
        if defrost.cut in ("end", "both"):
            continue
        end = defrost.end_s
        if turned.returned is False and turned.already and _before(context, defrost) is None:
            what = "The unit did not heat after the defrost, nor before it in this record."
            out.append(evidence("doubtful", end, context.last_s, defrost.decided_by, what))
            continue
        if turned.returned is False:
            what = "After the defrost the unit did not heat."
            out.append(evidence("failed", end, context.last_s, defrost.decided_by, what))
            continue
        if turned.stops or not measures:
            continue
        out.append(_resume(context, k, defrost, turned, measures))
    return out


def _resume(
    context: Context,
    k: int,
    defrost: Defrost,
    turned: Turned,
    measures: list[tuple[str, tuple[str, ...], bool]],
) -> Evidence:
    end = defrost.end_s
    until = end + RESUME_S
    for a, _ in context.rests:
        if a > turned.back_s + 1e-6 and a > end + 1e-6:
            until = min(until, a)
    later = context.found.defrosts[k + 1 :]
    if later:
        until = min(until, later[0].start_s)
    full = until >= end + RESUME_S - context.step_s and context.last_s >= end + RESUME_S - 2 * context.step_s
    limit = Limit(
        low=RESUME_SHARE,
        high=None,
        unit="1",
        source="this record before the defrost; within ten minutes (appendix M1, from memory)",
    )
    window = _before(context, defrost)
    if window is None:
        what = "The record holds no steady heating before the defrost to compare with."
        return evidence("unseen", end, min(until, context.last_s), measures[0][1], what)
    best: Evidence | None = None
    for name, channels, thermal in measures:
        series = _series(context, name)
        _, was = pick(context.trace.time_s, series, *window)
        t, now = pick(context.trace.time_s, series, end, min(until, context.last_s))
        if len(was) < 3 or len(now) < 3:
            continue
        room = _room(context, window) if thermal else 0.0
        base = float(np.median(was)) - room
        if base < (5.0 if thermal else 100.0):
            continue
        backup = context.events.state_at(fold.SW_BACKUP, min(until, context.last_s))
        if name == "supply" and backup and measures[0][0] != "supply":
            continue
        width = max(1, min(len(now), round(30.0 / max(context.step_s, 0.1))))
        smooth = np.convolve(now, np.ones(width) / width, "valid")
        ts = t[width - 1 :]
        if name == "supply" and context.events.of(fold.SW_BACKUP):
            off = [c.time_s for c in context.events.of(fold.SW_BACKUP, on=False) if c.time_s >= end - 60]
            if off:
                smooth, ts = smooth[ts > off[0] + 90.0], ts[ts > off[0] + 90.0]
        if len(smooth) == 0:
            continue
        share = (smooth - room) / base
        reached = ts[share >= RESUME_SHARE]
        moving = [when for when in reached.tolist() if not _still(context, when)]
        scatter = float(np.std(was)) / base / math.sqrt(len(was)) + 0.01
        if len(reached):
            first = moving[0] if moving else float(reached[0])
            took = first - end
            what = "Heating came back to what it was before the defrost."
            measured = Measured(value=float(share[ts >= first].max()), unit="1", expanded=2 * scatter)
            limit_s = Limit(low=limit.low, high=None, unit="1", source=limit.source)
            late = share[ts >= ts[-1] - 60.0]
            standing: Standing = "doubtful" if _gone(context, defrost) and took > RESUME_S / 2 else "shown"
            if _by_hand(context, defrost) and standing == "shown":
                standing = "doubtful"
                what = "Heating came back, but a person's hand on the outdoor fan had a part in it."
            if not moving:
                standing = "doubtful"
                what = "Heating came back, but with the outdoor fan standing still it cannot last."
            elif full and float(np.median(late)) < RESUME_SHARE - 0.03:
                standing = "doubtful"
                what = "Heating came back to what it was, but sank again within ten minutes."
            return evidence(standing, end, end + took, channels, what, measured=measured, limit=limit_s)
        top = float(share.max())
        measured = Measured(value=top, unit="1", expanded=2 * scatter)
        purpose = any(a < until and b > end for a, b in context.found.purpose)
        if not full:
            what = "The record, or the run, ends before heating had time to come back."
            got = evidence(
                "unseen", end, min(until, context.last_s), channels, what, measured=measured, limit=limit
            )
        elif purpose:
            what = "The outdoor air was stopped on purpose after the defrost, so heating could not come back."
            got = evidence("unseen", end, until, channels, what, measured=measured, limit=limit)
        elif _by_hand(context, defrost) or not (context.marks_known or context.trace.has("fan_current")):
            what = "Heating did not come back; no marks tell whether a person kept the outdoor fan off."
            got = evidence("doubtful", end, until, channels, what, measured=measured, limit=limit)
        elif top >= RESUME_SHARE - max(0.04, 3 * scatter):
            what = "Heating came back nearly to what it was; the readings cannot tell more."
            got = evidence("doubtful", end, until, channels, what, measured=measured, limit=limit)
        else:
            what = "Ten minutes after the defrost, heating was not back to what it was before."
            got = evidence("failed", end, until, channels, what, measured=measured, limit=limit)
        best = best or got
    if best is None:
        what = "No channel that would show the heating was read before and after."
        return evidence("unseen", end, min(until, context.last_s), measures[0][1], what)
    return best


def _still(context: Context, time_s: float) -> bool:
    """Tell whether the outdoor fan stands still while the unit heats, as read or as marked."""
    if context.during("fan-lead-off", time_s):
        return True
    return context.events.state_at(fold.SW_FAN, time_s) is False


def _room(context: Context, window: tuple[float, float]) -> float:
    _, air = context.window("return_air_temp", *window)
    return float(np.median(air)) if len(air) else ROOM_C
