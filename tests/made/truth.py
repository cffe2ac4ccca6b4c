"""The right standings of a made visit, from the run's hidden states: never from the code under test.

Each rule gives, for each occasion, the standings it accepts, the right one first; a second only where the
instruments could not tell. A visit's standing is `failed` if any occasion failed, else the best one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from made.look import LONGEST_LAG_S, Accepted, Look, overall
from made.record import LIQUID_DROP
from made.saturation import dew_pressure_pa, dew_temp_c
from made.world import HiddenDefrost


def _longest_s(look: Look, true: NDArray[np.bool_]) -> float:
    """The longest unbroken stretch of `true` within the record [s]."""
    true = true & look.inside()
    for a, b in look.recorder.gaps:
        true = true & ~((look.t >= a) & (look.t < b))
    edges = np.flatnonzero(np.diff(np.concatenate(([0], true.astype(int), [0]))))
    return float((edges[1::2] - edges[::2]).max() * look.step) if len(edges) else 0.0


def _rating(look: Look, i: int, true_c: float, rated_c: float) -> Accepted:
    tolerance = look.log.setting.sensor.tolerance_k
    b = look.coil_doubt_k
    low, high = rated_c - tolerance, rated_c + tolerance
    window = look.window("coil", look.t[i] - LONGEST_LAG_S, look.t[i] + look.recorder.sampling_s)
    if abs(true_c - rated_c) <= tolerance:
        sharp = low + b <= window.min() and window.max() <= high - b
        return ("shown",) if sharp or low + b <= look.log["coil"][i] <= high - b else ("shown", "doubtful")
    if window.min() > high + b and true_c > high and rated_c == look.log.setting.sensor.rated_opens_c:
        # Held closed far above its rating: without marks it may have been a jumper, taken off again.
        return ("failed",) if look.marks else ("failed", "bypassed", "doubtful")
    if window.min() > high + b or window.max() < low - b:
        return ("failed",)
    return ("doubtful", "failed")


def sensor_closes(look: Look) -> Accepted:
    if not look.has("sensor_voltage"):
        return ("unseen",)
    log, maker = look.log, look.log.setting.sensor
    circuit, jumper, contact, coil = log["circuit"], log["jumper"], log["contact"], log["coil"]
    knows = look.has("outdoor_coil_temp")
    occasions: list[Accepted] = []
    for i in np.flatnonzero(np.diff(circuit) > 0.5) + 1:
        time_s = float(look.t[i])
        if not look.first < time_s < look.last:
            continue
        if look.gap_over(time_s, time_s):
            occasions.append(("unseen", "doubtful"))
        elif jumper[i] > 0.5 and contact[i] < 0.5:
            occasions.append(("bypassed",) if knows else ("bypassed", "unseen", "doubtful"))
        elif not knows:
            occasions.append(("unseen", "doubtful"))
        else:
            occasions.append(_rating(look, int(i), maker.closes_c, maker.rated_closes_c))
    if not occasions and (jumper[look.inside()] > 0.5).any():
        occasions.append(("unseen", "bypassed"))
    if knows:
        low = maker.rated_closes_c - maker.tolerance_k - look.coil_doubt_k
        long = _longest_s(look, (coil < low) & (circuit < 0.5))
        if long > 120.0:
            occasions.append(("failed",))
        elif long > 35.0 and abs(maker.closes_c - maker.rated_closes_c) > maker.tolerance_k:
            occasions.append(("unseen", "doubtful", "failed"))
    return overall(occasions)


def sensor_opens(look: Look) -> Accepted:
    if not look.has("sensor_voltage"):
        return ("unseen",)
    log, maker = look.log, look.log.setting.sensor
    circuit, jumper, coil = log["circuit"], log["jumper"], log["coil"]
    knows = look.has("outdoor_coil_temp")
    occasions: list[Accepted] = []
    for i in np.flatnonzero(np.diff(circuit) < -0.5) + 1:
        time_s = float(look.t[i])
        if not look.first < time_s < look.last:
            continue
        if look.gap_over(time_s, time_s):
            occasions.append(("unseen", "doubtful"))
        elif jumper[i - 1] > 0.5:
            occasions.append(("bypassed",) if look.marks else ("bypassed", "unseen", "doubtful"))
        elif not knows:
            occasions.append(("unseen", "doubtful"))
        else:
            occasions.append(_rating(look, int(i), maker.opens_c, maker.rated_opens_c))
    if knows:
        high = maker.rated_opens_c + maker.tolerance_k + look.coil_doubt_k
        warm = (coil > high) & (circuit > 0.5)
        if (warm & (jumper > 0.5) & look.inside()).any():
            occasions.append(("bypassed",))
        long = _longest_s(look, warm & (jumper < 0.5))
        if long > 100.0:
            # Nobody says that there was no jumper: without marks the two look alike.
            occasions.append(("failed",) if look.marks else ("failed", "bypassed", "doubtful"))
        elif long > 35.0 and abs(maker.opens_c - maker.rated_opens_c) > maker.tolerance_k:
            occasions.append(("unseen", "doubtful", "failed"))
    return overall(occasions)


def _run_s(look: Look, start_s: float, end_s: float) -> tuple[float, float]:
    """Compressor run time in heating between two times: all of it, and that with the circuit closed [s]."""
    runs = look.window("compressor", start_s, end_s) * (1.0 - look.window("defrosting", start_s, end_s))
    return float(runs.sum() * look.step), float(
        (runs * look.window("circuit", start_s, end_s)).sum() * look.step
    )


def _interval(look: Look, k: int) -> str:
    """What the record holds before start `k`: '', 'whole', 'early', 'pins', 'broken'."""
    start_s = look.defrosts[k].start_s
    before = look.defrosts[k - 1].end_s if k > 0 else float("nan")
    pins_from = before if np.isfinite(before) else look.first
    if look.window("pins", max(pins_from, start_s - 7200.0), start_s).max() > 0.5:
        return "pins"
    if not np.isfinite(before) or not look.seen(before) or not look.seen(start_s):
        return ""
    jump = look.recorder.clock_jump
    if look.gap_over(before, start_s) or (jump is not None and before < jump[0] < start_s):
        return "broken"
    board = look.log.setting.board
    return "whole" if abs(board.real_interval_s / board.interval_s - 1.0) < 0.05 else "early"


def _waited(look: Look) -> float:
    """The longest run time with the circuit closed and no start, over the set interval."""
    ends = [look.first, *[d.end_s for d in look.defrosts if np.isfinite(d.end_s)]]
    longest = 0.0
    for a in ends:
        later = [d.start_s for d in look.defrosts if d.start_s > a]
        b = later[0] if later else look.last
        if not look.gap_over(a, b):
            longest = max(longest, _run_s(look, a, b)[1])
    return longest / look.log.setting.board.interval_s


def timer_counts(look: Look) -> Accepted:
    if look.demand:
        return ("unseen",)
    pressures = look.has("suction_pressure") and look.high_side
    if not look.some("compressor_current", "power") and not pressures:
        return ("unseen",)
    volts = look.has("sensor_voltage")
    board = look.log.setting.board
    occasions: list[Accepted] = []
    for k, defrost in enumerate(look.defrosts):
        if not look.seen(defrost.start_s):
            continue
        held = _interval(look, k)
        if held == "pins":
            occasions.append(("prompted",) if look.marks else ("unseen", "doubtful"))
        elif held == "broken":
            occasions.append(("unseen", "doubtful"))
        elif held == "early":
            occasions.append(("failed",) if look.marks else ("doubtful",))
        elif held == "whole":
            strong = volts and look.some("compressor_current", "power")
            if strong:
                occasions.append(("shown",))
            elif board.counts_only_closed and not volts:
                occasions.append(("doubtful", "unseen", "shown"))
            else:
                occasions.append(("shown", "doubtful", "unseen"))
    if volts and _waited(look) > 1.15:
        occasions.append(("failed",))
    elif volts and _waited(look) > 1.02:
        occasions.append(("unseen", "doubtful", "failed"))
    return overall(occasions)


def _stays_closed_warm(look: Look, defrost: HiddenDefrost, for_s: float = 30.0) -> bool:
    """Whether the circuit is closed on a coil far above its open rating, as it would be with a jumper."""
    sensor = look.log.setting.sensor
    end_s = defrost.end_s if np.isfinite(defrost.end_s) else look.last
    warm = look.window("coil", defrost.start_s, end_s) > sensor.rated_opens_c + sensor.tolerance_k
    return bool((warm & (look.window("circuit", defrost.start_s, end_s) > 0.5)).sum() * look.step > for_s)


def defrost_starts(look: Look) -> Accepted:
    volts = look.has("sensor_voltage")
    occasions: list[Accepted] = []
    for k, defrost in enumerate(look.defrosts):
        if not look.seen(defrost.start_s):
            continue
        i = look.index(defrost.start_s)
        held = _interval(look, k)
        jumpered = look.log["jumper"][i] > 0.5 and look.log["contact"][i] < 0.5
        if look.log["jumper"][i] > 0.5 and not jumpered:
            # The contact had closed by itself before: a strict reader still calls the circuit a person's.
            occasions.append(("prompted", "doubtful", "shown") if look.marks else ("doubtful",))
        elif jumpered and volts:
            occasions.append(("prompted",) if look.marks else ("prompted", "doubtful"))
        elif volts and not look.marks and _stays_closed_warm(look, defrost):
            # A contact that opens within the lag that `_rating` grants is no sign of a jumper.
            lags = held == "whole" and not look.demand
            lags = lags and not _stays_closed_warm(look, defrost, 30.0 + LONGEST_LAG_S)
            occasions.append(("shown", "doubtful", "prompted") if lags else ("doubtful", "prompted"))
        elif held == "pins" or jumpered:
            occasions.append(("prompted",) if look.marks else ("doubtful",))
        elif not volts:
            occasions.append(("doubtful",))
        elif look.marks:
            occasions.append(("shown", "failed", "doubtful") if held == "early" else ("shown",))
        else:
            occasions.append(("shown",) if held == "whole" and not look.demand else ("doubtful",))
    if volts:
        tried = _longest_s(
            look, (look.log["pins"] > 0.5) & (look.log["circuit"] > 0.5) & (look.log["call"] > 0.5)
        )
        if look.marks and tried > 95.0:
            occasions.append(("failed",))
        if not look.demand and _waited(look) > 1.15:
            occasions.append(("failed",))
        elif not look.demand and _waited(look) > 1.02:
            occasions.append(("unseen", "doubtful", "failed"))
    return overall(occasions)


def valve_shifts(look: Look) -> Accepted:
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not look.seen(defrost.start_s):
            continue
        end_s = min(defrost.end_s if np.isfinite(defrost.end_s) else look.last, look.last)
        turned = look.window("valve", defrost.start_s, end_s - 2.0).max() > 0.5
        if turned and look.turn_channels:
            occasions.append(
                ("shown",) if end_s - defrost.start_s > 30.0 else ("shown", "doubtful", "unseen")
            )
        elif turned and look.some("outdoor_coil_temp", "supply_air_temp"):
            occasions.append(("shown", "doubtful"))
        elif not turned and (look.has("valve_voltage") or look.has("fan_current", "backup_current")):
            occasions.append(("failed",))
        else:
            occasions.append(("unseen", "doubtful"))
    return overall(occasions)


def fan_stops(look: Look) -> Accepted:
    if not look.has("fan_current"):
        return ("unseen",)
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not look.seen(defrost.start_s):
            continue
        whole = bool(np.isfinite(defrost.end_s)) and look.seen(defrost.end_s)
        end_s = min(defrost.end_s if np.isfinite(defrost.end_s) else look.last, look.last)
        off_before = look.window("fan_on", defrost.start_s - 12.0, defrost.start_s - 1.0).max() < 0.5
        runs = look.window("fan_on", defrost.start_s + 8.0, end_s - 2.0).max() > 0.5
        if runs:
            occasions.append(("failed",))
        elif look.held("lead_off", defrost.start_s, end_s - 1.0):
            occasions.append(("bypassed",) if look.marks else ("unseen",))
        elif off_before:
            occasions.append(("unseen", "bypassed", "doubtful") if look.marks else ("unseen",))
        else:
            occasions.append(("shown",) if whole else ("shown", "doubtful", "unseen"))
    return overall(occasions)


def backup_runs(look: Look) -> Accepted:
    if not look.has("backup_current"):
        return ("unseen",)
    setting = look.log.setting
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not look.seen(defrost.start_s):
            on = setting.board.runs_backup and not setting.backup_dead
            occasions.append(("doubtful", "unseen", "shown") if on else ("failed", "unseen", "doubtful"))
        elif setting.backup_dead or not setting.board.runs_backup:
            occasions.append(("failed",))
        else:
            occasions.append(("doubtful",) if setting.backup_always else ("shown",))
    return overall(occasions)


def _ending(look: Look, defrost: HiddenDefrost) -> bool:
    return bool(np.isfinite(defrost.end_s)) and look.seen(defrost.end_s)


def _last_seen(look: Look, defrost: HiddenDefrost) -> float:
    """The last moment of a defrost that the record holds, where it does not hold the end [s]."""
    gaps = [a for a, b in look.recorder.gaps if defrost.start_s < a and (defrost.end_s > a)]
    return min([look.last, *gaps, defrost.end_s if np.isfinite(defrost.end_s) else look.last])


def coil_clears(look: Look) -> Accepted:
    if not look.has("outdoor_coil_temp"):
        return ("unseen",)
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        start_s = max(defrost.start_s, look.first)
        whole = _ending(look, defrost)
        end_s = defrost.end_s if whole else _last_seen(look, defrost)
        if end_s <= start_s:
            continue
        coil = look.window("coil", start_s, end_s)
        frost = look.window("frost", start_s, end_s)
        flat_s = float(((frost > 1e-3) & (coil > -0.5) & (coil < 3.0)).sum() * look.step)
        step_s = look.recorder.sampling_s
        if not whole:
            # Cleared before the record broke off: a reader may say so, or wait for the end it has not.
            cleared = flat_s >= 4.0 and coil[-1] > 4.0
            occasions.append(("unseen", "shown", "doubtful") if cleared else ("unseen",))
        elif defrost.ended_by == "call" and coil[-1] < 8.0:
            occasions.append(("unseen", "doubtful") if coil[-1] > -1.0 else ("unseen", "failed", "doubtful"))
        elif coil[-1] < 0.5 or (frost[-1] > 0.05 and coil[-1] < 3.0):
            occasions.append(("failed",))
        elif flat_s < 4.0 or frost[0] < 0.015:
            occasions.append(("unseen",))
        elif flat_s < max(35.0, 5.0 * step_s):
            occasions.append(("unseen", "shown", "doubtful"))
        elif coil.max() > 6.5:
            occasions.append(("shown",))
        else:
            occasions.append(("shown", "doubtful"))
    return overall(occasions)


def ends_by_sensor(look: Look) -> Accepted:
    volts = look.has("sensor_voltage")
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not _ending(look, defrost):
            continue
        i = look.index(defrost.end_s)
        near = slice(max(i - 8, 0), i + 1)
        jumpered = look.log["jumper"][near].max() > 0.5
        why = defrost.ended_by
        if why == "call":
            occasions.append(("unseen",))
        elif why == "pressure":
            # Without a pressure a trip is a stop like any other.
            accepted = ("failed",) if look.high_side else ("failed", "unseen", "doubtful")
            occasions.append((*accepted, "bypassed") if jumpered else accepted)
        elif why == "time":
            if jumpered:
                occasions.append(("bypassed",) if volts else ("bypassed", "unseen"))
            else:
                accepted = ("failed",) if volts else ("failed", "doubtful", "unseen")
                warm = look.log["coil"][i] > look.log.setting.sensor.rated_opens_c
                if not look.marks and (warm or not look.has("outdoor_coil_temp")):
                    # A contact held closed on a warm coil, or on one that nobody read, may be a jumper.
                    accepted = tuple(dict.fromkeys((*accepted, "bypassed", "doubtful")))
                occasions.append(accepted)
        elif jumpered:
            occasions.append(("bypassed",) if look.marks and volts else ("bypassed", "unseen", "doubtful"))
        elif volts and not look.marks and _stays_closed_warm(look, defrost):
            occasions.append(("shown", "bypassed", "doubtful"))
        elif volts and not look.marks and not look.has("outdoor_coil_temp"):
            # A contact that opens may be a jumper that is taken off: only the coil or a mark can tell.
            occasions.append(("shown", "doubtful"))
        else:
            occasions.append(("shown",) if volts else ("unseen", "doubtful"))
    return overall(occasions)


def peak_dew_c(look: Look, defrost: HiddenDefrost, port: str = "discharge_pressure") -> float:
    """Peak dew saturation of the true pressure at a port over a defrost, within the record's edges [degC]."""
    start_s = max(defrost.start_s, look.first)
    end_s = min(defrost.end_s if np.isfinite(defrost.end_s) else look.last, look.last)
    high = look.window("high", start_s, end_s)
    # The first seconds still hold the heating's own pressure: the peak of the defrost comes after the turn.
    refrigerant = look.log.setting.machine.refrigerant
    pressure = dew_pressure_pa(refrigerant, np.asarray(high.max()))
    share = 1.0 - (LIQUID_DROP if port == "liquid_pressure" else 0.0)
    return float(dew_temp_c(refrigerant, pressure * share))


