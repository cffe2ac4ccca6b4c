"""The bench's short fits against CoolProp, within the errors their rows state."""

import CoolProp.CoolProp as CP
import numpy as np
import pytest

from firstfrost.bench.plant.circuit import heat_of_superheat, superheat_of
from firstfrost.bench.plant.outdoor import frost_conductivity, new_frost_density, saturation
from firstfrost.bench.plant.parameters import Plant, pack
from firstfrost.bench.plant.saturation import node, saturation_pa, table
from firstfrost.refrigerants.refrigerant import refrigerant
from firstfrost.refrigerants.vapor import VAPORS


@pytest.mark.parametrize("name", sorted(VAPORS))
def test_superheated_vapor_is_within_its_stated_error(name):
    row, ref = VAPORS[name], refrigerant(name)
    p = pack(Plant(refrigerant=name)).tolist()
    state = CP.AbstractState("HEOS", ref.row.coolprop)
    state.specify_phase(CP.iphase_gas)
    for dew in (-32.0, -12.0, 3.0, 28.0, 47.0):
        pressure = ref.dew_pressure_pa(dew)
        state.update(CP.PT_INPUTS, pressure, dew + 273.17)
        h0, rho0 = state.hmass(), state.rhomass()
        for k in (4.0, 11.0, 23.0) if dew < 10 else (7.0, 33.0, 57.0):
            state.update(CP.PT_INPUTS, pressure, dew + 273.15 + k)
            # Between the fit's points a little more than at them.
            assert heat_of_superheat(p, dew, k) == pytest.approx(
                state.hmass() - h0, abs=1.2 * row.h_error + 30
            )
            if dew < 10:
                thin = 1.0 + (row.r0 + row.r1 * dew) * k + row.r2 * k * k
                assert thin == pytest.approx(rho0 / state.rhomass(), abs=1.2 * row.rho_error)


@pytest.mark.parametrize("name", ["R-410A", "R-290", "R-454B"])
def test_superheat_and_its_heat_undo_each_other(name):
    p = pack(Plant(refrigerant=name)).tolist()
    for dew in (-30.0, 0.0, 45.0):
        for k in (0.0, 5.0, 40.0, 150.0, 400.0):
            assert superheat_of(p, dew, heat_of_superheat(p, dew, k)) == pytest.approx(k, abs=1e-6)


@pytest.mark.parametrize("name", sorted(VAPORS))
def test_the_bench_tables_are_the_refrigerant_tables(name):
    ref, tab = refrigerant(name), table(name).tolist()
    for dew in np.linspace(ref.lowest_temp_c + 1, ref.highest_temp_c - 2, 37):
        assert saturation_pa(tab, dew) == pytest.approx(ref.dew_pressure_pa(dew), rel=2e-5)


@pytest.mark.parametrize("mass", [0.05, 0.4, 1.5])
def test_slopes_of_the_energy_are_its_slopes(mass):
    tab, p = table("R-410A").tolist(), pack(Plant()).tolist()
    step = 1e-4
    for dew in (-20.3, 4.4, 38.7):
        here = node(tab, p, dew, mass, 0.005)
        over_t = (
            (node(tab, p, dew + step, mass, 0.005)[7] - node(tab, p, dew - step, mass, 0.005)[7]) / 2 / step
        )
        over_m = (
            (node(tab, p, dew, mass + step, 0.005)[7] - node(tab, p, dew, mass - step, 0.005)[7]) / 2 / step
        )
        assert here[8] == pytest.approx(over_t, rel=1e-5)
        assert here[9] == pytest.approx(over_m, rel=1e-4)


def test_a_vessel_running_dry_has_one_energy_at_the_edge():
    tab, p = table("R-410A").tolist(), pack(Plant()).tolist()
    edge = node(tab, p, 5.0, 1.0, 0.01)[5] * 0.01
    wet, dry = node(tab, p, 5.0, edge * (1 + 1e-9), 0.01), node(tab, p, 5.0, edge * (1 - 1e-9), 0.01)
    assert wet[7] == pytest.approx(dry[7], rel=1e-6)
    assert dry[11] == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize(
    ("temp_c", "pressure_pa"),
    [(-20.0, 103.26), (-10.0, 259.90), (-5.0, 401.76), (0.0, 611.15), (5.0, 872.49), (20.0, 2338.8)],
)
def test_vapor_pressure_over_ice_and_water(temp_c, pressure_pa):
    # ASHRAE Fundamentals 2017, chapter 1, by PsychroLib's formulas.
    assert saturation(temp_c)[0] == pytest.approx(pressure_pa, rel=2e-3)
    rise = (saturation(temp_c + 1.001e-3)[0] - saturation(temp_c + 1e-6)[0]) / 1e-3
    assert saturation(temp_c + 5e-4)[1] == pytest.approx(rise, rel=1e-3)


def test_frost_correlations_give_what_their_sources_give():
    # Hayashi 1977, as computed from its formula in an open implementation: -2 degC 374, -5 degC 163 kg/m3.
    assert new_frost_density(-2.0) == pytest.approx(374, abs=1)
    assert new_frost_density(-5.0) == pytest.approx(163, abs=1)
    # Yonko and Sepsy 1967: in its inch-pound form, 0.014 + 0.00668 rho + 0.0001759 rho^2 Btu/h ft F, lb/ft3.
    for rho in (100.0, 300.0, 500.0):
        pound = rho / 16.0185
        assert frost_conductivity(rho) == pytest.approx(
            1.7307 * (0.014 + 0.00668 * pound + 0.0001759 * pound**2), rel=0.01
        )
