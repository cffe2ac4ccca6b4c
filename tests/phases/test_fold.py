"""The fold: what keeps the circuit heating, what turns it, what stops it, and how switches are read."""

from __future__ import annotations

import numpy as np
import pytest
from drawn import END_S, LAST_S, START_S, cold_trace, draw, steps, with_gap
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made import SITUATIONS, make

from firstfrost.cycle.derive import derive
from firstfrost.phases import fold
from firstfrost.phases.events import Events, Finder, find
from firstfrost.phases.samples import rows
from firstfrost.trace.marks import Marks
from firstfrost.trace.trace import Trace

OUTPUTS = ("fan_current", "backup_current", "valve_voltage", "sensor_voltage", "heating_call")
TEMPERATURES = (
    "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp", "supply_air_temp", "return_air_temp",
)  # fmt: skip
WEATHER = {"outdoor_air_temp": 1.0, "return_air_temp": 21.0}
HEATING = {
    "low": -8.0, "high": 42.0, "vapor_line_temp": 62.0, "outdoor_coil_temp": -4.0, "supply_air_temp": 38.0,
    **WEATHER,
}  # fmt: skip
NOISE = {"low": 0.3, "high": 0.2, "vapor_line_temp": 0.3, "outdoor_coil_temp": 0.2, "supply_air_temp": 0.2}


def events(trace: Trace, marks: Marks | None = ()) -> Events:
    return find(rows(trace, derive(trace, "R-410A"), marks).tolist())


def modes(trace: Trace, marks: Marks | None = ()) -> list[int]:
    return [s.mode for s in events(trace, marks).stretches]


def seconds(start_s: float, end_s: float, step_s: float = 1.0) -> np.ndarray:
    return np.arange(start_s, end_s + 1e-9, step_s)


@pytest.mark.parametrize(
    "left_out",
    [(), ("low", "high"), ("vapor_line_temp",), ("outdoor_coil_temp",), ("return_air_temp",),
     ("vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp"),
     ("vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp", "supply_air_temp", "return_air_temp")],
)  # fmt: skip
@pytest.mark.parametrize("step_s", [0.5, 1.0, 10.0, 60.0])
def test_steady_heating_stays_heating(left_out: tuple[str, ...], step_s: float) -> None:
    channels = {name: value for name, value in HEATING.items() if name not in left_out}
    trace = draw(seconds(0, 3600, step_s), channels, noise=NOISE)
    (stretch,) = events(trace).stretches
    assert stretch.mode == fold.HEAT
    assert stretch.sure > 0.8


@pytest.mark.parametrize("outdoor_c", [-20.0, -5.0, 5.0, 15.0])
def test_heating_is_heating_in_any_weather(outdoor_c: float) -> None:
    channels = {
        **HEATING,
        "outdoor_air_temp": outdoor_c,
        "outdoor_coil_temp": outdoor_c - 5.0,
        "low": outdoor_c - 9.0,
    }
    assert modes(draw(seconds(0, 1800), channels, noise=NOISE)) == [fold.HEAT]


@pytest.mark.parametrize(
    "without",
    [(), OUTPUTS, (*OUTPUTS, "compressor_current"), ("low", "high"),
     (*OUTPUTS, "compressor_current", "vapor_line_temp", "supply_air_temp"),
     (*OUTPUTS, "compressor_current", "outdoor_coil_temp", "outdoor_air_temp"),
     (*OUTPUTS, "compressor_current", "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp"),
     (*OUTPUTS, "compressor_current", *TEMPERATURES)],
)  # fmt: skip
def test_a_turn_is_a_turn_and_back(without: tuple[str, ...]) -> None:
    found = events(cold_trace(*without))
    assert [s.mode for s in found.stretches] == [fold.HEAT, fold.TURNED, fold.HEAT]
    turned = found.stretches[1]
    # The fold is sure only a while after the edge itself, which `refine` finds.
    assert START_S <= turned.start_s <= START_S + 90.0
    assert END_S <= turned.end_s <= END_S + 150.0
    assert turned.sure > 0.9


