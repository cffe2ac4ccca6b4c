"""What people do on a visit, the weather, and the kits they carry: the parts of which situations are made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from made.plant import ice_humidity_ratio
from made.record import AIRS, COILS, CONTROLS, CURRENTS, LINES
from made.visit import Draft, Play
from made.world import Script, World

GAUGES = ("suction_pressure", "liquid_pressure")
KITS: tuple[tuple[str, ...], ...] = (
    (*GAUGES, "vapor_line_temp", "liquid_line_temp", *COILS, *AIRS, "sensor_voltage", "fan_current",
     "backup_current", "compressor_current"),
    ("suction_pressure", "discharge_pressure", *COILS, "sensor_voltage", *CURRENTS),
    (*GAUGES, *COILS, *AIRS, "sensor_voltage"),
    (*LINES, *COILS, *AIRS, *CURRENTS, *CONTROLS),
    (*GAUGES, "outdoor_coil_temp", "sensor_voltage", *CURRENTS, "power", "supply_air_temp"),
)  # fmt: skip
"""What a van may carry, besides everything."""

Maker = Callable[[Draft], Play]


@dataclass(frozen=True, kw_only=True)
class Situation:
    """One row."""

    name: str
    maker: Maker
    marks: bool | None
    """Whether a marks file comes with it; None for either."""
    kit: str = "any"
    """any | full | own (the maker chooses)"""


SITUATIONS: dict[str, Situation] = {}


def situation(name: str, *, marks: bool | None = True, kit: str = "any") -> Callable[[Maker], Maker]:
    """Add a row."""

    def add(maker: Maker) -> Maker:
        SITUATIONS[name] = Situation(name=name, maker=maker, marks=marks, kit=kit)
        return maker

    return add


def mild(d: Draft) -> None:
    """A mild day."""
    d.outdoor_c = d.between(7.0, 16.0)
    d.humidity = d.between(0.35, 0.7)


def cold(d: Draft) -> None:
    """Frost weather."""
    d.outdoor_c = d.between(-9.0, -0.5)
    d.humidity = d.between(0.75, 0.97)
    d.board.interval_s = d.board.real_interval_s = float(d.one_of(1800.0, 1800.0, 2700.0, 3600.0))  # type: ignore[arg-type]


def ended(w: World) -> Callable[[], bool]:
    return lambda: not w.in_defrost()


# What people do. ------------------------------------------------------------------------------------


def visit_on_a_mild_day(
    d: Draft,
    *,
    lead_back: str = "after",
    jumper: bool = False,
    cover: bool = False,
    chill_s: float = 900.0,
    after_s: float | None = None,
    try_pins_s: float = 200.0,
) -> Play:
    """Heat, chill the coil (or jump the sensor), bridge the pins, watch the defrost, wait for the heat.

    `lead_back` says when the fan lead goes back on: 'first' (before the pins), 'during' or 'after'.
    """
    settle, hold, away = d.between(420.0, 800.0), d.between(6.0, 40.0), d.between(125.0, 240.0)
    tail = d.between(480.0, 800.0) if after_s is None else after_s
    start = d.between(20.0, 90.0)
    off, on = ("coil-covered", "coil-uncovered") if cover else ("fan-lead-off", "fan-lead-on")

    def play(w: World) -> Script:
        yield w.at(start)
        w.act("call-on")
        yield w.after(settle)
        if jumper:
            w.act("sensor-jumpered")
        else:
            w.act(off)
            yield w.either(w.closed, chill_s)
        yield w.after(hold)
        if lead_back == "first" and not jumper:
            w.act(on)
            yield w.after(4.0 + hold / 3.0)
        w.act("pins-bridged")
        yield w.either(w.in_defrost, try_pins_s)
        yield w.after(1.0 + hold / 12.0)
        w.act("pins-released")
        if w.in_defrost():
            if lead_back == "during" and not jumper:
                yield w.after(8.0 + hold / 2.0)
                if w.in_defrost():
                    w.act(on)
                    yield ended(w)
                else:
                    w.act(on)
            else:
                yield ended(w)
        if lead_back == "after" and not jumper:
            yield w.after(away if not cover else 20.0)
            w.act(on)
        yield w.after(tail)

    return play


def left_alone(d: Draft, *, defrosts: int = 1, after_s: float | None = None, extra: float = 0.0) -> Play:
    """Nobody touches anything; the record begins with the machine warm."""
    d.recorder.start_s = 300.0
    tail = d.between(480.0, 900.0) if after_s is None else after_s

    def play(w: World) -> Script:
        yield w.at(2.0)
        w.call = True
        for _ in range(defrosts):
            yield w.either(w.in_defrost, d.board.real_interval_s + 1500.0)
            yield ended(w)
        yield w.after(tail + extra)

    return play


def soon(d: Draft, low_s: float = 700.0, high_s: float = 1500.0) -> None:
    """Let the board's count be nearly full when the record begins."""
    d.counted_s = max(0.0, d.board.real_interval_s - d.between(low_s, high_s))
    excess = d.humidity * ice_humidity_ratio(d.outdoor_c) - ice_humidity_ratio(d.outdoor_c - 6.5)
    d.faults["frost_kg"] = max(0.0, excess) * d.machine.frosting_kg_s_ton * d.machine.tons * d.counted_s
