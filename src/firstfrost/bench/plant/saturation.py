"""Saturation along the dew line on one uniform grid, for the kernels.

All six curves are taken at one pressure, found from the dew temperature t [degC]: pressure, density and
enthalpy of the saturated vapor, density and enthalpy of the saturated liquid, bubble temperature. Between
nodes 1 K apart each is a cubic Hermite piece (`refrigerants.curves`), so that value and slope agree, which is
what makes the energy of a coil close: dU/dt uses the slopes of the very curves that U uses. Beyond the ends
the last piece goes on.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.index import P_VAPOR
from firstfrost.refrigerants.curves import Curve, Floats
from firstfrost.refrigerants.refrigerant import refrigerant

WIDTH = 24
"""Numbers of a piece: four coefficients of p, rho_g, h_g, rho_f, h_f, t_bubble."""


@cache
def table(name: str) -> Floats:
    """Flat table of a refrigerant: start [degC], pieces, then `WIDTH` numbers of each piece."""
    ref = refrigerant(name)
    low, high = ref.lowest_temp_c + 0.5, ref.highest_temp_c - 0.5
    count = int(high - low) + 1
    step = 1e-3

    def values(dew_c: Floats) -> Floats:
        pressure = ref.dew.pressure.many(dew_c)
        bubble = ref.bubble.temp.many(np.sqrt(pressure))
        found: Floats = np.stack(
            [
                pressure,
                ref.dew.density.many(dew_c),
                ref.dew.enthalpy.many(dew_c),
                ref.bubble.density.many(bubble),
                ref.bubble.enthalpy.many(bubble),
                bubble,
            ]
        )
        return found

    nodes: Floats = np.asarray(low + np.arange(count), dtype=np.float64)
    here = values(nodes)
    slopes = (values(nodes + step) - values(nodes - step)) / (2 * step)
    pieces = [
        Curve.through(np.stack([y, dy], axis=1), low, 1.0).pieces for y, dy in zip(here, slopes, strict=True)
    ]
    flat = np.concatenate(pieces, axis=1).ravel()
    return np.concatenate([[low, float(count - 1)], flat])


@kernel
def saturation_pa(tab: Flat, dew_c: float) -> float:
    """Pressure [Pa] at a dew temperature [degC]."""
    steps = dew_c - tab[0]
    piece = 0
    if steps > 0.0:  # not so for NaN, which must not become an index
        piece = int(min(steps, tab[1] - 1.0))
    s = steps - piece
    k = 2 + piece * 24
    return tab[k] + s * (tab[k + 1] + s * (tab[k + 2] + s * tab[k + 3]))


@kernel
def node(tab: Flat, p_: Flat, dew_c: float, mass: float, volume: float) -> tuple[float, ...]:
    """A vessel of refrigerant at one pressure: liquid and vapor in equilibrium, or vapor alone.

    With liquid (M above rho_g V), v_f = 1 / rho_f, the vapor fills V_g = (V - M v_f) / (1 - rho_g v_f), and

        U = M h_f + rho_g V_g (h_g - h_f) - p V

    Without, the vapor is superheated by k, from rho_g V / M = 1 + r k (`vapor`, square term taken at 15 K):

        U = M (h_g + e(k)) - p V

    The two agree at M = rho_g V.

    tab : `table`; p_ : parameters; dew_c : dew temperature [degC]; mass [kg]; volume [m3]

    Gives p [Pa], middle of bubble and dew [degC], h_f, h_g [J/kg], rho_f, rho_g [kg/m3], liquid mass [kg],
    U [J], dU/dT [J/K] and dU/dM [J/kg] at constant mass and temperature, dh_f/dT [J/kg K], superheat k of
    what fills the vessel [K], its enthalpy above dew e(k) [J/kg].
    """
    steps = dew_c - tab[0]
    piece = 0
    if steps > 0.0:  # not so for NaN, which must not become an index
        piece = int(min(steps, tab[1] - 1.0))
    s = steps - piece
    k = 2 + piece * 24
    p = tab[k] + s * (tab[k + 1] + s * (tab[k + 2] + s * tab[k + 3]))
    p1 = tab[k + 1] + s * (2.0 * tab[k + 2] + s * 3.0 * tab[k + 3])
    rg = tab[k + 4] + s * (tab[k + 5] + s * (tab[k + 6] + s * tab[k + 7]))
    rg1 = tab[k + 5] + s * (2.0 * tab[k + 6] + s * 3.0 * tab[k + 7])
    hg = tab[k + 8] + s * (tab[k + 9] + s * (tab[k + 10] + s * tab[k + 11]))
    hg1 = tab[k + 9] + s * (2.0 * tab[k + 10] + s * 3.0 * tab[k + 11])
    rf = tab[k + 12] + s * (tab[k + 13] + s * (tab[k + 14] + s * tab[k + 15]))
    rf1 = tab[k + 13] + s * (2.0 * tab[k + 14] + s * 3.0 * tab[k + 15])
    hf = tab[k + 16] + s * (tab[k + 17] + s * (tab[k + 18] + s * tab[k + 19]))
    hf1 = tab[k + 17] + s * (2.0 * tab[k + 18] + s * 3.0 * tab[k + 19])
    bubble = tab[k + 20] + s * (tab[k + 21] + s * (tab[k + 22] + s * tab[k + 23]))
    middle = 0.5 * (dew_c + bubble)
    hfg = hg - hf
    if mass > rg * volume:
        a = 1.0 / rf
        a1 = -rf1 * a * a
        d = 1.0 - rg * a
        room = volume - mass * a
        vg = room / d
        vg1 = (-mass * a1 * d + room * (rg1 * a + rg * a1)) / (d * d)
        mg = rg * vg
        mg1 = rg1 * vg + rg * vg1
        u = mass * hf + mg * hfg - p * volume
        ut = mass * hf1 + mg1 * hfg + mg * (hg1 - hf1) - p1 * volume
        um = hf - rg * a / d * hfg
        return p, middle, hf, hg, rf, rg, mass - mg, u, ut, um, hf1, 0.0, 0.0
    r = p_[P_VAPOR + 5] + p_[P_VAPOR + 6] * dew_c + 15.0 * p_[P_VAPOR + 7]
    r1 = p_[P_VAPOR + 6]
    ratio = rg * volume / mass
    over = (ratio - 1.0) / r
    over_t = rg1 * volume / mass / r - over * r1 / r
    over_m = -ratio / (mass * r)
    e, e_k, e_t = superheat_heat(p_, dew_c, over)
    u = mass * (hg + e) - p * volume
    ut = mass * (hg1 + e_t + e_k * over_t) - p1 * volume
    um = hg + e + mass * e_k * over_m
    return p, middle, hf, hg, rf, rg, 0.0, u, ut, um, hf1, over, e


@kernel
def superheat_heat(p_: Flat, dew_c: float, k: float) -> tuple[float, float, float]:
    """Enthalpy [J/kg] of vapor above dew at superheat k [K], its slopes over k and dew [J/kg K].

    `vapor`'s c k / (1 + b k); from k = 1 / b (190 K on R-410A at 45 degC) straight on with the slope there,
    so that very hot gas stays finite.
    """
    c = p_[P_VAPOR] + dew_c * (p_[P_VAPOR + 1] + dew_c * p_[P_VAPOR + 2])
    c1 = p_[P_VAPOR + 1] + 2.0 * dew_c * p_[P_VAPOR + 2]
    b = p_[P_VAPOR + 3] + dew_c * p_[P_VAPOR + 4]
    b1 = p_[P_VAPOR + 4]
    if b * k > 1.0:
        part = 0.25 / b + 0.25 * k
        return c * part, 0.25 * c, c1 * part - 0.25 * c * b1 / (b * b)
    d = 1.0 / (1.0 + b * k)
    return c * k * d, c * d * d, k * d * (c1 - c * k * b1 * d)
