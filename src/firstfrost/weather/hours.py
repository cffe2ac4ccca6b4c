"""Hours of weather, whatever file they came from, and the air in each of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.air.atmosphere import pressure_at_altitude_pa
from firstfrost.air.moist import humidity_from_dew_point, humidity_over_ice
from firstfrost.errors import DataError, InputError
from firstfrost.refrigerants.curves import Floats

DAYS: Final = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
BEFORE: Final = tuple(sum(DAYS[:m]) for m in range(12))
LEAP_DAY: Final = 31 + 29
"""Its number in a leap year."""
FILLED_S: Final = 3 * 3600.0
"""A gap no longer than this is filled straight, and told; in a longer one the hours are left out."""
_LEAST_PART: Final = 0.5
"""A file with less than this part of its hours usable is refused."""


@dataclass(frozen=True, kw_only=True)
class Hours:
    """What a file holds: n rows, `step_s` apart, missing values NaN."""

    source: str
    place: str
    altitude_m: float
    step_s: float
    moments_s: Floats
    """(n,) seconds into a leap year at which each row holds; 24:00 on 31 December is a whole year."""
    lines: tuple[int, ...]
    dry_c: Floats
    dew_c: Floats
    humidity: Floats
    """Relative humidity, over ice below freezing. [ratio]"""
    pressure_pa: Floats
    latitude_deg: float | None = None
    """South is negative."""
    notes: tuple[str, ...] = ()
    """What the reader had to leave out or take for granted."""

    @property
    def leap(self) -> bool:
        """Whether it has a 29 February."""
        return bool(((self.moments_s > 59 * 86400.0) & (self.moments_s <= 60 * 86400.0)).any())

    @property
    def months(self) -> NDArray[np.int64]:
        """(n,) month of each row, 1 to 12; a row at midnight belongs to the day before."""
        ends = np.array(BEFORE[1:]) * 86400.0
        return np.searchsorted(ends, self.moments_s, side="left").astype(np.int64) + 1

    @property
    def hours(self) -> NDArray[np.int64]:
        """(n,) hour of the day of each row, 0 to 23: the hour that ends at the row's moment."""
        return (np.ceil(self.moments_s / 3600.0 - 1e-9).astype(np.int64) - 1) % 24


@dataclass(frozen=True, kw_only=True)
class Air:
    """Outdoor air at n moments `step_s` apart, each value there; what was filled is told in `notes`."""

    source: str
    place: str
    step_s: float
    months: NDArray[np.int64]
    hours: NDArray[np.int64]
    temps_c: Floats
    humidity: Floats
    """Relative humidity, over ice below freezing, at most 1. [ratio]"""
    pressure_pa: Floats
    notes: tuple[str, ...]
    humidity_assumed: bool = False

    @property
    def days(self) -> float:
        """How long the hours are together [d]."""
        return len(self.temps_c) * self.step_s / 86400.0

    @property
    def southern(self) -> bool:
        """Whether June to August is colder than December to February."""
        june = self.temps_c[np.isin(self.months, (6, 7, 8))]
        december = self.temps_c[np.isin(self.months, (12, 1, 2))]
        return bool(len(june) and len(december) and june.mean() < december.mean())

    @property
    def month_order(self) -> tuple[int, ...]:
        """The twelve months so that the winter stands in the middle."""
        first = 1 if self.southern else 7
        return tuple((first - 1 + n) % 12 + 1 for n in range(12))


def air_of(hours: Hours, *, humidity: float | None = None, altitude_m: float | None = None) -> Air:
    """Give the air of each hour, gaps filled or left out.

    Parameters
    ----------
    hours : Hours
        From a reader.
    humidity : float, optional
        Relative humidity to take where the file has none at all. [ratio]
    altitude_m : float, optional
        Goes before the file's own, for the pressure where that is missing. [m]

    Raises
    ------
    DataError
        Fewer than half of the hours have a temperature.
    InputError
        No hour has a humidity, and none is given.
    """
    notes = list(hours.notes)
    dry, gone = _filled(hours.dry_c, hours.step_s)
    count = len(dry)
    wet = _humidities(hours, dry)
    assumed = False
    if not np.isfinite(wet).any():
        if humidity is None:
            raise InputError(
                f"{hours.source} has neither humidity nor dew point, and without one frost cannot be known. "
                'Give a file that has it, or assume one, such as "80 %RH" (--humidity on the command line).'
            )
        wet = np.full(count, humidity)
        assumed = True
        notes.append(f"No humidity in the file: {humidity:.0%} is assumed in every hour.")
    wet, dull = _filled(wet, hours.step_s)
    out = gone | dull
    if out.mean() > 1.0 - _LEAST_PART:
        raise DataError(
            f"{hours.source}: {out.sum()} of its {count} hours lack temperature or humidity. A season needs "
            "at least half of them. Fill the file from the station's own record, or take another."
        )
    filled = int((~out & ~(np.isfinite(hours.dry_c) & np.isfinite(_humidities(hours, hours.dry_c)))).sum())
    if filled and not assumed:
        notes.append(f"{filled} hours lack a value in gaps of at most 3 h, and are filled straight.")
    if out.any():
        notes.append(f"{int(out.sum())} hours lack a value in longer gaps, and are left out.")
    keep = ~out
    pressure = hours.pressure_pa.copy()
    none = ~np.isfinite(pressure)
    if none.any():
        height = hours.altitude_m if altitude_m is None else altitude_m
        pressure[none] = pressure_at_altitude_pa(height)
        if none[keep].mean() > 0.01:
            notes.append(f"Pressure is that of {height:.0f} m of altitude in {none.mean():.0%} of the hours.")
    return Air(
        source=hours.source,
        place=hours.place,
        step_s=hours.step_s,
        months=hours.months[keep],
        hours=hours.hours[keep],
        temps_c=dry[keep],
        humidity=np.clip(wet[keep], 0.01, 1.0),
        pressure_pa=pressure[keep],
        notes=tuple(notes),
        humidity_assumed=assumed,
    )


def over_ice(temps_c: Floats, over_water: Floats) -> Floats:
    """Relative humidity (n,) as here from one over water."""
    return np.asarray(humidity_over_ice(temps_c, over_water))


def _humidities(hours: Hours, dry: Floats) -> Floats:
    """Relative humidity of each hour, from the dew point where it is not given."""
    wet = hours.humidity.copy()
    for row in np.flatnonzero(~np.isfinite(wet) & np.isfinite(hours.dew_c) & np.isfinite(dry)).tolist():
        wet[row] = humidity_from_dew_point(float(dry[row]), min(float(hours.dew_c[row]), float(dry[row])))
    return wet


def _filled(values: Floats, step_s: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Values with short gaps filled straight, and which hours lie in longer ones."""
    good = np.isfinite(values)
    if good.all() or not good.any():
        return values.copy(), ~good
    rows = np.arange(len(values))
    made = np.interp(rows, rows[good], values[good])
    out = np.zeros(len(values), dtype=bool)
    edges = np.flatnonzero(np.diff(np.r_[True, good, True].astype(int)))
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if (last - first) * step_s > FILLED_S:
            out[first:last] = True
    return made, out