def stop(step_s: float = 1.0, off_s: float = 1200.0) -> dict[str, object]:
    """A machine that stops at 900 s and starts again `off_s` later; its pressures come together and part."""
    on_s = 900.0 + off_s
    return {
        "low": [(0, -8), (900, -8), (960, 8), (on_s, 4), (on_s + 30, -8), (on_s + 900, -8)],
        "high": [(0, 42), (900, 42), (960, 11), (on_s, 4), (on_s + 60, 36), (on_s + 120, 42)],
        "vapor_line_temp": [(0, 62), (900, 62), (on_s, 22), (on_s + 120, 60)],
        "outdoor_coil_temp": [(0, -4), (900, -4), (960, 1), (on_s, 1), (on_s + 90, -4)],
        "supply_air_temp": [(0, 38), (900, 38), (1000, 23), (on_s, 21), (on_s + 120, 38)],
        "compressor_current": steps(9.0, (900, 0.0), (on_s, 9.0)),
        "fan_current": steps(0.9, (900, 0.0), (on_s, 0.9)),
        **WEATHER,
    }


@pytest.mark.parametrize("left_out", [(), ("compressor_current",), ("compressor_current", "fan_current")])
def test_a_stop_is_no_turn(left_out: tuple[str, ...]) -> None:
    channels = {name: value for name, value in stop().items() if name not in left_out}
    found = events(draw(seconds(0, 3300), channels, noise=NOISE))  # type: ignore[arg-type]
    assert fold.TURNED not in [s.mode for s in found.stretches]
    assert fold.OFF in [s.mode for s in found.stretches]
    off_s = sum(s.end_s - s.start_s for s in found.stretches if s.mode == fold.OFF)
    assert off_s == pytest.approx(1200.0, abs=5.0 if not left_out else 200.0)


def test_a_rest_is_held_through_drop_outs_of_the_pressures() -> None:
    # A trip on a hot coil, and a probe that drops out each half minute: that must not start the clock of the
    # rest anew each time.
    trip_s = END_S
    channels = {
        "low": [(0, -3), (START_S, -3), (START_S + 8, 12), (START_S + 60, 6), (trip_s, 8), (trip_s + 90, 26),
                (LAST_S, 18)],
        "high": [(0, 46), (START_S, 46), (START_S + 8, 18), (trip_s, 64), (trip_s + 120, 28), (LAST_S, 18)],
        "outdoor_coil_temp": [(0, 6), (START_S, 6), (trip_s, 50), (LAST_S, 20)],
        "outdoor_air_temp": 15.0,
        "return_air_temp": 21.0,
    }  # fmt: skip
    trace = draw(seconds(0, LAST_S), channels)  # type: ignore[arg-type]
    holed = trace.get("suction_pressure").copy()
    holed[::30] = np.nan
    columns = {**trace.columns, "suction_pressure": holed}
    sound, torn = (
        events(Trace(time_s=trace.time_s, columns=c)).stretches[-1] for c in (trace.columns, columns)
    )
    assert sound.mode == torn.mode == fold.OFF
    assert torn.start_s == pytest.approx(sound.start_s, abs=30.0)


def test_air_cooled_below_the_room_is_no_heating() -> None:
    # A valve that sticks after a defrost, in a kit without outdoor air and vapor line: coil and pressures
    # alone look like heating, the supply air does not.
    after = {
        "low": [(0, 2), (END_S, 5.5), (LAST_S, 5.5)],
        "high": [(0, 42), (START_S, 41), (START_S + 8, 12), (END_S, 33), (END_S + 60, 29), (LAST_S, 27.7)],
        "outdoor_coil_temp": [(0, 2), (START_S, -3), (END_S, 16), (END_S + 60, 11.5), (LAST_S, 9.9)],
        "supply_air_temp": [(0, 38), (START_S, 38), (START_S + 60, 36), (END_S, 36), (END_S + 60, 9)],
    }
    trace = cold_trace("vapor_line_temp", "outdoor_air_temp", "return_air_temp", **after)  # type: ignore[arg-type]
    assert modes(trace)[-1] == fold.TURNED


