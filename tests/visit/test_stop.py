import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstfrost.equipment.read import unit_from
from firstfrost.equipment.stop import StopLimit, stop_limit
from firstfrost.refrigerants import REFRIGERANTS, refrigerant
from firstfrost.visit.stop import (
    BLIND_S,
    LEAD_S,
    NEAR_K,
    WINDOW_S,
    StopWatch,
    seconds_left,
    slope,
)

PSI = 6894.757293168
R410A = refrigerant("R-410A")
LIMIT = StopLimit(temp_c=54.444, pressure_pa=R410A.dew_pressure_pa(54.444), gauge_pa=3.29e6, by="ceiling")


def unit(name="R-410A", **site):
    return unit_from({"unit": {"refrigerant": name}, "site": site}, source="test")


def climb(watch, *, start_c, rate, step_s, until_c=70.0, turned=True):
    """Push a straight climb; the dangers with the temperatures at which they came."""
    t, temp, out = 0.0, start_c, []
    while temp < until_c:
        danger = watch.push(t, temp, R410A.dew_pressure_pa(temp), turned=turned)
        out.append((temp, danger))
        t, temp = t + step_s, temp + rate * step_s
    return out


@given(
    rate=st.floats(-3.0, 3.0),
    start=st.floats(-50.0, 80.0),
    times=st.lists(st.floats(0.0, 1e5), min_size=2, max_size=30, unique=True).filter(
        lambda ts: max(ts) - min(ts) > 1.0
    ),
)
def test_the_slope_of_a_straight_line_is_its_own(rate, start, times):
    times = sorted(times)
    values = [start + rate * (t - times[0]) for t in times]
    assert slope(times, values) == pytest.approx(rate, abs=1e-6)


def test_the_slope_is_that_of_the_normal_equations():
    # By hand: t = 0 1 2 3, v = 1 3 2 6; mean t 1.5, mean v 3; sum 7, spread 5.
    assert slope([0.0, 1.0, 2.0, 3.0], [1.0, 3.0, 2.0, 6.0]) == pytest.approx(7.0 / 5.0)


def test_one_time_has_no_slope():
    assert slope([1.0], [2.0]) == 0.0
    assert slope([1.0, 1.0], [2.0, 3.0]) == 0.0


def test_seconds_left():
    assert seconds_left(50.0, 54.0, 0.5) == pytest.approx(8.0)
    assert seconds_left(50.0, 54.0, 0.0) == math.inf
    assert seconds_left(50.0, 54.0, -0.5) == math.inf
    assert seconds_left(54.0, 54.0, -0.5) == 0.0


def test_130_degf_on_r410a_is_a_little_under_500_psi():
    # Common practice, no source: "130 degF is a little under 500 psi on R-410A".
    limit = stop_limit(unit())
    assert limit.by == "ceiling"
    assert 470.0 < limit.gauge_pa / PSI < 500.0


def test_the_stop_limit_is_the_number_on_the_gauge_at_that_altitude():
    low, high = stop_limit(unit()), stop_limit(unit(altitude="5280 ft"))
    assert high.pressure_pa == low.pressure_pa
    # Standard atmosphere: 101.3 kPa at sea level and 83.4 kPa at 5280 ft (ISO 2533, value from memory).
    assert (high.gauge_pa - low.gauge_pa) == pytest.approx(101_325 - 83_430, abs=100)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_the_stop_limit_comes_before_either_limit(name):
    made = unit(name)
    limit = stop_limit(made)
    assert limit.pressure_pa <= made.limits.high_pressure_cutout_pa
    assert limit.temp_c <= made.limits.saturation_ceiling_c + 1e-9
    assert refrigerant(name).dew_temp_c(limit.pressure_pa) == pytest.approx(limit.temp_c, abs=1e-3)


def test_a_cutout_below_the_ceiling_is_the_limit():
    made = unit()
    made = replace(made, limits=replace(made.limits, high_pressure_cutout_pa=2.5e6))
    limit = stop_limit(made)
    assert (limit.by, limit.pressure_pa) == ("cutout", 2.5e6)
    assert limit.temp_c == pytest.approx(R410A.dew_temp_c(2.5e6))


@pytest.mark.parametrize("step_s", [0.5, 1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("rate", [0.05, 0.2, 0.5])
def test_a_climb_is_warned_of_in_time_and_not_too_soon(rate, step_s):
    rows = climb(StopWatch(LIMIT), start_c=10.0, rate=rate, step_s=step_s)
    first = next(i for i, (_, danger) in enumerate(rows) if danger is not None)
    temp, danger = rows[first]
    left_s = (LIMIT.temp_c - temp) / rate
    due_s = max(LEAD_S, 3 * step_s, NEAR_K / rate)
    assert due_s - step_s - 1e-6 <= left_s <= due_s + 1e-6
    assert left_s > 0.0
    assert danger.rate_k_s == pytest.approx(rate, rel=1e-6)
    assert danger.seconds_left == pytest.approx(left_s, rel=1e-6)
    assert all(danger is not None for _, danger in rows[first:])
    assert rows[-1][1].seconds_left == 0.0


def test_heating_is_never_warned_of():
    assert all(
        danger is None
        for _, danger in climb(StopWatch(LIMIT), start_c=40.0, rate=0.5, step_s=1.0, turned=False)
    )


def test_a_flat_high_side_far_below_is_quiet_and_one_close_below_is_not():
    watch = StopWatch(LIMIT)
    for t in range(60):
        assert watch.push(float(t), 40.0, R410A.dew_pressure_pa(40.0), turned=True) is None
    close = LIMIT.temp_c - 0.9 * NEAR_K
    danger = watch.push(60.0, close, R410A.dew_pressure_pa(close), turned=True)
    assert danger is not None
    assert danger.below_k == pytest.approx(0.9 * NEAR_K)


def test_the_rate_forgets_what_lies_before_its_window():
    watch = StopWatch(LIMIT)
    for t in range(100):
        watch.push(float(t), 20.0, R410A.dew_pressure_pa(20.0), turned=True)
    danger = None
    for k in range(1, int(WINDOW_S) + 2):
        temp = 20.0 + 2.0 * k
        danger = watch.push(99.0 + k, temp, R410A.dew_pressure_pa(temp), turned=True)
    assert danger is not None
    assert danger.rate_k_s == pytest.approx(2.0)


def test_a_pressure_beyond_the_tables_is_above_the_limit():
    danger = StopWatch(LIMIT).push(0.0, math.nan, 4.8e6, turned=True)
    assert danger is not None
    assert danger.seconds_left == 0.0


def test_a_high_side_that_is_not_read_makes_the_watch_blind_after_a_while():
    watch = StopWatch(LIMIT)
    watch.push(0.0, 20.0, 1.4e6, turned=False)
    watch.push(1.0, math.nan, math.nan, turned=True)
    assert not watch.blind(1.0 + BLIND_S - 1.0)
    assert watch.blind(1.0 + BLIND_S)
    watch.push(17.0, 20.0, 1.4e6, turned=True)
    assert not watch.blind(17.5)
    watch.push(18.0, 20.0, 1.4e6, turned=False)
    assert not watch.blind(100.0)
