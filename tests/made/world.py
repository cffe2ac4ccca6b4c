"""Plant, board and person together: one visit run at a fixed step, with everything hidden written down."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, field

import numpy as np

from made.board import Board, BoardMaker, CoilSensor, SensorMaker
from made.plant import Machine, Plant
from made.saturation import Floats, dew_temp_c

STEP_S = 0.5

LOGGED = (
    "time_s", "coil", "element", "contact", "circuit", "jumper", "pins", "lead_off", "call",
    "compressor", "valve", "command", "fan_on", "air", "cover", "backup", "blower", "defrosting",
    "high", "low", "discharge", "suction", "vapor", "liquid", "supply", "indoor", "outdoor", "power",
    "compressor_w", "heat", "frost",
)  # fmt: skip

Condition = Callable[[], bool]
Script = Generator[Condition, None, None]


@dataclass(kw_only=True)
class Event:
    """One thing that happened, in truth."""

    time_s: float
    what: str


@dataclass(kw_only=True)
class Setting:
    """All that a run needs."""

    machine: Machine
    sensor: SensorMaker
    board: BoardMaker
    outdoor_c: float
    humidity: float
    indoor_c: float
    cutout_pa: float
    """High-pressure switch, absolute. [Pa]"""
    counted_s: float = 0.0
    """Run time already on the board when the run begins. [s]"""
    outdoor_drift_k_h: float = 0.0
    sun_k: float = 0.0
    valve_fault: str = ""
    """'' | 'stays' (never shifts) | 'sticks' (never returns)"""
    fan_fault_s: float = float("inf")
    """When the fan fails by itself. [s]"""
    fan_lost_in_defrost: bool = False
    """The fan fails while it rests in a defrost."""
    fan_welded: bool = False
    """The fan relay does not open."""
    backup_dead: bool = False
    backup_always: bool = False
    cooling: bool = False
    longest_run_s: float = 14400.0


@dataclass
class World:
    """A run in progress: what a person can see and do, and the log."""

    setting: Setting
    rng: np.random.Generator
    now: float = 0.0
    call: bool = False
    pins: bool = False
    jumper: bool = False
    lead_off: bool = False
    acts: list[Event] = field(default_factory=list)
    defrosts: list[list[float]] = field(default_factory=list)
    ended_by: list[str] = field(default_factory=list)
    log: list[tuple[float, ...]] = field(default_factory=list)
    tripped: bool = False

    def __post_init__(self) -> None:
        s = self.setting
        self.plant = Plant(s.machine, s.outdoor_c, s.humidity, s.indoor_c)
        self.sensor = CoilSensor(s.sensor, s.outdoor_c)
        self.board = Board(s.board, s.counted_s)
        self.cutout_c = float(dew_temp_c(s.machine.refrigerant, np.asarray(s.cutout_pa)))

    # What a script says.
    def at(self, time_s: float) -> Condition:
        return lambda: self.now >= time_s

    def after(self, wait_s: float) -> Condition:
        end = self.now + wait_s
        return lambda: self.now >= end

    def either(self, condition: Condition, wait_s: float) -> Condition:
        """Go on at `condition`, or when `wait_s` are over."""
        end = self.now + wait_s
        return lambda: self.now >= end or condition()

    def closed(self) -> bool:
        return self.sensor.closed or self.jumper

    def in_defrost(self) -> bool:
        return self.board.defrosting

    def act(self, what: str) -> None:
        """Do one of the acts of a marks file."""
        self.acts.append(Event(time_s=self.now, what=what))
        if what == "fan-lead-off":
            self.lead_off = True
        elif what == "fan-lead-on":
            self.lead_off = False
        elif what == "pins-bridged":
            self.pins = True
        elif what == "pins-released":
            self.pins = False
        elif what == "sensor-jumpered":
            self.jumper = True
        elif what == "sensor-restored":
            self.jumper = False
        elif what in ("coil-covered", "coil-uncovered"):
            self.plant.cover = 0.05 if what == "coil-covered" else 1.0
        elif what == "call-on":
            self.call = True
        elif what == "call-off":
            self.call = False

    def run(self, script: Script) -> Log:
        """Run to the end of `script`."""
        s, plant, board, sensor = self.setting, self.plant, self.board, self.sensor
        condition = next(script)
        dt = STEP_S
        valve = s.cooling
        since_command = 0.0
        stuck_cool = False
        fan_dead = False
        write = self.log.append
        while self.now < s.longest_run_s:
            if condition():
                try:
                    condition = next(script)
                except StopIteration:
                    break
            self.now += dt
            now = self.now
            plant.outdoor = s.outdoor_c + s.outdoor_drift_k_h * now / 3600.0
            circuit = sensor.closed or self.jumper
            was = board.defrosting
            self.tripped = board.compressor and plant.high >= self.cutout_c
            board.step(
                dt, call=self.call, closed=circuit, pins=self.pins, tripped=self.tripped, cooling=s.cooling
            )
            if board.defrosting != was:
                if board.defrosting:
                    self.defrosts.append([now, float("nan")])
                    self.ended_by.append("")
                    if s.valve_fault == "sticks":
                        stuck_cool = True
                else:
                    self.defrosts[-1][1] = now
                    self.ended_by[-1] = board.ended_by
                    fan_dead = fan_dead or s.fan_lost_in_defrost
            wanted = board.cool
            if wanted != valve:
                since_command += dt
                if since_command >= 0.5 and (board.compressor or not wanted):
                    if (wanted and s.valve_fault == "stays") or (not wanted and stuck_cool):
                        pass
                    else:
                        valve = wanted
                        since_command = 0.0
            else:
                since_command = 0.0
            fan_dead = fan_dead or now >= s.fan_fault_s
            fan_on = (board.fan or (s.fan_welded and board.compressor)) and not self.lead_off and not fan_dead
            backup = (board.backup or (s.backup_always and board.compressor)) and not s.backup_dead
            blower = board.compressor or board.holding > 0.0
            if s.machine.blower_off_in_defrost and board.defrosting:
                blower = False
            plant.step(dt, board.compressor, valve, fan_on, backup, blower)
            sensor.step(dt, plant.coil)
            write((
                now, plant.coil, sensor.element, sensor.closed, circuit, self.jumper, self.pins,
                self.lead_off, self.call, board.compressor, valve, board.cool, fan_on,
                plant.air if fan_on else 0.0, plant.cover, backup, blower, board.defrosting,
                plant.high, plant.low, plant.discharge, plant.suction, plant.vapor, plant.liquid,
                plant.supply, plant.indoor, plant.outdoor, plant.power_w(backup, blower),
                plant.compressor_w, plant.heat_w, plant.frost,
            ))  # fmt: skip
        columns = np.asarray(self.log, dtype=np.float64).T
        return Log(
            setting=s,
            columns=dict(zip(LOGGED, columns, strict=True)),
            acts=tuple(self.acts),
            defrosts=tuple(
                HiddenDefrost(start_s=a, end_s=b, ended_by=why)
                for (a, b), why in zip(self.defrosts, self.ended_by, strict=True)
            ),
        )


@dataclass(frozen=True, kw_only=True)
class HiddenDefrost:
    """A defrost as the board knew it; `end_s` is NaN if the run ended first."""

    start_s: float
    end_s: float
    ended_by: str


@dataclass(frozen=True, kw_only=True)
class Log:
    """A finished run."""

    setting: Setting
    columns: dict[str, Floats]
    acts: tuple[Event, ...]
    defrosts: tuple[HiddenDefrost, ...]

    def __getitem__(self, name: str) -> Floats:
        return self.columns[name]
