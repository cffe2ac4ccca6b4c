"""What a run truly held, and what of it the record holds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.bench.scenario.build import Played
from firstfrost.bench.scenario.record import Record, marks_apart_s
from firstfrost.refrigerants.curves import Floats
from firstfrost.trace.trace import Trace

ENDED: Final = {0: "", 1: "sensor", 2: "time", 3: "pressure", 4: "call"}
"""The board's `ended_by`."""


@dataclass(frozen=True, kw_only=True)
class TrueDefrost:
    """A defrost as the board held it, from leaving heating to leaving defrost."""

    start_s: float
    end_s: float
    """The run's end where it did not end."""
    ended_by: str
    """Empty where it did not end."""

    @property
    def ended(self) -> bool:
        """Whether it ended within the run."""
        return self.ended_by != ""


@dataclass(kw_only=True)
class Look:
    """A run from within, beside its record."""

    played: Played
    record: Record

    @cached_property
    def times(self) -> Floats:
        """(n,) each second of the run."""
        return self.played.run.times_s

    @cached_property
    def defrosts(self) -> tuple[TrueDefrost, ...]:
        """All of the run."""
        modes = self.played.run.switches("mode")
        found: list[TrueDefrost] = []
        before = float(self.played.run.board("mode")[0])
        start_s: float | None = 0.0 if before in (2.0, 3.0) else None
        for time_s, mode in modes:
            if start_s is None and mode in (2.0, 3.0) and before not in (2.0, 3.0):
                start_s = time_s
            elif start_s is not None and mode not in (2.0, 3.0):
                found.append(TrueDefrost(start_s=start_s, end_s=time_s, ended_by=self._why(time_s)))
                start_s = None
            before = mode
        if start_s is not None:
            found.append(TrueDefrost(start_s=start_s, end_s=float(self.times[-1]), ended_by=""))
        return tuple(found)

    def _why(self, time_s: float) -> str:
        events = [v for t, v in self.played.run.switches("ended_by") if t <= time_s + 1e-6 and v > 0.0]
        return ENDED[int(events[-1])] if events else "call"

    def hand(self, name: str) -> Floats:
        """(n,) 1 where a person's hand has it so: call, fan, pins, jumper, cover."""
        return self.played.run.board(f"hand_{name}")

    @cached_property
    def lead_off(self) -> Floats:
        """(n,) 1 where a person keeps the fan's lead off."""
        return 1.0 - self.hand("fan")

    @cached_property
    def fan_on(self) -> Floats:
        """(n,) 1 where the outdoor fan turns."""
        return (self.played.run.state("fan") > 0.3).astype(float)

    @cached_property
    def compressor_on(self) -> Floats:
        """(n,) 1 where the compressor runs."""
        return (self.played.run.board("comp") > 0.5).astype(float)

    @cached_property
    def defrosting(self) -> Floats:
        """(n,) 1 where the board holds a defrost."""
        mode = self.played.run.board("mode")
        return np.isin(mode, (2.0, 3.0)).astype(float)

    def at(self, time_s: float) -> int:
        """Row of a time, the nearest second."""
        return int(np.clip(round(time_s), 0, len(self.times) - 1))

    def window(self, values: NDArray[Any], start_s: float, end_s: float) -> NDArray[Any]:
        """Values from a time to a time, at least one."""
        a, b = self.at(start_s), self.at(end_s)
        return values[a : max(b, a) + 1]

    # What the record holds

    @property
    def trace(self) -> Trace:
        """The record."""
        return self.record.trace

    @property
    def every_s(self) -> float:
        """Time between samples."""
        return float(self.played.scenario.recording.every_s)

    @property
    def marks(self) -> bool:
        """Whether marks come with it."""
        return self.record.marks is not None

    def has(self, *names: str) -> bool:
        """Whether each channel is in the record."""
        return all(name in self.trace for name in names)

    def some(self, *names: str) -> bool:
        """Whether one of the channels is in the record."""
        return any(name in self.trace for name in names)

    @property
    def turn_channels(self) -> bool:
        """Whether the record could show the circuit turning over."""
        high = self.some("discharge_pressure", "liquid_pressure")
        return (self.has("suction_pressure") and high) or self.has("vapor_line_temp")

    def covered(self, start_s: float, end_s: float, *names: str) -> bool:
        """Whether readings of some named channel (of any, without names) go on from a time to a time."""
        times = self.record.run_times_s
        if not len(times):
            return False
        allowed = 3.0 * self.every_s + 3.0
        for name in names or tuple(self.trace.columns):
            if name not in self.trace:
                continue
            good = times[np.isfinite(self.trace.columns[name])]
            near = good[(good >= start_s - allowed) & (good <= end_s + allowed)]
            if len(near) < 2 or near[0] > start_s + 1e-6 or near[-1] < end_s - 1e-6:
                continue
            if float(np.diff(near).max()) <= allowed:
                return True
        return False

    def read(self, name: str) -> NDArray[np.bool_]:
        """(n,) whether readings of a channel go on at each second."""
        times = self.record.run_times_s
        out = np.zeros(len(self.times), dtype=bool)
        if name in self.trace and len(times):
            good = times[np.isfinite(self.trace.columns[name])]
            for a, b in pairwise(good.tolist()):
                if b - a <= 3.0 * self.every_s + 3.0:
                    out[int(np.ceil(a)) : int(b) + 1] = True
        return out

    @property
    def marks_apart_s(self) -> float:
        """How far the marks' clock is ahead of the record's."""
        return marks_apart_s(self.played)

    @property
    def last_s(self) -> float:
        """The last sample."""
        times = self.record.run_times_s
        return float(times[-1]) if len(times) else 0.0
