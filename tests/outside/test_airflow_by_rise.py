"""Airflow by temperature rise against the trade's formula, worked, and its constant at altitude.

Source: cfm = 3.412 V A / (1.08 dT), and 1.08 = 60 min/h x 0.075 lb/ft3 x 0.24 Btu/(lb degF), common practice
of the trade without one source; the worked figures are that arithmetic done by hand. The densities are those
of the standard atmosphere, the constant at an altitude being 1.08 p/p0 at one temperature.
"""

import pytest

from firstfrost.air.atmosphere import pressure_at_altitude_pa
from firstfrost.heating.airflow import CFM_M3_S, airflow_by_rise
from firstfrost.instruments.budget import Value

BTU_H = 1055.05585262 / 3600.0
P0 = 101_325.0


def rise(*, volts=235.0, amps=75.0, rise_f=36.0, altitude_ft=0.0, ratio=0.0, return_f=70.0):
    return airflow_by_rise(
        heat_w=Value(value=volts * amps),
        rise_k=Value(value=rise_f / 1.8),
        return_c=Value(value=(return_f - 32) / 1.8),
        humidity_ratio=Value(value=ratio),
        atmosphere_pa=Value(value=pressure_at_altitude_pa(altitude_ft * 0.3048)),
        blower_between=False,
    )


def test_the_worked_example():
    """235 V, 75 A, 36 degF: 1547 cfm. 0.075 and 0.24 are rounded, by 0.2 % in all."""
    assert rise().flow_m3_s.value / CFM_M3_S == pytest.approx(1547, rel=0.003)
    assert rise().standard_m3_s.value / CFM_M3_S == pytest.approx(1547, rel=0.003)


@pytest.mark.parametrize(
    ("feet", "constant"),
    [(0, 1.080), (1000, 1.042), (2000, 1.004), (3000, 0.968), (5000, 0.899), (5280, 0.889), (7000, 0.833)],
)
def test_the_constant_at_altitude(feet, constant):
    flow = rise(altitude_ft=feet).flow_m3_s.value / CFM_M3_S
    # ours over the trade's own constant at sea level, so that its rounding drops out
    at_sea = rise().flow_m3_s.value / CFM_M3_S
    assert 1.080 * at_sea / flow == pytest.approx(constant, abs=0.001)


def test_the_constant_with_the_temperature():
    """At one pressure the constant goes as 530 degR over the air's temperature."""
    warm = rise(return_f=90.0).flow_m3_s.value / rise(return_f=70.0).flow_m3_s.value
    assert warm == pytest.approx((90 + 459.67) / (70 + 459.67), rel=1e-6)


def test_moisture_adds_its_heat_capacity():
    """c_p of moist air per dry air is 0.240 + 0.444 W Btu/(lb degF): ASHRAE Fundamentals, chapter 1."""
    dry, moist = rise().dry_air_kg_s.value, rise(ratio=0.010).dry_air_kg_s.value
    assert dry / moist == pytest.approx((0.240 + 0.444 * 0.010) / 0.240, rel=2e-4)


def test_density_is_that_of_psychrolib():
    """The volume of a mass of moist air, against `air.moist`, which is PsychroLib (ASHRAE's equations)."""
    from firstfrost.air.moist import density

    for altitude_ft, ratio, return_f in ((0, 0.0, 70), (5280, 0.008, 65), (2000, 0.012, 80)):
        flow = rise(altitude_ft=altitude_ft, ratio=ratio, return_f=return_f)
        pressure = pressure_at_altitude_pa(altitude_ft * 0.3048)
        rho = density((return_f - 32) / 1.8, ratio, pressure)
        wet_mass = flow.dry_air_kg_s.value * (1 + ratio)
        assert flow.flow_m3_s.value == pytest.approx(wet_mass / rho, rel=1e-4)
