"""Saturation, superheat and subcooling of a whole trace.

Superheat = T_suction_line - T_dew(p_suction); subcooling = T_bubble(p_liquid) - T_liquid_line [K], the
trade's and the handbooks' definitions. Dew and bubble differ by the glide of a blend.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from firstfrost.cycle.channels import Cycle
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]


def high_side(trace: Trace) -> str | None:
    """Name the channel of the high side: discharge, else the liquid line, else None."""
    readings = {
        name: int(np.isfinite(trace.get(name)).sum()) for name in ("discharge_pressure", "liquid_pressure")
    }
    best = max(readings, key=lambda name: readings[name])
    if readings[best] == 0:
        return None
    return "discharge_pressure" if 2 * readings["discharge_pressure"] >= readings[best] else best


def derive(trace: Trace, refrigerant_name: str) -> Cycle:
    """Work out the cycle of each sample.

    Parameters
    ----------
    trace : Trace
        With absolute pressures [Pa] and temperatures [degC].
    refrigerant_name : str
        As `firstfrost.refrigerants.refrigerant` takes it.

    Returns
    -------
    Cycle
        Arrays (n,), NaN where a reading is missing or outside the property tables; `outside` counts the
        latter.
    """
    fluid = refrigerant(refrigerant_name)
    channel = high_side(trace)
    low = trace.get("suction_pressure")
    high = trace.get(channel) if channel else trace.get("discharge_pressure")
    liquid = trace.get("liquid_pressure") if trace.has("liquid_pressure") else high
    low_dew = fluid.dew_temps_c(low)
    high_dew = fluid.dew_temps_c(high)
    high_bubble = fluid.bubble_temps_c(high)
    liquid_bubble = high_bubble if liquid is high else fluid.bubble_temps_c(liquid)
    outside = int((np.isfinite(low) & ~np.isfinite(low_dew)).sum())
    outside += int((np.isfinite(high) & ~np.isfinite(high_dew)).sum())
    return Cycle(
        low_dew_c=low_dew,
        high_dew_c=high_dew,
        high_bubble_c=high_bubble,
        superheat_k=trace.get("suction_line_temp") - low_dew,
        subcooling_k=liquid_bubble - trace.get("liquid_line_temp"),
        high_pressure_pa=high,
        high_channel=channel,
        outside=outside,
    )
