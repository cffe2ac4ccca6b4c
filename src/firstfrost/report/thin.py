"""Fewer points for a plot, with every peak kept."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def thin(time_s: Floats, values: Floats, bins: int) -> tuple[Floats, Floats]:
    """Keep, of each of `bins` equal spans of time, the first, lowest, highest and last reading.

    Parameters
    ----------
    time_s, values : (n,) float64
        Rising times [s] and readings in any unit, NaN where missing.
    bins : int
        How many spans; a plot needs about one for each dot it can print.

    Returns
    -------
    time_s, values : (m,) float64
        In the same order, m at most 4 * bins; NaN where a span begins or ends with a missing reading, or
        holds nothing else. A record of at most 4 * bins readings comes back whole.
    """
    n = len(time_s)
    if n <= 4 * bins:
        return time_s, values
    edges = np.linspace(time_s[0], time_s[-1], bins + 1)[1:-1]
    cuts = np.concatenate([[0], np.searchsorted(time_s, edges), [n]])
    keep: list[int] = []
    for start, end in pairwise(cuts.tolist()):
        if start == end:
            continue
        part = values[start:end]
        picks = {start, end - 1}
        if np.isfinite(part).any():
            picks |= {int(start + np.nanargmin(part)), int(start + np.nanargmax(part))}
        keep += sorted(picks)
    return time_s[keep], values[keep]


def break_at_gaps(time_s: Floats, values: Floats, step_s: float) -> tuple[Floats, Floats]:
    """Put a NaN where two readings lie more than `step_s` apart in time, so that no line crosses it."""
    wide = np.flatnonzero(np.diff(time_s) > step_s)
    if not len(wide):
        return time_s, values
    middle = (time_s[wide] + time_s[wide + 1]) / 2
    return np.insert(time_s, wide + 1, middle), np.insert(values, wide + 1, np.nan)
