"""Whether a limit is met, given the uncertainty: a probability, and three answers.

The true value is taken as normal about the measured one with its standard uncertainty, and the probability
that it lies within the limits is worked out (JCGM 106:2012, 7; quoted from memory). At 95 %, the default of
ISO 14253-1 (2017; from memory), the limit `holds`; at 5 % or less it `fails`; in between nobody can tell. For
a single limit that is a guard band of 1.645 u on each side.
"""

from __future__ import annotations

import math
from typing import Final, Literal

Answer = Literal["holds", "fails", "cannot tell"]

AT_LEAST: Final = 0.95
"""Probability asked for by default."""

_SQRT2: Final = math.sqrt(2.0)
_SQRT2PI: Final = math.sqrt(2.0 * math.pi)


def _cdf(z: float) -> float:
    return 0.5 * math.erfc(-z / _SQRT2)


def _cdf_integral(z: float) -> float:
    """Integral of the normal distribution function from minus infinity to z."""
    return z * _cdf(z) + math.exp(-0.5 * z * z) / _SQRT2PI


def probability_below(value: float, u: float, high: float) -> float:
    """Probability that the true value is at most `high`.

    Parameters
    ----------
    value, u, high : float
        Measured value, its standard uncertainty (0 or more), and the upper limit, in one unit.

    Returns
    -------
    float
        0 to 1; NaN if any argument is NaN.
    """
    return probability_within(value, u, high=high)


def probability_above(value: float, u: float, low: float) -> float:
    """Probability that the true value is at least `low`; see `probability_below`."""
    return probability_within(value, u, low=low)


def probability_within(
    value: float, u: float, *, low: float | None = None, high: float | None = None, lag: float = 0.0
) -> float:
    """Probability that the true value lies in [low, high].

    The true value is ``X = value + N(0, u) - U(0, lag)``: besides the normal error there may be one of known
    sign but unknown size, such as a probe that runs up to `lag` ahead of the contact it stands for. It is
    uniform between 0 and `lag`, and `lag` may be negative. In closed form, with
    ``G(z) = z Phi(z) + phi(z)``, ``P(X <= x) = (u / lag) (G((x - value + lag) / u) - G((x - value) / u))``.

    Parameters
    ----------
    value : float
        Measured.
    u : float
        Standard uncertainty, 0 or more, in the same unit.
    low, high : float or None
        The limits, in the same unit; None leaves a side open. A value on the limit is within.
    lag : float
        Full width of the one-sided part, in the same unit.

    Returns
    -------
    float
        0 to 1; NaN if any argument is NaN.

    Raises
    ------
    ValueError
        If `u` is negative, or `low` above `high`.
    """
    if any(math.isnan(x) for x in (value, u, lag, low or 0.0, high or 0.0)):
        return math.nan
    if u < 0.0:
        raise ValueError(f"A standard uncertainty is {u:g}. Expected 0 or more.")
    if low is not None and high is not None and low > high:
        raise ValueError(f"The lower limit {low:g} lies above the upper limit {high:g}. Swap them.")
    above = 0.0 if high is None else _beyond(value, u, high, lag)
    below = 0.0 if low is None else _beyond(-value, u, -low, -lag)
    return min(1.0, max(0.0, 1.0 - above - below))


def _beyond(value: float, u: float, limit: float, lag: float) -> float:
    """Probability that X lies above `limit`."""
    if math.isinf(limit):
        return 0.0 if limit > 0 else 1.0
    room = limit - value  # by which X may exceed the measured value
    if abs(lag) <= 1e-4 * u:  # the closed form would cancel; its mean shift is exact to 1e-9 here
        return _step(-room) if u == 0.0 else _cdf(-(room + 0.5 * lag) / u)
    if u == 0.0:  # uniform over [value - lag, value], or [value, value - lag]
        lowest, highest = sorted((value - lag, value))
        return min(1.0, max(0.0, (highest - limit) / (highest - lowest)))
    # P(X > x) = mean over s in [0, lag] of Phi(-(room + s) / u)
    start, end = -(room + lag) / u, -room / u
    return (u / lag) * (_cdf_integral(end) - _cdf_integral(start))


def _step(over: float) -> float:
    return 1.0 if over > 0.0 else 0.0


def decide(probability: float, at_least: float = AT_LEAST) -> Answer:
    """The answer that a probability of being within the limits supports.

    Parameters
    ----------
    probability : float
        0 to 1; NaN gives "cannot tell".
    at_least : float
        Probability asked for on either side, above 0.5.

    Raises
    ------
    ValueError
        If `at_least` is not above 0.5 and at most 1.
    """
    if not 0.5 < at_least <= 1.0:
        raise ValueError(f"The probability asked for is {at_least:g}. Expected above 0.5 and at most 1.")
    if probability >= at_least:
        return "holds"
    if probability <= (1.0 - at_least) * (1.0 + 1e-12):
        return "fails"
    return "cannot tell"


def guard_band(u: float, at_least: float = AT_LEAST) -> float:
    """How far inside a single limit a value must lie for it to hold: 1.645 u at 95 %.

    Parameters
    ----------
    u : float
        Standard uncertainty.
    at_least : float
        Probability asked for, above 0.5 and below 1.

    Returns
    -------
    float
        In the unit of `u`.
    """
    from statistics import NormalDist

    return NormalDist().inv_cdf(at_least) * u
