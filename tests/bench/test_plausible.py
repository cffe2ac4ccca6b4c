"""The generic unit looks like one: loose bounds, each common practice or memory unless a source is named."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.bench.presets import unit
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant

pytest.importorskip("numba")


def rated(name, temp_c, humidity):
    """Heat with the blower's [W] and power [W] in a test room, steady."""
    plant, controls = unit(name)
    setup = Setup(
        plant=replace(plant, house_fixed=1.0),
        controls=replace(controls, dead=1.0),
        weather=constant(temp_c, humidity),
        duration_s=5,
        settle_s=2400,
    )
    run = simulate(setup)
    return run.derived("heat")[-1] + plant.blower_w, run.derived("power")[-1]


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-454B", "R-22", "R-290"])
def test_capacity_and_cop_at_the_rating_points(name):
    q47, p47 = rated(name, 8.33, 0.726)
    q17, p17 = rated(name, -8.33, 0.694)
    assert 7500 < q47 < 9500
    assert 0.55 < q17 / q47 < 0.72
    assert 2.9 < q47 / p47 < 4.0
    assert 2.1 < q17 / p17 < 2.8


@cache
def defrost(name="R-410A"):
    plant, controls = unit(name)
    run = simulate(Setup(plant=plant, controls=controls, weather=constant(1.67, 0.818), duration_s=6300))
    start = next(t for t, mode in run.switches("mode") if mode == 3.0)
    end = next(t for t, by in run.switches("ended_by") if by)
    return run, int(start), int(end)


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-454B", "R-22", "R-290"])
def test_a_defrost_is_of_the_usual_kind(name):
    run, start, end = defrost(name)
    assert 120 < end - start < 600
    assert 1.0 < run.state("frost")[start] < 4.0
    assert run.state("frost")[end] < 0.02
    assert 30 < run.state("t_out")[start : end + 2].max() < 55
    assert run.board("ended_by")[-1] == 1.0


def test_melting_holds_the_coil_near_freezing():
    run, start, end = defrost()
    clamp = run.state("t_clamp")[start:end]
    assert ((clamp > -1.0) & (clamp < 2.5)).sum() > 45
    assert np.diff(clamp)[-15:].mean() > 0.3
    assert run.derived("melt")[start:end].max() > 0.01


def test_pressures_swap_in_seconds_and_suction_dips_after():
    run, start, end = defrost()
    apart = run.derived("p_out")[start : start + 60] - run.derived("p_ind")[start : start + 60]
    assert apart[0] < -1e6
    assert 1 <= np.argmax(apart > 0) <= 30
    assert np.argmax(apart > 3e5) <= 30
    suction = run.derived("p_suction")
    # It jumps up as the hot coil empties into it, then falls back.
    top = suction[start : start + 30].max()
    assert top > 1.5 * suction[start]
    assert suction[start + 30 : end].min() < 0.8 * top


def test_heat_comes_back_within_minutes():
    run, start, end = defrost()
    before = run.derived("heat")[300]
    assert run.derived("heat")[start + 60] < 0
    assert run.derived("heat")[end + 240] > 0.9 * before


def test_frost_takes_the_air():
    run, start, _ = defrost()
    air = run.derived("airflow_out")
    assert air[start - 5] < 0.6 * air[60]
    assert (np.diff(air[100:start:100]) < 0).all()
    assert 50 < run.derived("frost_density")[start - 5] < 500
    assert run.derived("heat")[start - 5] < 0.92 * run.derived("heat")[300]


def test_dry_cold_air_brings_little_frost():
    cold = simulate(Setup(weather=constant(-8.33, 0.69), duration_s=3600))
    damp = simulate(Setup(weather=constant(1.67, 0.82), duration_s=3600))
    warm = simulate(Setup(weather=constant(12.0, 0.6), duration_s=3600))
    assert cold.state("frost")[-1] < 0.4 * damp.state("frost")[-1]
    assert warm.state("frost")[-1] < 0.02


def test_on_a_mild_day_stopping_the_air_makes_the_coil_cold():
    acts = (Act(time_s=60, act="fan-lead-off"),)
    run = simulate(Setup(weather=constant(18.0, 0.5), duration_s=400, acts=acts))
    (closed, _), *_ = run.switches("sensed")
    assert 75 < closed < 360
    assert run.state("t_sensor")[59] > 5


def test_a_unit_at_rest_comes_to_one_pressure():
    setup = Setup(weather=constant(5.0, 0.7), duration_s=1800, acts=(Act(time_s=10, act="call-off"),))
    run = simulate(setup)
    pressures = [run.derived(name)[-1] for name in ("p_out", "p_ind", "p_suction")]
    assert np.ptp(pressures) < 0.1e5
    assert run.derived("power")[-1] == pytest.approx(0.0, abs=1.0)


def test_a_compressor_map_replaces_the_formulas():
    # A map that says 0.03 kg/s and 2000 W whatever the pressures.
    plant = Plant(map_on=1.0, map_flow=(0.03, *[0.0] * 9), map_power=(2000.0, *[0.0] * 9))
    run = simulate(Setup(plant=plant, controls=Controls(dead=1.0), duration_s=60))
    assert run.derived("power_comp")[-1] == pytest.approx(2000.0, rel=1e-6)
    assert run.derived("flow")[-1] == pytest.approx(0.03, rel=0.08)
