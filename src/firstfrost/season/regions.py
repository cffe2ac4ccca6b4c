"""The six generalised climate regions of the US rating procedure, as rows of 5 degF bins.

10 CFR 430 subpart B, appendix M1 (text of 2017 to 2024), through open rating code that implements AHRI
210/240 (2023); the hours of the bins are also in EnergyPlus' engineering reference and its source. Two
corrections against the printed reference: region III at 27 degF is .047 (its own source has that, and only
so the column adds to 1), and in the present procedure bins at or above the zero-load temperature carry no
load.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.errors import InputError

BINS_F: Final = tuple(float(t) for t in range(62, -24, -5))
"""Middle of each bin [degF], 18 of them."""


@dataclass(frozen=True, kw_only=True)
class Region:
    """One climate of the rating procedure."""

    name: str
    design_f: float
    """Outdoor design temperature. [degF]"""
    zero_load_f: float
    """Outdoor temperature at which the house needs no heat. [degF]"""
    slope: float
    """Load at the design temperature over cooling capacity at 95 degF, one or two speeds."""
    slope_variable: float
    """The same, variable speed."""
    hours: tuple[float, ...]
    """Part of the heating season's hours in each of `BINS_F`."""
    load_hours: float
    """Heating load hours in a year; a value from memory, and no part of HSPF2. [h]"""


def _region(
    name: str, design: float, zero: float, slope: float, variable: float, load_hours: float, *hours: float
) -> Region:
    return Region(
        name=name,
        design_f=design,
        zero_load_f=zero,
        slope=slope,
        slope_variable=variable,
        hours=(*hours, *(0.0,) * (len(BINS_F) - len(hours))),
        load_hours=load_hours,
    )


# fmt: off
REGIONS: Final = (
    _region("I", 37, 58, 1.10, 1.03, 493, 0, .239, .194, .129, .081, .041, .019, .005, .001),
    _region("II", 27, 57, 1.06, 0.99, 857, 0, 0, .163, .143, .112, .088, .056, .024, .008, .002),
    _region("III", 17, 56, 1.30, 1.21, 1247, 0, 0, .138, .137, .135, .118, .092, .047, .021, .009, .005, .002, .001),
    _region("IV", 5, 55, 1.15, 1.07, 1701, 0, 0, .103, .093, .100, .109, .126, .087, .055, .036, .026, .013, .006, .002, .001),
    _region("V", -10, 55, 1.16, 1.08, 2202, 0, 0, .086, .076, .078, .087, .102, .094, .074, .055, .047, .038, .029, .018, .010, .005, .002, .001),
    _region("VI", 30, 57, 1.11, 1.03, 1842, 0, 0, .215, .204, .141, .076, .034, .008, .003),
)
# fmt: on
"""I to V from warm to cold; VI the Pacific coast."""
RATING_REGION: Final = "IV"
"""The region that HSPF2 is published for in the US: 10 CFR 430."""


def region(name: str) -> Region:
    """The region called `name`, "I" to "VI".

    Raises
    ------
    InputError
        There is none of that name.
    """
    for one in REGIONS:
        if one.name == name.strip().upper():
            return one
    raise InputError(
        f"There is no climate region {name!r}. Expected one of {', '.join(r.name for r in REGIONS)}. "
        "The national rating is for IV."
    )
