"""The situations a season brings, as rows: each sets up a draft and says what the person does."""

from __future__ import annotations

import numpy as np

from made.people import (
    GAUGES,
    KITS,
    SITUATIONS,
    Situation,
    cold,
    ended,
    left_alone,
    mild,
    situation,
    soon,
    visit_on_a_mild_day,
)
from made.record import AIRS, COILS, CURRENTS
from made.visit import Draft, Play
from made.world import Log, Script, World

__all__ = ["KITS", "SITUATIONS", "Situation"]


@situation("mild day", kit="full")
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d)


@situation("mild day, other kits")
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d, lead_back=str(d.one_of("first", "during", "after")))


@situation("mild day, lead back before the pins", marks=True)
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d, lead_back="first")


@situation("mild day, coil covered")
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d, cover=True)


@situation("mild day, no marks", marks=False)
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d, lead_back=str(d.one_of("first", "after")))


@situation("cold day left alone")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    return left_alone(d)


@situation("cold day, no marks", marks=False)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    return left_alone(d)


@situation("two whole intervals", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.interval_s = d.board.real_interval_s = float(d.one_of(1800.0, 2400.0))  # type: ignore[arg-type]
    soon(d, 600.0, 900.0)
    return left_alone(d, defrosts=3)


@situation("rests between", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.interval_s = d.board.real_interval_s = 1800.0
    soon(d, 600.0, 800.0)
    d.recorder.start_s = 300.0
    run, rest = d.between(500.0, 800.0), d.between(240.0, 600.0)

    def play(w: World) -> Script:
        yield w.at(2.0)
        w.call = True
        yield w.in_defrost
        yield ended(w)
        while True:
            yield w.either(w.in_defrost, run)
            if w.in_defrost():
                break
            w.call = False
            yield w.after(rest)
            w.call = True
        yield ended(w)
        yield w.after(650.0)

    return play


@situation("sensor jumpered")
def _(d: Draft) -> Play:
    return jumpered(d)


@situation("sensor jumpered, no marks", marks=False)
def _(d: Draft) -> Play:
    return jumpered(d)


def jumpered(d: Draft) -> Play:
    """The sensor is bridged on a warm coil and restored in or after the defrost."""
    mild(d)
    d.outdoor_c = d.between(9.0, 16.0)
    # A warm coil: its contact must be open when the jumper goes on.
    d.sensor.opens_c = min(d.sensor.opens_c, 19.0)
    settle, hold, early = d.between(420.0, 800.0), d.between(10.0, 30.0), bool(d.one_of(True, False))
    watch = d.between(60.0, 110.0)

    def play(w: World) -> Script:
        yield w.at(40.0)
        w.act("call-on")
        yield w.after(settle)
        w.act("sensor-jumpered")
        yield w.after(hold)
        w.act("pins-bridged")
        yield w.either(w.in_defrost, 200.0)
        yield w.after(3.0)
        w.act("pins-released")
        if early:
            yield w.either(ended(w), watch)
            w.act("sensor-restored")
        yield ended(w)
        if not early:
            yield w.after(20.0)
            w.act("sensor-restored")
        yield w.after(700.0)

    return play


@situation("sensor never closes")
def _(d: Draft) -> Play:
    mild(d)
    d.sensor.closes_c = -1000.0
    return visit_on_a_mild_day(d, chill_s=d.between(330.0, 480.0))


@situation("sensor never opens", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.sensor.opens_c = 1000.0
    d.machine.still_share = d.between(0.12, 0.16)
    d.machine.defrost_heat_share = d.between(0.65, 0.8)
    d.board.longest_s = float(d.one_of(480.0, 600.0))  # type: ignore[arg-type]
    return left_alone(d)


@situation("sensor opens far too late", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.sensor.rated_opens_c = float(d.one_of(12.8, 15.6))  # type: ignore[arg-type]
    d.sensor.lag_s = d.between(0.0, 20.0)
    d.sensor.opens_c = d.sensor.rated_opens_c + d.sensor.tolerance_k + d.between(20.0, 26.0)
    d.machine.coil_heat_j_k_ton = d.between(13.0e3, 15.0e3)
    return left_alone(d)


@situation("sensor opens far too early", marks=True)
def _(d: Draft) -> Play:
    mild(d)
    d.sensor.rated_opens_c = 18.3
    d.sensor.lag_s = d.between(0.0, 6.0)
    d.sensor.opens_c = d.between(2.5, 4.5)
    d.machine.coil_heat_j_k_ton = d.between(12.0e3, 15.0e3)
    return visit_on_a_mild_day(d)


@situation("sensor closes far too low", marks=True)
def _(d: Draft) -> Play:
    mild(d)
    d.outdoor_c = d.between(6.0, 9.0)
    d.machine.still_share = 0.05
    d.sensor.lag_s = d.between(0.0, 10.0)
    d.sensor.closes_c = d.sensor.rated_closes_c - d.sensor.tolerance_k - d.between(8.0, 11.0)
    return visit_on_a_mild_day(d, chill_s=1200.0)


@situation("board dead, pins bridged")
def _(d: Draft) -> Play:
    mild(d)
    d.board.dead = True
    return visit_on_a_mild_day(d, try_pins_s=d.between(110.0, 180.0))


@situation("board dead in the cold", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.dead = True
    d.board.interval_s = d.board.real_interval_s = 1800.0
    return left_alone(d, defrosts=0, after_s=d.board.interval_s * d.between(1.35, 1.6) + 300.0)


@situation("valve does not shift", kit="own", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.faults["valve_fault"] = "stays"
    d.board.longest_s = float(d.one_of(300.0, 480.0, 600.0))  # type: ignore[arg-type]
    d.machine.blower_off_in_defrost = False
    kit: tuple[str, ...] = (*GAUGES, "vapor_line_temp", *COILS, *AIRS, *CURRENTS, "sensor_voltage")
    d.recorder.channels = (*kit, "valve_voltage", "power") if d.one_of(True, False) else kit
    return left_alone(d)


@situation("valve does not return", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.faults["valve_fault"] = "sticks"
    return left_alone(d, after_s=d.between(650.0, 900.0))


@situation("fan runs in defrost", marks=None, kit="full")
def _(d: Draft) -> Play:
    mild(d)
    d.outdoor_c = d.between(0.0, 3.0)
    d.humidity = 0.85
    soon(d)
    d.faults["fan_welded"] = True
    return left_alone(d)


@situation("fan does not come back", marks=None, kit="full")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.faults["fan_lost_in_defrost"] = True
    return left_alone(d, after_s=d.between(650.0, 800.0))


@situation("no backup heat", marks=None, kit="full")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.faults["backup_dead"] = True
    return left_alone(d)


@situation("backup on before", marks=None, kit="full")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.faults["backup_always"] = True
    return left_alone(d)


@situation("ended by time", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.humidity = 0.97
    d.outdoor_c = d.between(-4.0, -1.0)
    soon(d, 1500.0, 1700.0)
    d.faults["frost_kg"] = d.between(1.0, 1.6) * d.machine.tons
    d.machine.defrost_heat_share = d.between(0.45, 0.6)
    d.machine.still_share = d.between(0.1, 0.14)
    d.board.longest_s = float(d.one_of(240.0, 300.0))  # type: ignore[arg-type]
    return left_alone(d)


@situation("high-pressure trip", marks=None)
def _(d: Draft) -> Play:
    mild(d)
    d.sensor.opens_c = 1000.0
    d.cutout_dew_c = d.between(56.0, 60.0)
    d.board.longest_s = 840.0
    d.machine.coil_heat_j_k_ton = d.between(9.0e3, 12.0e3)
    return visit_on_a_mild_day(d, lead_back="first", after_s=d.between(650.0, 750.0))


@situation("gap over the termination", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    before, after = d.between(15.0, 50.0), d.between(30.0, 90.0)

    def finish(log: Log) -> None:
        end_s = log.defrosts[0].end_s
        d.recorder.gaps = ((end_s - before, end_s + after),)

    d.finish = finish
    return left_alone(d)


@situation("no sensor volts", kit="own", marks=None)
def _(d: Draft) -> Play:
    d.recorder.channels = tuple(
        name for name in KITS[int(d.rng.integers(len(KITS)))] if name != "sensor_voltage"
    )
    if d.one_of(True, False):
        mild(d)
        return visit_on_a_mild_day(d, lead_back=str(d.one_of("first", "after")))
    cold(d)
    soon(d)
    return left_alone(d)


@situation("wrong units in a header", kit="full", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.recorder.units = "US"
    d.recorder.wrong_units = True
    return left_alone(d)


@situation("probes fall off", kit="full", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    names = (
        "vapor_line_temp",
        "liquid_line_temp",
        "supply_air_temp",
        "outdoor_air_temp",
        "power",
        "discharge_temp",
    )
    starts = [d.between(310.0, 1600.0) for _ in names]
    d.recorder.lost = tuple(
        (name, start, start + d.between(60.0, 400.0)) for name, start in zip(names, starts, strict=True)
    )
    d.recorder.dropout = 0.01
    return left_alone(d)


@situation("clock jumps ahead", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d, 1100.0, 1500.0)
    d.recorder.clock_jump = (d.between(360.0, 420.0), float(d.one_of(600.0, 3600.0)))  # type: ignore[arg-type]
    return left_alone(d)


@situation("minisplit, coil and air only", kit="own", marks=None)
def _(d: Draft) -> Play:
    minisplit(d)
    return left_alone(d, defrosts=2)


@situation("minisplit, ends still frozen", kit="own", marks=None)
def _(d: Draft) -> Play:
    minisplit(d)
    d.outdoor_c = d.between(-5.0, -1.0)
    d.board.longest_s = 600.0
    d.faults["frost_kg"] = d.between(1.2, 1.8) * d.machine.tons
    d.machine.defrost_heat_share = d.between(0.22, 0.3)
    return left_alone(d)


def minisplit(d: Draft) -> None:
    """A variable-speed machine on a demand board, blower off in defrost; only coil and air are logged."""
    cold(d)
    d.board.demand = True
    d.board.interval_s = d.board.real_interval_s = d.between(1500.0, 3600.0)
    d.board.hold_off_s = d.between(0.0, 30.0)
    d.board.longest_s = 900.0
    d.machine.blower_off_in_defrost = True
    d.machine.tons = d.between(0.75, 1.5)
    d.machine.defrost_heat_share = d.between(0.4, 0.7)
    d.machine.defrost_work_share = d.between(0.4, 0.8)
    d.machine.boost = d.between(1.0, 1.3)
    d.recorder.channels = (*COILS, *AIRS)
    soon(d, 700.0, 1200.0)


@situation("power and supply air only", kit="own", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.interval_s = d.board.real_interval_s = float(d.one_of(1800.0, 2400.0))  # type: ignore[arg-type]
    d.recorder.channels = ("power", "supply_air_temp")
    d.machine.defrost_work_share = d.between(0.4, 0.9)
    d.machine.boost = d.between(1.0, 1.2)
    soon(d, 700.0, 900.0)
    return left_alone(d, defrosts=2)


@situation("plain cycling", marks=None)
def _(d: Draft) -> Play:
    mild(d)
    d.outdoor_c = d.between(10.0, 16.0)
    run, rest = d.between(300.0, 700.0), d.between(200.0, 500.0)

    def play(w: World) -> Script:
        for _ in range(4):
            yield w.after(rest)
            w.call = True
            yield w.after(run)
            w.call = False
        yield w.after(rest)

    return play


@situation("cooling season", marks=None)
def _(d: Draft) -> Play:
    d.outdoor_c, d.humidity, d.indoor_c = d.between(26.0, 36.0), d.between(0.3, 0.6), d.between(23.0, 26.0)
    d.faults["cooling"] = True
    run, rest = d.between(400.0, 900.0), d.between(200.0, 500.0)

    def play(w: World) -> Script:
        for _ in range(3):
            yield w.after(rest)
            w.call = True
            yield w.after(run)
            w.call = False
        yield w.after(rest)

    return play


@situation("call removed in defrost")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.recorder.start_s = 300.0
    into, tail = d.between(40.0, 75.0), d.between(200.0, 700.0)

    def play(w: World) -> Script:
        yield w.at(2.0)
        w.call = True
        yield w.in_defrost
        yield w.either(ended(w), into)
        w.act("call-off")
        yield w.after(tail)

    return play


@situation("fan fails in heating", marks=None, kit="full")
def _(d: Draft) -> Play:
    cold(d)
    soon(d, 1100.0, 1500.0)
    d.faults["fan_fault_s"] = d.between(600.0, 800.0)
    return left_alone(d, after_s=d.between(650.0, 800.0))


@situation("record starts in a defrost", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    share = d.between(0.25, 0.6)

    def finish(log: Log) -> None:
        one = log.defrosts[0]
        d.recorder.start_s = one.start_s + share * (one.end_s - one.start_s)

    d.finish = finish
    return left_alone(d)


@situation("record ends in a defrost", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    share = d.between(0.5, 0.85)

    def finish(log: Log) -> None:
        one = log.defrosts[0]
        d.recorder.end_s = one.start_s + share * (one.end_s - one.start_s)

    d.finish = finish
    return left_alone(d, after_s=60.0)


@situation("board acts too early", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.interval_s = float(d.one_of(3600.0, 5400.0))  # type: ignore[arg-type]
    d.board.real_interval_s = d.between(0.35, 0.6) * d.board.interval_s
    soon(d, 600.0, 900.0)
    return left_alone(d, defrosts=2)


@situation("typed readings", kit="own")
def _(d: Draft) -> Play:
    mild(d)
    d.recorder.channels = (*GAUGES, "outdoor_coil_temp", "outdoor_air_temp", "sensor_voltage", "fan_current",
                           "backup_current", "supply_air_temp")  # fmt: skip
    d.recorder.sampling_s = 20.0

    def finish(log: Log) -> None:
        start_s, end_s = log.defrosts[0].start_s, log.defrosts[0].end_s
        off = next(event.time_s for event in log.acts if event.what == "fan-lead-off")
        closes = float(log["time_s"][np.flatnonzero(np.diff(log["contact"]) > 0.5)[0] + 1])
        times = (
            off - 240, off - 120, off - 20, off + 20, closes - 15, closes + 3, start_s - 3, start_s + 12,
            start_s + 45, 0.5 * (start_s + 45 + end_s - 8), end_s - 6, end_s + 10, end_s + 40, end_s + 150,
            end_s + 320, end_s + 470,
        )  # fmt: skip
        rising: list[float] = []
        for time_s in times:
            rounded = float(round(time_s))
            if rounded < float(log["time_s"][-1]) and (not rising or rounded > rising[-1]):
                rising.append(rounded)
        d.recorder.typed_s = tuple(rising)

    d.finish = finish
    return visit_on_a_mild_day(d)


@situation("fan lead forgotten")
def _(d: Draft) -> Play:
    mild(d)
    return visit_on_a_mild_day(d, lead_back="never", after_s=d.between(640.0, 800.0))


@situation("pins bridged on a warm coil")
def _(d: Draft) -> Play:
    mild(d)
    d.outdoor_c = d.between(11.0, 16.0)
    settle, held = d.between(420.0, 800.0), d.between(30.0, 150.0)

    def play(w: World) -> Script:
        yield w.at(30.0)
        w.act("call-on")
        yield w.after(settle)
        w.act("pins-bridged")
        yield w.either(w.in_defrost, held)
        w.act("pins-released")
        yield w.after(300.0)

    return play


@situation("cold, interval not over", marks=None)
def _(d: Draft) -> Play:
    cold(d)
    d.board.interval_s = d.board.real_interval_s = 5400.0
    d.counted_s = 0.0
    return left_alone(d, defrosts=0, after_s=d.between(1200.0, 3000.0))


@situation("jumper on a closed contact")
def _(d: Draft) -> Play:
    cold(d)
    soon(d)
    d.machine.still_share = d.between(0.12, 0.16)
    d.machine.defrost_heat_share = d.between(0.65, 0.8)
    d.board.longest_s = 480.0
    d.recorder.start_s = 300.0

    def play(w: World) -> Script:
        yield w.at(2.0)
        w.call = True
        yield w.at(420.0)
        w.act("sensor-jumpered")
        yield w.in_defrost
        yield ended(w)
        yield w.after(60.0)
        w.act("sensor-restored")
        yield w.after(650.0)

    return play
