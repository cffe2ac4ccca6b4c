"""Gauge or absolute, where a header does not say: what the machine itself tells.

Pressures without a mark are taken as gauge, as the trade's instruments show them. Four facts hold in any
machine that runs, whatever its make: the coil in which refrigerant boils is no colder than the refrigerant,
the suction line is no colder either (superheat >= 0), the liquid line is no warmer than the refrigerant that
condensed (subcooling >= 0), and the discharge line is no colder than condensing. An atmosphere added in error
lifts suction saturation by several kelvin and breaks the first two. Where gauge breaks one of them and
absolute none, the readings are absolute.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Columns = Mapping[str, Floats]

SLACK_K: Final = 0.4
"""Probes are off by a little; common practice, no source."""
LIFT_K: Final = 15.0
FEWEST: Final = 5


def broken(columns: Columns, dew_c: Callable[[Floats], Floats]) -> list[str]:
    """Which of the four facts a set of readings breaks.

    Parameters
    ----------
    columns : mapping of channel to (n,) float64
        In memory units, pressures absolute.
    dew_c : callable
        Dew temperature [degC] of an absolute pressure [Pa].

    Returns
    -------
    list of str
        A clause each.
    """
    high = "discharge_pressure" if "discharge_pressure" in columns else "liquid_pressure"
    if "suction_pressure" not in columns or high not in columns:
        return []
    low_c, high_c = dew_c(columns["suction_pressure"]), dew_c(columns[high])
    with np.errstate(invalid="ignore"):
        runs = high_c - low_c > LIFT_K
    found: list[str] = []

    def least(margin_k: Floats, rows: NDArray[np.bool_], why: str) -> None:
        values = margin_k[rows & np.isfinite(margin_k)]
        if len(values) >= FEWEST and float(np.median(values)) < -SLACK_K:
            found.append(why)

    if "outdoor_coil_temp" in columns:
        coil = columns["outdoor_coil_temp"]
        with np.errstate(invalid="ignore"):
            # A coil nearer to the boiling than to the condensing refrigerant is the evaporator.
            heats = runs & (coil - low_c < 0.3 * (high_c - low_c))
        least(coil - low_c, heats, "a coil is never colder than the refrigerant that boils in it")
    if "suction_line_temp" in columns:
        least(columns["suction_line_temp"] - low_c, runs, "superheat is never negative for long")
    if "liquid_line_temp" in columns:
        least(high_c - columns["liquid_line_temp"], runs, "subcooling is never negative for long")
    if "discharge_temp" in columns:
        least(columns["discharge_temp"] - high_c, runs, "discharge gas is never colder than condensing")
    return found


def as_absolute(
    columns: Mapping[str, Floats], names: set[str], *, atmosphere_pa: float, dew_c: Callable[[Floats], Floats]
) -> tuple[dict[str, Floats], str]:
    """The columns with `names` read as absolute where only that fits, and why; else as they are, and nothing.

    Parameters
    ----------
    columns : mapping of channel to (n,) float64
        In memory units, `names` among them read as gauge.
    names : set of str
        The pressures whose headers say neither.
    atmosphere_pa : float
        What was added to them. [Pa]
    dew_c : callable
        Dew temperature [degC] of an absolute pressure [Pa].
    """
    if not names:
        return dict(columns), ""
    why = broken(columns, dew_c)
    if not why:
        return dict(columns), ""
    tried = {name: c - atmosphere_pa if name in names else c for name, c in columns.items()}
    for name in names:
        with np.errstate(invalid="ignore"):
            tried[name] = np.where(tried[name] > 0.0, tried[name], np.nan)
    if broken(tried, dew_c):
        return dict(columns), ""
    return tried, why[0]
