"""The highest condensing saturation of a defrost, freed of the scatter of single readings.

The saturation of a defrost climbs to its end and breaks off there, so the greatest single reading is
biased upwards by noise and, at slow sampling, downwards by the last step. A low-order polynomial over the readings
next to the highest one, on its own side of the break, gives the peak; with little scatter it is the reading itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Peak:
    """The highest value, when, and the standard deviation of single readings about the curve."""

    value: float
    time_s: float
    scatter: float
    step: float
    """How far the value can have moved on within half a sample."""


def highest(time_s: Floats, y: Floats, start_s: float, end_s: float) -> Peak | None:
    """The peak of `y`, (n,), within [start_s, end_s]; None where it was not read."""
    inside = (time_s >= start_s) & (time_s <= end_s) & np.isfinite(y)
    if not inside.any():
        return None
    t, v = time_s[inside], y[inside]
    if len(v) < 5:
        m = int(np.argmax(v))
        step = float(np.max(np.abs(np.diff(v)))) if len(v) > 1 else 0.0
        return Peak(value=float(v[m]), time_s=float(t[m]), scatter=0.0, step=step / 2)
    scatter = 1.4826 * float(np.median(np.abs(np.diff(v, 2)))) / math.sqrt(6.0)
    step_s = float(np.median(np.diff(t)))
    half = max(3, min(12, round(6.0 / step_s)))
    smooth = np.convolve(v, np.ones(3) / 3.0, mode="same") if scatter > 0.05 else v
    smooth[0], smooth[-1] = v[0], v[-1]
    m = int(np.argmax(v if scatter <= 0.05 else np.where(v > smooth, smooth, v)))
    m = int(np.argmax(v[max(0, m - 2) : m + 3])) + max(0, m - 2)
    a, b = max(0, m - 2 * half), min(len(v), m + half + 1)
    # A fall away from the peak that is steeper than anything before is the break, not the climb.
    for i in range(m + 1, b):
        if v[i] < v[m] - max(6.0 * scatter, 1.0):
            b = i
            break
    tt, vv = t[a:b], v[a:b]
    rate = float(np.median(np.abs(np.diff(vv)))) if len(vv) > 1 else 0.0
    if len(vv) < 5 or scatter <= 0.02:
        return Peak(value=float(v[m]), time_s=float(t[m]), scatter=scatter, step=rate / 2)
    x = (tt - tt[-1]) / max(tt[-1] - tt[0], 1e-9)
    coefficients = np.polynomial.polynomial.polyfit(x, vv, 2 if len(vv) >= 7 else 1)
    curve = np.polynomial.polynomial.polyval(x, coefficients)
    residual = float(np.std(vv - curve))
    if residual > 3.0 * scatter + 0.1:
        return Peak(value=float(v[m]) - scatter, time_s=float(t[m]), scatter=scatter, step=rate / 2)
    k = int(np.argmax(curve))
    return Peak(value=float(curve[k]), time_s=float(tt[k]), scatter=scatter, step=rate / 2)
