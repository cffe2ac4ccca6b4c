"""`valve_shifts`, `fan_stops`, `backup_runs` and `coil_clears`: what happens in a defrost."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from firstfrost.air.moist import saturation_over_water_pa, saturation_pa
from firstfrost.instruments.decide import probability_above
from firstfrost.phases import fold
from firstfrost.phases.assemble import Turned
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.coil import CLEAR_C, LEFT_C, melt
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Evidence, Limit, Measured
from firstfrost.proofs.occasion import by_probability, evidence

DIRECT: Final = frozenset(
    {"vapor_line_temp", "outdoor_coil_temp", "discharge_pressure", "liquid_pressure", "suction_pressure"}
)
"""Channels that show the circuit's turn itself."""
SURE: Final = 0.8
"""How sure the phase finder must be of a turn that is to count as seen."""


def pairs(context: Context) -> list[tuple[Defrost, Turned]]:
    """Each defrost with what the circuit did in it."""
    return list(zip(context.found.defrosts, context.found.turned, strict=True))


def valve_shifts(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the turn of the circuit at each start."""
    out: list[Evidence] = []
    for defrost, turned in pairs(context):
        if defrost.cut in ("start", "both"):
            continue
        place = (defrost.start_s - 30.0, defrost.start_s + 90.0)
        channels = defrost.decided_by or turned.decided_by
        if context.events.gap_in(defrost.start_s - context.step_s, defrost.start_s + context.step_s):
            what = "Readings are missing where the defrost began."
            out.append(evidence("doubtful" if turned.shifted else "unseen", *place, channels, what))
        elif turned.already and turned.shifted:
            what = "The circuit was turned over before the defrost began: no turn of the valve can be seen."
            out.append(evidence("doubtful", *place, channels, what))
        elif turned.shifted and DIRECT & set(channels) and defrost.sure >= SURE:
            what = "The circuit turned over: the outdoor coil took the heat."
            out.append(evidence("shown", *place, channels, what, probability=defrost.sure))
        elif turned.shifted:
            what = "The circuit seems to have turned over, as far as these channels can tell."
            out.append(evidence("doubtful", *place, channels, what, probability=defrost.sure))
        elif turned.shifted is None:
            what = "The board ran a short defrost; whether the circuit turned over cannot be told."
            out.append(evidence("doubtful", *place, channels, what))
        elif (
            context.trace.has("vapor_line_temp")
            or context.cycle.high_channel
            or context.trace.has("outdoor_coil_temp")
        ):
            what = "The board ran a defrost, but the circuit kept heating: the valve did not shift."
            out.append(evidence("failed", defrost.start_s, defrost.end_s, channels, what))
        else:
            what = "The board ran a defrost; whether the circuit turned over was not read."
            out.append(evidence("unseen", *place, channels, what))
    return out


def _share_on(
    context: Context, switch: int, channel: str, start_s: float, end_s: float
) -> tuple[float, float, int]:
    """Share of the readings in [start_s, end_s] that are on, their mean [A], and how many."""
    _, amps = context.window(channel, start_s, end_s)
    if len(amps) == 0:
        return math.nan, math.nan, 0
    on_above = max(0.12, 0.4 * running_level(context, channel))
    return float(np.mean(amps > on_above)), float(np.mean(amps)), len(amps)


def running_level(context: Context, channel: str) -> float:
    """The current [A] of a machine that runs: the 98th percentile of its readings."""
    amps = context.trace.get(channel)
    good = amps[np.isfinite(amps)]
    return float(np.quantile(good, 0.98)) if len(good) else 0.0


def fan_stops(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the outdoor fan from each start to its end."""
    out: list[Evidence] = []
    if not context.trace.has("fan_current"):
        return out
    channels = ("fan_current",)
    for defrost, _ in pairs(context):
        if defrost.cut in ("start", "both"):
            continue
        settle = max(8.0, 2.5 * context.step_s)
        inside = (defrost.start_s + settle, defrost.end_s - 2 * context.step_s)
        if inside[1] <= inside[0]:
            continue
        share, amps, n = _share_on(context, fold.SW_FAN, "fan_current", *inside)
        if n == 0:
            continue
        u = context.u("fan_current", amps) / math.sqrt(1.0)
        measured = Measured(value=amps, unit="A", expanded=2 * u)
        place = (defrost.start_s - 30.0, defrost.end_s)
        late = share
        if share > 0.9:
            if context.during("fan-lead-off", defrost.start_s):
                what = "The outdoor fan ran in defrost although its lead was marked as off."
            else:
                what = "The outdoor fan ran on through the defrost."
            out.append(evidence("failed", *place, channels, what, measured=measured))
            continue
        early = defrost.start_s - 3 * context.step_s - 3.0
        before = context.events.state_at(fold.SW_FAN, early)
        if any(
            early < c.time_s <= defrost.start_s + settle for c in context.events.of(fold.SW_FAN, on=False)
        ):
            before = True
        lead = _lead_off(context, defrost.start_s, settle)
        if late > 0.05 and not lead:
            ran = late * (inside[1] - inside[0])
            if ran > max(10.0, 3 * context.step_s):
                what = "The outdoor fan did not stay off through the defrost."
                out.append(evidence("failed", *place, channels, what, measured=measured))
                continue
        if lead and _runs_with_lead(context, defrost.start_s, inside[1]):
            what = "The outdoor fan ran in the defrost as soon as its lead was back."
            out.append(evidence("failed", *place, channels, what, measured=measured))
        elif lead:
            what = "The fan's lead was off: that the board would stop the fan cannot be seen."
            out.append(evidence("bypassed", *place, channels, what))
        elif before is False or before is None:
            what = "The outdoor fan was standing still before the defrost began."
            out.append(evidence("unseen", *place, channels, what))
        elif running_level(context, "fan_current") < 0.15:
            out.append(evidence("unseen", *place, channels, "The fan's current was never read as running."))
        elif context.events.gap_in(*inside) and n * context.step_s < 0.7 * (inside[1] - inside[0]):
            what = "The outdoor fan stopped, but readings are missing in the defrost."
            out.append(evidence("doubtful", *place, channels, what, measured=measured))
        elif defrost.cut == "end":
            what = "The outdoor fan stopped and stayed off to the end of the record."
            out.append(evidence("doubtful", *place, channels, what, measured=measured))
        else:
            what = "The outdoor fan stopped as the defrost began and stayed off to its end."
            out.append(evidence("shown", *place, channels, what, measured=measured))
    return out


def _runs_with_lead(context: Context, start_s: float, end_s: float) -> bool:
    """Tell whether the fan ran from where its lead came back within a defrost to where the defrost ended."""
    back = [b for _, b in context.marked("fan-lead-off") if start_s < b < end_s]
    if not back:
        return False
    since = back[-1] + context.near_s / 2
    _, amps = context.window("fan_current", since, end_s)
    on_above = max(0.12, 0.4 * running_level(context, "fan_current"))
    if len(amps) * context.step_s > 10.0 and float(np.mean(amps > on_above)) > 0.8:
        return True
    # Too near the end for the watch's doubt, but the fan's own current tells when it began to run.
    on_s = ran_up_to(context, end_s, on_above)
    return on_s is not None and back[-1] - context.near_s <= on_s <= end_s - max(8.0, 4 * context.step_s)


def ran_up_to(context: Context, end_s: float, on_above: float) -> float | None:
    """Since when the fan ran without a break up to a time [s]; None if it did not run then."""
    t, amps = context.window("fan_current", end_s - 120.0, end_s)
    off = np.flatnonzero(amps <= on_above)
    first = int(off[-1]) + 1 if len(off) else 0
    return float(t[first]) if first < len(t) else None


def _lead_off(context: Context, start_s: float, settle_s: float) -> bool:
    """Tell whether the fan's lead was off as a defrost began, or so near to it that nobody can tell.

    A lead that went back on before is on if the fan was read as running since.
    """
    on_above = max(0.12, 0.4 * running_level(context, "fan_current"))
    for a, b in context.marked("fan-lead-off"):
        if a > start_s + settle_s or b <= start_s - 3.0 - 2 * context.step_s:
            continue
        _, amps = context.window("fan_current", b, start_s)
        if b > start_s or not bool((amps > on_above).any()):
            return True
    return False


def backup_runs(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the backup heat in each defrost."""
    out: list[Evidence] = []
    if not context.trace.has("backup_current"):
        return out
    channels = ("backup_current",)
    on_above = max(1.5, 0.25 * running_level(context, "backup_current"))
    for defrost, _ in pairs(context):
        start = defrost.start_s + min(30.0, 0.25 * defrost.duration_s) + 2 * context.step_s
        _, amps = context.window("backup_current", start, defrost.end_s - context.step_s)
        if len(amps) < 1 or defrost.duration_s < 30.0:
            continue
        share = float(np.mean(amps > on_above))
        mean = float(np.mean(amps[amps > on_above])) if share > 0 else float(np.mean(amps))
        measured = Measured(value=mean, unit="A", expanded=2 * context.u("backup_current", mean))
        place = (defrost.start_s, defrost.end_s)
        before = context.events.state_at(fold.SW_BACKUP, defrost.start_s - 2 * context.step_s - 5.0)
        whole = len(amps) * context.step_s >= 0.6 * (defrost.end_s - start)
        enough = whole or len(amps) * context.step_s >= 30.0
        if share >= 0.5 and before and defrost.cut not in ("start", "both"):
            what = "Backup heat was on in the defrost, but it had been on before it."
            out.append(evidence("doubtful", *place, channels, what, measured=measured))
        elif share >= 0.5 and defrost.cut not in ("start", "both"):
            what = "Backup heat came on with the defrost."
            out.append(evidence("shown" if enough else "doubtful", *place, channels, what, measured=measured))
        elif share >= 0.5:
            what = "Backup heat was on in the part of the defrost that the record holds."
            out.append(evidence("doubtful", *place, channels, what, measured=measured))
        elif share <= 0.05 and whole and defrost.cut == "":
            what = "Backup heat stayed off all through the defrost."
            out.append(evidence("failed", *place, channels, what, measured=measured))
        elif whole or share > 0.05:
            what = "Backup heat was on for a part of the defrost only."
            out.append(evidence("doubtful", *place, channels, what, measured=measured))
    return out


def coil_clears(context: Context, contact: Contact) -> list[Evidence]:
    """Judge whether the frost was gone at each end."""
    out: list[Evidence] = []
    channels = ("outdoor_coil_temp",)
    for defrost, turned in pairs(context):
        seen = melt(context, defrost.start_s, defrost.end_s)
        if seen is None:
            continue
        place = (defrost.start_s, defrost.end_s)
        u = context.u("outdoor_coil_temp", seen.top_c)
        measured = Measured(value=seen.top_c, unit="degC", expanded=2 * u)
        limit = Limit(
            low=CLEAR_C, high=None, unit="degC", source="common practice, no source: well above melting ice"
        )
        probability = probability_above(seen.top_c, u, CLEAR_C)
        holds = by_probability(probability)
        if holds == "failed" and probability_above(seen.top_c, u, LEFT_C) > 0.05:
            holds = "doubtful"
        extra = {"measured": measured, "limit": limit, "probability": probability}
        early = defrost.cut in ("end", "both") or defrost.ended_by == "call"
        early = early or (turned.stops and defrost.ended_by == "unknown" and holds != "shown")
        lost = context.events.gap_in(defrost.end_s - 20.0, defrost.end_s + context.step_s) and defrost.gap
        if not turned.shifted:
            frosty = holds == "failed" and _cold_and_wet(context, defrost) and not _dry(context, defrost)
            if frosty and (defrost.cut in ("end", "both") or defrost.gap):
                what = "The coil was not warmed in the part of the defrost that the record holds."
                out.append(evidence("doubtful", *place, channels, what, **extra))  # type: ignore[arg-type]
            elif frosty:
                what = "The coil was never warmed: whatever frost it carried is still there."
                out.append(evidence("failed", *place, channels, what, **extra))  # type: ignore[arg-type]
            else:
                out.append(evidence("unseen", *place, channels, "The coil was never warmed.", **extra))  # type: ignore[arg-type]
        elif early or lost:
            what = "The record does not hold the end of the melting."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif holds == "shown" and seen.frost is True:
            what = "The coil stood at the melting point while its frost went, then rose well above it."
            out.append(evidence("shown", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif _dry(context, defrost):
            what = "Nothing to clear: the air had been too dry for frost on that coil."
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif seen.frost is False and probability_above(seen.top_c, u, LEFT_C) >= 0.95:
            what = (
                "Nothing to clear: the coil rose through the melting point without a stay, so it carried "
                "no frost."
            )
            out.append(evidence("unseen", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif holds == "shown":
            what = (
                "The coil rose well above the melting point; whether there was frost to clear cannot be told."
            )
            out.append(evidence("doubtful", *place, channels, what, **extra))  # type: ignore[arg-type]
        elif holds == "failed" and (
            seen.stay_s > 30.0 or seen.frost is None or _cold_and_wet(context, defrost)
        ):
            what = "The defrost ended while the coil was still at the melting point: frost is left."
            out.append(evidence("failed", *place, channels, what, **extra))  # type: ignore[arg-type]
        else:
            what = "The coil ended near the melting point; whether it is clear cannot be told."
            out.append(evidence("doubtful", *place, channels, what, **extra))  # type: ignore[arg-type]
    return out


def _dry(context: Context, defrost: Defrost) -> bool:
    """Tell whether the outdoor air was too dry for frost on that coil: its frost point below the coil.

    By the medians of the hour before, humidity and coil each taken one standard uncertainty towards frost.
    """
    since = defrost.start_s - 3600.0
    t, part = context.window("outdoor_humidity", since, defrost.start_s)
    _, air = context.window("outdoor_air_temp", since, defrost.start_s)
    _, coil = context.window("outdoor_coil_temp", since, defrost.start_s)
    if len(t) < 3 or len(air) < 3 or len(coil) < 3:
        return False
    air_c, coil_c, humidity = float(np.median(air)), float(np.median(coil)), float(np.median(part))
    humidity += context.u("outdoor_humidity", humidity)
    coil_c -= context.u("outdoor_coil_temp", coil_c)
    if not (-50.0 < air_c < 50.0 and -50.0 < coil_c < 0.0):
        return False
    # A probe reports over water (the wetter reading of the two, below freezing).
    return float(humidity * saturation_over_water_pa(air_c)) < float(saturation_pa(coil_c))


def _cold_and_wet(context: Context, defrost: Defrost) -> bool:
    """Tell whether frost is to be expected: outdoor air below 7 degC in the minutes before."""
    _, air = context.window("outdoor_air_temp", defrost.start_s - 600.0, defrost.end_s)
    return len(air) > 0 and float(np.median(air)) < 7.0
