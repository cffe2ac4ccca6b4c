"""A made visit: its trace, marks and unit file, and the truth about it; and how it is written to files."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np

from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace
from made.board import BoardMaker, SensorMaker
from made.look import Accepted, Look
from made.plant import Machine
from made.record import PSI, Recorder, atmosphere_pa
from made.world import Log, Script, World


@dataclass(frozen=True, kw_only=True)
class TruePhase:
    """A phase as it really was, [start_s, end_s)."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True, kw_only=True)
class TrueDefrost:
    """A defrost as the board knew it, cut to the record."""

    start_s: float
    end_s: float
    ended_by: str
    """sensor | time | pressure | call | unknown (the record does not hold the end)"""
    whole: bool
    peak_dew_c: float
    """Highest dew saturation of the true discharge pressure in [start_s, end_s], the fall of the heating's
    own pressure at the start included. [degC]"""
    peak_turned_dew_c: float
    """The same from the lowest point after the turn on: the peak that the defrost itself makes. [degC]"""
    start_seen: bool
    end_seen: bool


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What the tool should find."""

    phases: tuple[TruePhase, ...]
    defrosts: tuple[TrueDefrost, ...]
    standings: dict[str, Accepted]
    """Function -> accepted standings, the right one first."""


@dataclass(frozen=True, kw_only=True)
class MadeVisit:
    """One visit with known truth."""

    situation: str
    seed: int
    trace: Trace
    marks: Marks | None
    unit_toml: str
    truth: Truth
    recorder: Recorder
    log: Log
    """Hidden states, for plots."""


@dataclass(kw_only=True)
class Draft:
    """What a situation changes before the run, and after it."""

    rng: np.random.Generator
    machine: Machine = field(default_factory=Machine)
    sensor: SensorMaker = field(default_factory=SensorMaker)
    board: BoardMaker = field(default_factory=BoardMaker)
    recorder: Recorder = field(default_factory=Recorder)
    outdoor_c: float = 10.0
    humidity: float = 0.7
    indoor_c: float = 21.0
    ceiling_c: float = 130.0 / 1.8 - 32.0 / 1.8
    cutout_dew_c: float = 66.0
    counted_s: float = 0.0
    marks: bool = True
    faults: dict[str, object] = field(default_factory=dict)
    """More fields of `Setting`."""
    finish: Callable[[Log], None] | None = None
    """Sets the recorder by what happened: gaps, cuts, typed times."""

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def one_of(self, *choices: object) -> object:
        return choices[int(self.rng.integers(len(choices)))]


Play = Callable[[World], Script]


def phases(look: Look) -> tuple[TruePhase, ...]:
    """The phases as they were, within the record."""
    log = look.log
    on, cool = log["compressor"] > 0.5, log["valve"] > 0.5
    name = np.where(on, np.where(cool, 5, 1), 0)
    if look.marks:
        held = (log["lead_off"] > 0.5) | (log["cover"] < 0.5)
        name[on & ~cool & held] = 2
    for defrost in log.defrosts:
        a = look.index(defrost.start_s)
        b = look.index(defrost.end_s) if np.isfinite(defrost.end_s) else len(name)
        after = min(b + int(600.0 / look.step), len(name))
        if np.isfinite(defrost.end_s):
            before = float(np.median(look.window("heat", defrost.start_s - 60.0, defrost.start_s - 1.0)))
            back = np.flatnonzero(log["heat"][b:after] > 0.9 * before)
            stop = b + int(back[0]) if len(back) else after
            part = name[b:stop]
            part[(part != 5) | (log["command"][b:stop] > 0.5)] = 4
            if defrost.ended_by in ("call", "pressure"):
                part[:] = 0
        name[a:b] = 3
    words = ("off", "heating", "chilldown", "defrost", "recovery", "cooling")
    inside = np.flatnonzero(look.inside())
    name, t = name[inside], look.t[inside]
    edges = np.concatenate(([0], np.flatnonzero(np.diff(name)) + 1, [len(name)]))
    return tuple(
        TruePhase(name=words[int(name[a])], start_s=float(t[a]), end_s=float(t[min(b, len(t) - 1)]))
        for a, b in pairwise(edges)
    )


def defrosts(look: Look, shift: Callable[[float], float]) -> tuple[TrueDefrost, ...]:
    """The true defrosts that the record holds a part of."""
    found = []
    for d in look.defrosts:
        start_s = max(d.start_s, look.first)
        end_s = min(d.end_s if np.isfinite(d.end_s) else look.last, look.last)
        high = look.window("high", start_s, end_s)
        turn = int(np.argmin(high[: max(2, int(60.0 / look.step))]))
        start_in, end_in = d.start_s > look.first, bool(np.isfinite(d.end_s)) and d.end_s < look.last
        found.append(
            TrueDefrost(
                start_s=shift(start_s),
                end_s=shift(end_s),
                ended_by=d.ended_by if end_in else "unknown",
                whole=start_in and end_in,
                peak_dew_c=float(high.max()),
                peak_turned_dew_c=float(high[turn:].max()),
                start_seen=look.seen(d.start_s),
                end_seen=end_in and look.seen(d.end_s),
            )
        )
    return tuple(found)


def unit_toml(draft: Draft, cutout_pa: float) -> str:
    """The unit file, in US or SI units."""
    s, b, r = draft.sensor, draft.board, draft.recorder
    atmosphere = atmosphere_pa(r.altitude_m)
    if r.units == "US":

        def temp(c: float) -> str:
            return f"{c * 1.8 + 32.0:.1f} degF"

        tolerance = f"{s.tolerance_k * 1.8:.1f} delta_degF"
        cutout = f"{(cutout_pa - atmosphere) / PSI:.1f} psi"
        altitude = f"{r.altitude_m / 0.3048:.0f} ft"
        probe = f"{r.temp_accuracy_k * 1.8:.2f} delta_degF"
    else:

        def temp(c: float) -> str:
            return f"{c:.1f} degC"

        tolerance = f"{s.tolerance_k:.1f} delta_degC"
        cutout = f"{(cutout_pa - atmosphere) / 1e3:.0f} kPa"
        altitude = f"{r.altitude_m:.0f} m"
        probe = f"{r.temp_accuracy_k:.2f} delta_degC"
    kind = "demand" if b.demand else "time-temperature"
    lines = [
        "[unit]",
        f'refrigerant = "{draft.machine.refrigerant}"',
        f'nominal_capacity = "{draft.machine.tons} ton_refrigeration"',
        'metering = "expansion valve"',
        "",
        "[coil_sensor]",
        f'closes_at = "{temp(s.rated_closes_c)}"',
        f'opens_at = "{temp(s.rated_opens_c)}"',
        f'tolerance = "{tolerance}"',
        "",
        "[board]",
        f'interval = "{b.interval_s / 60.0:g} min"',
        f'longest_defrost = "{b.longest_s / 60.0:g} min"',
        f'kind = "{kind}"',
        "",
        "[limits]",
        f'saturation_ceiling = "{temp(draft.ceiling_c)}"',
        f'high_pressure_cutout = "{cutout}"',
        "",
        "[site]",
        f'altitude = "{altitude}"',
        "",
        "[instruments]",
        *(
            f'{name} = "{100.0 * r.pressure_accuracy:g} %"'
            if name.endswith("_pressure")
            else f'{name} = "{probe}"'
            for name in draft.recorder.channels
            if name.endswith(("_temp", "n_pressure", "d_pressure", "e_pressure")) and "static" not in name
        ),
    ]
    return "\n".join(lines) + "\n"


def write(visit: MadeVisit, folder: Path) -> Path:
    """Write `trace.csv`, `unit.toml` and, where there are marks, `marks.csv`; give the trace's path."""
    folder.mkdir(parents=True, exist_ok=True)
    r = visit.recorder
    us = r.units == "US"
    atmosphere = atmosphere_pa(r.altitude_m)
    headers, columns = ["time [s]"], [[f"{t:.2f}" for t in visit.trace.time_s]]
    for name, values in visit.trace.columns.items():
        if name.endswith("_pressure"):
            unit, shown, digits = "psig" if us else "kPag", (values - atmosphere) / (PSI if us else 1e3), 3
        elif name.endswith("_temp"):
            unit, shown, digits = "degF" if us else "degC", values * 1.8 + 32.0 if us else values, 2
        elif name == "outdoor_humidity":
            unit, shown, digits = "%", values * 100.0, 1
        elif name.endswith("_current"):
            unit, shown, digits = "A", values, 3
        elif name.endswith("_voltage"):
            unit, shown, digits = "V", values, 2
        elif name == "power":
            unit, shown, digits = "W", values, 0
        else:
            unit, shown, digits = "", values, 0
        headers.append(f"{name} [{unit}]" if unit else name)
        columns.append(["" if np.isnan(v) else f"{v:.{digits}f}" for v in shown])
    path = folder / "trace.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(headers)
        writer.writerows(zip(*columns, strict=True))
    (folder / "unit.toml").write_text(visit.unit_toml, encoding="utf-8")
    if visit.marks is not None:
        with (folder / "marks.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["time [s]", "act", "note"])
            writer.writerows([f"{mark.time_s:g}", mark.act, mark.note] for mark in visit.marks)
    return path
