"""A year of hours made from the bins of a generalised region, for where no weather file is at hand.

The bins of a heating season say how many hours have which temperature, and not when. Here they are laid out
as a smooth winter with a smooth day, coldest in mid-January at six in the morning, so that each bin keeps
its hours; the humidity is one assumed number. What hangs on the sequence of hours (frost carried over, ice
on cold nights) is only roughly so.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.season.regions import BINS_F, region
from firstfrost.weather.hours import DAYS, Air

HUMIDITY: Final = 0.75
"""Mean of cold hours in typical years of Golden, Chicago and Sterling, over ice, rounded (EPW files)."""

_NOTE: Final = (
    "Hours laid out from the region's bins as a smooth winter, at {:.0%} humidity throughout: a weather file "
    "of the place is better."
)


def region_air(name: str, *, humidity: float | None = None) -> Air:
    """Hours of a heating season in a region, as its bins have them.

    The number of hours follows from the region's heating load hours (from memory).

    Parameters
    ----------
    name : str
        "I" to "VI".
    humidity : float, optional
        In every hour. [ratio]

    Raises
    ------
    InputError
        There is no such region.
    """
    here = region(name)
    bins, part = np.array(BINS_F), np.array(here.hours)
    load = np.maximum(here.zero_load_f - bins, 0.0) / (here.zero_load_f - here.design_f)
    season_h = here.load_hours / float((part * load).sum())
    counts = np.round(part * season_h).astype(int)
    # Within a bin of 5 degF the hours are spread evenly.
    temps = np.concatenate(
        [mid - 2.5 + 5.0 * (np.arange(n) + 0.5) / n for mid, n in zip(bins, counts, strict=True) if n]
    )
    total = min(24 * (len(temps) // 24), 8760)
    temps = np.sort(temps)[:total]
    first = 15 * 24 - total // 2
    hour = first + np.arange(total)
    day = np.cos(2.0 * np.pi * (hour % 24 - 6.0) / 24.0)
    away = np.abs(np.arange(total) - total / 2.0) / (total / 2.0)
    # Rank of each hour by season and time of day: the coldest hour gets the lowest temperature.
    rank = np.argsort(np.argsort(away - 0.35 * day, kind="stable"), kind="stable")
    year = 24 * np.cumsum([0, *(d - (n == 1) for n, d in enumerate(DAYS))])
    months = np.searchsorted(year[1:], hour % 8760, side="right") + 1
    taken = HUMIDITY if humidity is None else humidity
    return Air(
        source=f"region {here.name}",
        place=f"generalised climate region {here.name}",
        step_s=3600.0,
        months=months.astype(np.int64),
        hours=(hour % 24).astype(np.int64),
        temps_c=(temps[rank] - 32.0) / 1.8,
        humidity=np.full(total, taken),
        pressure_pa=np.full(total, STANDARD_ATMOSPHERE_PA),
        notes=(_NOTE.format(taken),),
        humidity_assumed=True,
    )
