"""Student's t without SciPy, which would cost a visit over a second."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

_SIMPSON: Final = np.array([1.0, *[4.0, 2.0] * 199, 4.0, 1.0])


def quantile(probability: float, degrees: float) -> float:
    """The value that Student's t stays below with a probability, at given degrees of freedom.

    Parameters
    ----------
    probability : float
        Above 0.5 and below 1.
    degrees : float
        1 or more; need not be whole.

    Returns
    -------
    float
        Within 1e-4, as a part, of SciPy's from 1 to 10 000 degrees and to a probability of 0.999 (tested).

    Notes
    -----
    The distribution by Simpson's rule over the angle whose tangent is t / sqrt(degrees), which makes the
    range finite: density proportional to cos^(degrees - 1); then bisection.

    Raises
    ------
    ValueError
        Outside those ranges.
    """
    if not (0.5 < probability < 1.0 and degrees >= 1.0):
        raise ValueError(f"t of {probability:g} at {degrees:g} degrees. Expected 0.5 to 1, and 1 or more.")
    low, high = 0.0, 1e5
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _cdf(middle, degrees) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _cdf(t: float, degrees: float) -> float:
    """Probability that Student's t lies below t >= 0."""
    end = math.atan(t / math.sqrt(degrees))
    # gamma((v + 1) / 2) / (sqrt(pi) gamma(v / 2)) times the integral of cos^(v - 1)
    lead = math.exp(math.lgamma((degrees + 1.0) / 2.0) - math.lgamma(degrees / 2.0)) / math.sqrt(math.pi)
    step = end / (len(_SIMPSON) - 1)
    height = np.cos(step * np.arange(len(_SIMPSON))) ** (degrees - 1.0)
    return 0.5 + lead * step / 3.0 * float(_SIMPSON @ height)
