"""A function of several values: its result, with the uncertainty of each carried through by differences.

Each slope is (f(x + h) - f(x - h)) / 2h with h the value's own standard uncertainty, so that a bend within it
is seen (JCGM 100:2008, 5.1.3, note 2, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable

from firstfrost.instruments.budget import Value, combine


def propagate(function: Callable[..., float], *inputs: Value) -> Value | None:
    """The Value of ``function(*[x.value for x in inputs])``; None where it is NaN at or about the inputs.

    Parameters
    ----------
    function : callable
        Takes as many floats as there are inputs, each in its SI unit.
    inputs : Value
        Those that share a source are correlated through it.
    """
    here = [one.value for one in inputs]
    middle = function(*here)
    if not math.isfinite(middle):
        return None
    slopes: list[tuple[Value, float]] = []
    for k, one in enumerate(inputs):
        step = max(one.u, 1e-6 * max(1.0, abs(one.value)))
        high, low = (function(*here[:k], here[k] + sign * step, *here[k + 1 :]) for sign in (1.0, -1.0))
        slope = (high - low) / (2.0 * step)
        if not math.isfinite(slope):
            return None
        slopes.append((one, slope))
    return combine(middle, slopes)
