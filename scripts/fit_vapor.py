"""Fit the rows of superheated vapor (`refrigerants/vapor.py`) to CoolProp, and print them with their errors.

Run `python scripts/fit_vapor.py` and put the printed rows into the module; a test holds them to the errors.
"""

from __future__ import annotations

import CoolProp.CoolProp as CP
import numpy as np

from firstfrost.refrigerants.refrigerant import refrigerant
from firstfrost.refrigerants.rows import ROWS

GRID_C = np.arange(-35.0, 56.0, 5.0)


def superheated(fluid: str, name: str) -> np.ndarray:
    """Points (n, 5): dew [degC], superheat [K], enthalpy above dew [J/kg], dew/real density, entropy."""
    state = CP.AbstractState("HEOS", fluid)
    state.specify_phase(CP.iphase_gas)
    points = []
    ref = refrigerant(name)
    for dew in GRID_C:
        pressure = ref.dew_pressure_pa(dew)
        base = None
        steps = np.arange(0.0, 61.0, 5.0) if dew > 10 else np.arange(0.0, 31.0, 3.0)
        for k in steps:
            state.update(CP.PT_INPUTS, pressure, dew + 273.15 + max(k, 0.02))
            here = state.hmass(), state.rhomass(), state.smass()
            base = base or here
            points.append((dew, k, here[0] - base[0], base[1] / here[1], here[2]))
    return np.array(points)


def works(fluid: str, name: str) -> np.ndarray:
    """Isentropic compressions (n, 5): dew in, dew out [degC], superheat in [K], work [J/kg], p/rho in."""
    state = CP.AbstractState("HEOS", fluid)
    state.specify_phase(CP.iphase_gas)
    ref = refrigerant(name)
    found = []
    for low in (-25.0, -15.0, -5.0, 5.0):
        for high in (25.0, 35.0, 45.0, 55.0):
            for superheat in (5.0, 15.0):
                p1, p2 = ref.dew_pressure_pa(low), ref.dew_pressure_pa(high)
                state.update(CP.PT_INPUTS, p1, low + 273.15 + superheat)
                h1, s1, rho1 = state.hmass(), state.smass(), state.rhomass()
                a, b = high + 273.17, high + 273.15 + 90.0
                for _ in range(40):
                    mid = 0.5 * (a + b)
                    state.update(CP.PT_INPUTS, p2, mid)
                    a, b = (mid, b) if state.smass() < s1 else (a, mid)
                found.append((p2 / p1, p1 / rho1, state.hmass() - h1, low, high))
    return np.array(found)


def work(ratio: np.ndarray, p_over_rho: np.ndarray, k: np.ndarray | float) -> np.ndarray:
    """Isentropic work of a gas with exponent k."""
    return k / (k - 1) * p_over_rho * (ratio ** ((k - 1) / k) - 1)


def main() -> None:
    """Print the rows."""
    for row in ROWS:
        at = superheated(row.coolprop, row.name)
        dew, k, h, thin = at[:, 0], at[:, 1], at[:, 2], at[:, 3]
        some = k > 0
        # h = c k / (1 + b k)  <=>  k / h = 1/c + (b/c) k; c and b polynomials in dew, by Gauss-Newton.
        x = np.array([1000.0, 5.0, 0.05, 0.002, 0.0])

        def heat(x, dew=dew, k=k):
            c = x[0] + dew * (x[1] + dew * (x[2]))
            b = x[3] + dew * x[4]
            return c * k / (1 + b * k)

        for _ in range(30):
            jac = np.stack([(heat(x + d) - heat(x)) / d.sum() for d in np.diag(np.abs(x) * 1e-5 + 1e-8)], 1)
            x = x + np.linalg.lstsq(jac, h - heat(x), rcond=None)[0]
        low = some & (dew <= 15)
        basis = np.stack([k[low], k[low] * dew[low], k[low] ** 2], 1)
        r = np.linalg.lstsq(basis, thin[low] - 1, rcond=None)[0]
        thin_error = np.abs(basis @ r - (thin[low] - 1)).max()
        w = works(row.coolprop, row.name)
        ks = np.linspace(0.9, 1.4, 2501) + 1e-5
        errors = [np.abs(work(w[:, 0], w[:, 1], k) / w[:, 2] - 1).max() for k in ks]
        best = ks[int(np.argmin(errors))]
        print(
            f'    "{row.name}": Vapor({", ".join(f"{v:.5g}" for v in x)}, '
            f"{', '.join(f'{v:.4g}' for v in r)}, {best:.4f}),"
            f"  # h {np.abs(heat(x) - h).max():.0f} J/kg, rho {thin_error:.4f}, work {min(errors):.4f}"
        )


if __name__ == "__main__":
    main()
