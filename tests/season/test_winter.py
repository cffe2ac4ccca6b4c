"""The winter model: what must hold whatever its table says."""

from dataclasses import replace

import numpy as np
import pytest
from season.air import steady, winter_air

from firstfrost.errors import InputError
from firstfrost.season.lane import OUTPUTS, PARAMETERS
from firstfrost.season.points import Point
from firstfrost.season.table import drive, table
from firstfrost.season.winter import Case, pack, winters

numba = pytest.importorskip("numba")
AIR = winter_air()
HELD = Case(conductance_wk=4000.0, backup_w=0.0, backup_defrost_w=0.0)
"""A house so large that the unit runs without a break."""


@pytest.fixture(scope="module")
def driven():
    return drive(AIR)


def one(air, case, name):
    return float(winters(drive(air), [case]).total(name)[0])


def test_plain_python_and_compiled_code_give_the_same(driven):
    cases = [Case(), Case(demand=True, interval_s=21600.0), Case(sensor="stays open"), Case(frost_free=True)]
    fast, plain = (winters(driven, cases, hourly=True, compiled=flag) for flag in (True, False))
    assert plain.totals == pytest.approx(fast.totals, rel=1e-9, abs=1e-6)
    assert plain.by_slot == pytest.approx(fast.by_slot, rel=1e-9, abs=1e-6)


def test_months_and_hours_add_to_the_totals(driven):
    for hourly in (False, True):
        found = winters(driven, [Case()], hourly=hourly)
        for name in ("heat", "power", "backup", "backup_defrost", "load", "defrosts"):
            assert found.month(name).sum() == pytest.approx(found.total(name)[0], rel=1e-9)
        assert np.all(found.month("heat")[0, 1:] == 0.0)


def test_heat_and_backup_heat_meet_the_load(driven):
    """What the house's own store holds at the end is all that may differ: a kelvin of 26.5 MJ."""
    cases = [
        Case(),
        Case(demand=True),
        Case(interval_s=1800.0),
        Case(sensor="stays open"),
        Case(lockout_c=50.0),
    ]
    found = winters(driven, cases)
    given = sum(found.total(name) for name in ("heat", "backup", "backup_defrost", "short"))
    assert given == pytest.approx(found.total("load"), abs=5e7)


@pytest.mark.parametrize("minutes", [30, 60, 90, 120])
def test_in_steady_frost_a_defrost_comes_after_each_interval(minutes):
    found = winters(drive(steady(-2.0, 0.9, 48)), [replace(HELD, interval_s=60.0 * minutes)])
    count = found.total("defrosts")[0]
    lag = 60.0
    cycle = 60.0 * minutes + found.total("defrost_time")[0] / count + lag
    assert count == pytest.approx(48 * 3600 / cycle, rel=0.03)


def test_a_unit_that_does_not_frost_has_no_defrosts_and_takes_least(driven):
    found = winters(
        driven, [Case(frost_free=True), Case(interval_s=3600.0), Case(demand=True, interval_s=2e4)]
    )
    assert found.total("defrosts")[0] == 0.0
    assert found.total("most_frost")[0] == 0.0
    assert np.all(found.energy_j[1:] > found.energy_j[0])


def test_the_longer_the_interval_the_fewer_defrosts_and_the_more_frost(driven):
    found = winters(driven, [Case(interval_s=s) for s in (1800.0, 3600.0, 5400.0, 7200.0)])
    assert np.all(np.diff(found.total("defrosts")) < 0)
    assert np.all(np.diff(found.total("most_frost")) > 0)
    assert np.all(np.diff(found.total("needless")) <= 0)


def test_a_sensor_that_never_closes_ices_the_coil_and_one_that_never_opens_runs_to_the_limit(driven):
    sound, iced, stuck = (
        winters(driven, [Case(sensor=how)]) for how in ("works", "stays open", "stays closed")
    )
    assert iced.total("defrosts")[0] == 0.0
    assert iced.total("most_frost")[0] > 1.3 * sound.total("most_frost")[0]
    assert iced.energy_j[0] > sound.energy_j[0]
    assert stuck.total("timed_out")[0] == stuck.total("defrosts")[0] > 0
    assert stuck.total("defrost_time")[0] == pytest.approx(720.0 * stuck.total("defrosts")[0])
    assert stuck.energy_j[0] > sound.energy_j[0]


def test_a_short_limit_leaves_frost(driven):
    found = winters(driven, [Case(longest_s=60.0), Case()])
    assert found.total("timed_out")[0] > 0.5 * found.total("defrosts")[0]
    assert found.total("left_frost")[0] > 3 * found.total("left_frost")[1]


def test_warm_air_and_dry_air_bring_no_frost():
    for air in (steady(12.0, 0.9), steady(-10.0, 0.4)):
        found = winters(drive(air), [HELD])
        assert found.total("frost_made")[0] < 0.05


def test_size_scales_everything_that_has_a_size(driven):
    clean_q, clean_p = table().clean(np.array([-25 / 3, 25 / 3]))

    def sized(part):
        cold, warm = (
            Point(capacity_w=part * q, power_w=part * p) for q, p in zip(clean_q, clean_p, strict=True)
        )
        return Case(
            cold=cold, warm=warm, conductance_wk=230.0 * part, gain_w=500.0 * part, backup_w=1e4 * part,
            backup_defrost_w=5e3 * part,
        )  # fmt: skip

    small, large = winters(driven, [sized(1.0), sized(2.0)]).totals
    for at, (name, unit, _) in enumerate(OUTPUTS):
        scale = 2.0 if unit in ("J", "kg") else 1.0
        assert large[at] == pytest.approx(scale * small[at], rel=1e-6), name


def test_below_its_lockout_the_unit_rests_and_backup_heat_does_it(driven):
    found = winters(driven, [Case(lockout_c=60.0, backup_w=2e4)])
    assert found.total("run")[0] == 0.0
    assert found.total("backup")[0] == pytest.approx(found.total("load")[0], rel=0.02)


def test_without_enough_backup_heat_the_house_is_short():
    cold = steady(-20.0, 0.5, 72)
    assert one(cold, Case(backup_w=0.0, backup_defrost_w=0.0), "short") > 1e8
    assert one(cold, Case(backup_w=2e4), "short") == 0.0


def test_backup_heat_in_defrost_warms_the_supply_air(driven):
    bare, heated = winters(driven, [Case(backup_defrost_w=0.0), Case(backup_defrost_w=5000.0)]).total(
        "coldest"
    )
    assert bare < 15.0 < heated


def test_thin_air_frosts_faster_and_heats_less():
    sea, high = (winters(drive(steady(-2.0, 0.85, 24, p)), [HELD]) for p in (101325.0, 80000.0))
    assert high.total("frost_made")[0] > 1.05 * sea.total("frost_made")[0]
    assert high.total("heat")[0] < sea.total("heat")[0]


def test_every_parameter_has_its_row_and_unknown_names_are_refused(driven):
    assert len(pack(Case(), table())) == len(PARAMETERS)
    with pytest.raises(InputError, match="A winter has no 'joy'"):
        winters(driven, [Case()]).total("joy")
