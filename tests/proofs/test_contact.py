"""The contact, the lag between coil and sensor, and jumpers that no mark names."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawn import (
    CLOSES_S,
    END_S,
    LAST_S,
    START_S,
    acts,
    check,
    cold_day,
    cold_trace,
    finding,
    steps,
    unit,
)

from firstfrost.proofs.contact import LAG_S, lagged

RAMP = 0.05  # [K/s]


@pytest.mark.parametrize("tau_s", [5.0, 30.0, 75.0])
@pytest.mark.parametrize("step_s", [0.5, 1.0, 5.0])
def test_lag_on_a_ramp_is_the_exact_solution(tau_s: float, step_s: float) -> None:
    # tau T' = a t - T, T(0) = 0 has T = a (t - tau (1 - exp(-t / tau))). Readings are held over the step
    # before them, so the body runs ahead by half a step at most.
    t = np.arange(0.0, 10 * tau_s + 1e-9, step_s)
    at_s = float(t[-1])
    exact = RAMP * (at_s - tau_s)  # after ten time constants, to e^-5 of a tau and better
    got = lagged(t, RAMP * t, at_s, tau_s)
    assert got == pytest.approx(exact, abs=RAMP * (0.51 * step_s + 5 * tau_s * math.exp(-5.0)))
    assert got >= exact - 1e-9


def test_lag_after_a_step_is_the_exact_solution() -> None:
    # T = T1 + (T0 - T1) exp(-t / tau), exact for readings held between samples.
    t = np.arange(0.0, 200.0, 1.0)
    coil = np.where(t > 100.0, 10.0, -5.0)
    got = lagged(t, coil, 130.0, 30.0)
    assert got == pytest.approx(10.0 - 15.0 * math.exp(-30.0 / 30.0), abs=1e-9)


def test_lag_leaves_missing_readings_out() -> None:
    t = np.arange(0.0, 200.0, 1.0)
    coil = RAMP * t
    holed = np.where((t > 120) & (t < 124), np.nan, coil)
    assert lagged(t, holed, 199.0, 20.0) == pytest.approx(lagged(t, coil, 199.0, 20.0), abs=0.01)
    assert math.isnan(lagged(t, np.full(len(t), np.nan), 199.0, 20.0))
    assert lagged(t, coil, 150.0, 0.0) == coil[150]


def closing_at(coil_c: float, rate_k_s: float = 0.02) -> str:
    """The standing of a contact that closes at `coil_c` in a coil that falls at `rate_k_s`."""
    at_s = 200.0
    coil = [(0, coil_c + rate_k_s * at_s), (500, coil_c - 300.0 * rate_k_s)]
    trace = cold_trace(
        last_s=420.0, outdoor_coil_temp=coil, sensor_voltage=steps(25.0, (at_s, 0.1)),
        low=[(0, coil_c), (500, coil_c - 12)], outdoor_air_temp=8.0,
    )  # fmt: skip
    return check(trace).standing("sensor_closes")


def test_closing_is_judged_at_the_guarded_edges_of_its_band() -> None:
    # Band -4 to 2 degC; the probe's 0.5 K is a standard uncertainty of 0.25 to 0.29 K, so that the guard of
    # 1.645 u is about 0.45 K. A sensor that lags up to 30 s behind a coil falling at 0.02 K/s is up to 0.6 K
    # warmer than it: that much is granted on the cold side.
    lag_k = LAG_S * 0.02
    assert closing_at(-1.0) == "shown"
    assert closing_at(1.3) == "shown"
    assert closing_at(2.0) == "doubtful"
    assert closing_at(-4.0 - lag_k + 0.6) == "shown"
    assert closing_at(-4.0 - lag_k) == "doubtful"
    assert closing_at(-4.0 - 2.5 * lag_k - 0.8) == "failed"


def test_standings_get_no_better_towards_the_cold() -> None:
    order = ("shown", "doubtful", "failed")
    seen = [order.index(closing_at(c)) for c in np.arange(0.0, -8.0, -0.5)]
    assert seen == sorted(seen)
    assert set(seen) == {0, 1, 2}


def test_opening_far_too_late_fails_and_a_lag_of_half_a_minute_does_not() -> None:
    def opening_at(coil_c: float) -> str:
        coil = [*cold_day()["outdoor_coil_temp"][:6], (END_S, coil_c), (END_S + 60, 2), (LAST_S, -4)]  # type: ignore[index]
        return check(cold_trace(outdoor_coil_temp=coil)).standing("sensor_opens")

    assert opening_at(17.0) == "shown"
    assert opening_at(20.0) == "shown"  # 0.16 K/s over 30 s: the sensor itself may be at 15
    assert opening_at(60.0) == "failed"
    assert opening_at(8.0) == "failed"


WARM = {
    # A mild day: the coil never comes near freezing, the pins start a defrost over a jumper.
    "outdoor_coil_temp": [(0, 12), (START_S, 10), (START_S + 60, 14), (END_S, 22), (END_S + 100, 10)],
    "outdoor_air_temp": 13.0,
    "low": [(0, 5), (START_S, 4), (START_S + 8, 14), (END_S, 8), (END_S + 8, 14), (END_S + 40, 4)],
    "high": [(0, 46), (START_S, 46), (START_S + 8, 16), (END_S, 36), (END_S + 8, 18), (END_S + 90, 46)],
}


def test_a_jumper_on_a_warm_coil_shows_itself_without_a_mark() -> None:
    result = check(cold_trace(**WARM), None)  # type: ignore[arg-type]
    for function in ("sensor_closes", "sensor_opens", "ends_by_sensor"):
        assert result.standing(function) == "bypassed", function
    assert result.standing("defrost_starts") == "doubtful"


def test_a_jumper_that_complete_marks_do_not_name_is_warned_of() -> None:
    result = check(cold_trace(**WARM), ())  # type: ignore[arg-type]
    assert "The readings show a jumper across the coil sensor that the marks do not name." in result.warnings
    assert result.standing("sensor_closes") != "shown"


def test_a_jumper_that_the_marks_name_is_not_warned_of() -> None:
    marks = acts((CLOSES_S, "sensor-jumpered"), (END_S, "sensor-restored"))
    result = check(cold_trace(**WARM), marks)  # type: ignore[arg-type]
    assert result.standing("sensor_closes") == result.standing("sensor_opens") == "bypassed"
    assert result.standing("defrost_starts") == "prompted"
    assert not [w for w in result.warnings if "jumper" in w]


def test_an_open_contact_reads_24_to_28_volts_and_a_closed_one_about_none() -> None:
    # Common practice, no source: the control transformer's 24 V, 28 V at light load.
    for volts in (24.0, 25.0, 28.0, -26.0):
        trace = cold_trace(sensor_voltage=steps(volts, (CLOSES_S, 0.3), (END_S, volts)))
        result = check(trace)
        (closing,) = finding(result, "sensor_closes").evidence
        assert result.standing("sensor_closes") == result.standing("sensor_opens") == "shown"
        assert closing.start_s < CLOSES_S < closing.end_s
        assert closing.measured is not None
        assert closing.measured.value == pytest.approx(-1.0, abs=0.1)


def test_a_spike_of_one_sample_is_no_switching() -> None:
    volts = steps(25.0, (CLOSES_S, 0.1), (500, 25.0), (501, 0.1), (END_S, 25.0))
    result = check(cold_trace(sensor_voltage=volts))
    assert [e.standing for e in finding(result, "sensor_closes").evidence] == ["shown"]
    assert [e.standing for e in finding(result, "sensor_opens").evidence] == ["shown"]


def test_the_limit_of_a_default_rating_is_named_as_a_default() -> None:
    machine = unit(('closes_at = "-1.0 degC"\n', ""))
    (closing,) = finding(check(cold_trace(), (), machine), "sensor_closes").evidence
    assert closing.limit is not None
    assert closing.limit.source.startswith("default for coil_sensor.closes_at: not in the unit file")


def test_a_contact_that_opens_unmarked_with_no_coil_read_may_be_a_jumper_taken_off() -> None:
    trace = cold_trace("outdoor_coil_temp")
    assert check(trace, ()).standing("ends_by_sensor") == "shown"
    assert check(trace, None).standing("ends_by_sensor") == "doubtful"
