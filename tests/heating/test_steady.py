"""Where heating is steady: found on drawn records."""

import drawn
import numpy as np
import pytest
from drawn import acts, steps
from heating.heated import LAST_S, STARTS_S, heating, trace, unit

from firstfrost.heating.steady import WINDOW_S, excess

ON = STARTS_S


def ramp(start_s, by):
    """Suction saturation that moves by `by` [K] from `start_s` to the end."""
    return [(0, 8), (ON, 8), (ON + 40, -5), (start_s, -5), (LAST_S, -5 + by)]


def test_the_window_is_five_minutes_of_plain_heating_fifteen_minutes_on():
    steady = heating().steady
    assert steady.end_s - steady.start_s == WINDOW_S
    assert steady.waited
    assert steady.since_s == pytest.approx(steady.start_s - ON, abs=15.0)
    assert steady.share <= 1.0


def test_a_short_visit_uses_what_there_is_and_says_that_it_did_not_wait():
    full = trace()
    steady = heating(full.part(0.0, 800.0)).steady
    assert not steady.waited
    assert steady.since_s > 60.0


def test_a_drift_beyond_the_limit_is_not_steady():
    # 0.5 K of standard deviation allows a drift of 0.5 sqrt(12) = 1.7 K in five minutes.
    slow = heating(trace(low=ramp(ON + 100, -1.2 * (LAST_S - ON) / 300.0)))
    fast = heating(trace(low=ramp(ON + 100, -2.4 * (LAST_S - ON) / 300.0)))
    assert slow.steady is not None
    assert fast.steady is None
    assert "evaporating saturation kept moving" in fast.why_not
    assert fast.number("superheat_k").standing == "unseen"
    assert fast.why_not in fast.number("superheat_k").settle


@pytest.mark.parametrize("noise", [0.0, 0.8])
def test_the_noise_of_a_probe_hides_no_steady_machine(noise):
    record = trace(noise={"suction_line_temp": noise, "liquid_line_temp": noise, "supply_air_temp": noise})
    assert heating(record).steady is not None


def test_backup_heat_is_kept_out_of_the_window_where_that_can_be():
    record = trace(backup_current=steps(0.0, (1200.0, 20.0), (2400.0, 20.0)))
    steady = heating(record).steady
    assert steady.backup is False
    assert steady.end_s <= 1210.0
    assert heating(trace(backup_current=20.0)).steady.backup is True
    assert heating(trace("backup_current")).steady.backup is None


def test_neither_defrost_nor_recovery_nor_a_chilled_coil_counts():
    found = drawn.check(drawn.cold_trace())
    steady = found.heating.steady
    plain = [one for one in found.phases if one.name == "heating"]
    assert any(one.start_s <= steady.start_s and steady.end_s <= one.end_s + 1 for one in plain)
    stopped = acts((ON + 60.0, "fan-lead-off"), (LAST_S - 1, "fan-lead-on"))
    check = heating(trace(fan_current=steps(0.0, (ON, 0.9), (ON + 60, 0.0))), marks=stopped)
    assert check.steady is None
    assert check.number("superheat_k").standing == "unseen"


def test_a_fan_that_stands_still_without_marks_leaves_all_in_doubt():
    record = trace(fan_current=0.0)
    check = heating(record, marks=None)
    if check.steady is not None:
        assert not [
            one.name for one in check.of("failed") if one.channels and "line_voltage" not in one.channels
        ]
        assert check.number("discharge_temp_c").standing == "doubtful"


def test_a_hole_in_the_record_is_in_no_window():
    record = drawn.with_gap(trace(), 1400.0, 1700.0)
    steady = heating(record).steady
    assert steady.end_s <= 1401.0 or steady.start_s >= 1699.0


def test_a_handful_of_typed_readings_is_used_and_never_better_than_doubtful():
    full = trace()
    keep = np.arange(0, len(full), 90)
    typed = type(full)(time_s=full.time_s[keep], columns={n: c[keep] for n, c in full.columns.items()})
    check = heating(typed)
    assert check.steady is not None
    assert np.isnan(check.steady.share)
    assert check.number("superheat_k").value == pytest.approx(6.0, abs=0.01)
    assert {one.standing for one in check.numbers if one.name not in ("design_coverage",)} <= {
        "doubtful",
        "unseen",
    }


def test_an_empty_record_has_no_number():
    record = trace().part(0.0, 0.0)
    check = heating(record, unit())
    assert {one.standing for one in check.numbers} == {"unseen"}
    assert check.steady is None


def test_excess_takes_the_noise_off_and_leaves_the_drift():
    rng = np.random.default_rng(5)
    n = 4000
    starts, ends = np.array([0]), np.array([n])
    noise = rng.normal(0.0, 1.0, n)
    drift = np.linspace(0.0, 6.0, n)
    only_noise, _, whole = excess(noise, starts, ends)
    both, mean, _ = excess(noise + drift, starts, ends)
    assert whole[0] == 1.0
    assert only_noise[0] < 0.2
    # A straight drift by d has the standard deviation d / sqrt(12) (any text on statistics).
    assert both[0] == pytest.approx(6.0 / np.sqrt(12.0), rel=0.05)
    assert mean[0] == pytest.approx(3.0, abs=0.1)
    holes = noise.copy()
    holes[::2] = np.nan
    assert excess(holes, starts, ends)[2][0] == pytest.approx(0.5)
    assert np.isnan(excess(np.full(n, np.nan), starts, ends)[0][0])