def test_single_missing_readings_change_nothing() -> None:
    trace = cold_trace()
    rng = np.random.default_rng(5)
    columns = {n: np.where(rng.uniform(size=len(c)) < 0.02, np.nan, c) for n, c in trace.columns.items()}
    torn = events(Trace(time_s=trace.time_s, columns=columns))
    whole = events(trace)
    assert [s.mode for s in torn.stretches] == [s.mode for s in whole.stretches]
    assert torn.gaps == []
    for first, second in zip(torn.stretches, whole.stretches, strict=True):
        assert first.start_s == pytest.approx(second.start_s, abs=5.0)
    for k in (fold.SW_CONTACT, fold.SW_FAN, fold.SW_BACKUP, fold.SW_VALVE):
        assert [c.on for c in torn.of(k)] == [c.on for c in whole.of(k)]
        for one, two in zip(torn.of(k), whole.of(k), strict=True):
            assert one.time_s == pytest.approx(two.time_s, abs=2.0)


def test_a_gap_is_named_and_does_not_turn_the_circuit() -> None:
    found = events(with_gap(cold_trace(), 400.0, 600.0))
    assert found.gaps == [(399.0, 600.0)]
    assert found.gap_in(500.0, 510.0)
    assert not found.gap_in(700.0, 800.0)
    assert [s.mode for s in found.stretches] == [fold.HEAT, fold.TURNED, fold.HEAT]


def test_a_steady_slow_logger_has_no_gaps() -> None:
    assert events(cold_trace(step_s=30.0)).gaps == []


@pytest.mark.parametrize("amps", [0.25, 0.6, 2.0, 6.0])
def test_a_fan_of_any_size_is_read(amps: float) -> None:
    trace = cold_trace(fan_current=steps(amps, (START_S, 0.02), (END_S, amps)))
    found = events(trace)
    assert found.first[fold.SW_FAN] is True
    assert [(c.on, c.time_s) for c in found.of(fold.SW_FAN)] == [(False, START_S), (True, END_S)]
    assert found.state_at(fold.SW_FAN, START_S + 10) is False
    assert found.state_at(fold.SW_FAN, END_S + 10) is True
    assert found.state_at(fold.SW_FAN, -1.0) is None


@pytest.mark.parametrize("volts", [24.0, -24.0, 28.0])
def test_the_sign_of_the_volts_does_not_matter(volts: float) -> None:
    trace = cold_trace(sensor_voltage=steps(volts, (300, 0.0), (END_S, volts)))
    found = events(trace)
    assert [(c.on, c.time_s) for c in found.of(fold.SW_CONTACT)] == [(False, 300.0), (True, END_S)]


def test_a_switch_that_was_never_read_is_not_known() -> None:
    found = events(cold_trace("backup_current"))
    assert found.first[fold.SW_BACKUP] is None
    assert found.state_at(fold.SW_BACKUP, 1000.0) is None
    assert found.of(fold.SW_BACKUP) == []


def test_the_time_of_no_sample_is_made_up() -> None:
    trace = cold_trace(step_s=5.0)
    times = set(trace.time_s.tolist())
    assert all(c.time_s in times for c in events(trace).changes)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(situation=st.sampled_from(sorted(SITUATIONS)), seed=st.integers(0, 500), data=st.data())
def test_live_and_batch_give_the_same_events(situation: str, seed: int, data: st.DataObject) -> None:
    visit = make(situation, seed)
    samples = rows(visit.trace, derive(visit.trace, "R-410A"), visit.marks).tolist()
    whole = find(samples)
    at = data.draw(st.integers(0, len(samples)))
    finder = Finder()
    for sample in samples[:at]:
        finder.push(sample)
    finder.finish()  # a look at the events on the way must leave no trace
    for sample in samples[at:]:
        finder.push(sample)
    assert repr(finder.finish()) == repr(whole)


def test_each_slot_of_the_state_is_its_own() -> None:
    slots = {name: value for name, value in vars(fold).items() if name.startswith("S_")}
    scalars = [value for value in slots.values() if value < fold.S_VOTES]
    assert len(set(slots.values())) == len(slots)
    assert sorted(scalars) == list(range(fold.S_VOTES))