def ends_safely(look: Look) -> Accepted:
    if not look.high_side:
        return ("unseen",)
    setting = look.log.setting
    refrigerant = setting.machine.refrigerant
    cutout_c = float(dew_temp_c(refrigerant, np.asarray(setting.cutout_pa)))
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        port = "discharge_pressure" if look.has("discharge_pressure") else "liquid_pressure"
        peak = peak_dew_c(look, defrost, port)
        k_per_share = 0.5 / float(
            np.log(dew_pressure_pa(refrigerant, np.asarray(peak + 0.25)))
            - np.log(dew_pressure_pa(refrigerant, np.asarray(peak - 0.25)))
        )
        end_s = min(defrost.end_s if np.isfinite(defrost.end_s) else look.last, look.last)
        rise = float(np.abs(np.diff(look.window("high", end_s - 4.0, end_s - 1.0))).max() / look.step)
        band = (
            2.0 * look.recorder.pressure_accuracy * k_per_share + 0.6 + rise * look.recorder.sampling_s * 1.2
        )
        margin = min(look.ceiling_c, cutout_c) - peak
        turned = look.window("valve", defrost.start_s, end_s).max() > 0.5
        if defrost.ended_by == "pressure" and _ending(look, defrost):
            occasions.append(("failed",))
        elif not _ending(look, defrost):
            occasions.append(("failed", "unseen", "doubtful") if margin < -band else ("unseen", "doubtful"))
            if -band <= margin < band:
                occasions[-1] = ("unseen", "doubtful", "failed")
        elif margin < -band:
            occasions.append(("failed",))
        elif margin < band:
            occasions.append(("doubtful", "failed" if margin < 0 else "shown"))
        elif defrost.ended_by == "call":
            occasions.append(("unseen", "shown", "doubtful"))
        elif not turned:
            occasions.append(("shown", "unseen", "doubtful"))
        else:
            occasions.append(("shown",))
    return overall(occasions)


