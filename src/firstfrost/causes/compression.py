"""The discharge temperature of a compression, by the short fits of superheated vapor."""

from __future__ import annotations

from typing import Final

from firstfrost.refrigerants.refrigerant import refrigerant
from firstfrost.refrigerants.vapor import Vapor, vapor

EFFICIENCY: Final = 0.7
"""Isentropic, motor included, of a usual compressor. Common practice, no source."""


def compressed_c(name: str, *, low_c: float, superheat_k: float, high_c: float) -> float:
    """Discharge temperature of a compression with efficiency 0.7 and no heat lost [degC].

    h_2 = h_1 + w_isentropic / 0.7, with h and w as in `firstfrost.refrigerants.vapor`; the superheat at
    h_2 is the positive root of c k = (1 + b k) (h_2 - h_dew).

    Parameters
    ----------
    name : str
        Refrigerant.
    low_c, high_c : float
        Dew temperatures of suction and discharge. [degC]
    superheat_k : float
        Above dew at the suction port; below 0 is taken as 0. [K]
    """
    fluid, gas = refrigerant(name), vapor(name)
    high_c = min(high_c, fluid.highest_temp_c)
    k = max(superheat_k, 0.0)
    p1, p2 = fluid.dew_pressure_pa(low_c), fluid.dew_pressure_pa(high_c)
    rho = fluid.vapor_density(low_c) / (1.0 + (gas.r0 + gas.r1 * low_c) * k + gas.r2 * k * k)
    n = gas.n
    work = n / (n - 1.0) * p1 / rho * ((p2 / p1) ** ((n - 1.0) / n) - 1.0)
    c, b = _heat(gas, low_c)
    entering = fluid.vapor_enthalpy_above(low_c) + c * k / (1.0 + b * k)
    above = entering + work / EFFICIENCY - fluid.vapor_enthalpy_above(high_c)
    c, b = _heat(gas, high_c)
    hot: float = high_c + above / max(c - b * above, 0.2 * c)
    return hot


def _heat(gas: Vapor, dew_c: float) -> tuple[float, float]:
    return gas.c0 + gas.c1 * dew_c + gas.c2 * dew_c * dew_c, gas.b0 + gas.b1 * dew_c
