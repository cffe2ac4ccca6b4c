"""When exactly a defrost began and ended.

The fold is sure of a turn only some seconds after it. The edge itself is the moment at which the controls
first change normal heating, or first change back (the frost accumulation test of 10 CFR 430 subpart B
appendix M1 defines initiation and termination so; from memory). It is looked for backwards from where the
fold was sure:

1. two-state channels that the board itself moves (valve coil, fan, backup heat, a compressor held off) give
it to
   the sample, where they agree with each other or with the circuit;
2. else the saturation pressures break away from their trend: the hinge of two straight lines that fits best;
3. else coil or vapor line temperature, or supply air, turn: good to a minute or so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstfrost.phases import fold
from firstfrost.phases.events import Change, Events

Floats = NDArray[np.float64]

LOOK_BACK_S = 170.0
NEAR_S = 12.0


@dataclass(frozen=True, kw_only=True)
class Edge:
    """One edge, how far off it can be, and which channels gave it."""

    time_s: float
    half_width_s: float
    channels: tuple[str, ...]


def hinge(time_s: Floats, y: Floats, way: float) -> tuple[float, float] | None:
    """The time at which `y` breaks away from its trend in the direction of `way`.

    Two straight lines that meet, y = a + b (t - t0) + c max(0, t - t0), are fitted by least squares for each
    t0 in the window up to the place where half of the move is over; the best t0 wins.

    Parameters
    ----------
    time_s, y : (n,)
        The window; NaN allowed.
    way : float
        +1 for a rise, -1 for a fall.

    Returns
    -------
    (time, strength) or None
        `strength` is the move divided by the scatter about the trend; None where there is no clear move.
    """
    good = np.isfinite(y)
    t, v = time_s[good], y[good] * way
    if len(t) < 4:
        return None
    low = int(np.argmin(v[: max(1, len(v) - 1)])) if len(v) else 0
    top = float(v.max())
    # The last sample before the greatest climb: where the move must already be under way.
    steps = np.diff(v)
    if len(steps) < 3:
        return None
    k = max(1, round(len(steps) / 40))
    climb = np.convolve(steps, np.ones(k), mode="valid")
    steep = int(np.argmax(climb))
    base = float(np.median(v[max(0, steep - 12) : steep + 1]))
    move = top - base
    scatter = (
        1.4826 * float(np.median(np.abs(np.diff(v[: steep + 1])))) / math.sqrt(2.0) if steep >= 4 else 0.0
    )
    if move <= max(6.0 * scatter, 0.5):
        return None
    after = np.nonzero(v[steep:] >= base + 0.45 * move)[0]
    last = steep + (int(after[0]) if len(after) else len(v) - 1 - steep)
    last = min(max(last, steep + 1), len(v) - 1)
    first = max(0, steep - 40)
    tt, vv = t[first : last + 1], v[first : last + 1]
    if len(tt) < 4:
        return float(t[steep]), move / max(scatter, 1e-3)
    best, where = math.inf, float(t[steep])
    lowest = max(1, low - first - 40) if low >= first else 1
    for b in range(min(lowest, len(tt) - 2), len(tt) - 1):
        x = np.column_stack((np.ones(len(tt)), tt - tt[b], np.maximum(0.0, tt - tt[b])))
        coefficients, _, _, _ = np.linalg.lstsq(x, vv, rcond=None)
        error = float(np.sum((vv - x @ coefficients) ** 2))
        if error < best and coefficients[2] > 0:
            best, where = error, float(tt[b])
    return where, move / max(scatter, 1e-3)


def averaged(time_s: Floats, y: Floats, size: int) -> tuple[Floats, Floats]:
    """Means of `size` samples each, from the last one backwards, at the times of their first samples."""
    if size <= 1:
        return time_s, y
    n = len(y) // size * size
    good = np.isfinite(y[len(y) - n :]).reshape(-1, size)
    sums = np.where(good, y[len(y) - n :].reshape(-1, size), 0.0).sum(axis=1)
    counts = good.sum(axis=1)
    means = np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
    return time_s[len(y) - n :: size], means


def _window(samples: Floats, start_s: float, end_s: float) -> Floats:
    t = samples[:, fold.T]
    a, b = np.searchsorted(t, (start_s, end_s))
    return samples[a : b + 1]


def _hinges(t: Floats, window: Floats, ways: tuple[tuple[int, float], ...]) -> list[tuple[float, float]]:
    """Strength and time of the breaks of some columns, strongest first."""
    found = [
        (got[1], got[0]) for column, way in ways if (got := hinge(t, window[:, column], way)) is not None
    ]
    return sorted(found, reverse=True)


def _drop(t: Floats, y: Floats, at_s: float) -> float:
    """How far `y` falls within 30 s after `at_s`."""
    before, after = (
        y[(t <= at_s + 1e-9) & np.isfinite(y)],
        y[(t > at_s) & (t <= at_s + 30.0) & np.isfinite(y)],
    )
    return float(before[-1] - after.min()) if len(before) and len(after) else 0.0


def circuit_edge(
    samples: Floats,
    found_s: float,
    *,
    to_turned: bool,
    step_s: float,
    earliest_s: float,
    back_s: float = LOOK_BACK_S,
) -> Edge | None:
    """The turn as pressures, or else temperatures, show it, between `earliest_s` and `found_s`."""
    # At the end of a defrost the fall at its own start, which may last a while, is not the one sought.
    settled_s = earliest_s if to_turned else min(earliest_s + 15.0, found_s - 40.0)
    window = _window(samples, max(settled_s, found_s - back_s), found_s + 2.5 * step_s)
    t = window[:, fold.T]
    # At either turn the high side falls and the low side rises, together.
    tries = _hinges(t, window, ((fold.HIGH, -1.0), (fold.LOW, 1.0)))
    if not to_turned and (not tries or _drop(t, window[:, fold.HIGH], tries[0][1]) < 3.0):
        # A defrost that melts with hardly any lift ends without that: the saturations just part.
        tries = _hinges(t, window, ((fold.LOW, -1.0), (fold.HIGH, 1.0))) or tries
    if tries:
        near = [when for _, when in tries if abs(when - tries[0][1]) <= 20.0]
        return Edge(time_s=min(near), half_width_s=2 * step_s, channels=("suction_pressure", "high_pressure"))
    way = 1.0 if to_turned else -1.0
    slow: list[tuple[float, str]] = []
    blocks = max(1, round(6.0 / step_s))
    for column, sign in ((fold.COIL, way), (fold.VAPOR, -way), (fold.SUPPLY, -way), (fold.POWER, -way)):
        got = hinge(*averaged(t, window[:, column], blocks), sign)
        if got is not None:
            slow.append((got[0], fold.SAMPLE[column]))
    if not slow:
        return None
    if blocks > 1 and slow[0][1] == fold.SAMPLE[fold.COIL]:
        slow = slow[:1]  # sampled fast enough, the coil itself turns first
    # Each probe lags in its own way: the middle one is the fairest.
    time_s = float(np.median([when for when, _ in slow]))
    return Edge(time_s=time_s, half_width_s=max(60.0, 2 * step_s), channels=tuple(name for _, name in slow))


def board_changes(events: Events, start_s: float, end_s: float, *, to_turned: bool) -> list[Change]:
    """What the board moved between two times that fits a turn: fan, backup heat, valve coil."""
    fits: list[Change] = []
    for change in events.changes:
        if not start_s <= change.time_s <= end_s:
            continue
        if (
            (change.switch == fold.SW_FAN and change.on != to_turned)
            or (change.switch == fold.SW_BACKUP and change.on == to_turned)
            or change.switch == fold.SW_VALVE
        ):
            fits.append(change)
    return fits


def refine(
    samples: Floats,
    events: Events,
    found_s: float,
    *,
    to_turned: bool,
    purpose: list[tuple[float, float]],
    earliest_s: float,
) -> Edge:
    """The edge of a turn that the fold was sure of at `found_s`.

    `purpose` are the spans in which a person stopped the outdoor air: a fan that changes at their edges
    was not moved by the board. The edge is not looked for before `earliest_s`.
    """
    t = samples[:, fold.T]
    i = int(np.searchsorted(t, found_s))
    around = np.diff(t[max(0, i - 20) : i + 20])
    step_s = float(np.median(around)) if len(around) else 1.0
    circuit = circuit_edge(samples, found_s, to_turned=to_turned, step_s=step_s, earliest_s=earliest_s)
    start_s = max(earliest_s, found_s - LOOK_BACK_S)
    changes = [
        change
        for change in board_changes(events, start_s, found_s + 2.5 * step_s, to_turned=to_turned)
        if change.switch != fold.SW_FAN
        or all(min(abs(change.time_s - a), abs(change.time_s - b)) > 5.0 + 2 * step_s for a, b in purpose)
    ]
    opened = [
        change
        for change in events.of(fold.SW_CONTACT, on=True)
        if not to_turned and start_s <= change.time_s <= found_s + 2.5 * step_s
    ]
    anchor = circuit.time_s if circuit else None
    slack = NEAR_S + 2 * step_s + (circuit.half_width_s if circuit and circuit.half_width_s > 30 else 0.0)
    good: list[Change] = []
    for change in changes:
        others = [c for c in changes if c.switch != change.switch and abs(c.time_s - change.time_s) <= NEAR_S]
        opening = [c for c in opened if -2 * step_s <= change.time_s - c.time_s <= NEAR_S]
        if (
            change.switch == fold.SW_VALVE
            or others
            or opening
            or (anchor is not None and abs(change.time_s - anchor) <= slack)
        ):
            good.append(change)
    if good:
        # The latest group that hangs together is the turn that the fold has just seen.
        good.sort(key=lambda c: c.time_s)
        groups: list[list[Change]] = [[good[0]]]
        for change in good[1:]:
            if change.time_s - groups[-1][-1].time_s <= NEAR_S + 2 * step_s:
                groups[-1].append(change)
            else:
                groups.append([change])
        good = max(groups, key=lambda g: (len({c.switch for c in g}), g[0].time_s))
        time_s = good[0].time_s
        names = tuple(dict.fromkeys(fold.SWITCH_CHANNELS[c.switch] for c in good))
        return Edge(time_s=time_s, half_width_s=step_s, channels=names)
    if opened:
        names = circuit.channels if circuit else ()
        return Edge(time_s=opened[-1].time_s, half_width_s=2 * step_s, channels=("sensor_voltage", *names))
    if circuit is not None and circuit.time_s >= earliest_s:
        return circuit
    return Edge(time_s=max(found_s, earliest_s), half_width_s=60.0, channels=())
