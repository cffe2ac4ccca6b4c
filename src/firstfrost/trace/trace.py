"""The trace: channels on one time base, with what is missing kept as NaN."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError
from firstfrost.trace.channels import CHANNELS

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Trace:
    """A visit's readings.

    Parameters
    ----------
    time_s : (n,) float64
        Strictly rising times. [s] In a trace with an `epoch`, seconds since it; in one without, the bare
        seconds of the file.
    columns : mapping of canonical channel name to (n,) float64
        Readings in the channel's unit in memory (see `firstfrost.trace.channels`), NaN where missing.
    epoch : datetime or None
        The UTC instant of time 0, or None when the file gave bare seconds.
    zone : str or None
        The site's time zone by its IANA name, for screens only.

    Raises
    ------
    DataError
        If a column is unknown or its length differs, or the times do not rise.
    """

    time_s: Floats
    columns: Mapping[str, Floats]
    epoch: datetime | None = None
    zone: str | None = None
    _missing: Floats = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        n = len(self.time_s)
        for name, column in self.columns.items():
            if name not in CHANNELS:
                raise DataError(f"{name!r} is not a channel. Expected one of: {', '.join(CHANNELS)}.")
            if column.shape != (n,):
                raise DataError(
                    f"Channel {name!r} has {column.shape} readings for {n} times. Give one a time."
                )
        if n > 1 and not bool(np.all(np.diff(self.time_s) > 0)):
            raise DataError("The times of the trace do not rise. Sort them and drop repeats first.")
        object.__setattr__(self, "_missing", np.full(n, np.nan))

    def __len__(self) -> int:
        return len(self.time_s)

    def __contains__(self, name: str) -> bool:
        return name in self.columns

    def get(self, name: str) -> Floats:
        """Return channel `name`, (n,), all NaN if the trace lacks it."""
        return self.columns.get(name, self._missing)

    def has(self, *names: str) -> bool:
        """Tell whether each named channel holds at least one reading."""
        return all(name in self.columns and bool(np.isfinite(self.columns[name]).any()) for name in names)

    @property
    def sampling_s(self) -> float:
        """The median step between samples [s]; NaN for fewer than two."""
        return float(np.median(np.diff(self.time_s))) if len(self) > 1 else float("nan")

    def instant(self, time_s: float) -> datetime | None:
        """The UTC instant of `time_s`, or None in a trace of bare seconds."""
        return None if self.epoch is None else (self.epoch + timedelta(seconds=time_s)).astimezone(UTC)

    def part(self, start_s: float, end_s: float) -> Trace:
        """The samples in [start_s, end_s) as a trace of their own."""
        keep = (self.time_s >= start_s) & (self.time_s < end_s)
        return Trace(
            time_s=self.time_s[keep],
            columns={name: column[keep] for name, column in self.columns.items()},
            epoch=self.epoch,
            zone=self.zone,
        )
