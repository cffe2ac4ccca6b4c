"""One number of the heating check, its standing, and the check as a whole."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from firstfrost.proofs.finding import Limit

HeatingStanding = Literal["shown", "doubtful", "failed", "unseen"]
STANDINGS: Final[tuple[HeatingStanding, ...]] = ("shown", "doubtful", "failed", "unseen")


@dataclass(frozen=True, kw_only=True)
class Steady:
    """A stretch of steady heating, [start_s, end_s) on the time base of the trace."""

    start_s: float
    end_s: float
    since_s: float
    """From the start of the compressor, or the end of the defrost, to the start of the window. [s]"""
    waited: bool
    """At least 15 min had gone by before its middle."""
    backup: bool | None
    """Whether backup heat was on; None where its current was not read."""
    share: float
    """The largest excess standard deviation as a part of what is allowed; NaN where it cannot be told."""
    least: str
    """The series that was least steady."""


@dataclass(frozen=True, kw_only=True)
class Number:
    """One number of the heating check.

    `value` and `expanded` (k = 2) are in `unit`: degC, K, V, W, s, m3/s, W/W, Pa/Pa, count
    or 1. `sources` has the
    signed standard uncertainty that each source gives, in the same unit: two numbers that share one are
    correlated.
    """

    name: str
    standing: HeatingStanding
    unit: str
    sentence: str
    value: float = math.nan
    """NaN where it is `unseen`."""
    expanded: float = math.nan
    sources: Mapping[str, float] = field(default_factory=dict)
    limit: Limit | None = None
    probability: float | None = None
    """That the limit is met, from the number and its uncertainty."""
    start_s: float | None = None
    end_s: float | None = None
    channels: tuple[str, ...] = ()
    how: str = ""
    """Which method gave it, and what was assumed for it."""
    settle: str = ""
    """What to look up or to read, where it is not `shown`."""
    remedy: str = ""
    """Where it `failed`: what a technician looks at next."""

    @property
    def measured(self) -> bool:
        """Whether there is a value at all."""
        return math.isfinite(self.value)


@dataclass(frozen=True, kw_only=True)
class Heating:
    """The heating check of one visit: one number a row, in the order of the rows."""

    numbers: tuple[Number, ...]
    steady: Steady | None = None
    """The window that the numbers of plain heating come from; None if none was steady."""
    steady_s: float = 0.0
    """How long heating was steady in all. [s]"""
    why_not: str = ""
    """Why there is no steady window."""

    def number(self, name: str) -> Number:
        """The number of a row by its name.

        Raises
        ------
        KeyError
            If there is no such row.
        """
        for number in self.numbers:
            if number.name == name:
                return number
        raise KeyError(f"{name!r} is not a number of the heating check")

    def of(self, standing: HeatingStanding) -> tuple[Number, ...]:
        """The numbers with a standing."""
        return tuple(number for number in self.numbers if number.standing == standing)
