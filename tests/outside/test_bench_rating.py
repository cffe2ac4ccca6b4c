"""Rating points of the bench's generic 2.5-ton unit against published curves and bands."""

import csv
from pathlib import Path

import numpy as np
import pytest
from bench_unit import celsius, generic, steady

pytest.importorskip("numba")

POINTS = {62: 56.5, 47: 43.0, 35: 33.0, 17: 15.0}
"""Dry bulb -> wet bulb, degF: H0, H1, H2 and H3 (10 CFR 430 subpart B appendix M1, through open code)."""
DATA = Path(__file__).parents[3] / "shared" / "data"


@pytest.fixture(scope="module")
def rated():
    plant, controls = generic()
    # 35 degF in dry air: the published curve is without frost.
    return {dry: steady(plant, controls, dry, None if dry == 35 else wet) for dry, wet in POINTS.items()}


def biquadratic(c, indoor_f, outdoor_f):
    a, b, x, y = indoor_f, indoor_f**2, outdoor_f, outdoor_f**2
    return c[0] + c[1] * a + c[2] * b + c[3] * x + c[4] * y + c[5] * indoor_f * outdoor_f


# Cutler et al., "Improved Modeling of Residential Air Conditioners and Heat Pumps for Energy
# Calculations", NREL 2013, tables 12 and 13: single-speed heat pumps, steady, without frost, over indoor
# and outdoor dry bulb in degF. Coefficients as several open programs have them; the report not seen.
CAPACITY = (0.566333415, -0.000744164, -0.0000103, 0.009414634, 0.0000506, -0.00000675)
INPUT_RATIO = (0.718398423, 0.003498178, 0.000142202, -0.005724331, 0.00014085, -0.000215321)


@pytest.mark.parametrize("dry", [62, 35, 17])
def test_capacity_and_input_fall_with_the_outdoor_air_as_in_single_speed_units(rated, dry):
    q47, p47, _ = rated[47]
    q, p, _ = rated[dry]
    published = biquadratic(CAPACITY, 70, dry) / biquadratic(CAPACITY, 70, 47)
    assert q / q47 == pytest.approx(published, rel=0.08)
    published = biquadratic(INPUT_RATIO, 70, dry) / biquadratic(INPUT_RATIO, 70, 47)
    # 10 %: single units scatter about the curve by as much (from memory).
    assert (p / q) / (p47 / q47) == pytest.approx(published, rel=0.10)


def test_capacity_and_cop_are_those_of_a_unit_of_its_size(rated):
    """Heating at 47 degF within 15 % of the nominal size, COP 3.0-3.9 there, 2.0-2.7 at 17 degF.

    What US rating lists show for single-speed split units of HSPF 7.7 to 9 (values from memory).
    """
    q47, p47, _ = rated[47]
    q17, p17, _ = rated[17]
    assert q47 == pytest.approx(8792.0, rel=0.15)
    assert 3.0 <= q47 / p47 <= 3.9
    assert 2.0 <= q17 / p17 <= 2.7


def test_superheat_and_subcooling_lie_where_valves_hold_them(rated):
    """Superheat 4-25 degF with an expansion valve: the installer's band of California's charge test.

    Subcooling 2-20 degF in heating: common practice, no source.
    """
    _, _, run = rated[47]
    assert 4 / 1.8 <= run.derived("superheat")[-1] <= 25 / 1.8
    assert 2 / 1.8 <= run.derived("subcooling")[-1] <= 20 / 1.8


@pytest.mark.parametrize("dry", sorted(POINTS))
def test_cop_is_near_half_of_carnot_between_its_saturations(rated, dry):
    """0.40-0.60 of Carnot between condensing and evaporating saturation: a usual band (value from memory)."""
    q, p, run = rated[dry]
    hot, cold = run.state("t_ind")[-1], run.state("t_out")[-1]
    assert 0.40 <= q / p / ((hot + 273.15) / (hot - cold)) <= 0.60


def of_carnot(cop, hot_c, cold_c):
    """Part of the Carnot COP between two temperatures in degC."""
    return cop / ((hot_c + 273.15) / (hot_c - cold_c))


@pytest.mark.parametrize("dry", [47, 17])
def test_cop_from_air_to_air_lies_between_field_and_rating_room(rated, dry):
    """0.20-0.50 of Carnot between outdoor and supply air.

    Above: the 95th percentile of a variable-speed ductless unit in the field, 0.49 (CCHRC 2015, figure 18,
    7.9 h at -5 degC; the next test has it from the record), which a single-speed ducted unit with 330 W of
    blower does not reach. Below: 0.17, the least of 300 certified units at any point (EN 14825 points of
    the hplib project, read as part of Carnot to its water at 24 degC), rounded up.
    """
    q, p, run = rated[dry]
    assert 0.20 <= of_carnot(q / p, run.state("t_supply")[-1], celsius(dry)) <= 0.50


def test_the_field_record_that_bounds_the_band_says_so():
    path = DATA / "cchrc_fig18_minisplit_defrost" / "digitised_39s.csv"
    if not path.exists():
        pytest.skip("the measured record lies outside the project and is not here")
    parts = []
    with path.open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            power, heat = float(row["P_in_W"]), float(row["P_out_W"])
            supply, air = celsius(float(row["T_deliv_F"])), celsius(float(row["T_out_F"]))
            if power > 500 and heat > 500 and supply > air + 15:
                parts.append(of_carnot(heat / power, supply, air))
    assert len(parts) > 500
    assert np.percentile(parts, 95) == pytest.approx(0.49, abs=0.01)
    assert np.percentile(parts, 5) == pytest.approx(0.37, abs=0.01)
