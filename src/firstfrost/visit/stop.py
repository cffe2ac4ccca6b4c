"""When a forced defrost must be stopped: before condensing saturation meets its limit.

While the circuit is turned, the dew temperature `T` of the high side climbs towards the stop limit. Over the
last `WINDOW_S` its rate is the slope of the straight line that fits best (least squares),

    r = sum (t - mean t)(T - mean T) / sum (t - mean t)^2        [K/s]

and the limit is met after

    s = (T_limit - T) / r    for r > 0                           [s]

which holds as long as the climb stays what it is; a climb that bends upwards comes sooner, so the warning is
early: `LEAD_S` before the limit, or `NEAR_K` below it, whichever is first. That times and distances of this
size suit a person at the unit is common practice, no source.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from firstfrost.equipment.stop import StopLimit

WINDOW_S: Final = 10.0
"""The rate is taken over the readings of so long, and over three of them at least."""
LEAD_S: Final = 30.0
"""Warn so long before the limit, or three samples before it where these come more slowly."""
NEAR_K: Final = 3.0
"""Warn so far below the limit, however slow the climb: more than a one-percent gauge can be wrong there."""
BLIND_S: Final = 15.0
"""Without a high-side reading for so long, the warning is off and says so."""


@dataclass(frozen=True, kw_only=True)
class Danger:
    """How near the stop limit is."""

    time_s: float
    seconds_left: float
    """At the present rate; infinite where it does not climb, 0 at or above the limit."""
    below_k: float
    """Negative above the limit."""
    rate_k_s: float
    temp_c: float
    pressure_pa: float
    """The high side now, absolute."""


def slope(time_s: Sequence[float], values: Sequence[float]) -> float:
    """The slope of the least-squares line through (n,) points, per second; 0 for fewer than two times."""
    n = len(time_s)
    if n < 2:
        return 0.0
    middle_t, middle_v = math.fsum(time_s) / n, math.fsum(values) / n
    spread = math.fsum((t - middle_t) ** 2 for t in time_s)
    if spread <= 0.0:
        return 0.0
    return math.fsum((t - middle_t) * (v - middle_v) for t, v in zip(time_s, values, strict=True)) / spread


def seconds_left(now: float, limit: float, rate: float) -> float:
    """Time until `now` meets `limit` at `rate` a second: 0 if it has, infinite if it never will, in s."""
    if now >= limit:
        return 0.0
    return (limit - now) / rate if rate > 0.0 else math.inf


class StopWatch:
    """Watches the high side of a turned circuit, sample by sample."""

    def __init__(self, limit: StopLimit) -> None:
        self.limit = limit
        self._recent: deque[tuple[float, float]] = deque()
        self._turned_s = math.nan
        self._last_s = math.nan
        self._step_s = math.nan

    def push(self, time_s: float, temp_c: float, pressure_pa: float, *, turned: bool) -> Danger | None:
        """Take one sample; return how near the limit is, or None while nothing is to be warned of.

        Parameters
        ----------
        time_s : float
            Rising. [s]
        temp_c : float
            Dew temperature of the high side; NaN where it was not read or lies outside the tables.
        pressure_pa : float
            The high side, absolute; NaN where it was not read.
        turned : bool
            Whether the circuit is turned, in a defrost or in cooling.
        """
        read = pressure_pa == pressure_pa
        if read:
            if time_s > self._last_s:
                step, known = time_s - self._last_s, self._step_s == self._step_s
                self._step_s = self._step_s + 0.2 * (step - self._step_s) if known else step
            self._last_s = time_s
        if not turned:
            self._recent.clear()
            self._turned_s = math.nan
            return None
        if self._turned_s != self._turned_s:
            self._turned_s = time_s
        if not read:
            return None
        over = pressure_pa >= self.limit.pressure_pa
        if temp_c != temp_c:
            # Outside the tables: only that it lies above the limit can be told.
            if not over:
                return None
            temp_c = self.limit.temp_c
        self._recent.append((time_s, temp_c))
        while len(self._recent) > 3 and self._recent[0][0] < time_s - WINDOW_S:
            self._recent.popleft()
        rate = slope([t for t, _ in self._recent], [v for _, v in self._recent])
        left = 0.0 if over else seconds_left(temp_c, self.limit.temp_c, rate)
        below = self.limit.temp_c - temp_c
        lead = max(LEAD_S, 3.0 * self._step_s) if self._step_s == self._step_s else LEAD_S
        if left >= lead and below >= NEAR_K:
            return None
        return Danger(
            time_s=time_s,
            seconds_left=left,
            below_k=below,
            rate_k_s=rate,
            temp_c=temp_c,
            pressure_pa=pressure_pa,
        )

    def blind(self, time_s: float) -> bool:
        """Tell whether the circuit is turned and the high side has not been read for `BLIND_S`."""
        if self._turned_s != self._turned_s:
            return False
        seen = self._last_s if self._last_s == self._last_s else self._turned_s
        return time_s - max(seen, self._turned_s) >= BLIND_S
