"""Ambient pressure by altitude against published tables."""

import pytest

from firstfrost.air.atmosphere import pressure_at_altitude_pa


@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa"),
    [(-500, 107_478), (0, 101_325), (500, 95_461), (1000, 89_875), (4000, 61_640), (10_000, 26_436)],
)
def test_ashrae_table_1(altitude_m, pressure_pa):
    """ASHRAE Handbook of Fundamentals (2017), chapter 1, table 1, read in PsychroLib's tests.

    The table's last digit is 1 Pa.
    """
    assert pressure_at_altitude_pa(float(altitude_m)) == pytest.approx(pressure_pa, abs=1.0)


@pytest.mark.parametrize(
    ("altitude_m", "pressure_hpa"),
    [(1000, 898.746), (2000, 794.952), (3000, 701.085), (5000, 540.199)],
)
def test_us_standard_atmosphere_1976(altitude_m, pressure_hpa):
    """U.S. Standard Atmosphere, 1976, by geopotential altitude; values from memory.

    ASHRAE's equation rounds the exponent and the lapse; 5 Pa is a fiftieth of a per mille of a gauge's span.
    """
    assert pressure_at_altitude_pa(float(altitude_m)) == pytest.approx(100 * pressure_hpa, abs=5.0)


def test_a_mile_high():
    """5280 ft: 0.823 of the density at sea level at one temperature, so of its pressure (computed apart)."""
    assert pressure_at_altitude_pa(5280 * 0.3048) / 101_325 == pytest.approx(0.823, abs=5e-4)
