"""The coil sensor and the defrost board of the made machines."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(kw_only=True)
class SensorMaker:
    """The contact as it really is, against what its plate says."""

    rated_closes_c: float = -1.1
    rated_opens_c: float = 15.6
    tolerance_k: float = 2.8
    closes_c: float = -1.1
    """Where this one really closes; -1000 for never."""
    opens_c: float = 15.6
    """Where this one really opens; 1000 for never."""
    lag_s: float = 15.0


class CoilSensor:
    """A contact behind a first-order lag."""

    def __init__(self, maker: SensorMaker, coil_c: float) -> None:
        self.maker = maker
        self.element = coil_c
        self.closed = coil_c <= maker.closes_c

    def step(self, dt: float, coil_c: float) -> None:
        """Follow the coil by `dt`."""
        maker = self.maker
        lag = maker.lag_s
        self.element = coil_c if lag < dt else self.element + (coil_c - self.element) * dt / lag
        if self.closed:
            if self.element >= maker.opens_c:
                self.closed = False
        elif self.element <= maker.closes_c:
            self.closed = True


@dataclass(kw_only=True)
class BoardMaker:
    """Settings and habits of a board."""

    interval_s: float = 1800.0
    """What it is set to."""
    real_interval_s: float = 1800.0
    """What it really counts to."""
    speed: float = 120.0
    counts_only_closed: bool = False
    longest_s: float = 600.0
    hold_off_s: float = 0.0
    fan_delay_s: float = 0.0
    valve_type: str = "O"
    """O: the valve's coil has voltage in cooling and defrost. B: in heating."""
    dead: bool = False
    runs_backup: bool = True
    stops_fan: bool = True
    lockout_s: float = 1e9
    demand: bool = False


class Board:
    """Counts, starts, ends; its outputs are attributes."""

    def __init__(self, maker: BoardMaker, counted_s: float) -> None:
        self.maker = maker
        self.counted = counted_s
        self.defrosting = False
        self.since = 0.0
        self.holding = 0.0
        self.fan_wait = 0.0
        self.locked = 0.0
        self.compressor = self.cool = self.fan = self.backup = False
        self.ended_by = ""

    def step(self, dt: float, *, call: bool, closed: bool, pins: bool, tripped: bool, cooling: bool) -> None:
        """One step with what the board can feel: call, contact circuit, pins, high-pressure switch."""
        maker = self.maker
        if self.locked > 0.0:
            self.locked -= dt
        if tripped:
            self.locked = maker.lockout_s
        if self.defrosting:
            self.since += dt
            why = ""
            if self.locked > 0.0:
                why = "pressure"
            elif not call:
                why = "call"
            elif not closed:
                why = "sensor"
            elif self.since >= maker.longest_s:
                why = "time"
            if why:
                self.defrosting = False
                self.ended_by = why
                self.counted = 0.0
                if why in ("sensor", "time"):
                    self.holding = maker.hold_off_s
                    self.fan_wait = maker.hold_off_s + maker.fan_delay_s
        runs = call and self.locked <= 0.0
        if runs and not self.defrosting and not cooling and self.holding <= 0.0:
            if closed or not maker.counts_only_closed:
                self.counted += dt * (maker.speed if pins and closed else 1.0)
            if closed and self.counted >= maker.real_interval_s and not maker.dead:
                self.defrosting = True
                self.since = 0.0
                self.ended_by = ""
        if self.holding > 0.0:
            self.holding -= dt
        if self.fan_wait > 0.0:
            self.fan_wait -= dt
        self.compressor = runs and self.holding <= 0.0
        self.cool = cooling or self.defrosting or (self.holding > 0.0 and maker.hold_off_s > 0.0)
        self.fan = runs and not (self.defrosting and maker.stops_fan) and self.fan_wait <= 0.0
        self.backup = self.defrosting and maker.runs_backup
