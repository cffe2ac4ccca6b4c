"""Faults move what a technician reads the way they should.

Directions come from physical reasoning, not from a published table. Sizes are not held here;
the charge's response against published coefficients is an outside check.
"""

from dataclasses import replace
from functools import cache

import pytest

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.faults import FAULTS, apply
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.simulate import Setup, simulate
from firstfrost.bench.weather import constant
from firstfrost.errors import InputError

pytest.importorskip("numba")

FEATURES = {
    "Te": ("state", "t_out"),
    "SH": ("derived", "superheat"),
    "Tc": ("state", "t_ind"),
    "SC": ("derived", "subcooling"),
    "Td": ("state", "t_discharge"),
    "Q": ("derived", "heat"),
    "P": ("derived", "power"),
    "rise": ("state", "t_supply"),
}


@cache
def steady(faults=()):
    """Features in steady heating at 47 degF, with faults (name, severity)."""
    plant, controls = apply(Plant(house_fixed=1.0), Controls(dead=1.0), dict(faults))
    setup = Setup(plant=plant, controls=controls, weather=constant(8.33, 0.726), duration_s=5, settle_s=2400)
    run = simulate(setup)
    return {key: float(getattr(run, kind)(name)[-1]) for key, (kind, name) in FEATURES.items()}


@pytest.mark.parametrize(
    ("fault", "severity", "up", "down"),
    [
        ("charge-low", 0.3, "SH", "Tc SC Q"),
        ("charge-high", 0.2, "Tc SC Td P", ""),
        ("outdoor-coil-fouled", 0.5, "", "Te Tc Q"),
        ("outdoor-fan-weak", 0.5, "", "Te Tc Q"),
        ("filter-blocked", 0.5, "Tc Td rise P", "Q"),
        ("blower-weak", 0.4, "Tc Td rise", "Q"),
        ("indoor-coil-fouled", 0.5, "Tc Td P", "Q"),
        ("liquid-line-restricted", 0.95, "SH SC Td", "Te Q"),
        ("valve-stuck-shut", 0.7, "SH SC Td", "Te Q"),
        ("valve-stuck-open", 1.0, "Te", "SH SC Q"),
        ("compressor-leaks", 0.5, "Te", "Tc Q rise"),
        ("reversing-valve-leaks", 0.5, "Te Td", "Tc Q rise"),
        ("check-valve-stuck-open", 0.3, "Te", "SH SC Q"),
    ],
)
def test_features_move_the_right_way(fault, severity, up, down):
    sound, broken = steady(), steady(((fault, severity),))
    floor = {"Q": 40.0, "P": 15.0}
    for name in up.split():
        assert broken[name] - sound[name] > floor.get(name, 0.3), name
    for name in down.split():
        assert sound[name] - broken[name] > floor.get(name, 0.3), name


def test_a_graver_fault_costs_more():
    heat = [steady((("compressor-leaks", s),) if s else ())["Q"] for s in (0.0, 0.2, 0.4, 0.6)]
    assert heat == sorted(heat, reverse=True)


def test_two_faults_together_cost_more_than_either():
    low, foul = ("charge-low", 0.3), ("outdoor-coil-fouled", 0.5)
    both = steady((low, foul))["Q"]
    assert both < min(steady((low,))["Q"], steady((foul,))["Q"])


def frosted(faults, **more):
    plant, controls = apply(Plant(), Controls(), faults)
    options = {"duration_s": 2400, "clock_s": 4800.0, "frost_kg": 1.5, **more}
    return simulate(Setup(plant=plant, controls=controls, **options))


def starts(run):
    return [t for t, mode in run.switches("mode") if mode == 3.0]


@pytest.mark.parametrize("fault", ["sensor-stuck-open", "board-dead"])
def test_no_defrost_comes(fault):
    assert starts(frosted({}))
    assert not starts(frosted({fault: 1.0}))


def test_a_sensor_stuck_closed_lets_time_end_the_defrost_or_pressure():
    ended = frosted({"sensor-stuck-closed": 1.0}).switches("ended_by")
    reasons = {by for _, by in ended if by}
    assert reasons
    assert reasons <= {2.0, 3.0}


def test_a_valve_that_does_not_shift_keeps_the_coil_cold():
    run = frosted({"reversing-valve-stuck-heating": 1.0})
    (start,) = starts(run)
    assert run.state("frost")[int(start) + 300] > 1.0
    assert run.derived("heat")[int(start) + 100] > 0


def test_a_fan_that_runs_on_slows_the_defrost():
    sound, broken = frosted({}), frosted({"fan-relay-welded": 1.0})
    assert broken.board("fan")[int(starts(broken)[0]) + 30] == 1.0
    assert long_of(broken) > long_of(sound) + 20


def long_of(run):
    start = starts(run)[0]
    return next((t for t, mode in run.switches("mode") if t > start), run.times_s[-1]) - start


def test_backup_is_missing_when_it_is_not_wired():
    run, broken = frosted({}), frosted({"backup-not-wired": 1.0})
    assert run.state("backup")[int(starts(run)[0]) + 90] > 4500
    assert broken.state("backup").max() == 0.0
    at = int(starts(run)[0]) + 100
    assert broken.state("t_supply")[at] < run.state("t_supply")[at] - 3


def test_a_slow_timer_comes_late_and_a_fast_one_early():
    sound = starts(frosted({}))[0]
    assert starts(frosted({"timer-slow": 0.5}))[0] == pytest.approx(2 * sound, rel=1e-6)
    assert starts(frosted({"timer-fast": 1.0}))[0] == pytest.approx(sound / 4, rel=1e-6)


def test_a_blocked_drain_builds_ice_and_chokes_the_air():
    sound = frosted({}, duration_s=14400)
    broken = frosted({"drain-blocked": 1.0}, duration_s=14400)
    assert broken.state("pan")[-1] > 2.0
    assert broken.derived("airflow_out")[-1] < sound.derived("airflow_out")[-1]


def test_low_voltage_draws_more_current_and_very_low_stalls():
    run, low = frosted({}), frosted({"line-voltage-low": 0.5})
    assert low.derived("i_comp")[-1] > run.derived("i_comp")[-1]
    assert frosted({"line-voltage-low": 1.0}).state("comp")[-1] == pytest.approx(0.0, abs=1e-6)


def test_an_unknown_fault_and_a_wrong_severity_are_refused():
    with pytest.raises(InputError, match='Fault "rust" is not known'):
        apply(Plant(), Controls(), {"rust": 0.5})
    with pytest.raises(InputError, match=r"severity of charge-low is 1\.5\. It runs from 0"):
        apply(Plant(), Controls(), {"charge-low": 1.5})


def test_severity_zero_changes_nothing():
    plant, controls = Plant(), Controls()
    assert apply(plant, controls, dict.fromkeys(FAULTS, 0.0)) == (plant, controls)
    for name, fault in FAULTS.items():
        changed = apply(plant, controls, {name: fault.usual})
        assert changed != (plant, controls), name
        assert replace(changed[0]) == changed[0]
