"""A run comes to an end: with rows, or with one clear error; compiled and plain alike."""

from dataclasses import replace

import numpy as np
import pytest

from firstfrost.bench import integrate
from firstfrost.bench.presets import unit
from firstfrost.bench.simulate import Act, Setup, simulate
from firstfrost.bench.weather import constant
from firstfrost.errors import OutOfRange

pytest.importorskip("numba")
BOTH = pytest.mark.parametrize("compiled", [False, True], ids=["plain", "compiled"])


def covered(air_c, house_c):
    """A small unit high up on a bitter day, started from rest with its coil covered."""
    plant, controls = unit("R-404A", capacity_w=5275.0, metering="fixed orifice")
    return Setup(
        plant=replace(plant, atmosphere_pa=84300.0, house_fixed=1.0),
        controls=replace(controls, interval_s=60.0),
        weather=constant(air_c, 0.8),
        duration_s=200,
        start="rest",
        house_c=house_c,
        acts=(Act(time_s=0.0, act="coil-covered"),),
    )


# At each of these a vessel ran dry within a step that was longer than its limit by a rounding.
@pytest.mark.parametrize(("air_c", "house_c"), [(-30.0, 21.1), (-25.0, 15.0), (-25.0, 21.1)])
@BOTH
def test_a_vessel_that_runs_dry_in_the_bitter_cold_does_not_hold_the_run(air_c, house_c, compiled):
    run = simulate(covered(air_c, house_c), compiled=compiled)
    assert np.isfinite(run.states).all()
    # A vessel's first liquid, or its last, is in the run.
    assert len(set(run.derived("wet").tolist())) > 1
    assert run.steps < 200 * 200


@BOTH
def test_a_switch_that_never_settles_is_one_clear_error(compiled):
    """The low pressure switch closes at a lower pressure than it opens at: no pressure suits it."""
    plant, controls = unit("R-410A")
    controls = replace(controls, lp_opens_pa=9e5, lp_closes_pa=2e5, lp_delay_s=1.0)
    setup = Setup(plant=plant, controls=controls, weather=constant(0.0, 0.8), duration_s=600, start="rest")
    with pytest.raises(OutOfRange, match=r"at \d+ s.*steps were tried.*expected: .* degC .*Take a milder"):
        simulate(setup, compiled=compiled)


@BOTH
def test_a_plant_that_leaves_its_tables_says_where_and_when(compiled):
    """The compressor draws on an outdoor coil that nothing feeds and no air warms."""
    plant, controls = unit("R-404A")
    plant = replace(plant, fixed_out=0.0, fixed_ind=0.0, air_still=0.0, fan_weak=1.0)
    controls = replace(controls, lp_opens_pa=0.0, lp_closes_pa=1.0)
    setup = Setup(plant=plant, controls=controls, weather=constant(-25.0, 0.8), duration_s=3600, start="rest")
    with pytest.raises(OutOfRange, match=r"R-404A cover at \d+ s: .*Before: outdoor coil .* expected: "):
        simulate(setup, compiled=compiled)


def test_the_cap_is_far_from_what_a_run_takes(monkeypatch):
    """A whole defrost, with its switches and stiff moments, never takes a fifth of the cap in a second."""
    monkeypatch.setattr(integrate, "MOST_TRIES", integrate.MOST_TRIES // 5)
    setup = Setup(duration_s=900, settle_s=300, clock_s=5390.0, frost_kg=1.5, weather=constant(1.67, 0.82))
    run = simulate(setup, compiled=False)
    assert run.switches("u_valve")
