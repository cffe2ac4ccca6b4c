"""The highest condensing saturation that a defrost makes, freed of the scatter of single readings.

Right after the turn the high side still has the pressure of heating and falls away: that is not the
defrost's doing, so the peak is looked for from the lowest point on. It climbs to the end and breaks off
there. The greatest single reading is biased upwards by noise and, at slow sampling, downwards by the last
step before the break. So a straight line or a parabola is fitted to the last readings before the break and
carried to the middle of the step in which the break lies; elsewhere the same fit is taken about the highest
reading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Peak:
    """The highest value, when, and what its uncertainty comes from."""

    value: float
    time_s: float
    noise: float
    """Standard uncertainty of the value that the scatter of single readings leaves."""
    step: float
    """How far the value can lie off for not being read at the very moment."""


def highest(
    time_s: Floats, y: Floats, start_s: float, end_s: float, *, turns: bool = True, ends: bool = True
) -> Peak | None:
    """The peak of `y`, (n,), within [start_s, end_s]; None where it was not read.

    Parameters
    ----------
    time_s, y : (n,) float64
        NaN allowed.
    start_s, end_s : float
        The edges of the defrost. [s]
    turns, ends : bool
        Whether the circuit turns at the start, and whether `y` breaks off at the end.
    """
    inside = (time_s >= start_s) & (time_s < end_s) & np.isfinite(y)
    if not inside.any():
        return None
    t, v = time_s[inside], y[inside]
    scatter = spread(v)
    step_s = float(np.median(np.diff(t))) if len(t) > 1 else 0.0
    if turns and len(v) >= 5:
        # The fall from the pressure of heating is over at the lowest of the smoothed readings.
        smooth = np.convolve(v, np.ones(3) / 3.0, mode="valid")
        # (not looked for in the last tenth: after a trip at the end it falls away as well).
        lowest = int(np.argmin(smooth[: max(2, 9 * len(smooth) // 10)])) + 1
        if len(v) - lowest >= 4:
            t, v = t[lowest:], v[lowest:]
    tries = [top(t, v, scatter)]
    if ends and len(v) >= 4:
        tries.append(carried(t, v, end_s, step_s, scatter))
    return max(tries, key=lambda peak: peak.value)


def spread(v: Floats) -> float:
    """Scatter of single readings about a smooth course, from second differences (robust)."""
    if len(v) < 5:
        return 0.0
    return 1.4826 * float(np.median(np.abs(np.diff(v, 2)))) / math.sqrt(6.0)


def carried(t: Floats, v: Floats, break_s: float, step_s: float, scatter: float) -> Peak:
    """The value at a break, carried there from the last readings before it."""
    # The last reading may already lie behind the break: it then falls out of the course.
    if len(v) >= 4:
        reach = float(v[-2] - v[-3])
        if v[-1] < v[-2] - max(5.0 * scatter, 0.3 + 2.0 * abs(reach)):
            t, v = t[:-1], v[:-1]
    n = min(len(v), max(4, min(12, round(8.0 / max(step_s, 0.1)))))
    tt, vv = t[-n:], v[-n:]
    # The break lies between the last reading and the edge found, at most one step further on.
    at = float(tt[-1]) + 0.5 * min(max(break_s - float(tt[-1]), 0.0), step_s)
    if n < 3:
        return Peak(value=float(vv[-1]), time_s=float(tt[-1]), noise=scatter, step=0.0)
    x = tt - at
    degree = 1 if n < 7 else 2
    line = np.polynomial.polynomial.polyfit(x, vv, degree)
    curve = np.polynomial.polynomial.polyval(x, line)
    if float(np.std(vv - curve)) > 3.0 * scatter + 0.15:
        return Peak(
            value=float(vv[-1]), time_s=float(tt[-1]), noise=scatter, step=abs(float(vv[-1] - vv[-2])) / 2
        )
    slope = float(line[1])
    limit = float(vv.max()) + abs(slope) * step_s + scatter
    return Peak(
        value=min(float(line[0]), limit),
        time_s=at,
        noise=scatter * fit_share(x, degree, 0.0),
        step=abs(slope) * step_s / 2,
    )


def top(t: Floats, v: Floats, scatter: float) -> Peak:
    """The peak inside the record: a parabola about the highest of the smoothed readings."""
    if len(v) < 5 or scatter <= 0.01:
        m = int(np.argmax(v))
        return Peak(value=float(v[m]), time_s=float(t[m]), noise=scatter, step=0.0)
    smooth = np.convolve(v, np.ones(5) / 5.0, mode="valid")
    m = int(np.argmax(smooth)) + 2
    a, b = max(0, m - 4), min(len(v), m + 5)
    tt, vv = t[a:b] - t[m], v[a:b]
    curve = np.polynomial.polynomial.polyfit(tt, vv, 2)
    fitted = np.polynomial.polynomial.polyval(tt, curve)
    if float(np.std(vv - fitted)) > 3.0 * scatter + 0.15:
        return Peak(value=float(smooth[m - 2]), time_s=float(t[m]), noise=scatter / math.sqrt(5.0), step=0.0)
    k = int(np.argmax(fitted))
    noise = scatter * fit_share(tt, 2, float(tt[k]))
    return Peak(value=float(fitted[k]), time_s=float(t[a + k]), noise=noise, step=0.0)


def fit_share(x: Floats, degree: int, at: float) -> float:
    """Standard error of a fitted polynomial at one place, over the scatter of single readings.

    A fit by least squares is linear in the readings: p(at) = w . y with w = a (X^T X)^-1 X^T, X_ij = x_i^j
    and a_j = at^j. Readings of equal, independent scatter s then leave s |w| (JCGM 100:2008, 5.1.2).

    Parameters
    ----------
    x : (n,) float64
        Where the readings lie, n > degree, no two alike.
    degree : int
        Of the polynomial.
    at : float
        Where it is taken, in the unit of `x`.

    Returns
    -------
    float
        |w|; 1/sqrt(n) at the mean of `x` for a straight line. [1]
    """
    powers = np.arange(degree + 1)
    weights = at**powers @ np.linalg.pinv(x[:, None] ** powers)
    return float(np.linalg.norm(weights))
