"""Saturation for the made machines: splines through CoolProp's own points, made once per refrigerant.

Kept apart from the package's tables on purpose: a fault in those must not hide in these.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FLUIDS = {
    "R-410A": "R410A",
    "R-32": "R32",
    "R-22": "R22",
    "R-454B": "R454B.mix",
    "R-134a": "R134a",
    "R-407C": "R407C",
    "R-404A": "R404A",
    "R-290": "R290",
}
_HIGHEST_C = {"R-454B": 62.0, "R-404A": 66.0}


@cache
def _splines(refrigerant: str) -> tuple[Any, Any]:
    from CoolProp.CoolProp import PropsSI
    from scipy.interpolate import CubicSpline

    temps = np.arange(-60.0, _HIGHEST_C.get(refrigerant, 68.0) + 0.5, 2.0)
    fluid = FLUIDS[refrigerant]
    log_p = np.log([PropsSI("P", "T", t + 273.15, "Q", 1, fluid) for t in temps])
    return CubicSpline(temps, log_p, bc_type="natural"), CubicSpline(log_p, temps, bc_type="natural")


def dew_pressure_pa(refrigerant: str, temp_c: Floats) -> Floats:
    """Dew pressure [Pa] at `temp_c` [degC]; above the table the curve goes on with its own last cubic."""
    return np.asarray(np.exp(_splines(refrigerant)[0](temp_c)), dtype=np.float64)


def dew_temp_c(refrigerant: str, pressure_pa: Floats) -> Floats:
    """Dew temperature [degC] at `pressure_pa` [Pa]."""
    return np.asarray(_splines(refrigerant)[1](np.log(pressure_pa)), dtype=np.float64)
