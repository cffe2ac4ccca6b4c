"""The same look-up compiled by Numba, for a great many samples.

Numba is optional and imported only when one of these functions is called.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np

from firstfrost.errors import InputError
from firstfrost.refrigerants.curves import Floats, temp_at
from firstfrost.refrigerants.lines import Line
from firstfrost.refrigerants.refrigerant import Refrigerant


def dew_temps_c(ref: Refrigerant, pressures_pa: Floats) -> Floats:
    """`Refrigerant.dew_temps_c`, compiled: (n,) [Pa absolute] -> (n,) [degC], NaN outside."""
    return _temps(ref.dew, pressures_pa)


def bubble_temps_c(ref: Refrigerant, pressures_pa: Floats) -> Floats:
    """`Refrigerant.bubble_temps_c`, compiled: (n,) [Pa absolute] -> (n,) [degC], NaN outside."""
    return _temps(ref.bubble, pressures_pa)


@cache
def compiled_temp_at() -> Callable[..., float]:
    """`curves.temp_at` compiled, for use inside another compiled function.

    Call it as `temp_at(pressure_pa, *line.arguments())`.

    Raises
    ------
    InputError
        Numba is not installed.
    """
    return _njit(temp_at)


@cache
def compiled_temps_at() -> Callable[..., None]:
    """Compiled loop `f(pressures_pa, temps_c, *line.arguments())` that fills `temps_c` (n,).

    Raises
    ------
    InputError
        Numba is not installed.
    """
    point = compiled_temp_at()

    def fill(
        pressures_pa: Any,
        temps_c: Any,
        pieces: Any,
        start: float,
        per_step: float,
        pressure_low_pa: float,
        pressure_high_pa: float,
        temp_low_c: float,
        temp_high_c: float,
    ) -> None:
        for i in range(len(pressures_pa)):
            temps_c[i] = point(
                pressures_pa[i],
                pieces,
                start,
                per_step,
                pressure_low_pa,
                pressure_high_pa,
                temp_low_c,
                temp_high_c,
            )

    return _njit(fill)


def _temps(line: Line, pressures_pa: Floats) -> Floats:
    pressures_pa = np.ascontiguousarray(pressures_pa, dtype=np.float64)
    temps_c = np.empty(len(pressures_pa))
    compiled_temps_at()(pressures_pa, temps_c, *line.arguments())
    return temps_c


def _njit(plain: Callable[..., Any]) -> Callable[..., Any]:
    try:
        import numba
    except ImportError as err:
        raise InputError(
            "The compiled look-up needs Numba, which is not installed. Install firstfrost[fast], or call "
            "dew_temps_c and bubble_temps_c of the refrigerant, which give the same numbers."
        ) from err
    # No fast-math: the compiled result must be the plain one to the last bit.
    compiled: Callable[..., Any] = numba.njit(plain)
    return compiled
