"""Derived channels of the refrigerant cycle on the trace's own time base."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """Saturation, superheat and subcooling, each (n,) with NaN where it cannot be known.

    In heating and in defrost alike the low side is the suction port and the high side the discharge port,
    or the liquid line where discharge was not read. `high_dew_c` is held against the ceiling.
    """

    low_dew_c: Floats
    """Dew temperature of the suction pressure: evaporating."""
    high_dew_c: Floats
    """Dew temperature of the high-side pressure: condensing, the warm end of the glide."""
    high_bubble_c: Floats
    """Bubble temperature of the high-side pressure: condensing, the cold end of the glide."""
    superheat_k: Floats
    subcooling_k: Floats
    high_pressure_pa: Floats
    high_channel: str | None
    """Which channel gives the high side."""
    outside: int = 0
    """How many pressures lay outside the property tables."""
