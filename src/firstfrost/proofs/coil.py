"""The melting plateau, and what comes before and after it.

Ice melts at 0 degC, so a frosted coil that is heated stays near 0 degC while its frost melts, and climbs
once it is gone. Without frost it climbs straight through. The stay is measured as the longest time in any
band of `BAND_K` between -3 and +4 degC (a probe on the pipe reads a little off the ice) and held against the
time that the same band takes at the pace of the climb before it, or after it, whichever is faster.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.proofs.context import Context, pick

Floats = NDArray[np.float64]

BAND_K: Final = 2.0
LOWEST_C: Final = -3.0
HIGHEST_C: Final = 4.0
STAY_S: Final = 25.0
RATIO_SURE: Final = 3.0
RATIO_MAYBE: Final = 2.0
CLEAR_C: Final = 8.0
"""A coil above this has left the ice behind, wherever the probe sits; common practice, no source."""
LEFT_C: Final = 2.0
"""A coil below this at the end is still at the melting point; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Melt:
    """What the coil did in one defrost."""

    stay_s: float
    """Longest stay in the band [s]."""
    ratio: float
    """That stay over the time the later climb takes for the same band; inf if it never left."""
    top_c: float
    """The warmest the coil got."""
    start_c: float
    frost: bool | None
    """Frost was melting: yes, no, or not to be told."""


def melt(context: Context, start_s: float, end_s: float) -> Melt | None:
    """Read the melting of one defrost over [start_s, end_s); None where the coil was not read."""
    t, v = pick(
        context.trace.time_s, context.trace.get("outdoor_coil_temp"), start_s, end_s + 2 * context.step_s
    )
    if len(v) < 4 or t[-1] - t[0] < 0.5 * (end_s - start_s):
        return None
    width = max(1, min(len(v) // 8, round(5.0 / max(context.step_s, 0.1))))
    smooth = np.convolve(
        np.pad(v, (width // 2, width - 1 - width // 2), mode="edge"), np.ones(width) / width, "valid"
    )
    top = float(smooth.max())
    best, at = 0.0, LOWEST_C
    steps = np.diff(t, append=t[-1])
    for low in np.arange(LOWEST_C, HIGHEST_C - BAND_K + 0.01, 0.25):
        inside = (smooth >= low) & (smooth < low + BAND_K)
        stay = float(steps[inside].sum())
        if stay > best:
            best, at = stay, float(low)
    above = smooth >= at + BAND_K
    if top < at + BAND_K + 1.0:
        ratio = math.inf if best >= STAY_S else math.nan
    else:
        leave = int(np.flatnonzero(above)[0])
        reach = min(top, at + BAND_K + 6.0)
        there = int(np.flatnonzero(smooth >= reach - 1e-9)[0])
        pace = (smooth[there] - smooth[leave]) / max(t[there] - t[leave], context.step_s)
        enter = int(np.flatnonzero(smooth >= at)[0])
        if enter > 1 and smooth[enter] - smooth[0] > BAND_K:
            # Half of the way up to the band at most, to leave out the slow first seconds after the turn.
            half = int(np.flatnonzero(smooth >= 0.5 * (smooth[0] + smooth[enter]))[0])
            rise = (smooth[enter] - smooth[half]) / max(t[enter] - t[half], context.step_s)
            pace = max(pace, float(rise))
        ratio = float(best * pace / BAND_K)
    frost: bool | None
    if top < LOWEST_C:
        frost = None
    elif float(smooth[0]) > 0.5:
        frost = False  # the coil was above freezing when the defrost began
    elif best >= max(STAY_S, 4.0 * context.step_s) and ratio >= RATIO_SURE:
        frost = True
    elif ratio < RATIO_MAYBE or best < 0.5 * STAY_S:
        frost = False
    else:
        frost = None
    return Melt(stay_s=best, ratio=ratio, top_c=top, start_c=float(smooth[0]), frost=frost)
