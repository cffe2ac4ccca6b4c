"""Energy, water and refrigerant are kept."""

from dataclasses import replace

import pytest

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.faults import FAULTS, apply
from firstfrost.bench.plant import layout
from firstfrost.bench.plant.balance import balance
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.presets import unit
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant

pytest.importorskip("numba")


def check(setup):
    run = simulate(setup)
    kept = balance(setup.plant, run.states)
    assert kept.energy_error < 1e-3
    assert kept.water_error < 1e-4
    assert kept.refrigerant_error < 1e-4
    return run, kept


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-454B", "R-22", "R-290"])
def test_balances_close_over_frost_and_defrost(name):
    plant, controls = unit(name)
    run, kept = check(Setup(plant=plant, controls=controls, duration_s=7200, clock_s=2700.0, frost_kg=1.0))
    assert run.board("defrosts")[-1] >= 1
    assert kept.energy_error < 1e-5


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_balances_close_with_each_fault(name):
    plant, controls = apply(Plant(), Controls(), {name: FAULTS[name].usual})
    check(
        Setup(
            plant=plant,
            controls=controls,
            duration_s=3000,
            clock_s=4800.0,
            frost_kg=1.5,
            acts=(Act(time_s=2200, act="call-off"), Act(time_s=2500, act="call-on")),
        )
    )


def test_balances_close_through_rests_and_a_mild_day():
    acts = (
        Act(time_s=60, act="coil-covered"),
        Act(time_s=400, act="pins-bridged"),
        Act(time_s=900, act="pins-released"),
        Act(time_s=1300, act="call-off"),
        Act(time_s=2400, act="call-on"),
    )
    check(Setup(weather=constant(17.0, 0.6), duration_s=3600, acts=acts, start="rest"))


def test_the_balance_can_miss():
    setup = Setup(duration_s=600)
    run = simulate(setup)
    heavier = replace(setup.plant, coil_jk=setup.plant.coil_jk * 10)
    wrong = run.states.copy()
    wrong[:, layout.T_COIL] += run.times_s * 1e-2
    assert balance(setup.plant, wrong).energy_error > 1e-3
    assert balance(replace(heavier, charge_kg=2.0), run.states).refrigerant_error > 1e-4
