"""What the board does, one rule at a time."""

from dataclasses import replace

import pytest

from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant
from firstfrost.errors import InputError

pytest.importorskip("numba")

COLD = Setup(duration_s=3600, clock_s=3600.0, frost_kg=1.0, weather=constant(0.0, 0.85))


def run(acts=(), setup=COLD, **controls):
    made = tuple(Act(time_s=t, act=act) for t, act in acts)
    return simulate(replace(setup, acts=made, controls=replace(setup.controls, **controls)))


def starts(one):
    return [t for t, mode in one.switches("mode") if mode == 3.0]


def ends(one):
    return [(t, by) for t, by in one.switches("ended_by") if by]


def test_a_defrost_does_what_its_outputs_say():
    one = run()
    (start,) = starts(one)
    assert start == pytest.approx(1800.0, abs=1e-6)
    k = int(start) + 40
    for name, expected in (("comp", 1), ("valve", 1), ("fan", 0), ("blower", 1), ("backup", 5000)):
        assert one.board(name)[k] == expected, name
    ((end, by),) = ends(one)
    assert by == 1.0
    after = int(end) + 30
    assert (one.board("valve")[after], one.board("fan")[after], one.board("backup")[after]) == (0, 1, 0)
    assert one.board("clock")[int(end) + 1] < 2.0


@pytest.mark.parametrize("minutes", [30, 60, 90, 120])
def test_the_interval_is_run_time_with_the_sensor_closed(minutes):
    setup = replace(COLD, clock_s=0.0, frost_kg=0.0, duration_s=minutes * 60 + 120)
    (start,) = starts(run(setup=setup, interval_s=minutes * 60.0))
    assert start == pytest.approx(minutes * 60.0, abs=1e-6)


def test_run_time_is_held_over_a_rest():
    (start,) = starts(run([(600, "call-off"), (1200, "call-on")]))
    assert start == pytest.approx(1800.0 + 600.0, abs=1e-6)


def test_a_sensor_that_opens_sets_the_clock_back_or_not():
    warm = replace(COLD, weather=constant(20.0, 0.4), frost_kg=0.0, clock_s=0.0)
    acts = [(10, "sensor-jumpered"), (1000, "sensor-restored"), (1200, "sensor-jumpered")]
    reset = run(acts, setup=warm, interval_s=1800.0)
    held = run(acts, setup=warm, interval_s=1800.0, reset_on_open=0.0)
    assert starts(held)[0] == pytest.approx(10 + 1800 + 200, abs=1e-6)
    assert starts(reset)[0] == pytest.approx(1200 + 1800, abs=1e-6)


def test_counting_always_asks_at_the_end_and_starts_over():
    warm = replace(COLD, weather=constant(20.0, 0.4), frost_kg=0.0, clock_s=0.0)
    one = run(setup=warm, interval_s=1000.0, count_always=1.0)
    assert starts(one) == []
    assert one.board("clock")[999] > 998
    assert one.board("clock")[1001] < 2


def test_the_longest_defrost_is_kept():
    one = run([(100, "sensor-jumpered")], longest_s=240.0, hp_opens_pa=6e6)
    (start,) = starts(one)[:1]
    assert ends(one)[0] == (pytest.approx(start + 240.0, abs=1e-6), 2.0)


def test_pins_run_the_clock_fast_if_the_sensor_is_closed():
    one = run([(100, "pins-bridged"), (130, "pins-released")], pins_speed=256.0)
    assert starts(one)[0] == pytest.approx(100 + 1700.0 / 256.0, abs=1e-6)
    warm = replace(COLD, weather=constant(20.0, 0.4), frost_kg=0.0, clock_s=0.0)
    assert starts(run([(100, "pins-bridged")], setup=warm)) == []


