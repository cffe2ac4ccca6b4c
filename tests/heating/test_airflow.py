"""Airflow by temperature rise, traverse and hood, and what is needed."""

import math

import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.errors import InputError
from firstfrost.heating.airflow import (
    CFM_M3_S,
    LOG_TCHEBYCHEFF,
    airflow_by_rise,
    airflow_by_standard,
    airflow_by_traverse,
    airflow_by_volume,
    needed_airflow,
    velocity_m_s,
)
from firstfrost.instruments.accuracy import parse_accuracy
from firstfrost.instruments.budget import Value

P0 = 101_325.0


def value(number, u=0.0, source="x"):
    return Value(value=number, sources={source: u} if u else {})


def by_rise(**given):
    usual = {
        "heat_w": value(9600.0, 200.0, "clamp"),
        "rise_k": value(16.0, 0.6, "probes"),
        "return_c": value(20.0, 0.5, "return"),
        "humidity_ratio": value(0.006, 0.001, "humidity"),
        "atmosphere_pa": value(95_000.0, 500.0, "site"),
        "blower_between": False,
    }
    return airflow_by_rise(**{**usual, **given})


def test_each_part_of_the_uncertainty_is_the_slope_times_its_input():
    """Against differences of the result itself, each input moved by its own standard uncertainty."""
    moved = {
        "heat_w": value(9800.0, 200.0, "clamp"),
        "rise_k": value(16.6, 0.6, "probes"),
        "return_c": value(20.5, 0.5, "return"),
        "humidity_ratio": value(0.007, 0.001, "humidity"),
        "atmosphere_pa": value(95_500.0, 500.0, "site"),
    }
    for between in (False, True):
        here = by_rise(blower_between=between)
        for name, more in moved.items():
            for field in ("flow_m3_s", "standard_m3_s", "dry_air_kg_s"):
                there = getattr(by_rise(blower_between=between, **{name: more}), field).value
                own = getattr(here, field)
                (source,) = more.sources
                step = there - own.value
                # second-order terms: the rise moves by 4 %, the rest by less; k V by 3 % of 3 %
                assert own.sources.get(source, 0.0) == pytest.approx(step, rel=0.06, abs=2e-3 * own.value), (
                    name,
                    field,
                )


def test_the_blower_between_the_probes_adds_its_heat():
    without = by_rise()
    known = by_rise(blower_between=True, blower_w=value(400.0, 20.0, "blower"))
    assert known.flow_m3_s.value == pytest.approx(without.flow_m3_s.value * 10_000 / 9600, rel=1e-12)
    assumed = by_rise(blower_between=True)
    flow = assumed.standard_m3_s.value
    k = (0.365 + 0.441) / 2 / CFM_M3_S
    again = by_rise(blower_between=True, blower_w=value(k * flow))
    assert again.standard_m3_s.value == pytest.approx(flow, rel=1e-9)
    assert assumed.flow_m3_s.u > again.flow_m3_s.u
    assert "not known" in assumed.notes[-1]


def test_a_rise_that_is_no_rise_is_refused():
    with pytest.raises(
        InputError, match=r"^The temperature rise is 1\.8 degF, and its uncertainty 2\.4 degF\."
    ):
        by_rise(rise_k=value(1.0, 0.44, "probes"))
    with pytest.raises(InputError, match=r"^The power of the backup heat is 0 W\. Expected it on\."):
        by_rise(heat_w=value(0.0))


def test_volume_and_standard_air_are_ways_of_saying_one_mass():
    air = {
        "temp_c": value(35.0, 0.5, "t"),
        "humidity_ratio": value(0.008),
        "atmosphere_pa": value(84_000.0, 300.0, "p"),
    }
    one = airflow_by_volume(flow_m3_s=value(0.5, 0.02, "hood"), how="flow hood", **air)
    back = airflow_by_standard(standard_m3_s=one.standard_m3_s, how="x", **air)
    assert back.flow_m3_s.value == pytest.approx(0.5, rel=1e-12)
    # the density's part cancels on the way back: what is left is the hood
    assert back.flow_m3_s.u == pytest.approx(0.02, rel=1e-9)
    assert one.standard_m3_s.value < 0.5 * 0.85


def traverse(velocities, statement="5 %"):
    return airflow_by_traverse(
        velocities_m_s=velocities,
        area_m2=0.1,
        accuracy=parse_accuracy(statement, "velocity"),
        temp_c=value(20.0),
        humidity_ratio=value(0.006),
        atmosphere_pa=value(P0),
    )


def test_a_traverse_is_the_mean_velocity_times_the_area():
    flow = traverse([3.0] * 30)
    assert flow.flow_m3_s.value == pytest.approx(0.3)
    # the probe's 5 % do not average out: 2.9 % as a standard uncertainty, and the area's 1.2 %
    assert flow.flow_m3_s.u == pytest.approx(0.3 * math.hypot(0.05, 0.02) / math.sqrt(3))
    assert flow.notes == ()
    few = traverse([2.0, 4.0, 3.0, 3.0])
    assert few.notes == ("4 points; 25 or more are asked for in a rectangular duct",)
    assert few.flow_m3_s.u > flow.flow_m3_s.u
    with pytest.raises(InputError, match=r"^The traverse has 3 velocities"):
        traverse([3.0, 3.0, 3.0])


@pytest.mark.parametrize("n", sorted(LOG_TCHEBYCHEFF))
def test_the_log_tchebycheff_points_find_the_mean_of_a_turbulent_profile(n):
    """The mean over a square duct of u = (distance from the wall)^(1/7) each way is (7/8)^2 (by integration).

    At the rule's points the plain mean is within 1 %; at the middles of equal areas it is further off.
    """
    exact = (7 / 8) ** 2

    def mean(places):
        part = [(2 * min(x, 1 - x)) ** (1 / 7) for x in places]
        return sum(a * b for a in part for b in part) / len(part) ** 2

    rule = mean(LOG_TCHEBYCHEFF[n])
    equal = mean([(i + 0.5) / n for i in range(n)])
    assert rule == pytest.approx(exact, rel=0.01)
    assert abs(rule - exact) < abs(equal - exact)


def test_velocity_from_velocity_pressure():
    """4005 ft/min at 1 in w.c. in standard air: the trade's constant, common practice."""
    assert velocity_m_s(249.0889, 1.2014) == pytest.approx(4005 * 0.3048 / 60, rel=2e-3)


def needed(**tables):
    return needed_airflow(unit_from({"unit": {"refrigerant": "R-410A"}, **tables}, source="x"))


def test_needed_airflow():
    rated = needed(ratings={"airflow": "1000 cfm", "cooling_capacity": "5 ton"})
    assert [x / CFM_M3_S for x in (rated.low_m3_s, rated.target_m3_s, rated.high_m3_s)] == pytest.approx(
        [850, 1000, 1150]
    )
    ton = needed(ratings={"cooling_capacity": "30000 Btu/h", "capacity_47": "9 kW"})
    assert ton.low_m3_s / CFM_M3_S == pytest.approx(875)
    assert "common practice, no source" in ton.source
    assert needed(ratings={"capacity_47": "24000 Btu/h"}).target_m3_s / CFM_M3_S == pytest.approx(800)
    assert needed() is None
