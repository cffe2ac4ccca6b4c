"""Where heating was steady.

Criterion: over a moving window of five minutes, each series that tells of the circuit's state keeps the
standard deviation of its course within the limit of its row in `SERIES`. The moving window of standard
deviations is the steady-state detector of NIST SP 1087 (Kim, Yoon, Payne, Domanski 2008; abstract seen,
window and limits not); the length of the window and the limits here are ours: common practice, no source.
From the variance that of the probe's own noise is taken off, estimated from successive differences,

    s_excess^2 = s^2 - sum (y[i+1] - y[i])^2 / (2 (n - 1))                  (von Neumann 1941, from memory)

so that a noisy probe does not hide a steady machine.

Before gauges are read, 15 minutes are to go by (California 2008 Residential Appendix RA3.2, seen, for
cooling); a window whose middle lies sooner after a start or a defrost is used only where there is none later,
and says so. Only phases named `heating` count: not recovery, not a coil chilled on purpose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.heating.number import Steady
from firstfrost.phases import fold
from firstfrost.phases.phase import Phase
from firstfrost.proofs.context import Context

Floats = NDArray[np.float64]

WINDOW_S: Final = 300.0
"""Length of the moving window; common practice, no source. [s]"""
WAIT_S: Final = 900.0
"""Fifteen minutes to settle (California 2008 Residential Appendix RA3.2). [s]"""
STRIDE_S: Final = 10.0
LEAST: Final = 4
"""A window with fewer readings than this tells nothing of steadiness."""
COVERED: Final = 0.6
"""A series counts in a window where at least this part of its readings is there."""

SERIES: Final[tuple[tuple[str, float], ...]] = (
    ("evaporating saturation", 0.5),
    ("condensing saturation", 0.5),
    ("suction_line_temp", 1.0),
    ("liquid_line_temp", 0.7),
    ("discharge_temp", 1.5),
    ("outdoor_coil_temp", 0.7),
    ("rise of the air", 0.5),
    ("power", 0.03),
)
"""Series and the standard deviation allowed to it [K]; that of power is a part of its mean. Common practice,
no source: a drift by d through the window has a standard deviation of d / sqrt(12)."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """The best steady window of a record, and how long it was steady in all."""

    best: Steady | None
    total_s: float
    why_not: str


def series(context: Context) -> dict[str, Floats]:
    """The series of `SERIES` that the record holds, each (n,)."""
    trace, cycle = context.trace, context.cycle
    every = {
        "evaporating saturation": cycle.low_dew_c,
        "condensing saturation": cycle.high_dew_c,
        "rise of the air": trace.get("supply_air_temp") - trace.get("return_air_temp"),
    }
    for name, _ in SERIES:
        if name not in every:
            every[name] = trace.get(name)
    return {name: y for name, y in every.items() if bool(np.isfinite(y).any())}


def excess(y: Floats, starts: NDArray[np.intp], ends: NDArray[np.intp]) -> tuple[Floats, Floats, Floats]:
    """Excess standard deviation, mean and part of finite readings of `y`, (n,), in windows [start, end)."""
    good = np.isfinite(y)
    middle = float(np.mean(y[good])) if good.any() else 0.0
    clean = np.where(good, y - middle, 0.0)

    def total(x: Floats) -> Floats:
        sums: Floats = np.concatenate(([0.0], np.cumsum(x)))
        return sums

    count, first, second = total(good.astype(float)), total(clean), total(clean * clean)
    step = np.diff(np.where(good, y, np.nan), append=np.nan)
    has = np.isfinite(step)
    steps, pairs = total(np.where(has, step, 0.0) ** 2), total(has.astype(float))
    n = count[ends] - count[starts]
    many = np.maximum(n, 1.0)
    mean = (first[ends] - first[starts]) / many
    variance = (second[ends] - second[starts]) / many - mean**2
    last = np.maximum(ends - 1, starts)  # the step from the window's last reading leads out of it
    between = np.maximum(pairs[last] - pairs[starts], 1.0)
    noise = (steps[last] - steps[starts]) / between / 2.0
    spread = np.sqrt(np.maximum(variance - noise, 0.0))
    part = n / np.maximum(ends - starts, 1)
    return np.where(n >= LEAST, spread, np.nan), mean + middle, part


def find_steady(context: Context) -> Found:
    """Find the steadiest window of heating, with backup heat off where there is one."""
    if context.sparse:
        return _typed(context)
    given = series(context)
    if not given:
        return Found(best=None, total_s=0.0, why_not="No reading tells whether heating was steady.")
    phases = [one for one in context.found.phases if one.name == "heating"]
    if not phases:
        return Found(best=None, total_s=0.0, why_not="No plain heating is in the record.")
    found: list[Steady] = []
    total = 0.0
    nearest: tuple[float, str] = (math.inf, "")
    for phase in phases:
        windows, steady_s, near = _in_phase(context, phase, given)
        found += windows
        total += steady_s
        nearest = min(nearest, near)
    if found:
        return Found(best=min(found, key=_rank), total_s=total, why_not="")
    longest = max(one.end_s - one.start_s for one in phases)
    if longest < WINDOW_S:
        why = f"Heating never went on for {WINDOW_S / 60:.0f} minutes at a stretch."
    elif nearest[1]:
        why = f"Heating was never steady for {WINDOW_S / 60:.0f} minutes: {_spell(nearest[1])} kept moving."
    else:
        why = "Too few readings lie in any stretch of heating to tell whether it was steady."
    return Found(best=None, total_s=0.0, why_not=why)


def _spell(name: str) -> str:
    return f"the {name.replace('_', ' ').replace('temp', 'temperature')}"


def _rank(one: Steady) -> tuple[bool, bool, float, float]:
    return (bool(one.backup), not one.waited, round(one.share, 1), -one.start_s)


def _in_phase(
    context: Context, phase: Phase, given: dict[str, Floats]
) -> tuple[list[Steady], float, tuple[float, str]]:
    time_s = context.trace.time_s
    a, b = (int(i) for i in np.searchsorted(time_s, [phase.start_s, phase.end_s]))
    none: tuple[list[Steady], float, tuple[float, str]] = ([], 0.0, (math.inf, ""))
    if b - a < LEAST or float(time_s[b - 1]) - float(time_s[a]) < WINDOW_S - context.step_s:
        return none
    t = time_s[a:b]
    every = max(1, round(STRIDE_S / context.step_s))
    starts = np.arange(0, b - a, every, dtype=np.intp)
    ends = np.searchsorted(t, t[starts] + WINDOW_S - 1e-6).astype(np.intp)
    keep = t[starts] + WINDOW_S <= t[-1] + context.step_s + 1e-6
    starts, ends = starts[keep], ends[keep]
    if len(starts) == 0:
        return none
    shares, names = [], []
    for name, allowed in SERIES:
        if name not in given:
            continue
        spread, mean, part = excess(given[name][a:b], starts, ends)
        limit = allowed * np.maximum(np.abs(mean), 100.0) if name == "power" else np.full(len(mean), allowed)
        shares.append(np.where(part >= COVERED, spread / limit, np.nan))
        names.append(name)
    table = np.array(shares)
    told = np.isfinite(table).any(axis=0)
    worst = np.where(told, np.nanmax(np.where(np.isfinite(table), table, -1.0), axis=0), np.nan)
    least = np.nanargmax(np.where(np.isfinite(table), table, -1.0), axis=0)
    began, backup = _began(context, phase), _backup_spans(context)
    found: list[Steady] = []
    spans: list[tuple[float, float]] = []
    for i in np.flatnonzero(told & (worst <= 1.0)).tolist():
        start = float(t[starts[i]])
        end = start + WINDOW_S
        if context.events.gap_in(start, end):
            continue
        found.append(
            Steady(
                start_s=start,
                end_s=end,
                since_s=start - began,
                waited=start + 0.5 * WINDOW_S - began >= WAIT_S,
                backup=_on(backup, start, end),
                share=float(worst[i]),
                least=names[int(least[i])],
            )
        )
        if spans and start <= spans[-1][1]:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((start, end))
    near = (math.inf, "")
    if told.any():
        k = int(np.nanargmin(worst))
        near = (float(worst[k]), names[int(least[k])])
    return found, sum(end - start for start, end in spans), near


def _began(context: Context, phase: Phase) -> float:
    """When the compressor last started, or the last defrost ended; else the record's start."""
    before = [b for _, b in context.rests if b <= phase.start_s + 5.0]
    before += [one.end_s for one in context.found.defrosts if one.end_s <= phase.start_s + 5.0]
    before += [b for _, b in context.found.purpose if b <= phase.start_s + 5.0]
    return max(before, default=context.first_s)


