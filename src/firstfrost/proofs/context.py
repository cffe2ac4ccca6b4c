"""What a judge is given: the record, what the phase finder made of it, and how to ask it questions."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.cycle.channels import Cycle
from firstfrost.equipment.unit import Unit
from firstfrost.phases import fold
from firstfrost.phases.events import Events
from firstfrost.phases.find import Found
from firstfrost.trace.marks import Marks, spans
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]
Span = tuple[float, float]
SPARSE_S: Final = 45.0
"""Readings further apart than this cannot fail a function, only leave it in doubt."""


@dataclass(frozen=True, kw_only=True)
class Context:
    """The record of one visit, ready to be judged."""

    trace: Trace
    cycle: Cycle
    unit: Unit
    marks: Marks | None
    found: Found

    @property
    def events(self) -> Events:
        """What the fold found."""
        return self.found.events

    @property
    def step_s(self) -> float:
        """The sampling [s]."""
        return self.found.step_s

    @property
    def sparse(self) -> bool:
        """A handful of typed readings, or samples so far apart that anything may have happened in between."""
        return len(self.trace) < 40 or self.step_s > SPARSE_S

    @property
    def near_s(self) -> float:
        """How far apart two moments may be that are one: two samples and a person's watch [s]."""
        return 2 * self.found.step_s + 10.0

    @property
    def marks_known(self) -> bool:
        """A marks file was given, maybe an empty one: all that was touched is known."""
        return self.marks is not None

    @property
    def first_s(self) -> float:
        """Time of the first sample [s]."""
        return float(self.trace.time_s[0])

    @property
    def last_s(self) -> float:
        """Time of the last sample [s]."""
        return float(self.trace.time_s[-1])

    def marked(self, act: str) -> list[Span]:
        """The spans in which a mark says that `act` was in force; none where marks are not known."""
        return spans(self.marks, act) if self.marks else []

    def during(self, act: str, time_s: float, slack_s: float = 0.0) -> bool:
        """Tell whether `act` was in force at `time_s`."""
        return any(a - slack_s <= time_s < b + slack_s for a, b in self.marked(act))

    @cached_property
    def rests(self) -> list[Span]:
        """The spans in which the compressor was off."""
        return [(s.start_s, s.end_s) for s in self.found.stretches if s.mode == fold.OFF]

    @property
    def run_known(self) -> bool:
        """The compressor's own current, or the power, tells when it ran."""
        return self.events.first[fold.SW_COMPRESSOR] is not None or self.trace.has("power")

    def running(self, time_s: float) -> bool:
        """Tell whether the compressor ran at `time_s`."""
        return not any(a <= time_s < b for a, b in self.rests)

    def window(self, name: str, start_s: float, end_s: float) -> tuple[Floats, Floats]:
        """Times and readings of a channel in [start_s, end_s], missing ones left out."""
        return pick(self.trace.time_s, self.trace.get(name), start_s, end_s)

    def value_at(self, y: Floats, time_s: float, before_s: float = 8.0) -> float:
        """The value of `y` at `time_s`: a straight line through the last readings before it, or NaN.

        Readings up to `before_s` or three samples before are used, so that a single noisy one weighs little.
        """
        back = max(before_s, 3.0 * self.step_s)
        t, v = pick(self.trace.time_s, y, time_s - back, time_s + 0.51 * self.step_s)
        if len(v) == 0:
            return math.nan
        if len(v) < 3:
            return float(np.interp(time_s, t, v))
        line = np.polynomial.polynomial.polyfit(t - time_s, v, 1)
        fitted = float(line[0])
        low, high = float(v.min()), float(v.max())
        return min(max(fitted, low - 0.5 * (high - low)), high + 0.5 * (high - low))

    def u(self, channel: str, value: float) -> float:
        """Standard uncertainty of one reading of a channel, in its unit."""
        return float(self.unit.instruments[channel].u(value))

    def seconds(
        self, start_s: float, end_s: float, *, closed: bool = False, within: list[Span] | None = None
    ) -> float:
        """Compressor run time in [start_s, end_s) [s]; with `within`, only inside those spans."""
        spans_ = (
            [(start_s, end_s)]
            if within is None
            else [(max(a, start_s), min(b, end_s)) for a, b in within if b > start_s and a < end_s]
        )
        total = sum(max(0.0, b - a) for a, b in spans_)
        for a, b in spans_:
            total -= sum(max(0.0, min(b, d) - max(a, c)) for c, d in self.rests)
        return total


def pick(time_s: Floats, y: Floats, start_s: float, end_s: float) -> tuple[Floats, Floats]:
    """The finite readings of `y`, (n,), in [start_s, end_s], with their times."""
    a = int(np.searchsorted(time_s, start_s, side="left"))
    b = int(np.searchsorted(time_s, end_s, side="right"))
    t, v = time_s[a:b], y[a:b]
    good = np.isfinite(v)
    return t[good], v[good]