def test_delays_rest_the_compressor_before_the_valve_moves():
    one = run(start_delay_s=30.0, end_delay_s=40.0)
    (delay,) = [t for t, mode in one.switches("mode") if mode == 2.0]
    (start,) = starts(one)
    assert start == pytest.approx(delay + 30.0, abs=1e-6)
    assert (one.board("comp")[int(delay) + 15], one.board("valve")[int(delay) + 15]) == (0, 0)
    (end, _by) = ends(one)[0]
    assert (one.board("comp")[int(end) + 20], one.board("valve")[int(end) + 20]) == (0, 1)
    back = next(t for t, mode in one.switches("mode") if t > end and mode == 1.0)
    assert back == pytest.approx(end + 40.0, abs=1e-6)


def test_demand_control_learns_and_starts_on_the_split():
    setup = replace(COLD, clock_s=0.0, frost_kg=0.0, duration_s=10800)
    one = run(setup=setup, demand=1.0, interval_s=6 * 3600.0, demand_split_k=4.0)
    first = starts(one)[0]
    learnt = one.switches("clean_split")[0]
    assert learnt[0] == pytest.approx(480.0, abs=1e-6)
    split = 0.0 - one.state("t_sensor")[int(first)]
    assert split == pytest.approx(learnt[1] + 4.0, abs=0.01)
    later = run(setup=setup, demand=1.0, interval_s=6 * 3600.0, demand_split_k=5.0)
    assert starts(later)[0] > first


def test_demand_control_falls_back_on_its_timer():
    setup = replace(COLD, clock_s=0.0, frost_kg=0.0)
    one = run(setup=setup, demand=1.0, interval_s=2400.0, demand_split_k=50.0)
    assert starts(one) == [pytest.approx(2400.0, abs=1e-6)]


def test_high_pressure_stops_and_locks():
    dead_blower = replace(COLD, plant=Plant(blower_weak=1.0), weather=constant(8.0, 0.7), duration_s=6000)
    one = run(setup=dead_blower, hp_locks=2.0)
    assert [value for _, value in one.switches("locked")] == [1.0]
    assert one.board("high_trips")[-1] == 2
    assert one.board("comp")[-1] == 0
    trip = one.switches("high")[0][0]
    assert one.derived("p_discharge")[int(trip)] < one.setup.controls.hp_opens_pa
    auto = run(setup=dead_blower, hp_locks=0.0)
    assert auto.board("high_trips")[-1] > 2


def test_low_pressure_stops_after_its_delay():
    starved = replace(COLD, plant=Plant(fixed_out=0.005), weather=constant(-10.0, 0.6), start="rest")
    one = run(setup=starved)
    assert one.board("low_trips").max() >= 1
    stops = [t for t, mode in one.switches("mode") if mode == 0.0]
    assert stops
    starts_at = one.switches("comp")[0][0]
    assert stops[0] >= starts_at + 90 - 1e-6


def test_the_thermostat_keeps_the_house():
    setup = replace(COLD, weather=constant(5.0, 0.7), duration_s=7200, clock_s=0.0, frost_kg=0.0)
    one = run(setup=setup, thermostat=1.0)
    assert len(one.switches("call")) >= 4
    house = one.state("t_house")
    assert 20.4 < house.min() < house.max() < 21.9
    off = next(t for t, value in one.switches("comp") if value == 0.0)
    blower = next(t for t, value in one.switches("blower") if value == 0.0)
    assert blower == pytest.approx(off + 60.0, abs=1e-6)
    # The compressor rests at least as long as it must.
    assert next(t for t, value in one.switches("comp") if t > off) >= off + 180 - 1e-6


def test_a_part_may_break_during_the_run():
    setup = replace(COLD, acts=(Act(time_s=1000, act="set", name="dead", value=1.0),))
    assert starts(simulate(setup)) == []
    worse = replace(COLD, acts=(Act(time_s=500, act="set", name="fan_weak", value=1.0),))
    assert simulate(worse).derived("airflow_out")[600] < 0.1


@pytest.mark.parametrize(
    ("act", "match"),
    [
        (Act(time_s=1, act="sing"), 'Act "sing" is not known'),
        (Act(time_s=1, act="set", name="soul"), '"set" names "soul"'),
        (Act(time_s=-1, act="note"), "below 0"),
    ],
)
def test_acts_that_make_no_sense_are_refused(act, match):
    with pytest.raises(InputError, match=match):
        simulate(replace(COLD, acts=(act,)))
