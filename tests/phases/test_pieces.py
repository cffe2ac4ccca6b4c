"""The pieces behind the fold: breaks, edges, the board's outputs, clean stretches, peaks, ends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawn import (
    CLOSES_S,
    END_S,
    START_S,
    acts,
    check,
    cold_day,
    cold_trace,
    steps,
    timed_out,
    unit,
    with_gap,
)

from firstfrost.cycle.derive import derive
from firstfrost.phases import fold
from firstfrost.phases.assemble import clean
from firstfrost.phases.board import clusters, windows
from firstfrost.phases.edges import averaged, hinge, refine
from firstfrost.phases.events import Change, Events, Stretch, find
from firstfrost.phases.peak import fit_share, highest, spread
from firstfrost.phases.samples import on_purpose_spans, rows
from firstfrost.phases.seen import warmed
from firstfrost.trace.trace import Trace

# hinge ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("noise", [0.0, 0.1, 0.3])
@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0])
def test_a_break_is_found_where_it_is(way: float, noise: float, step_s: float) -> None:
    rng = np.random.default_rng(int(10 * noise + 100 * step_s))
    t = np.arange(0.0, 120.0, step_s)
    y = way * (0.01 * t + np.clip((t - 80.0) * 1.5, 0.0, 30.0)) + rng.normal(0.0, noise, len(t))
    got = hinge(t, y, way)
    assert got is not None
    when, strength = got
    assert when == pytest.approx(80.0, abs=max(1.5 * step_s, 1.0 + 2.0 * noise))
    assert strength > 6.0


def test_a_break_the_other_way_is_none() -> None:
    t = np.arange(0.0, 120.0)
    y = np.clip((t - 80.0) * 1.5, 0.0, 30.0)
    assert hinge(t, y, -1.0) is None


def test_no_break_in_noise() -> None:
    rng = np.random.default_rng(2)
    t = np.arange(0.0, 170.0)
    assert sum(hinge(t, rng.normal(0.0, 0.3, len(t)), 1.0) is not None for _ in range(40)) <= 2


def test_too_few_readings_have_no_break() -> None:
    t = np.arange(10.0)
    assert hinge(t, np.where(t < 7, np.nan, t), 1.0) is None


def test_means_of_blocks_keep_missing_readings_out() -> None:
    t, y = averaged(np.arange(7.0), np.array([9.0, 1.0, 3.0, np.nan, 5.0, np.nan, np.nan]), 2)
    np.testing.assert_array_equal(t, [1.0, 3.0, 5.0])
    np.testing.assert_array_equal(y, [2.0, 5.0, np.nan])


# refine -----------------------------------------------------------------------------------------------

OUTPUTS = ("fan_current", "backup_current", "valve_voltage", "compressor_current", "sensor_voltage")


def edge(trace: Trace, *, to_turned: bool, purpose: list[tuple[float, float]] | None = None):  # type: ignore[no-untyped-def]
    samples = rows(trace, derive(trace, "R-410A"), ())
    events = find(samples.tolist())
    turned = next(s for s in events.stretches if s.mode == fold.TURNED)
    return refine(
        samples, events, turned.start_s if to_turned else turned.end_s, to_turned=to_turned,
        purpose=purpose or [], earliest_s=0.0,
    )  # fmt: skip


@pytest.mark.parametrize("step_s", [0.5, 1.0, 5.0])
def test_outputs_give_the_edge_to_the_sample(step_s: float) -> None:
    trace = cold_trace(step_s=step_s)
    start, end = edge(trace, to_turned=True), edge(trace, to_turned=False)
    assert start.time_s == START_S
    assert end.time_s == END_S
    assert start.half_width_s == pytest.approx(step_s)
    assert {"fan_current", "backup_current", "valve_voltage"} == set(start.channels)


@pytest.mark.parametrize("step_s", [0.5, 1.0, 5.0])
def test_pressures_alone_give_the_edge_to_two_samples(step_s: float) -> None:
    trace = cold_trace(*OUTPUTS, step_s=step_s)
    for to_turned, true_s in ((True, START_S), (False, END_S)):
        got = edge(trace, to_turned=to_turned)
        assert got.time_s == pytest.approx(true_s, abs=2 * step_s)
        assert got.half_width_s >= abs(got.time_s - true_s)
        assert "high_pressure" in got.channels


def test_temperatures_alone_say_that_they_know_no_better_than_a_minute() -> None:
    got = edge(cold_trace(*OUTPUTS, "low", "high"), to_turned=True)
    assert got.half_width_s >= 60.0
    assert abs(got.time_s - START_S) <= got.half_width_s


def test_a_fan_that_a_person_moved_is_no_edge() -> None:
    lead_s = START_S - 40.0
    trace = cold_trace(*OUTPUTS[1:], fan_current=steps(0.9, (lead_s, 0.0)))
    got = edge(trace, to_turned=True, purpose=[(lead_s, math.inf)])
    assert got.time_s == pytest.approx(START_S, abs=2.0)


# board ------------------------------------------------------------------------------------------------


def board(trace: Trace, marks=()):  # type: ignore[no-untyped-def]
    samples = rows(trace, derive(trace, "R-410A"), marks)
    events = find(samples.tolist())
    return windows(events, clean(events), marks, on_purpose_spans(marks), trace.sampling_s)


def test_two_outputs_together_are_a_start_and_an_end() -> None:
    (window,) = board(cold_trace())
    assert window.start.time_s == START_S
    assert window.end is not None
    assert window.end.time_s == END_S


def test_the_outputs_tell_a_defrost_that_the_circuit_does_not_follow() -> None:
    (window,) = board(cold_trace(low=-13.0, high=42.0, vapor_line_temp=61.0, outdoor_coil_temp=-8.0))
    assert (window.start.time_s, window.end and window.end.time_s) == (START_S, END_S)


def test_one_output_alone_is_no_start() -> None:
    assert board(cold_trace(backup_current=0.0, valve_voltage=0.1)) == []
    assert board(cold_trace(fan_current=0.9, valve_voltage=0.1)) == []


def test_outputs_of_a_unit_that_stops_are_no_start() -> None:
    off = {
        name: steps(on, (600, 0.0), (1500, on))
        for name, on in (("fan_current", 0.9), ("compressor_current", 9.0), ("valve_voltage", 25.0))
    }
    calls = steps(1.0, (600, 0.0), (1500, 1.0))
    assert board(cold_trace(backup_current=0.0, heating_call=calls, **off)) == []  # type: ignore[arg-type]


STAYS_HEATING = {"low": -13.0, "high": 42.0, "vapor_line_temp": 61.0, "outdoor_coil_temp": -8.0}


def test_a_board_that_holds_the_compressor_off_first_starts_there() -> None:
    held_s = START_S - 30.0
    outputs = {
        "compressor_current": steps(9.0, (held_s, 0.0), (START_S, 9.0)),
        "fan_current": steps(0.9, (held_s, 0.0), (END_S, 0.9)),
    }
    for without in ((), ("valve_voltage",)):
        (window,) = board(cold_trace(*without, **STAYS_HEATING, **outputs))  # type: ignore[arg-type]
        assert (window.start.time_s, window.end and window.end.time_s) == (held_s, END_S)


def test_a_defrost_that_goes_on_with_the_next_call_is_one() -> None:
    calls = {
        "heating_call": steps(1.0, (600, 0.0), (START_S, 1.0)),
        "compressor_current": steps(9.0, (600, 0.0), (START_S, 9.0)),
        "fan_current": steps(0.9, (600, 0.0), (END_S, 0.9)),
        "valve_voltage": 0.1,
    }
    (window,) = board(cold_trace(**STAYS_HEATING, **calls))  # type: ignore[arg-type]
    assert (window.start.time_s, window.end and window.end.time_s) == (START_S, END_S)
    # With the fan on in that run it is backup heat by the thermostat.
    calls["fan_current"] = steps(0.9, (600, 0.0), (START_S, 0.9))
    assert board(cold_trace(**STAYS_HEATING, **calls)) == []  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("coil", "found"), [([(900, -8), (1000, 16)], True), ([(900, -8), (1000, -6)], False)]
)
def test_a_coil_that_rises_past_the_air_was_heated(coil, found) -> None:  # type: ignore[no-untyped-def]
    trace = cold_trace(outdoor_coil_temp=coil)
    samples = rows(trace, derive(trace, "R-410A"), ())
    assert warmed(samples, START_S, START_S + 100.0) is found


def test_an_end_that_the_record_does_not_hold_is_none() -> None:
    (window,) = board(cold_trace(last_s=END_S - 50))
    assert window.end is None


def test_changes_are_grouped_by_their_first() -> None:
    changes = [Change(switch=1, on=True, time_s=t) for t in (30.0, 0.0, 5.0, 11.0)]
    assert [[c.time_s for c in group] for group in clusters(changes, 10.0)] == [[0.0, 5.0], [11.0], [30.0]]


# clean ------------------------------------------------------------------------------------------------


def stretch(mode: int, start_s: float, end_s: float, vote: float = 0.0) -> Stretch:
    return Stretch(mode=mode, start_s=start_s, end_s=end_s, by_sign=(vote,) + (0.0,) * (fold.SIGNS - 1))


def cleaned(*stretches: Stretch) -> list[tuple[int, float, float]]:
    return [(s.mode, s.start_s, s.end_s) for s in clean(Events(stretches=list(stretches)))]


def test_flicker_is_joined_to_what_it_lies_in() -> None:
    heat, turn = fold.HEAT, fold.TURNED
    assert cleaned(stretch(heat, 0, 500, -3), stretch(turn, 500, 512, 2), stretch(heat, 512, 900, -3)) == [
        (heat, 0, 900)
    ]
    assert cleaned(stretch(turn, 0, 200, 3), stretch(heat, 200, 230, -2), stretch(turn, 230, 400, 3)) == [
        (turn, 0, 400)
    ]


def test_a_defrost_of_half_a_minute_is_no_flicker() -> None:
    heat, turn = fold.HEAT, fold.TURNED
    parts = [(heat, 0.0, 500.0), (turn, 500.0, 530.0), (heat, 530.0, 900.0)]
    assert cleaned(*[stretch(m, a, b, 3 if m == turn else -3) for m, a, b in parts]) == parts


def test_what_is_not_known_takes_the_name_of_what_comes_after() -> None:
    assert cleaned(stretch(fold.UNKNOWN, 0, 60), stretch(fold.HEAT, 60, 500, -3)) == [(fold.HEAT, 0, 500)]


def test_a_rest_stays_a_rest() -> None:
    parts = [(fold.HEAT, 0.0, 500.0), (fold.OFF, 500.0, 505.0), (fold.HEAT, 505.0, 900.0)]
    assert cleaned(*[stretch(m, a, b, -3) for m, a, b in parts]) == parts


# peak -------------------------------------------------------------------------------------------------

TURN_S, BREAK_S = 100.0, 400.0


def climb(t: np.ndarray) -> np.ndarray:
    """A drawn high side: heating at 42 degC, the fall at the turn, a bent climb, and the break at its end."""
    up = 8.0 + 30.0 * ((t - TURN_S) / (BREAK_S - TURN_S)) ** 2
    y = np.where(t < TURN_S, 42.0, np.maximum(up, 42.0 - 4.0 * (t - TURN_S)))
    return np.where(t >= BREAK_S, np.maximum(12.0, 38.0 - 4.0 * (t - BREAK_S)), y)


TRUE_C = 38.0


def peaks(step_s: float, noise: float, n: int = 200) -> tuple[np.ndarray, np.ndarray]:
    """Errors and claimed standard uncertainties of `n` peaks with the samples anywhere to the break [K]."""
    rng = np.random.default_rng([int(10 * step_s), int(100 * noise)])
    errors, claims = [], []
    for _ in range(n):
        t = np.arange(rng.uniform(0.0, step_s), 600.0, step_s)
        got = highest(t, climb(t) + rng.normal(0.0, noise, len(t)), TURN_S, float(t[t >= BREAK_S][0]))
        assert got is not None
        errors.append(got.value - TRUE_C)
        claims.append(math.hypot(got.noise, got.step / math.sqrt(3.0)))
    return np.array(errors), np.array(claims)


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.1])
@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0])
def test_a_peak_has_little_bias_and_lies_within_half_a_degree_fahrenheit(step_s: float, noise: float) -> None:
    errors, _ = peaks(step_s, noise)
    # 0.1 K of scatter is that of a gauge with a resolution of 1 psi and some noise.
    assert abs(float(errors.mean())) < 0.12
    assert float(np.mean(np.abs(errors) < 0.278)) >= 0.93


@pytest.mark.parametrize("step_s", [5.0, 10.0])
def test_a_slow_peak_says_how_little_it_knows(step_s: float) -> None:
    # At 0.2 K/s a step of 10 s holds 2 K; most errors must lie within twice what is claimed and 0.1 K.
    errors, claims = peaks(step_s, 0.1)
    assert abs(float(errors.mean())) < 0.1 * step_s * 0.2 + 0.1
    assert float(np.mean(np.abs(errors) <= 2.0 * claims + 0.1)) > 0.9


def test_the_greatest_reading_is_not_the_peak() -> None:
    # Noise lifts the greatest of many readings; the fit follows it half as far at most.
    rng = np.random.default_rng(4)
    t = np.arange(0.0, 600.0, 0.5)
    flat = np.where(t < BREAK_S, 30.0, 10.0)
    fitted, greatest = [], []
    for _ in range(40):
        y = flat + rng.normal(0.0, 0.3, len(t))
        got = highest(t, y, TURN_S, BREAK_S, turns=False)
        assert got is not None
        fitted.append(got.value - 30.0)
        greatest.append(float(y.max()) - 30.0)
    assert 0.0 < float(np.mean(fitted)) < 0.5 * float(np.mean(greatest))


def test_the_pressure_of_the_heating_before_is_not_the_peak() -> None:
    t = np.arange(0.0, 600.0)
    got = highest(t, climb(t) - 10.0 * (t > TURN_S + 20), TURN_S, BREAK_S)
    assert got is not None
    assert got.value == pytest.approx(28.0, abs=0.3)


@pytest.mark.parametrize("noise", [0.05, 0.2, 0.4])
@pytest.mark.parametrize("step_s", [1.0, 2.0])
def test_a_peak_lies_as_often_within_its_uncertainty_as_it_claims(step_s: float, noise: float) -> None:
    errors, claims = peaks(step_s, noise)
    # 95 % of a normal law lie within two standard uncertainties (JCGM 100:2008, table G.1).
    assert float(np.mean(np.abs(errors) <= 2.0 * claims)) >= 0.88
    assert 0.7 * float(errors.std()) < float(np.sqrt(np.mean(claims**2))) < 3.0 * float(errors.std())


@pytest.mark.parametrize("degree", [1, 2])
def test_the_share_of_a_fit_is_that_of_numpys_covariance(degree: int) -> None:
    x = np.array([-7.5, -6.0, -5.5, -3.0, -2.0, -1.0, -0.5])
    _, covariance = np.polyfit(x, np.sin(x), degree, cov="unscaled")
    for at in (-3.0, 0.0, 1.5):
        row = at ** np.arange(degree, -1, -1)
        assert fit_share(x, degree, at) == pytest.approx(math.sqrt(row @ covariance @ row), rel=1e-9)


def test_the_share_at_the_mean_of_a_line_is_one_over_the_root_of_n() -> None:
    x = np.arange(16.0)
    assert fit_share(x, 1, float(x.mean())) == pytest.approx(0.25, rel=1e-12)


def test_no_reading_no_peak() -> None:
    t = np.arange(0.0, 600.0)
    assert highest(t, np.full(600, np.nan), TURN_S, BREAK_S) is None


def test_scatter_is_that_of_the_readings_not_of_the_climb() -> None:
    rng = np.random.default_rng(6)
    t = np.arange(400.0)
    assert spread(0.2 * t + rng.normal(0.0, 0.15, 400)) == pytest.approx(0.15, rel=0.25)


# ended_by ---------------------------------------------------------------------------------------------

DAY = cold_day()
CLOSED = steps(25.0, (CLOSES_S, 0.1))


def ended(trace: Trace, marks=(), machine=None) -> str:  # type: ignore[no-untyped-def]
    (defrost,) = check(trace, marks, machine).defrosts
    return defrost.ended_by


def test_the_contact_that_opens_ends_it() -> None:
    assert ended(cold_trace()) == "sensor"


def test_a_contact_that_opens_long_before_did_not_end_it() -> None:
    opened = steps(25.0, (CLOSES_S, 0.1), (END_S - 60, 25.0))
    assert ended(cold_trace(sensor_voltage=opened)) != "sensor"


def test_the_limit_ends_it() -> None:
    assert ended(cold_trace(last_s=2400, **timed_out())) == "time"


def test_the_limit_ends_it_by_its_length_where_volts_were_not_read() -> None:
    # At exactly the set length, and only where the setting is known.
    trace = cold_trace(
        "sensor_voltage", last_s=2400, **{k: v for k, v in timed_out().items() if k != "sensor_voltage"}
    )
    assert ended(trace) == "time"
    assert ended(trace, machine=unit(('longest_defrost = "10 min"\n', ""))) == "unknown"
    assert ended(cold_trace("sensor_voltage")) == "unknown"


def test_the_pressure_switch_ends_it() -> None:
    high = [*DAY["high"][:5], (END_S, 64.5), *DAY["high"][6:]]  # type: ignore[index]
    trip = steps(9.0, (END_S, 0.0))
    assert ended(cold_trace(high=high, sensor_voltage=CLOSED, compressor_current=trip)) == "pressure"


def test_a_call_taken_away_ends_it() -> None:
    trace = cold_trace("heating_call", sensor_voltage=CLOSED)
    assert ended(trace, acts((END_S + 2, "call-off"))) == "call"
    called = cold_trace(sensor_voltage=CLOSED, heating_call=steps(1.0, (END_S, 0.0)))
    assert ended(called) == "call"


def test_a_closed_contact_long_before_the_limit_leaves_the_cause_open() -> None:
    assert ended(cold_trace(sensor_voltage=CLOSED)) == "unknown"


def test_missing_readings_leave_the_cause_open() -> None:
    assert ended(with_gap(cold_trace(), END_S - 30, END_S + 30)) == "unknown"
