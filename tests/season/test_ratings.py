"""HSPF2 and SCOP from first principles, and their properties."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstfrost.errors import InputError
from firstfrost.season.hspf2 import (
    BTU_PER_WH,
    Demand,
    FullSpeed,
    LowSpeed,
    Rated,
    demand_credit,
    full_speed,
    hspf2,
)
from firstfrost.season.points import Point
from firstfrost.season.regions import BINS_F, REGIONS, region
from firstfrost.season.scop import CLIMATES, Declared, Standby, climate, scop


def point(capacity_w, cop):
    return Point(capacity_w=capacity_w, power_w=capacity_w / cop)


H1, H3 = point(8200.0, 3.3), point(5400.0, 2.4)
FULL = FullSpeed(h1=H1, h3=H3)
SINGLE = Rated(cooling_w=8800.0, full=FULL)
LOW = LowSpeed(h0=point(6600.0, 4.5), h1=point(5600.0, 3.8), h2=point(4300.0, 3.2), h3=point(3600.0, 2.6))


def by_hand(unit, here):
    """A single-speed unit bin by bin, in Btu/h and degF, as one does it on paper."""
    per_watt = BTU_PER_WH
    q47, q17 = unit.full.h1.capacity_w * per_watt, unit.full.h3.capacity_w * per_watt
    e47, e17 = unit.full.h1.power_w, unit.full.h3.power_w
    q35, e35 = 0.9 * (q17 + 0.6 * (q47 - q17)), 0.985 * (e17 + 0.6 * (e47 - e17))
    above = below = 0.0
    for t, n in zip(BINS_F, here.hours, strict=True):
        load = max(0.0, (here.zero_load_f - t) / (here.zero_load_f - here.design_f)) * here.slope
        load *= unit.cooling_w * per_watt
        if 17 < t < 45:
            q, e = q17 + (q35 - q17) * (t - 17) / 18, e17 + (e35 - e17) * (t - 17) / 18
        else:
            q, e = q17 + (q47 - q17) * (t - 17) / 30, e17 + (e47 - e17) * (t - 17) / 30
        x = min(1.0, load / q)
        runs = q / (per_watt * e) >= 1.0
        above += n * load
        below += n * (x * e / (1 - 0.25 * (1 - x)) * runs + (load - x * q * runs) / per_watt)
    return above / below


@pytest.mark.parametrize("here", REGIONS, ids=lambda r: r.name)
def test_a_single_speed_unit_is_as_on_paper(here):
    assert hspf2(SINGLE, here).value == pytest.approx(by_hand(SINGLE, here), rel=1e-12)


@pytest.mark.parametrize(
    ("test_min", "longest_min", "credit"),
    [(90, 720, 1.0300), (180, 720, 1.0257), (360, 720, 1.0171), (720, 720, 1.0), (60, 360, 1.03)],
)
def test_the_credit_for_demand_defrost(test_min, longest_min, credit):
    """Check values worked from AHRI 210/240 eq. 11.129, as open rating code has it."""
    found = demand_credit(Demand(test_s=test_min * 60.0, longest_s=longest_min * 60.0))
    assert found == pytest.approx(credit, abs=5e-5)
    assert demand_credit(None) == 1.0


def test_a_demand_control_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="a longest time above 90 min"):
        demand_credit(Demand(test_s=5400.0, longest_s=5400.0))


capacities = st.floats(2000.0, 20000.0)


@given(capacities, st.floats(0.5, 0.8), st.floats(2.6, 4.5), st.floats(1.3, 2.5))
def test_with_no_frost_penalty_the_35_degree_point_drops_out(q47, part, cop47, cop17):
    h1, h3 = point(q47, cop47), point(q47 * part, cop17)
    on_line = Point(
        capacity_w=h3.capacity_w + 0.6 * (h1.capacity_w - h3.capacity_w),
        power_w=h3.power_w + 0.6 * (h1.power_w - h3.power_w),
    )
    temps = np.array(BINS_F)
    found = full_speed(FullSpeed(h1=h1, h3=h3, h2=on_line), temps)
    for line, name in zip(found, ("capacity_w", "power_w"), strict=True):
        a, b = getattr(h3, name), getattr(h1, name)
        assert line == pytest.approx(a + (b - a) * (temps - 17.0) / 30.0, rel=1e-9)


@given(capacities, st.sampled_from(REGIONS))
def test_size_drops_out_where_load_and_points_grow_together(q47, here):
    grown = q47 / H1.capacity_w
    scaled = FullSpeed(
        h1=Point(capacity_w=q47, power_w=H1.power_w * grown),
        h3=Point(capacity_w=H3.capacity_w * grown, power_w=H3.power_w * grown),
    )
    unit = Rated(cooling_w=SINGLE.cooling_w * grown, full=scaled)
    assert hspf2(unit, here).value == pytest.approx(hspf2(SINGLE, here).value, rel=1e-9)


def test_a_frost_penalty_costs_and_the_credit_pays():
    clean = Point(capacity_w=7080.0, power_w=2391.0)
    spared = Rated(cooling_w=8800.0, full=FullSpeed(h1=H1, h3=H3, h2=clean))
    assert hspf2(spared, region("IV")).value > hspf2(SINGLE, region("IV")).value
    paid = Rated(cooling_w=8800.0, full=FULL, demand=Demand(test_s=5400.0, longest_s=43200.0))
    assert hspf2(paid, region("IV")).value == pytest.approx(1.03 * hspf2(SINGLE, region("IV")).value)


def test_two_speeds_of_the_same_points_are_one_speed():
    """A low speed that is the full speed, where the load is below it: the same energy."""
    same = LowSpeed(h0=point(9600.0, 3.4), h1=H1, h2=FULL.frosted, h3=H3)
    one = hspf2(SINGLE, region("IV"))
    two = hspf2(Rated(cooling_w=8800.0, full=FULL, low=same), region("IV"))
    colder = np.array(BINS_F) < 40.0
    assert two.power_w[colder] == pytest.approx(one.power_w[colder], rel=1e-9)


@pytest.mark.parametrize("here", REGIONS, ids=lambda r: r.name)
def test_a_low_speed_and_a_variable_one_save(here):
    one = hspf2(SINGLE, here).value
    two = hspf2(Rated(cooling_w=8800.0, full=FULL, low=LOW), here).value
    off = hspf2(Rated(cooling_w=8800.0, full=FULL, low=LOW, between="off and full"), here).value
    assert one < off <= two
    middle = point(5400.0, 3.0)
    many = hspf2(Rated(cooling_w=8800.0, full=FULL, low=LOW, middle=middle), here).value
    assert many > one


def test_each_bin_meets_its_load():
    """Heat of the unit and backup heat add to the load: with COP 1 throughout the power is the heat."""
    flat = FullSpeed(
        h1=point(8000.0, 1.0), h3=point(5000.0, 1.0), h2=point(6800.0, 1.0), h4=point(4000.0, 1.0)
    )
    low = LowSpeed(h0=point(5000.0, 1.0), h1=point(4200.0, 1.0), h2=point(3500.0, 1.0), h3=point(2600.0, 1.0))
    for unit in (
        Rated(cooling_w=9000.0, full=flat, cd=0.0),
        Rated(cooling_w=9000.0, full=flat, low=low, cd=0.0),
        Rated(cooling_w=9000.0, full=flat, low=low, middle=point(5000.0, 1.0), cd=0.0),
    ):
        found = hspf2(unit, region("V"))
        assert found.power_w + found.backup_w == pytest.approx(found.load_w, rel=1e-9)


def test_below_its_cut_out_backup_heat_does_it_all():
    found = hspf2(Rated(cooling_w=8800.0, full=FULL, off_f=10.0, on_f=20.0), region("V"))
    temps = np.array(BINS_F)
    assert np.all(found.power_w[temps <= 10.0] == 0.0)
    assert found.backup_w[temps <= 10.0] == pytest.approx(found.load_w[temps <= 10.0])


def test_missing_points_and_regions_are_told():
    with pytest.raises(InputError, match="needs its low speed at 35 degF"):
        hspf2(Rated(cooling_w=8800.0, full=FULL, low=LowSpeed(h0=LOW.h0, h1=LOW.h1)), region("IV"))
    with pytest.raises(InputError, match="Expected one of I, II, III, IV, V, VI"):
        region("VII")
    with pytest.raises(InputError, match="average, warmer, colder"):
        climate("arctic")


def test_the_hours_of_the_european_seasons_add_up():
    """4,910, 3,590 and 6,446 h: EN 14825, totals as widely quoted (values from memory)."""
    assert [sum(c.hours) for c in CLIMATES] == [4910, 3590, 6446]
    assert [c.first_c + len(c.hours) - 1 for c in CLIMATES] == [15, 15, 15]


def test_scop_of_a_constant_unit_is_its_cop_less_its_standby():
    points = {t: point(20000.0, 3.0) for t in (-15.0, -7.0, 2.0, 7.0, 12.0)}
    plain = scop(Declared(design_w=8000.0, points=points, cd=1.0), climate("average"))
    assert plain.value == pytest.approx(3.0)
    standby = Standby(off_w=10.0, thermostat_w=20.0, crankcase_w=30.0, also_cools=False)
    fed = scop(Declared(design_w=8000.0, points=points, cd=1.0, standby=standby), climate("average"))
    need = 8000.0 * 2066.0
    assert fed.value == pytest.approx(need / (need / 3.0 + 10 * 3672 + 20 * 179 + 30 * 3851))


def test_below_its_limit_scop_counts_plain_electric_heat():
    points = {t: point(20000.0, 4.0) for t in (-7.0, 2.0, 7.0, 12.0)}
    found = scop(Declared(design_w=8000.0, points=points, cd=1.0, limit_c=2.0), climate("colder"))
    temps = -22 + np.arange(len(found.load_w))
    assert np.all(found.backup_w[temps < 2] == found.load_w[temps < 2])
    hours = np.array(climate("colder").hours)
    heat = hours * found.load_w
    expected = heat.sum() / (heat[temps >= 2].sum() / 4.0 + heat[temps < 2].sum())
    assert found.active == pytest.approx(expected)