def _backup_spans(context: Context) -> list[tuple[float, float]] | None:
    """When backup heat was on; None where its current was not read."""
    events = context.events
    first = events.first[fold.SW_BACKUP]
    if first is None:
        return None
    on_since = events.first_s[fold.SW_BACKUP] if first else None
    spans: list[tuple[float, float]] = []
    for change in events.of(fold.SW_BACKUP):
        if change.on and on_since is None:
            on_since = change.time_s
        elif not change.on and on_since is not None:
            spans.append((on_since, change.time_s))
            on_since = None
    if on_since is not None:
        spans.append((on_since, math.inf))
    return spans


def _on(spans: list[tuple[float, float]] | None, start_s: float, end_s: float) -> bool | None:
    return None if spans is None else any(a < end_s and b > start_s for a, b in spans)


def _typed(context: Context) -> Found:
    """The last typed or far-apart readings of heating: nobody can tell whether it was steady."""
    for phase in reversed(context.found.phases):
        if phase.name != "heating":
            continue
        start = max(phase.start_s, phase.end_s - max(WINDOW_S, 3.0 * context.step_s))
        best = Steady(
            start_s=start,
            end_s=phase.end_s,
            since_s=start - _began(context, phase),
            waited=phase.end_s - _began(context, phase) >= WAIT_S,
            backup=_on(_backup_spans(context), start, phase.end_s),
            share=math.nan,
            least="",
        )
        return Found(best=best, total_s=0.0, why_not="")
    return Found(best=None, total_s=0.0, why_not="No plain heating is in the record.")
