"""The short list of changes that the fold finds in a record."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from firstfrost.phases import fold


@dataclass(kw_only=True)
class Stretch:
    """One mode of the circuit over [start_s, end_s), with what decided it."""

    mode: int
    start_s: float
    end_s: float
    sure: float = 0.5
    decided_by: tuple[str, ...] = ()
    by_sign: tuple[float, ...] = (0.0,) * fold.SIGNS
    """Mean vote of each sign [nat]."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """One two-state channel went to `on` at `time_s`."""

    switch: int
    on: bool
    time_s: float


@dataclass(kw_only=True)
class Events:
    """What the fold found, in order of time."""

    stretches: list[Stretch] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    first: list[bool | None] = field(default_factory=lambda: [None] * fold.SWITCHES)
    """Each switch's first known state."""
    first_s: list[float] = field(default_factory=lambda: [math.nan] * fold.SWITCHES)
    gaps: list[tuple[float, float]] = field(default_factory=list)
    end_s: float = math.nan

    def of(self, switch: int, *, on: bool | None = None) -> list[Change]:
        """The changes of one switch."""
        return [c for c in self.changes if c.switch == switch and (on is None or c.on == on)]

    def state_at(self, switch: int, time_s: float) -> bool | None:
        """Where a switch stood at `time_s`; None where it was not known yet."""
        state = self.first[switch] if self.first_s[switch] <= time_s else None
        for change in self.changes:
            if change.switch == switch and change.time_s <= time_s:
                state = change.on
        return state

    def gap_in(self, start_s: float, end_s: float) -> bool:
        """Tell whether readings are missing for a while between two times."""
        return any(a < end_s and b > start_s for a, b in self.gaps)


class Finder:
    """Feeds samples to the fold and keeps its events; live and batch use it alike."""

    def __init__(self) -> None:
        self.state: Any = fold.fresh()
        self.events = Events()

    def push(self, sample: Sequence[float]) -> int:
        """Take one sample, (fold.WIDTH,); return the fold's event bits."""
        before = self.state[fold.S_T]
        bits = fold.step(self.state, sample)
        self._record(bits, before, sample[fold.T])
        return bits

    def _record(self, bits: int, before_s: float, t: float) -> None:
        s, events = self.state, self.events
        for k in range(fold.SWITCHES):
            at = fold.S_SWITCH + 5 * k
            if events.first[k] is None and s[at] >= 0:
                events.first[k] = s[at] == 1.0
                events.first_s[k] = s[at + 1]
        if not bits:
            return
        if bits & fold.E_GAP:
            events.gaps.append((before_s, t))
        for k in range(fold.SWITCHES):
            if bits & (fold.E_SWITCH << k):
                at = fold.S_SWITCH + 5 * k
                events.changes.append(Change(switch=k, on=s[at] == 1.0, time_s=s[at + 1]))
        if bits & fold.E_MODE:
            self._close(fold.S_LAST_WEIGHT, fold.S_LAST_ABS, fold.S_LAST_VOTES, s[fold.S_MODE_T])
            events.stretches.append(
                Stretch(mode=int(s[fold.S_MODE]), start_s=s[fold.S_MODE_T], end_s=math.nan)
            )

    def _close(self, weight: int, odds: int, votes: int, end_s: float) -> None:
        if not self.events.stretches:
            return
        last = self.events.stretches[-1]
        last.end_s = end_s
        s = self.state
        seconds = max(float(s[weight]), 1e-9)
        by_sign = tuple(float(s[votes + k]) / seconds for k in range(fold.SIGNS))
        last.by_sign = by_sign
        last.sure = 1.0 / (1.0 + math.exp(-min(float(s[odds]), 8.0)))
        last.decided_by = deciding(last.mode, by_sign)

    def finish(self) -> Events:
        """Return all events so far, the last stretch ended at the last sample; the finder can go on after."""
        self.events.end_s = float(self.state[fold.S_T])
        self._close(fold.S_WEIGHT, fold.S_ABS, fold.S_VOTES, self.events.end_s)
        return self.events


def deciding(mode: int, by_sign: Sequence[float]) -> tuple[str, ...]:
    """The channels whose signs pulled the way the mode went, strongest first."""
    if mode == fold.OFF:
        return ("compressor_current", "power", "heating_call")
    way = 1.0 if mode == fold.TURNED else -1.0
    order = sorted(range(fold.SIGNS), key=lambda k: -way * by_sign[k])
    names: list[str] = []
    for k in order:
        if way * by_sign[k] > 0.2:
            names += [name for name in fold.SIGN_CHANNELS[k] if name not in names]
    return tuple(names)


def find(samples: Iterable[Sequence[float]]) -> Events:
    """Run the fold over all samples, each (fold.WIDTH,)."""
    finder = Finder()
    push = finder.push
    for sample in samples:
        push(sample)
    return finder.finish()
