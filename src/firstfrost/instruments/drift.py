"""Does a quantity drift from one visit to the next? A weighted straight line, and what its slope is worth.

With values y_i at times t_i and standard uncertainties u_i, weights w_i = 1 / u_i^2, means weighted by them,

    b = sum w (t - mean t)(y - mean y) / sum w (t - mean t)^2        u(b) = 1 / sqrt(sum w (t - mean t)^2)
    R^2 = sum w (y - a - b t)^2 / (n - 2)

(weighted least squares, any text on it; R is the Birge ratio, R. T. Birge, Phys. Rev. 40 (1932) 207, formula
from memory). Where R is above 1 the values scatter more than their uncertainties say: u(b) is then multiplied
by R, and the coverage factor is Student's t for n - 2 degrees of freedom (JCGM 100:2008, table G.2); else it
is 2. The slope is a drift if it is more than its expanded uncertainty. The same instrument on all visits
shares its error between them, which does not hide a drift; another instrument may look like one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

T95: Final = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
)  # fmt: skip
"""Student's t for 1, 2, ... degrees of freedom, 95 % two-sided; 2.0 is taken for more."""
FEWEST: Final = 3


@dataclass(frozen=True, kw_only=True)
class Drift:
    """The slope of a quantity over time."""

    per_year: float
    expanded: float
    """Of the slope, 95 %."""
    drifts: bool
    scatter: float
    """The Birge ratio: above 1 the values scatter more than they should."""


def drift(years: Sequence[float], values: Sequence[float], expanded: Sequence[float]) -> Drift | None:
    """The drift of a quantity; None for fewer than three values, or all at one time.

    Parameters
    ----------
    years : sequence of float
        When each was measured, from any zero. [a]
    values : sequence of float
        In any unit.
    expanded : sequence of float
        Their expanded uncertainties (k = 2), above 0, in that unit.

    Raises
    ------
    ValueError
        If an uncertainty is not above 0, or the lengths differ.
    """
    n = len(years)
    if n < FEWEST:
        return None
    if any(not u > 0 for u in expanded):
        raise ValueError("An expanded uncertainty is not above 0. Expected the worth of each value. Give it.")
    weights = [4.0 / u**2 for u in expanded]
    total = math.fsum(weights)
    rows = list(zip(weights, years, values, strict=True))
    mean_t = math.fsum(w * t for w, t, _ in rows) / total
    mean_y = math.fsum(w * y for w, _, y in rows) / total
    spread = math.fsum(w * (t - mean_t) ** 2 for w, t, _ in rows)
    if spread <= 0.0 or max(years) - min(years) <= 0.0:
        return None
    slope = math.fsum(w * (t - mean_t) * (y - mean_y) for w, t, y in rows) / spread
    left = math.fsum(w * (y - mean_y - slope * (t - mean_t)) ** 2 for w, t, y in rows)
    birge = math.sqrt(left / (n - 2))
    factor = 2.0
    if birge > 1.0:
        factor = birge * (T95[n - 3] if n - 2 <= len(T95) else 2.0)
    u_slope = factor / math.sqrt(spread)
    return Drift(per_year=slope, expanded=u_slope, drifts=abs(slope) > u_slope, scatter=birge)
