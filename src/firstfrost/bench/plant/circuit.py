"""Compressor, metering and superheat: short formulas the right-hand side is put together from."""

from __future__ import annotations

import math

from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.index import (
    P_COMP_LEAK,
    P_DISPLACEMENT_M3,
    P_IDLE_W,
    P_ISEN_EFF,
    P_ISEN_RATIO,
    P_ISEN_SLOPE,
    P_MAP_FLOW,
    P_MAP_ON,
    P_MAP_POWER,
    P_MAP_SUPERHEAT_K,
    P_SPEED_HZ,
    P_VAPOR,
    P_VOL_EFF,
    P_VOL_SLOPE,
)
from firstfrost.bench.plant.saturation import superheat_heat


@kernel
def heat_of_superheat(p: Flat, dew_c: float, superheat: float) -> float:
    """Enthalpy [J/kg] above dew at a superheat [K]."""
    e, _over_k, _over_t = superheat_heat(p, dew_c, superheat)
    return e


@kernel
def superheat_of(p: Flat, dew_c: float, excess: float) -> float:
    """Superheat [K] of vapor with an enthalpy [J/kg] above dew; the inverse of `heat_of_superheat`.

    From a superheat of 1 / b (190 K on R-410A at 45 degC) it goes straight on, so that hot gas stays finite.
    """
    c = p[P_VAPOR] + dew_c * (p[P_VAPOR + 1] + dew_c * p[P_VAPOR + 2])
    b = p[P_VAPOR + 3] + dew_c * p[P_VAPOR + 4]
    be = b * excess
    if be > 0.5 * c:
        return 1.0 / b + (excess - 0.5 * c / b) / (0.25 * c)
    return excess / (c - be)


@kernel
def ten(p: Flat, at: int, e: float, c: float) -> float:
    """Ten-coefficient polynomial of AHRI 540's form over dew temperatures e and c [degC]."""
    return (
        p[at]
        + p[at + 1] * e
        + p[at + 2] * c
        + p[at + 3] * e * e
        + p[at + 4] * e * c
        + p[at + 5] * c * c
        + p[at + 6] * e * e * e
        + p[at + 7] * c * e * e
        + p[at + 8] * e * c * c
        + p[at + 9] * c * c * c
    )


@kernel
def compressor(
    p: Flat,
    speed: float,
    p_in: float,
    p_out: float,
    dew_in: float,
    dew_out: float,
    rho: float,
    rho_dew: float,
) -> tuple[float, float]:
    """Mass flow [kg/s] and electric power [W] of the compressor.

        flow  = eta_v rho V n,        eta_v = e0 - e1 (r - 1) - leak (r - 1),   r = p_out / p_in
        power = flow0 w_s / eta_i + idle,   eta_i = e_i / (1 + s (q - 1)^2 / q), q = r / r_best

    flow0 is the flow without the leak, because leaked gas has been paid for. Below r = 1 (just after the
    valve has shifted) r is held at 1.02. With `map_on` both come from ten-coefficient maps (AHRI 540 form)
    over dew temperatures held to -30...15 and 20...65 degC, the flow corrected for suction density.
    """
    if speed < 1e-6:
        return 0.0, 0.0
    ratio = max(p_out / p_in, 1.02)
    leak = p[P_COMP_LEAK] * (ratio - 1.0)
    if p[P_MAP_ON] > 0.5:
        e, c = min(max(dew_in, -30.0), 15.0), min(max(dew_out, 20.0), 65.0)
        rated = rho_dew / (1.0 + p[P_MAP_SUPERHEAT_K] * (p[P_VAPOR + 5] + p[P_VAPOR + 6] * dew_in))
        flow = ten(p, P_MAP_FLOW, e, c) * speed * rho / rated
        power = ten(p, P_MAP_POWER, e, c) * speed
        return flow * max(1.0 - leak, 0.05), power
    swept = rho * p[P_DISPLACEMENT_M3] * p[P_SPEED_HZ] * speed
    eta_v = p[P_VOL_EFF] - p[P_VOL_SLOPE] * (ratio - 1.0)
    n = p[P_VAPOR + 8]
    log_ratio = math.log(ratio)
    work = n / (n - 1.0) * p_in / rho * (math.exp((n - 1.0) / n * log_ratio) - 1.0)
    part = ratio / p[P_ISEN_RATIO]
    eta_i = p[P_ISEN_EFF] / (1.0 + p[P_ISEN_SLOPE] * (part - 1.0) * (part - 1.0) / part)
    flow0 = swept * max(eta_v, 0.05)
    return swept * max(eta_v - leak, 0.05), flow0 * work / eta_i + p[P_IDLE_W] * speed


@kernel
def through(area_m2: float, rho: float, dp: float) -> float:
    """Flow [kg/s] through an opening, A sqrt(rho) dp / sqrt(|dp| + 20 kPa): sqrt(rho dp) but smooth at 0."""
    return area_m2 * math.sqrt(rho) * dp / math.sqrt(abs(dp) + 2.0e4)


@kernel
def opening(fixed: float, bleed: float, bulb_c: float, dew_c: float, static: float, span: float) -> float:
    """Opening (0 to 1) of a metering device: held, or by a bulb over dew temperature."""
    if fixed >= 0.0:
        return fixed
    z = (bulb_c - dew_c - static) / span
    # A smooth ramp from 0 to 1 about z = 1/2.
    return bleed + (1.0 - bleed) / (1.0 + math.exp(-5.0 * (z - 0.5)))
