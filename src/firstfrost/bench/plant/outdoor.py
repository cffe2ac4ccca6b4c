"""The air side of the outdoor coil: airflow through frost, heat and water to the surface.

Heat and mass analogy (Lewis): a surface at t_s in an air stream of m kg/s dry air takes

    Q = eps m c_p (t_air - t_s)              eps   = 1 - exp(-NTU),  NTU = U A / (m c_p)
    d = eps_m m (w_air - w_sat(t_s))         eps_m = 1 - exp(-NTU / Le^(2/3))

with Le^(2/3) = 0.9 for water in air (value from memory). Between surface and metal lies the frost,
R = thickness / (k A). The surface temperature follows from Q + L d = (t_s - t_metal) / R with w_sat made
linear twice, first about the metal, then about the first answer.

Frost density and conductivity (flat-plate correlations, of the right size on finned coils):

- Hayashi (1977): rho = 650 exp(0.277 t_s) kg/m3 of newly grown frost, t_s surface [degC]. Range (from memory)
  -25 to 0 degC, air 2-6 m/s. Held between 30 and 500 kg/m3.
- Yonko and Sepsy (1967): k = 0.02422 + 7.214e-4 rho + 1.1797e-6 rho^2 W/m K for rho below 570 kg/m3
  (from memory; air 21 degC, 1.3-5.3 m/s, plate -30 to -5 degC).

Airflow: a fan whose pressure falls with the square of its flow, against a coil whose resistance grows as the
inverse cube of the open gap (flow between plates), c the part of the fan's pressure that the clean coil
takes:

    V = n V0 / sqrt(1 - c + c F),   F = (1 - s)^-3,   s = thickness / half gap, levelling off at 0.9

Saturation over ice and water: Magnus form with the coefficients of Alduchov and Eskridge (1996), from memory,
scaled to 611.15 Pa at 0 degC; within 0.2 % of ASHRAE's table from -30 to 20 degC.
"""

from __future__ import annotations

import math

from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.index import (
    P_AIR_OUT_M3S,
    P_AIR_STILL,
    P_AREA_M2,
    P_ATMOSPHERE_PA,
    P_COIL_SHARE,
    P_FOUL_OUT,
    P_HALF_GAP_M,
    P_PAN_KG,
    P_UA_OUT_WK,
)

FUSION = 333.6e3
VAPOR_0 = 2501.0e3
C_ICE = 2100.0
C_WATER = 4190.0
C_VAPOR = 1860.0
"""Heats of water from handbooks (from memory): J/kg and J/kg K, zero for liquid at 0 degC."""
ICE = 917.0
LEWIS = 0.9


@kernel
def positive(x: float, width: float) -> float:
    """Smooth max(x, 0), off by width / 2 at 0 and by width^2 / (4 |x|) far from it."""
    return 0.5 * (x + math.sqrt(x * x + width * width))


@kernel
def saturation(temp_c: float) -> tuple[float, float]:
    """Vapor pressure [Pa] over ice below 0 degC, over water above, and its slope [Pa/K]."""
    if temp_c < 0.0:
        a, b = 22.587, 273.86
    else:
        a, b = 17.625, 243.04
    p = 611.15 * math.exp(a * temp_c / (b + temp_c))
    return p, p * a * b / ((b + temp_c) * (b + temp_c))


@kernel
def humid(temp_c: float, atmosphere_pa: float) -> tuple[float, float]:
    """Saturated humidity ratio [kg/kg] and its slope [1/K]."""
    v, v1 = saturation(temp_c)
    dry = atmosphere_pa - v
    return 0.621945 * v / dry, 0.621945 * atmosphere_pa * v1 / (dry * dry)


@kernel
def frost_conductivity(density: float) -> float:
    """Yonko and Sepsy [W/m K], density [kg/m3]."""
    return 0.02422 + density * (7.214e-4 + 1.1797e-6 * density)


@kernel
def new_frost_density(surface_c: float) -> float:
    """Hayashi [kg/m3] at a frost surface [degC], held to 30...500."""
    return min(max(650.0 * math.exp(0.277 * min(surface_c, 0.0)), 30.0), 500.0)


@kernel
def outdoor_air(
    p: Flat,
    active: float,
    fan: float,
    part_open: float,
    air_c: float,
    humidity: float,
    metal_c: float,
    frost: float,
    thick: float,
    water: float,
    pan: float,
) -> tuple[float, float, float, float, float]:
    """Air side of the outdoor coil.

    p : parameters; active : part of the coil at work; fan : speed; part_open : of the air; air_c [degC],
    humidity [kg/kg]; metal_c [degC]; frost [kg], thick [m], water [kg], pan [kg]

    Gives airflow [m3/s], sensible heat to the coil [W], water to the coil [kg/s, negative leaves],
    frost surface [degC], air leaving [degC]
    """
    area = p[P_AREA_M2]
    raw = (thick + 0.5 * water / (1000.0 * area)) / p[P_HALF_GAP_M]
    gap = 1.0 - 0.9 * (1.0 - math.exp(-raw / 0.9))
    shut = pan / (pan + p[P_PAN_KG])
    gap = gap * (1.0 - p[P_FOUL_OUT]) * (1.0 - 0.5 * shut)
    resist = 1.0 / (gap * gap * gap)
    c = p[P_COIL_SHARE]
    part = (p[P_AIR_STILL] + (1.0 - p[P_AIR_STILL]) * fan) * part_open / math.sqrt(1.0 - c + c * resist)
    airflow = p[P_AIR_OUT_M3S] * part
    mass = airflow * p[P_ATMOSPHERE_PA] / (287.05 * (air_c + 273.15))
    capacity = mass * (1006.0 + C_VAPOR * humidity)
    ntu = p[P_UA_OUT_WK] * (1.0 - 0.7 * shut) * math.sqrt(part) / capacity
    eps = 1.0 - math.exp(-ntu)
    eps_m = 1.0 - math.exp(-ntu / LEWIS)
    density = min(max(frost / (thick * area + 1e-9), 30.0), 500.0)
    resistance = thick / (frost_conductivity(density) * area)
    heat = active * eps * capacity
    w0, w1 = humid(metal_c, p[P_ATMOSPHERE_PA])
    moving = active * eps_m * mass
    if humidity < w0:
        held = frost + water
        moving = moving * max(held, 0.0) / (max(held, 0.0) + 0.02)
    latent = VAPOR_0 + FUSION if metal_c < 0.0 else VAPOR_0
    top = latent * moving
    surface = (metal_c + resistance * (heat * air_c + top * (humidity - w0 + w1 * metal_c))) / (
        1.0 + resistance * (heat + top * w1)
    )
    w2, w3 = humid(surface, p[P_ATMOSPHERE_PA])
    again = (metal_c + resistance * (heat * air_c + top * (humidity - w2 + w3 * surface))) / (
        1.0 + resistance * (heat + top * w3)
    )
    deposit = moving * (humidity - w2 - w3 * (again - surface))
    sensible = heat * (air_c - again)
    return airflow, sensible, deposit, again, air_c - sensible / capacity
