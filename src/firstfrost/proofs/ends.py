"""`ends_by_sensor` and `ends_safely`: what ended a defrost, and with how much in hand."""

from __future__ import annotations

import numpy as np

from firstfrost.instruments.decide import probability_below
from firstfrost.phases import fold
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.contact import Contact, stays_closed
from firstfrost.proofs.context import Context
from firstfrost.proofs.during import pairs
from firstfrost.proofs.finding import Evidence, Limit, Measured, Standing
from firstfrost.proofs.occasion import evidence, plate


def _end_gap(context: Context, defrost: Defrost) -> bool:
    slack = max(context.step_s, 0.0)
    return context.events.gap_in(defrost.end_s - slack, defrost.end_s + slack)


def ends_by_sensor(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the cause of each end."""
    out: list[Evidence] = []
    channels = ("sensor_voltage",)
    longest = context.unit.board.longest_defrost_s
    limit = Limit(low=None, high=longest, unit="s", source=plate(context, "board.longest_defrost"))
    for defrost, turned in pairs(context):
        if defrost.cut in ("end", "both"):
            continue
        place = (defrost.end_s - 30.0, defrost.end_s + 30.0)
        measured = None
        if defrost.cut == "":
            wide = (defrost.start_half_width_s**2 + defrost.end_half_width_s**2) ** 0.5
            measured = Measured(value=defrost.duration_s, unit="s", expanded=wide)
        opening = [
            s
            for s in contact.switchings
            if not s.closes and abs(s.time_s - defrost.end_s) <= 17.0 + 3 * context.step_s
        ]
        span = contact.at(defrost.end_s - max(2 * context.step_s, 1.0))
        jumper = span is not None and any(
            a < defrost.end_s and b > defrost.end_s - 1.0 for a, b in span.jumpered
        )
        jumper = jumper or context.during("sensor-jumpered", defrost.end_s)
        by_hand = any(s.kind == "person" for s in opening)
        if _end_gap(context, defrost) or _unread(context, defrost):
            out.append(evidence("unseen", *place, channels, "Readings are missing where the defrost ended."))
        elif jumper or by_hand:
            what = "A jumper stood in the sensor's place: it could not end the defrost."
            out.append(evidence("bypassed", *place, channels, what, measured=measured, limit=limit))
        elif (
            defrost.ended_by == "sensor"
            and not context.marks_known
            and any(s.kind == "unclear" or (s.too != "" and s.possible <= 0.05) for s in opening)
        ):
            what = "The contact opened at the end; no marks tell whether a jumper was taken away just then."
            out.append(evidence("doubtful", *place, channels, what, measured=measured, limit=limit))
        elif defrost.ended_by == "sensor":
            late = defrost.cut == "" and defrost.duration_s > longest * 1.05 + 2 * context.step_s
            what = "The sensor opened and the board ended the defrost right then."
            standing: Standing = "shown"
            if late and not context.unit.is_default("board.longest_defrost"):
                standing, what = (
                    "doubtful",
                    "The sensor opened at the end, but the defrost outlasted the board's limit.",
                )
            elif defrost.cut == "" and abs(defrost.duration_s - longest) <= max(3.0, 2 * context.step_s):
                standing, what = "doubtful", "The sensor opened just as the board's time limit ran out."
            out.append(evidence(standing, *place, channels, what, measured=measured, limit=limit))
        elif defrost.ended_by == "time" and not contact.seen:
            what = "The defrost lasted as long as the board's limit; whether the sensor opened was not read."
            out.append(evidence("doubtful", *place, channels, what, measured=measured, limit=limit))
        elif defrost.ended_by == "time" and _may_be_jumpered(context, defrost):
            what = "The board's time limit ended the defrost; no marks tell whether a jumper held the sensor."
            out.append(evidence("doubtful", *place, channels, what, measured=measured, limit=limit))
        elif defrost.ended_by == "time":
            what = "The board's time limit ended the defrost, not the sensor."
            out.append(evidence("failed", *place, channels, what, measured=measured, limit=limit))
        elif defrost.ended_by == "pressure":
            what = "The high-pressure switch ended the defrost, not the sensor."
            out.append(
                evidence(
                    "failed",
                    *place,
                    (defrost.peak_channel or "discharge_pressure",),
                    what,
                    measured=measured,
                    limit=limit,
                )
            )
        elif defrost.ended_by == "call":
            what = "The call for heat was taken away before the defrost was over."
            out.append(evidence("unseen", *place, channels, what))
        elif contact.seen and turned.stops and span is not None and _call_stays(context, defrost):
            what = (
                "The unit stopped in the middle of the defrost with the sensor closed and the call for "
                "heat on."
            )
            out.append(evidence("failed", *place, channels, what, measured=measured, limit=limit))
        elif contact.seen:
            what = "What ended the defrost cannot be told from the record."
            out.append(evidence("unseen", *place, channels, what, measured=measured, limit=limit))
    return out


def _may_be_jumpered(context: Context, defrost: Defrost) -> bool:
    """Tell whether, for want of marks, a jumper may have held the contact: on a coil warm or not read."""
    if context.marks_known:
        return False
    _, coil = context.window("outdoor_coil_temp", defrost.start_s, defrost.end_s)
    return len(coil) == 0 or stays_closed(context, defrost.start_s, defrost.end_s) is not None


def _call_stays(context: Context, defrost: Defrost) -> bool:
    """Tell whether the call for heat was read as on through the end."""
    at = defrost.end_s + 3 * context.step_s + 5.0
    return context.events.state_at(fold.SW_CALL, at) is True


def _unread(context: Context, defrost: Defrost) -> bool:
    """Tell whether the contact's volts were read at times, but not about the end."""
    if not context.trace.has("sensor_voltage"):
        return False
    wide = max(12.0, 4.0 * context.step_s)
    t, _ = context.window("sensor_voltage", defrost.end_s - wide, defrost.end_s - 1e-9)
    return len(t) == 0


def ends_safely(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the margin of each defrost below the saturation ceiling and the cutout."""
    out: list[Evidence] = []
    limits = context.unit.limits
    for defrost, turned in pairs(context):
        if (
            defrost.peak_saturation_c is None
            or defrost.peak_pressure_pa is None
            or defrost.peak_channel is None
        ):
            continue
        place = (defrost.start_s, defrost.end_s)
        channels = (defrost.peak_channel,)
        u_k = (defrost.peak_saturation_u_k or 0.0) / 2.0
        limit = Limit(
            low=None, high=limits.saturation_ceiling_c, unit="degC",
            source="common practice, no source (default for limits.saturation_ceiling)"
            if context.unit.is_default("limits.saturation_ceiling")
            else "unit file (limits.saturation_ceiling)",
        )  # fmt: skip
        measured = Measured(value=defrost.peak_saturation_c, unit="degC", expanded=2 * u_k)
        below = probability_below(defrost.peak_saturation_c, u_k, limits.saturation_ceiling_c)
        u_p = context.u(defrost.peak_channel, defrost.peak_pressure_pa)
        inside = probability_below(defrost.peak_pressure_pa, u_p, limits.high_pressure_cutout_pa)
        probability = min(below, inside)
        extra = {"measured": measured, "limit": limit, "probability": probability}
        if probability <= 0.05 or defrost.ended_by == "pressure":
            what = "The pressure rose beyond the limit before the defrost ended."
            out.append(evidence("failed", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif turned.shifted is False:
            what = "The circuit did not turn over, so no defrost pressure was reached."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif defrost.cut in ("end", "both"):
            what = "The record ends inside the defrost, before its peak."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif _end_gap(context, defrost) or _blind(context, defrost):
            what = "Pressure readings are missing towards the end of the defrost, where the peak lies."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif defrost.ended_by == "call" or (turned.stops and defrost.ended_by == "unknown"):
            what = "The defrost was broken off before its own end, so its peak was not reached."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif probability >= 0.95:
            what = (
                "The pressure stayed below the limit to the end, with more in hand than the gauge can be off."
            )
            out.append(evidence("shown", *place, channels, what, **extra))  # type: ignore[arg-type]
        else:
            what = "The peak came so near the limit that the gauge cannot tell on which side it lay."
            out.append(evidence("doubtful", *place, channels, what, **extra))  # type: ignore[arg-type]
    return out


def _blind(context: Context, defrost: Defrost) -> bool:
    """Tell whether the last part of the defrost was not read."""
    assert defrost.peak_channel is not None
    t, _ = context.window(defrost.peak_channel, defrost.end_s - 60.0, defrost.end_s + context.step_s)
    if len(t) == 0:
        return True
    widest = max(float(np.max(np.diff(t))) if len(t) > 1 else 0.0, defrost.end_s - float(t[-1]))
    return widest > max(15.0, 4 * context.step_s)
