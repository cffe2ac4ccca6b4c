"""Values that carry their uncertainty by source.

A value keeps, for each source of error, the signed standard uncertainty that this source gives it:
sensitivity times standard uncertainty. One source met twice adds with its sign before squaring, different
ones add in quadrature::

    u_c^2 = sum over sources s of (sum over inputs i read by s of c_i u_i)^2

which is JCGM 100:2008, equation 13, with correlation 1 within a source and 0 between two (formula quoted from
memory). So a gauge used twice is one gauge: its error cancels in a difference and doubles in a sum.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from firstfrost.instruments.accuracy import Accuracy

COVERAGE = 2.0
"""k of the expanded uncertainty, about 95 % for a normal distribution (JCGM 100:2008, 6.3.3)."""


@dataclass(frozen=True, kw_only=True)
class Value:
    """A number and where its uncertainty comes from.

    Parameters
    ----------
    value : float
        The best estimate.
    sources : mapping of source id to float
        Signed contribution of each source, in the unit of `value`.
    """

    value: float
    sources: Mapping[str, float] = field(default_factory=dict)

    @property
    def u(self) -> float:
        """Combined standard uncertainty."""
        return math.sqrt(sum(part * part for part in self.sources.values()))

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, k = 2."""
        return COVERAGE * self.u

    def __add__(self, other: Value | float) -> Value:
        if isinstance(other, Value):
            return combine(self.value + other.value, [(self, 1.0), (other, 1.0)])
        return combine(self.value + other, [(self, 1.0)])

    __radd__ = __add__

    def __neg__(self) -> Value:
        return combine(-self.value, [(self, -1.0)])

    def __sub__(self, other: Value | float) -> Value:
        return self + (-other)

    def __rsub__(self, other: float) -> Value:
        return -self + other

    def __mul__(self, other: Value | float) -> Value:
        if isinstance(other, Value):
            return combine(self.value * other.value, [(self, other.value), (other, self.value)])
        return combine(self.value * other, [(self, other)])

    __rmul__ = __mul__

    def __truediv__(self, other: Value | float) -> Value:
        if isinstance(other, Value):
            ratio = self.value / other.value
            return combine(ratio, [(self, 1.0 / other.value), (other, -ratio / other.value)])
        return combine(self.value / other, [(self, 1.0 / other)])

    def through(self, value: float, sensitivity: float) -> Value:
        """The result `value` of a function of this value with slope `sensitivity` there."""
        return combine(value, [(self, sensitivity)])

    def with_source(self, source: str, u: float) -> Value:
        """The same value with one more contribution: that of a property's equation, say."""
        return combine(self.value, [(self, 1.0), (Value(value=0.0, sources={source: u}), 1.0)])

    def largest(self) -> tuple[str, float] | None:
        """The source that gives most, and its part of the variance; None if all are zero."""
        total = self.u**2
        if not total > 0.0:
            return None
        source = max(self.sources, key=lambda name: abs(self.sources[name]))
        return source, self.sources[source] ** 2 / total


def combine(value: float, inputs: Iterable[tuple[Value, float]]) -> Value:
    """The result `value` of a function of several values.

    Parameters
    ----------
    value : float
        The function's result at the best estimates.
    inputs : iterable of (Value, float)
        Each input with the function's slope in it.
    """
    sources: dict[str, float] = {}
    for given, slope in inputs:
        for source, part in given.sources.items():
            sources[source] = sources.get(source, 0.0) + slope * part
    return Value(value=value, sources=sources)


def measured(reading: float, accuracy: Accuracy, source: str) -> Value:
    """A reading of one instrument.

    Parameters
    ----------
    reading : float
        In the SI unit of the accuracy's kind; a pressure absolute.
    accuracy : Accuracy
        What the instrument is worth.
    source : str
        The instrument's id; the same wherever the same instrument reads.
    """
    return Value(value=reading, sources={source: accuracy.u(reading)})


def mean_of(values: Iterable[Value], source: str) -> Value:
    """The mean of repeated readings, with their scatter as a source of its own.

    The instruments' errors stay (they do not average out); the scatter adds ``s / sqrt(n)`` under `source`
    (JCGM 100:2008, 4.2.3, from memory). One reading has no scatter to show.
    """
    group = list(values)
    n = len(group)
    if n == 0:
        raise ValueError("There is no mean of no readings.")
    mean = sum(item.value for item in group) / n
    result = combine(mean, [(item, 1.0 / n) for item in group])
    if n == 1:
        return result
    variance = sum((item.value - mean) ** 2 for item in group) / (n - 1)
    return result.with_source(source, math.sqrt(variance / n))
