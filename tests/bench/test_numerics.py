"""The integrator against SciPy, plain against compiled, and switches landed on."""

from dataclasses import replace

import numpy as np
import pytest

from bench.scipy_run import by_scipy
from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant import layout
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant, ramp

pytest.importorskip("numba")

DEFROST = Setup(
    duration_s=1500,
    clock_s=4800.0,
    frost_kg=1.5,
    weather=ramp([0.0, 900.0, 1500.0], [1.67, 1.0, 1.3], [0.82, 0.9, 0.8]),
)
MILD = Setup(
    duration_s=900,
    weather=constant(18.0, 0.5),
    acts=(
        Act(time_s=20, act="fan-lead-off"),
        Act(time_s=200.5, act="pins-bridged"),
        Act(time_s=260, act="pins-released"),
        Act(time_s=700, act="fan-lead-on"),
        Act(time_s=750, act="call-off"),
    ),
)


@pytest.mark.parametrize("setup", [DEFROST, MILD], ids=["defrost", "mild day"])
def test_every_state_is_as_scipy_has_it(setup):
    run = simulate(setup, compiled=True)
    assert run.switches("u_valve"), "the run should hold a defrost"
    expected = by_scipy(run, method="LSODA", rtol=1e-9, atol=1e-11)
    for i, name in enumerate(layout.NAMES):
        swing = np.ptp(expected[:, i])
        # 1e-4 of what the state goes through; states that hardly move are held to 1e-4 of their size.
        scale = max(swing, 1e-2 * np.abs(expected[:, i]).max(), 1e-9)
        assert np.abs(run.states[:, i] - expected[:, i]).max() <= 1e-4 * scale, name


@pytest.mark.parametrize("setup", [replace(DEFROST, duration_s=700), MILD], ids=["defrost", "mild day"])
def test_plain_and_compiled_agree(setup):
    setup = replace(setup, settle_s=60)
    plain, fast = simulate(setup, compiled=False), simulate(setup, compiled=True)
    assert plain.steps == fast.steps
    np.testing.assert_allclose(plain.states, fast.states, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(plain.deriveds, fast.deriveds, rtol=1e-12, atol=1e-12)
    assert [(e.name, e.value) for e in plain.events] == [(e.name, e.value) for e in fast.events]
    np.testing.assert_allclose([e.time_s for e in plain.events], [e.time_s for e in fast.events], atol=1e-12)


def test_two_runs_are_the_same_to_the_last_bit():
    one, two = simulate(DEFROST), simulate(DEFROST)
    np.testing.assert_array_equal(one.states, two.states)
    assert one.events == two.events


def _at(run, t, name):
    """A state between seconds, from cubic interpolation of four; needs no switch among them."""
    k = int(t)
    four = slice(k - 1, k + 3)
    return float(np.polyval(np.polyfit(run.times_s[four] - t, run.state(name)[four], 3), 0.0))


def test_the_sensor_opens_at_its_rating_not_a_step_later():
    run = simulate(DEFROST)
    (opened,) = [t for t, value in run.switches("contact") if value == 0.0]
    assert opened % 1.0 != 0.0
    before = int(opened)
    assert run.state("t_sensor")[before] < DEFROST.controls.opens_c < run.state("t_sensor")[before + 1]
    # The sensor's body is smooth through the switch: its slope alone bends when the valve has moved.
    line = run.state("t_sensor")[before - 3 : before + 1]
    slope = np.polyval(np.polyfit(np.arange(-3.0, 1.0), line, 3), opened - before)
    assert slope == pytest.approx(DEFROST.controls.opens_c, abs=2e-3)
    assert [t for t, value in run.switches("mode") if value == 1.0] == [opened]


def test_halving_a_guard_moves_the_moment_not_the_second():
    one = simulate(DEFROST)
    two = simulate(replace(DEFROST, controls=replace(DEFROST.controls, opens_c=15.61)))
    (t1,) = [t for t, value in one.switches("contact") if value == 0.0]
    (t2,) = [t for t, value in two.switches("contact") if value == 0.0]
    rate = np.gradient(one.state("t_sensor"))[int(t1)]
    assert t2 - t1 == pytest.approx(0.01 / rate, rel=0.2)


def test_clocks_and_acts_land_on_their_moment():
    acts = (Act(time_s=100.25, act="call-off"), Act(time_s=101.5, act="call-on"))
    run = simulate(replace(DEFROST, acts=acts, controls=Controls(rest_s=33.3)))
    assert run.switches("hand_call") == [(100.25, 0.0), (101.5, 1.0)]
    comp = run.switches("comp")[:2]
    assert comp[0] == (100.25, 0.0)
    assert comp[1][0] == pytest.approx(133.55, abs=1e-6)
    assert comp[1][1] == 1.0
    # 600 s were left of the interval, and the rest did not count.
    start = next(t for t, value in run.switches("mode") if value == 3.0)
    assert start == pytest.approx(600.0 + 33.3, abs=1e-5)