def valve_returns(look: Look) -> Accepted:
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not np.isfinite(defrost.end_s) or defrost.end_s >= look.last - look.recorder.sampling_s:
            continue
        if not look.seen(defrost.end_s):
            occasions.append(("doubtful", "unseen"))
            continue
        if defrost.ended_by in ("call", "pressure"):
            occasions.append(("unseen",))
            continue
        turned = look.window("valve", defrost.start_s, defrost.end_s - 2.0).max() > 0.5
        after_s = min(look.last, defrost.end_s + 240.0)
        back = look.log["valve"][look.index(after_s)] < 0.5
        channels = look.turn_channels or look.some("outdoor_coil_temp", "supply_air_temp")
        if not channels or not turned:
            occasions.append(("unseen", "doubtful"))
        elif after_s - defrost.end_s < 150.0:
            occasions.append(("shown" if back else "failed", "unseen", "doubtful"))
        elif back:
            occasions.append(("shown",) if look.turn_channels else ("shown", "doubtful"))
        else:
            occasions.append(("failed",) if look.turn_channels else ("failed", "doubtful"))
    return overall(occasions)


def fan_returns(look: Look) -> Accepted:
    if not look.has("fan_current"):
        return ("unseen",)
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not _ending(look, defrost):
            if np.isfinite(defrost.end_s) and defrost.end_s < look.last - 150.0:
                occasions.append(("doubtful", "unseen", "shown", "bypassed"))
            continue
        end_s, after_s = defrost.end_s, min(defrost.end_s + 120.0, look.last)
        ran_in = look.window("fan_on", defrost.start_s + 8.0, end_s - 2.0).max() > 0.5
        before = look.window("fan_on", defrost.start_s - 12.0, defrost.start_s - 1.0).max() > 0.5
        back = look.window("fan_on", end_s, after_s).max() > 0.5
        lead_at_end = look.log["lead_off"][look.index(end_s)] > 0.5
        if look.gap_over(end_s, after_s) and not back:
            occasions.append(("unseen", "doubtful"))
        elif defrost.ended_by == "call":
            occasions.append(("unseen",))
        elif defrost.ended_by == "pressure":
            occasions.append(("unseen", "failed"))
        elif ran_in:
            occasions.append(("unseen", "doubtful", "shown"))
        elif lead_at_end and look.held("lead_off", end_s, after_s):
            occasions.append(("bypassed",) if look.marks else ("doubtful", "unseen"))
        elif lead_at_end:
            occasions.append(
                ("bypassed", "shown", "doubtful") if look.marks else ("doubtful", "shown", "unseen")
            )
        elif back:
            occasions.append(("shown",) if look.marks or before else ("shown", "doubtful"))
        elif after_s - end_s < 119.0:
            occasions.append(("unseen", "doubtful"))
        else:
            occasions.append(("failed",) if look.marks or before else ("doubtful",))
    return overall(occasions)


