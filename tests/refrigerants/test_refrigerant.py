"""What a refrigerant promises of itself: names, errors, NaN, one value and arrays alike, slopes."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstfrost.errors import InputError, OutOfRange
from firstfrost.refrigerants import REFRIGERANTS, compiled, refrigerant, table_source
from firstfrost.refrigerants.refrigerant import TABLES
from firstfrost.refrigerants.rows import ROWS

LINES = ("dew", "bubble")


@pytest.mark.parametrize("written", ["R-410A", "R410A", "r410a", "R-410a", "R 410A", " r_410a ", "410A"])
def test_a_name_is_known_however_it_is_written(written: str) -> None:
    assert refrigerant(written).name == "R-410A"


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_each_known_name_finds_itself(name: str) -> None:
    assert refrigerant(name).name == name
    assert refrigerant(name) is refrigerant(name.lower())


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(InputError) as caught:
        refrigerant("R-999")
    assert str(caught.value) == (
        'Refrigerant "R-999" is not known. Known are R-134a, R-22, R-290, R-32, R-404A, R-407C, R-410A, '
        "R-454B. Take the name from the unit's rating plate."
    )


def test_outside_the_range_the_error_says_the_way_out() -> None:
    ref = refrigerant("R-410A")
    with pytest.raises(OutOfRange) as caught:
        ref.dew_temp_c(6.0e6)
    assert str(caught.value) == (
        "Pressure is 6000 kPa absolute; the dew line of R-410A ends at 4761.7 kPa (70.0 degC). "
        "Check the refrigerant, or the unit of the reading."
    )
    with pytest.raises(OutOfRange) as caught:
        ref.bubble_temp_c(-5.0e3)
    assert str(caught.value) == (
        "Pressure is -5 kPa absolute; the bubble line of R-410A begins at 64.2 kPa (-60.0 degC). "
        "Check the refrigerant, or the unit of the reading."
    )
    with pytest.raises(OutOfRange) as caught:
        refrigerant("R-32").dew_pressure_pa(80.0)
    assert str(caught.value) == (
        "Temperature is 80 degC; the saturation line of R-32 ends at 75.0 degC. "
        "Check the refrigerant, or the unit of the reading."
    )


@pytest.mark.parametrize(
    "call",
    [
        "dew_temp_c",
        "bubble_temp_c",
        "dew_slope_k_per_pa",
        "bubble_slope_k_per_pa",
        "glide_k",
        "latent_heat",
        "dew_pressure_pa",
        "bubble_pressure_pa",
        "vapor_density",
        "liquid_density",
        "vapor_enthalpy_above",
        "liquid_enthalpy_above",
    ],
)
def test_every_single_value_refuses_what_lies_outside_and_keeps_what_is_missing(call: str) -> None:
    ref = refrigerant("R-454B")
    for outside in (math.inf, -math.inf, -1.0e5, 1.0e9):
        with pytest.raises(OutOfRange, match=r"Check the refrigerant, or the unit of the reading\.$"):
            getattr(ref, call)(outside)
    assert math.isnan(getattr(ref, call)(math.nan))


@pytest.mark.parametrize("line", LINES)
def test_arrays_keep_missing_and_lose_what_lies_outside(line: str) -> None:
    ref = refrigerant("R-407C")
    pressures = np.array([math.nan, -1.0, 0.0, 1.0e6, 9.0e9, math.inf])
    for call in (f"{line}_temps_c", f"{line}_slopes_k_per_pa"):
        assert np.isfinite(getattr(ref, call)(pressures)).tolist() == [
            False,
            False,
            False,
            True,
            False,
            False,
        ]
    temps = np.array([math.nan, -90.0, 20.0, 300.0])
    assert np.isfinite(getattr(ref, f"{line}_pressures_pa")(temps)).tolist() == [False, False, True, False]
    assert getattr(ref, f"{line}_temps_c")(np.array([])).shape == (0,)


@pytest.mark.parametrize("name", REFRIGERANTS)
@pytest.mark.parametrize("line", LINES)
def test_one_value_an_array_and_the_compiled_loop_agree_to_the_last_bit(name: str, line: str) -> None:
    ref = refrigerant(name)
    ends = getattr(ref, line)
    rng = np.random.default_rng(7)
    pressures = rng.uniform(ends.pressure_low_pa, ends.pressure_high_pa, 3_000)
    pressures[:4] = ends.pressure_low_pa, ends.pressure_high_pa, math.nan, 1.0e9
    many = getattr(ref, f"{line}_temps_c")(pressures)
    fast = getattr(compiled, f"{line}_temps_c")(ref, pressures)
    one = [
        getattr(ref, f"{line}_temp_c")(p) if math.isfinite(t) else math.nan
        for p, t in zip(pressures, many, strict=True)
    ]
    assert np.array_equal(many, fast, equal_nan=True)
    assert np.array_equal(many, one, equal_nan=True)
    assert np.flatnonzero(np.isnan(many)).tolist() == [2, 3]
    temps = rng.uniform(ends.temp_low_c, ends.temp_high_c, 300)
    assert getattr(ref, f"{line}_pressures_pa")(temps).tolist() == [
        getattr(ref, f"{line}_pressure_pa")(t) for t in temps
    ]


@given(name=st.sampled_from(REFRIGERANTS), line=st.sampled_from(LINES), part=st.floats(0.0, 1.0))
def test_there_and_back(name: str, line: str, part: float) -> None:
    """Any temperature in the range, its ends included, gives a pressure that gives it back."""
    ref = refrigerant(name)
    temp_c = ref.lowest_temp_c + part * (ref.highest_temp_c - ref.lowest_temp_c)
    pressure_pa = getattr(ref, f"{line}_pressure_pa")(min(temp_c, ref.highest_temp_c))
    back_c = getattr(ref, f"{line}_temp_c")(pressure_pa)
    assert abs(back_c - temp_c) < 1e-4
    assert ref.lowest_temp_c <= back_c <= ref.highest_temp_c


@pytest.mark.parametrize("name", REFRIGERANTS)
@pytest.mark.parametrize("line", LINES)
def test_slopes_are_those_of_finite_differences_of_coolprop(name: str, line: str) -> None:
    ref = refrigerant(name)
    state = CP.AbstractState("HEOS", ref.row.coolprop)
    quality = 1.0 if line == "dew" else 0.0
    for temp_c in (-40.0, -10.0, 20.0, 40.0):
        near = []
        for step in (-0.02, 0.0, 0.02):
            state.update(CP.QT_INPUTS, quality, temp_c + step + 273.15)
            near.append(state.p())
        slope = getattr(ref, f"{line}_slope_k_per_pa")(near[1])
        assert slope == pytest.approx(0.04 / (near[2] - near[0]), rel=1e-4)
        assert slope == getattr(ref, f"{line}_slopes_k_per_pa")(np.array([near[1]]))[0]


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_slopes_are_those_of_finite_differences_of_the_function_itself(name: str) -> None:
    ref = refrigerant(name)
    pressures = np.random.default_rng(3).uniform(
        ref.dew.pressure_low_pa * 1.1, ref.dew.pressure_high_pa * 0.99, 200
    )
    step = 1e-4 * pressures
    rise = (ref.dew_temps_c(pressures + step) - ref.dew_temps_c(pressures - step)) / (2 * step)
    assert ref.dew_slopes_k_per_pa(pressures) == pytest.approx(rise, rel=1e-5)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_glide_is_nothing_for_a_pure_fluid_and_something_for_a_blend(name: str) -> None:
    ref = refrigerant(name)
    if ref.is_blend:
        assert 0.05 < ref.glide_k(1.0e6) < 7.0
        assert ref.bubble_pressure_pa(20.0) > ref.dew_pressure_pa(20.0)
    else:
        assert ref.glide_k(1.0e6) == 0.0


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_enthalpies_are_differences_that_add_up(name: str) -> None:
    ref = refrigerant(name)
    assert ref.liquid_enthalpy_above(0.0) == pytest.approx(0.0, abs=1e-9)
    assert ref.liquid_enthalpy_above(30.0, 30.0) == 0.0
    steps = ref.liquid_enthalpy_above(10.0, -20.0) + ref.liquid_enthalpy_above(40.0, 10.0)
    assert steps == pytest.approx(ref.liquid_enthalpy_above(40.0, -20.0), abs=1e-6)
    assert ref.vapor_enthalpy_above(10.0, -20.0) - ref.vapor_enthalpy_above(10.0, 40.0) == pytest.approx(
        ref.liquid_enthalpy_above(40.0, -20.0), abs=1e-6
    )


def test_the_property_uncertainties_are_what_their_reasons_say() -> None:
    """Half-width in pressure over d ln p / dT near 65 degC, over sqrt(3) as a rectangular distribution."""
    for name, half_width in (
        ("R-410A", 0.005),
        ("R-407C", 0.005),
        ("R-404A", 0.005),
        ("R-22", 0.002),
        ("R-32", 0.001),
    ):
        ref = refrigerant(name)
        pressure_pa = ref.dew_pressure_pa(65.0)
        u_k = half_width * pressure_pa * ref.dew_slope_k_per_pa(pressure_pa) / math.sqrt(3)
        assert ref.saturation_u_k == pytest.approx(u_k, abs=0.01)
    assert refrigerant("R-454B").saturation_u_k == pytest.approx(0.3 / math.sqrt(3), abs=0.005)


def test_the_tables_say_what_they_were_made_from() -> None:
    about = json.loads(np.load(TABLES)["about"].tobytes())
    assert table_source() == f"CoolProp {about['coolprop']}, tables of 256 cubic nodes"
    assert sorted(about["refrigerants"]) == list(REFRIGERANTS)
    for row in ROWS:
        assert about["refrigerants"][row.name]["equation"] == row.equation
        assert table_source(row.name) == f"CoolProp {about['coolprop']}, {row.coolprop}: {row.equation}"


def test_reading_the_tables_imports_numpy_and_nothing_heavier() -> None:
    code = (
        "import sys; from firstfrost.refrigerants import refrigerant; refrigerant('R-410A').dew_temp_c(1e6); "
        "print(sorted({'CoolProp', 'numba', 'pint', 'scipy', 'pandas', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_without_numba_the_compiled_look_up_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "numba", None)
    compiled.compiled_temp_at.cache_clear()
    compiled.compiled_temps_at.cache_clear()
    with pytest.raises(InputError) as caught:
        compiled.dew_temps_c(refrigerant("R-32"), np.array([1.0e6]))
    assert str(caught.value) == (
        "The compiled look-up needs Numba, which is not installed. Install firstfrost[fast], or call "
        "dew_temps_c and bubble_temps_c of the refrigerant, which give the same numbers."
    )
