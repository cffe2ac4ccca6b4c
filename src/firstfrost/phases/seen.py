"""Questions to the samples themselves about the circuit, between two times.

The fold's modes answer most of what is asked; these are for where it had no time to, or was not sure.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.phases import fold
from firstfrost.phases.board import QUIET_S
from firstfrost.phases.events import Events

Floats = NDArray[np.float64]

WARMER_K: Final = 5.0
"""No coil that takes heat from the outdoor air is warmer than that air; this is more than two probes err."""


def below_the_room(samples: Floats, start_s: float, end_s: float) -> bool:
    """Tell whether the high side stays too cold between two times to heat a room."""
    t = samples[:, fold.T]
    inside = (t >= start_s) & (t <= end_s)
    high, room = samples[inside, fold.HIGH], samples[inside, fold.RETURN]
    if not np.isfinite(high).any():
        return False
    room_c = float(np.nanmedian(room)) if np.isfinite(room).any() else fold.ROOM_C
    return float(np.nanmedian(high)) < room_c + 6.0


def runs(samples: Floats, events: Events, start_s: float, end_s: float) -> bool:
    """Tell whether the compressor is seen to run: by its current, the power, the fan or the lift."""
    if events.first[fold.SW_COMPRESSOR] is not None:
        return events.state_at(fold.SW_COMPRESSOR, start_s) is True
    t = samples[:, fold.T]
    inside = (t >= start_s) & (t <= end_s)
    power = samples[inside, fold.POWER]
    power = power[np.isfinite(power)]
    if len(power):
        everything = samples[:, fold.POWER]
        return float(np.median(power)) > 0.15 * float(np.nanquantile(everything, 0.9))
    if events.first[fold.SW_FAN] is not None:
        return events.state_at(fold.SW_FAN, start_s) is True
    lift = samples[inside, fold.HIGH] - samples[inside, fold.LOW]
    lift = lift[np.isfinite(lift)]
    if len(lift) >= 4:
        k = max(1, len(lift) // 3)
        return float(np.median(lift)) > 12.0 and float(lift[-k:].mean()) > float(lift[:k].mean()) - 3.0
    return True


def fell(samples: Floats, start_s: float, end_s: float) -> bool | None:
    """Tell whether the high side fell away and the low side rose between two times, as at a turn."""
    t = samples[:, fold.T]
    was, now = (t >= start_s - 60.0) & (t < start_s), (t >= start_s) & (t <= end_s)
    if not was.any() or not now.any():
        return False
    high = np.nanmedian(samples[was, fold.HIGH]) if np.isfinite(samples[was, fold.HIGH]).any() else np.nan
    low = np.nanmedian(samples[was, fold.LOW]) if np.isfinite(samples[was, fold.LOW]).any() else np.nan
    if not (np.isfinite(high) and np.isfinite(low) and np.isfinite(samples[now, fold.HIGH]).any()):
        return False
    fall = float(high - np.nanmin(samples[now, fold.HIGH]))
    rise = float(np.nanmax(samples[now, fold.LOW]) - low)
    room = samples[was, fold.RETURN]
    room_c = float(np.nanmedian(room)) if np.isfinite(room).any() else fold.ROOM_C
    late = now & (t > start_s + 0.6 * (end_s - start_s))
    if (
        not np.isfinite(samples[late, fold.LOW]).any()
        or float(np.nanmedian(samples[late, fold.LOW])) < low + 3.0
    ):
        return False  # the low side has gone back: a compressor held off, no turn
    if fall > 8.0 and rise > 8.0:
        return True
    cold = float(np.nanmin(samples[now, fold.HIGH])) < room_c + 6.0
    return end_s - start_s < QUIET_S and fall > 8.0 and rise > 3.0 and cold


def warmed(samples: Floats, start_s: float, end_s: float) -> bool:
    """Tell whether the outdoor coil was heated between two times: it rose, and well past the outdoor air."""
    t = samples[:, fold.T]
    split = samples[:, fold.COIL] - samples[:, fold.OUT]
    good = np.isfinite(split)
    first = split[good & (t >= start_s) & (t <= start_s + 0.2 * (end_s - start_s))]
    last = split[good & (t >= end_s - 0.2 * (end_s - start_s)) & (t <= end_s)]
    if len(first) < 2 or len(last) < 2:
        return False
    return float(np.median(last)) > WARMER_K and float(np.median(last) - np.median(first)) > WARMER_K
