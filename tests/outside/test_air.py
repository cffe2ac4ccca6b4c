"""Moist air against published values.

Source: ASHRAE Handbook of Fundamentals (2017), chapter 1, tables 2 and 3, as quoted by PsychroLib's own tests
(read there, not in the Handbook). Tolerances: ASHRAE states 300 ppm for the saturation pressure formula; the
tables of humidity ratio and enthalpy carry the real gas, the formulas the ideal one.
"""

import pytest

from firstfrost.air import moist

P0 = 101_325.0


@pytest.mark.parametrize(
    ("temp_c", "pressure_pa"),
    [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0)],
)
def test_saturation_pressure_table_3(temp_c, pressure_pa):
    assert moist.saturation_pa(float(temp_c)) == pytest.approx(pressure_pa, rel=300e-6)


@pytest.mark.parametrize(
    ("temp_f", "psia"),
    [(23, 0.058268), (41, 0.12656), (77, 0.45973)],
)
def test_saturation_pressure_table_3_inch_pound(temp_f, psia):
    assert moist.saturation_pa((temp_f - 32) / 1.8) == pytest.approx(psia * 6894.757, rel=300e-6)


@pytest.mark.parametrize(
    ("temp_c", "ratio", "tolerance"),
    [
        (-20, 0.0006373, 0.01),
        (-5, 0.0024863, 0.005),
        (5, 0.005425, 0.005),
        (25, 0.020173, 0.005),
        (50, 0.086863, 0.01),
        (85, 0.838105, 0.02),
    ],
)
def test_saturation_humidity_ratio_table_2(temp_c, ratio, tolerance):
    assert moist.humidity_ratio(float(temp_c), 1.0, P0) == pytest.approx(ratio, rel=tolerance)


@pytest.mark.parametrize(
    ("temp_c", "enthalpy", "tolerance"), [(-20, -18542, 0.01), (5, 18639, 0.01), (25, 76504, 0.01)]
)
def test_saturation_enthalpy_table_2(temp_c, enthalpy, tolerance):
    ratio = moist.humidity_ratio(float(temp_c), 1.0, P0)
    assert moist.enthalpy(float(temp_c), ratio) == pytest.approx(enthalpy, rel=tolerance)


def test_dry_air_table_2():
    assert moist.density(25.0, 0.0, P0) == pytest.approx(1 / 0.8443, rel=0.001)
    assert moist.enthalpy(25.0, 0.0) == pytest.approx(25148, rel=0.0003)


def test_example_1_of_the_chapter():
    """Moist air at 40 degC dry bulb and 20 degC wet bulb; the Handbook reads these off its chart."""
    humidity = moist.humidity_from_wet_bulb(40.0, 20.0, P0)
    ratio = moist.humidity_ratio(40.0, humidity, P0)
    assert humidity == pytest.approx(0.14, abs=0.01)
    assert ratio == pytest.approx(0.0065, abs=0.0001)
    assert moist.dew_point_c(40.0, humidity) == pytest.approx(7.0, abs=0.5)
    assert moist.enthalpy(40.0, ratio) == pytest.approx(56_700, abs=100)


def test_vapor_over_ice_meets_water_at_the_triple_point():
    """611.657 Pa at 0.01 degC, the triple point of water (IAPWS); value and source from memory."""
    for function in (moist.saturation_pa, moist.saturation_over_water_pa):
        assert function(0.01) == pytest.approx(611.657, rel=300e-6)


@pytest.mark.parametrize(("temp_c", "water_pa"), [(-5, 421.8), (-10, 286.6), (-20, 125.6)])
def test_over_supercooled_water(temp_c, water_pa):
    """Hyland and Wexler's equation for water below freezing: computed apart from this code, for the brief."""
    assert moist.saturation_over_water_pa(float(temp_c)) == pytest.approx(water_pa, abs=0.06)


def test_supercooled_water_by_an_equation_of_others():
    """Murphy and Koop 2005, equation 10 (Q. J. R. Meteorol. Soc. 131); coefficients from memory."""
    from math import exp, log, tanh

    for temp_c in (-5.0, -10.0, -20.0):
        t = temp_c + 273.15
        other = exp(
            54.842763
            - 6763.22 / t
            - 4.21 * log(t)
            + 0.000367 * t
            + tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * log(t) + 0.014025 * t)
        )
        assert moist.saturation_over_water_pa(temp_c) == pytest.approx(other, rel=0.005)


@pytest.mark.parametrize(
    ("dry_f", "wet_f", "ratio", "humidity", "dew_f"),
    [
        (47, 43, 0.00493, 0.726, 38.7),
        (35, 33, 0.00348, 0.818, 30.3),
        (17, 15, 0.00129, 0.694, 9.6),
        (70, 60, 0.00874, 0.56, None),
    ],
)
def test_the_rating_points(dry_f, wet_f, ratio, humidity, dew_f):
    """Heating rating points of 10 CFR 430 subpart B appendix M1; moisture computed apart with PsychroLib."""
    dry, wet = (dry_f - 32) / 1.8, (wet_f - 32) / 1.8
    part = moist.humidity_from_wet_bulb(dry, wet, P0)
    assert part == pytest.approx(humidity, abs=0.001)
    assert moist.humidity_ratio(dry, part, P0) == pytest.approx(ratio, abs=0.6e-5)
    if dew_f is not None:
        assert moist.dew_point_c(dry, part) * 1.8 + 32 == pytest.approx(dew_f, abs=0.06)
