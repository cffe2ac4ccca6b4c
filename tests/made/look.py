"""How the truth looks at a run: what the record holds of it, and how occasions fold into one standing."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from made.record import Recorder
from made.saturation import Floats
from made.world import Log

Accepted = tuple[str, ...]
_ORDER = ("shown", "prompted", "doubtful", "bypassed", "unseen")
LONGEST_LAG_S = 45.0
"""From coil to contact: lags up to 40 s are made."""


def _worst_of(standings: Accepted) -> str:
    if "failed" in standings:
        return "failed"
    return min(standings, key=_ORDER.index) if standings else "unseen"


def overall(occasions: list[Accepted]) -> Accepted:
    """Fold the accepted standings of all occasions into those of the visit."""
    distinct: list[Accepted] = []
    for occasion in occasions:
        if occasion not in distinct:
            distinct.append(occasion)
    out: list[str] = []
    for combination in product(*distinct):
        standing = _worst_of(combination)
        if standing not in out:
            out.append(standing)
    return tuple(out) or ("unseen",)


@dataclass(kw_only=True)
class Look:
    """A run, how it was recorded, and whether marks come with it."""

    log: Log
    recorder: Recorder
    marks: bool
    ceiling_c: float
    demand: bool = False

    def __post_init__(self) -> None:
        self.t: Floats = self.log["time_s"]
        self.step = float(self.t[1] - self.t[0])
        r = self.recorder
        typed = r.typed_s
        self.first = typed[0] if typed else max(r.start_s, self.step)
        self.last = min(typed[-1] if typed else r.end_s, float(self.t[-1]))
        self.defrosts = [
            d
            for d in self.log.defrosts
            if d.start_s < self.last - r.sampling_s and not d.end_s <= self.first + r.sampling_s
        ]

    def has(self, *names: str) -> bool:
        if self.recorder.wrong_units:
            names = tuple(
                "?" if name in ("liquid_pressure", "discharge_pressure") else name for name in names
            )
        return all(name in self.recorder.channels for name in names)

    def some(self, *names: str) -> bool:
        return any(self.has(name) for name in names)

    @property
    def high_side(self) -> bool:
        return self.some("discharge_pressure", "liquid_pressure")

    @property
    def turn_channels(self) -> bool:
        return (self.has("suction_pressure") and self.high_side) or self.has("vapor_line_temp")

    def gap_over(self, start_s: float, end_s: float) -> bool:
        """Whether a gap of all channels lies in or touches [start, end]."""
        edge = 1.5 * self.recorder.sampling_s
        return any(a - edge <= end_s and start_s <= b + edge for a, b in self.recorder.gaps)

    def seen(self, time_s: float) -> bool:
        """Whether the record holds the moment itself, with samples on both sides."""
        edge = self.recorder.sampling_s
        return self.first + edge < time_s < self.last - edge and not self.gap_over(time_s, time_s)

    def index(self, time_s: float) -> int:
        return int(np.clip(round(time_s / self.step) - 1, 0, len(self.t) - 1))

    def window(self, name: str, start_s: float, end_s: float) -> Floats:
        return self.log[name][self.index(start_s) : self.index(end_s) + 1]

    def inside(self) -> NDArray[np.bool_]:
        return (self.t >= self.first) & (self.t <= self.last)

    def held(self, name: str, start_s: float, end_s: float) -> bool:
        """Whether a 0/1 state held all through."""
        return bool(self.window(name, start_s, end_s).min() > 0.5)

    @property
    def coil_doubt_k(self) -> float:
        return self.recorder.temp_accuracy_k + 0.6