def heating_resumes(look: Look) -> Accepted:
    if not look.high_side and not look.some("supply_air_temp", "power"):
        return ("unseen",)
    log = look.log
    plain = (
        ((log["compressor"] > 0.5) & (log["defrosting"] < 0.5) & (log["valve"] < 0.5) & (log["fan_on"] > 0.5))
        & (log["cover"] > 0.5)
        & look.inside()
    )
    occasions: list[Accepted] = []
    for defrost in look.defrosts:
        if not np.isfinite(defrost.end_s) or defrost.end_s >= look.last:
            continue
        if defrost.ended_by == "call":
            occasions.append(("unseen",))
            continue
        steady = [
            i
            for i in np.flatnonzero(plain & (look.t < defrost.start_s - 2.0))[::-120]
            if look.t[i] > look.first + 240.0 and look.held("compressor", look.t[i] - 240.0, look.t[i])
            and not look.window("defrosting", look.t[i] - 400.0, look.t[i]).max() > 0.5
        ]  # fmt: skip
        if not steady:
            occasions.append(("doubtful", "unseen", "shown"))
            continue
        i = steady[0]
        before = float(np.median(look.window("heat", look.t[i] - 60.0, look.t[i])))
        limit_s = min(defrost.end_s + 600.0, look.last)
        rested = np.flatnonzero((look.t > defrost.end_s + 45.0) & (log["call"] < 0.5))
        if len(rested) and defrost.ended_by != "pressure":
            limit_s = min(limit_s, float(look.t[rested[0]]) - 2.0)
        after = look.window("heat", defrost.end_s + 5.0, limit_s) / before
        stretch = int(60.0 / look.step)
        last_part = after[-stretch:]
        full = limit_s - defrost.end_s >= 599.0
        hole = look.gap_over(defrost.end_s, limit_s)
        if look.held("lead_off", defrost.end_s, limit_s) and look.marks:
            # A person keeps the outdoor air away: the record says nothing about the machine.
            occasions.append(("bypassed", "unseen", "doubtful"))
            continue
        turned = look.window("valve", defrost.start_s, defrost.end_s - 2.0).max() > 0.5
        if len(after) > stretch and last_part.min() > 0.94 and not turned:
            # Heating never left: a strict reader says that it could not come back.
            occasions.append(("shown", "unseen", "doubtful"))
        elif len(after) > stretch and last_part.min() > 0.94:
            accepted = ("shown", "doubtful", "unseen") if hole and not full else ("shown",)
            stood = look.window("fan_on", defrost.start_s - 12.0, defrost.start_s - 1.0).min() < 0.5
            if not look.marks and (stood or not look.has("fan_current")) and "doubtful" not in accepted:
                # Nobody says who stopped the fan before the start, so nobody knows who gave the heat back.
                accepted = (*accepted, "doubtful")
            occasions.append(accepted)
        elif after.max() < 0.86 and defrost.ended_by == "pressure":
            occasions.append(("failed", "unseen") if full else ("unseen", "doubtful"))
        elif after.max() < 0.86:
            occasions.append(("failed",) if full else ("unseen", "doubtful"))
        elif last_part.max() < 0.86 and full:
            # What the warm coil gives for two minutes is not heating that is back.
            occasions.append(("failed", "doubtful"))
        else:
            occasions.append(("doubtful", "shown", "unseen", "failed"))
    return overall(occasions)


RULES: dict[str, Callable[[Look], Accepted]] = {
    "sensor_closes": sensor_closes,
    "sensor_opens": sensor_opens,
    "timer_counts": timer_counts,
    "defrost_starts": defrost_starts,
    "valve_shifts": valve_shifts,
    "fan_stops": fan_stops,
    "backup_runs": backup_runs,
    "coil_clears": coil_clears,
    "ends_by_sensor": ends_by_sensor,
    "ends_safely": ends_safely,
    "valve_returns": valve_returns,
    "fan_returns": fan_returns,
    "heating_resumes": heating_resumes,
}


def standings(look: Look) -> dict[str, Accepted]:
    """Every function's accepted standings."""
    found = {name: rule(look) for name, rule in RULES.items()}
    if look.recorder.typed_s:
        # A dozen typed lines leave most moments between two lines.
        extra = ("doubtful", "unseen")
        found = {
            name: accepted + tuple(e for e in extra if e not in accepted) for name, accepted in found.items()
        }
    if look.recorder.wrong_units:
        found = {
            name: accepted + tuple(e for e in ("doubtful", "unseen") if e not in accepted)
            for name, accepted in found.items()
        }
    return found
