"""Superheated vapor, by short fits to CoolProp (`scripts/fit_vapor.py` makes the rows).

With k the superheat [K] above the dew temperature t [degC] at the same pressure:

    h - h_dew     = c k / (1 + b k)          c = c0 + c1 t + c2 t^2,  b = b0 + b1 t       [J/kg]
    rho_dew / rho = 1 + (r0 + r1 t) k + r2 k^2
    w_isentropic  = n / (n - 1) (p1 / rho1) ((p2 / p1)^((n - 1) / n) - 1)                 [J/kg]

Fitted over dew -35 to 55 degC and superheat to 60 K (30 K below 15 degC) for h, dew -35 to 15 degC for rho,
and compressions from dew -25...5 to 25...55 degC for w. The greatest errors against CoolProp stand at the
end of each row; they grow towards the critical point, where 3 kJ/kg is 4 % of a superheat of 60 K.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import Final

from firstfrost.errors import InputError


@dataclass(frozen=True)
class Vapor:
    """Coefficients as in the module's equations; SI, temperatures in degC."""

    c0: float
    c1: float
    c2: float
    b0: float
    b1: float
    r0: float
    r1: float
    r2: float
    n: float
    h_error: float
    """Greatest error of the enthalpy above dew. [J/kg]"""
    rho_error: float
    """Greatest error of rho_dew / rho."""
    work_error: float
    """Greatest relative error of the isentropic work."""

    def enthalpy_above_dew(self, dew_c: float, superheat_k: float) -> float:
        """Enthalpy [J/kg] above that of saturated vapor at the same pressure, `superheat_k` [K] above dew."""
        c = self.c0 + self.c1 * dew_c + self.c2 * dew_c**2
        return c * superheat_k / (1.0 + (self.b0 + self.b1 * dew_c) * superheat_k)

    def density_share(self, dew_c: float, superheat_k: float) -> float:
        """Density as a part of that of saturated vapor at the same pressure."""
        return 1.0 / (1.0 + (self.r0 + self.r1 * dew_c) * superheat_k + self.r2 * superheat_k**2)

    def coefficients(self) -> tuple[float, ...]:
        """The nine numbers that the kernels need."""
        return astuple(self)[:9]


VAPORS: Final[dict[str, Vapor]] = {
    "R-134a": Vapor(
        879.89,
        4.475,
        0.029722,
        -0.00027101,
        2.5593e-05,
        0.005128,
        1.264e-05,
        -5.041e-06,
        1.0568,
        423,
        0.0039,
        0.0200,
    ),
    "R-22": Vapor(
        725.49,
        4.3732,
        0.037841,
        0.00014318,
        3.6339e-05,
        0.005363,
        1.562e-05,
        -5.416e-06,
        1.1306,
        515,
        0.0042,
        0.0133,
    ),
    "R-290": Vapor(
        1717.4,
        9.4975,
        0.071622,
        -0.00072121,
        2.6943e-05,
        0.005274,
        1.379e-05,
        -4.295e-06,
        1.0590,
        951,
        0.0038,
        0.0205,
    ),
    "R-32": Vapor(
        1184.4,
        10.898,
        0.13558,
        0.0028085,
        5.7596e-05,
        0.006725,
        3.515e-05,
        -1.366e-05,
        1.2040,
        2502,
        0.0068,
        0.0097,
    ),
    "R-404A": Vapor(
        969.95,
        7.2191,
        0.088523,
        0.00033375,
        5.856e-05,
        0.006445,
        3.485e-05,
        -1.01e-05,
        1.0154,
        1977,
        0.0074,
        0.0297,
    ),
    "R-407C": Vapor(
        929.41,
        5.7998,
        0.051396,
        0.00038626,
        3.6156e-05,
        0.005646,
        2.056e-05,
        -7.628e-06,
        1.0800,
        845,
        0.0049,
        0.0189,
    ),
    "R-410A": Vapor(
        1071.2,
        9.7216,
        0.1324,
        0.0022877,
        6.6499e-05,
        0.007023,
        4.086e-05,
        -1.542e-05,
        1.1050,
        3025,
        0.0079,
        0.0172,
    ),
    "R-454B": Vapor(
        1098.1,
        8.8131,
        0.10174,
        0.0017467,
        5.1323e-05,
        0.006499,
        3.185e-05,
        -1.214e-05,
        1.1364,
        1906,
        0.0063,
        0.0139,
    ),
}


def vapor(name: str) -> Vapor:
    """Row of a refrigerant by its canonical name.

    Raises
    ------
    InputError
        If there is no row.
    """
    if name not in VAPORS:
        raise InputError(
            f'No superheated vapor is tabulated for "{name}", only for {", ".join(sorted(VAPORS))}. '
            "Take the name from the unit's rating plate."
        )
    return VAPORS[name]
