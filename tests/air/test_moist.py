import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstfrost.air import moist
from firstfrost.air.atmosphere import altitude_at_pressure_m, pressure_at_altitude_pa
from firstfrost.air.psychro import psychrolib
from firstfrost.errors import OutOfRange

SRC = str(Path(__file__).parents[2] / "src")
P0 = 101_325.0


def test_loading_moist_air_leaves_numba_alone_and_nobodys_switch_set():
    code = (
        "import sys; from firstfrost.air import moist; moist.saturation_pa(5.0); "
        "assert 'numba' not in sys.modules and 'psychrolib' not in sys.modules; "
        "import psychrolib; sys.exit(psychrolib.PSYCHROLIB_UNITS is not None)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=False, env={"PYTHONPATH": SRC}, capture_output=True
    )
    assert done.returncode == 0, done.stderr


def test_our_copy_is_in_si():
    library = psychrolib()
    assert library.GetUnitSystem() == library.SI


@settings(deadline=None)
@given(temp=st.floats(-40.0, 50.0), humidity=st.floats(0.01, 1.0))
def test_dew_point_and_humidity_are_inverse(temp, humidity):
    dew = moist.dew_point_c(temp, humidity)
    assert dew <= temp
    # dew point to 0.001 K, PsychroLib's tolerance, is 0.02 % of humidity at most
    assert moist.humidity_from_dew_point(temp, dew) == pytest.approx(humidity, rel=3e-4)


@settings(deadline=None)
@given(temp=st.floats(-30.0, 50.0), humidity=st.floats(0.05, 1.0), pressure=st.floats(60e3, 105e3))
def test_humidity_ratio_and_humidity_are_inverse(temp, humidity, pressure):
    ratio = moist.humidity_ratio(temp, humidity, pressure)
    assert moist.relative_humidity(temp, ratio, pressure) == pytest.approx(humidity, rel=1e-3)


@settings(deadline=None)
@given(temp=st.floats(-20.0, 40.0), humidity=st.floats(0.2, 1.0))
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(temp, humidity):
    wet = moist.wet_bulb_c(temp, humidity, P0)
    assert moist.dew_point_c(temp, humidity) - 0.02 <= wet <= temp + 0.002


def test_arrays_equal_floats_point_by_point():
    temps, humidities = np.array([-10.0, 0.0, 20.0]), np.array([0.5, 0.9, 0.3])
    for function in (moist.dew_point_c, lambda t, h: moist.humidity_ratio(t, h, P0)):
        together = function(temps, humidities)
        assert together.tolist() == [
            function(float(t), float(h)) for t, h in zip(temps, humidities, strict=True)
        ]


def test_what_is_missing_or_outside_in_an_array_is_nan():
    out = moist.humidity_ratio(np.array([20.0, np.nan, 20.0, 300.0]), np.array([0.5, 0.5, 1.5, 0.5]), P0)
    assert np.isfinite(out).tolist() == [True, False, False, False]


def test_a_float_outside_is_refused():
    with pytest.raises(OutOfRange) as caught:
        moist.saturation_pa(300.0)
    assert str(caught.value) == (
        "A saturation pressure cannot be had from 300: Dry bulb temperature must be in range [-100, 200]°C. "
        "Check the readings and units."
    )
    with pytest.raises(OutOfRange, match="A saturation pressure over water cannot be had from -60"):
        moist.saturation_over_water_pa(-60.0)


def test_a_probe_over_water_reads_low_below_freezing():
    assert moist.humidity_over_ice(-10.0, 0.9) == pytest.approx(0.9 * 286.6 / 259.9, rel=1e-3)
    assert moist.humidity_over_ice(10.0, 0.9) == pytest.approx(0.9, rel=1e-9)


@settings(deadline=None)
@given(st.floats(-5000.0, 11_000.0))
def test_altitude_and_pressure_are_inverse(altitude):
    assert altitude_at_pressure_m(pressure_at_altitude_pa(altitude)) == pytest.approx(altitude, abs=1e-6)


def test_an_altitude_in_the_wrong_unit_is_refused():
    with pytest.raises(OutOfRange) as caught:
        pressure_at_altitude_pa(27_400.0)
    assert str(caught.value) == (
        "The altitude is 27400 m. Expected -5000 m to 11000 m, "
        "where the standard atmosphere's equation holds. Check its unit."
    )
    with pytest.raises(
        OutOfRange, match=r"The ambient pressure is 14\.7 Pa\. Expected 22632 Pa to 177687 Pa"
    ):
        altitude_at_pressure_m(14.7)
