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

from firstfrost.bench.kernel import kernel
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
        return np.stack(
            [
                pressure,
                ref.dew.density.many(dew_c),
                ref.dew.enthalpy.many(dew_c),
                ref.bubble.density.many(bubble),
                ref.bubble.enthalpy.many(bubble),
                bubble,
            ]
        )

    nodes = low + np.arange(count)
    here = values(nodes)
    slopes = (values(nodes + step) - values(nodes - step)) / (2 * step)
    pieces = [
        Curve.through(np.stack([y, dy], axis=1), low, 1.0).pieces for y, dy in zip(here, slopes, strict=True)
    ]
    flat = np.concatenate(pieces, axis=1).ravel()
    return np.concatenate([[low, float(count - 1)], flat])


@kernel
def saturation_pa(tab, dew_c):  # type: ignore[no-untyped-def]
    """Pressure [Pa] at a dew temperature [degC]."""
    steps = dew_c - tab[0]
    piece = int(min(max(steps, 0.0), tab[1] - 1.0))
    s = steps - piece
    k = 2 + piece * 24
    return tab[k] + s * (tab[k + 1] + s * (tab[k + 2] + s * tab[k + 3]))


@kernel
def node(tab, dew_c, mass, volume):  # type: ignore[no-untyped-def]
    """A vessel with liquid and vapor in equilibrium at one pressure.

    With v_f = 1 / rho_f, the vapor fills V_g = (V - M v_f) / (1 - rho_g v_f), and

        U = M h_f + rho_g V_g (h_g - h_f) - p V

    dew_c, mass, volume : dew temperature [degC], refrigerant [kg], volume [m3]

    Gives p [Pa], middle of bubble and dew [degC], h_f, h_g [J/kg], rho_f, rho_g [kg/m3], liquid mass [kg],
    U [J], dU/dT [J/K] and dU/dM [J/kg] at constant mass and temperature, dh_f/dT [J/kg K].
    """
    steps = dew_c - tab[0]
    piece = int(min(max(steps, 0.0), tab[1] - 1.0))
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
    a = 1.0 / rf
    a1 = -rf1 * a * a
    d = 1.0 - rg * a
    room = volume - mass * a
    vg = room / d
    vg1 = (-mass * a1 * d + room * (rg1 * a + rg * a1)) / (d * d)
    mg = rg * vg
    mg1 = rg1 * vg + rg * vg1
    hfg = hg - hf
    u = mass * hf + mg * hfg - p * volume
    ut = mass * hf1 + mg1 * hfg + mg * (hg1 - hf1) - p1 * volume
    um = hf - rg * a / d * hfg
    return p, 0.5 * (dew_c + bubble), hf, hg, rf, rg, mass - mg, u, ut, um, hf1
