"""The tables against CoolProp itself, at 10,000 random points on each line of each refrigerant.

The bars are the project's: 0.001 K and 20 Pa. Densities are held to 2e-5 of the value and latent heat to
2 J/kg, far below what any equation of state is worth.
"""

from __future__ import annotations

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from coolprop_lines import ZERO_C, plain, seeded

from firstfrost.refrigerants import REFRIGERANTS, refrigerant

POINTS = 10_000
SEED = 34
TEMP_BAR_K = 1e-3
PRESSURE_BAR_PA = 20.0
DENSITY_BAR = 2e-5
ENTHALPY_BAR_J_KG = 2.0


def lines(name: str):
    ref = refrigerant(name)
    solve = seeded if ref.row.coolprop.endswith(".mix") else plain
    return ref, solve, ((1.0, ref.dew), (0.0, ref.bubble))


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_temperatures_at_random_pressures(name: str) -> None:
    ref, solve, both = lines(name)
    rng = np.random.default_rng(SEED)
    for quality, line in both:
        pressures = rng.uniform(line.pressure_low_pa, line.pressure_high_pa, POINTS)
        truth = solve(ref.row.coolprop, quality, CP.PQ_INPUTS, pressures)[:, 0] - ZERO_C
        assert np.abs(line.temps_at(pressures) - truth).max() < TEMP_BAR_K


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_pressures_densities_and_enthalpies_at_random_temperatures(name: str) -> None:
    ref, solve, both = lines(name)
    rng = np.random.default_rng(SEED + 1)
    zero = plain(ref.row.coolprop, 0.0, CP.QT_INPUTS, np.array([ZERO_C]))[0, 3]
    for quality, line in both:
        temps = rng.uniform(line.temp_low_c, line.temp_high_c, POINTS)
        truth = solve(ref.row.coolprop, quality, CP.QT_INPUTS, temps + ZERO_C)
        assert np.abs(line.pressures_at(temps) - truth[:, 1]).max() < PRESSURE_BAR_PA
        assert np.abs(line.density.many(temps) / truth[:, 2] - 1).max() < DENSITY_BAR
        assert np.abs(line.enthalpy.many(temps) - (truth[:, 3] - zero)).max() < ENTHALPY_BAR_J_KG


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_latent_heat_at_random_pressures(name: str) -> None:
    ref, solve, _ = lines(name)
    rng = np.random.default_rng(SEED + 2)
    pressures = rng.uniform(ref.bubble.pressure_low_pa, ref.dew.pressure_high_pa, 2_000)
    vapor = solve(ref.row.coolprop, 1.0, CP.PQ_INPUTS, pressures)
    liquid = solve(ref.row.coolprop, 0.0, CP.PQ_INPUTS, pressures)
    ours = np.array([ref.latent_heat(p) for p in pressures])
    assert np.abs(ours - (vapor[:, 3] - liquid[:, 3])).max() < ENTHALPY_BAR_J_KG
    glide = np.array([ref.glide_k(p) for p in pressures])
    assert np.abs(glide - (vapor[:, 0] - liquid[:, 0])).max() < 2 * TEMP_BAR_K


@pytest.mark.parametrize("quality", [1.0, 0.0])
def test_r454b_by_calls_without_any_seed(quality: float) -> None:
    """Two hundred points up to 40 degC, where direct calls do not fail: seeding changes nothing."""
    ref = refrigerant("R-454B")
    line = ref.dew if quality else ref.bubble
    temps = np.random.default_rng(SEED + 3).uniform(line.temp_low_c, 40.0, 200)
    truth = plain("R454B.mix", quality, CP.QT_INPUTS, temps + ZERO_C)
    assert np.abs(line.pressures_at(temps) - truth[:, 1]).max() < PRESSURE_BAR_PA


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_ranges_serve_a_heat_pump(name: str) -> None:
    """From -40 degF to the 150 degF region, and short of the critical point."""
    ref = refrigerant(name)
    assert ref.lowest_temp_c <= -40.0
    assert 68.0 <= ref.highest_temp_c < ref.critical_temp_c - 1.0
    assert ref.bubble.pressure_high_pa < ref.critical_pressure_pa
