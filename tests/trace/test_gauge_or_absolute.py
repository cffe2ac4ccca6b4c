"""Pressures whose headers say neither gauge nor absolute are told by what holds in any machine that runs."""

import numpy as np
import pytest

from firstfrost.refrigerants import refrigerant
from firstfrost.trace.gauge import as_absolute, broken
from firstfrost.trace.reader import read_trace

ATMOSPHERE = 101_325.0
FLUID = refrigerant("R-410A")


def readings(*, boiling_c=-8.0, condensing_c=40.0, coil_c=-5.5, air_c=2.0, n=40):
    """A machine that heats, pressures absolute."""
    rng = np.random.default_rng(4)
    flat = np.ones(n)
    return {
        "suction_pressure": FLUID.dew_pressure_pa(boiling_c) * flat + rng.normal(0, 2e3, n),
        "discharge_pressure": FLUID.dew_pressure_pa(condensing_c) * flat,
        "outdoor_coil_temp": coil_c * flat + rng.normal(0, 0.1, n),
        "outdoor_air_temp": air_c * flat,
        "liquid_line_temp": (condensing_c - 5.0) * flat,
    }


def test_sound_readings_break_nothing():
    assert broken(readings(), FLUID.dew_temps_c) == []


def test_an_atmosphere_too_much_makes_the_coil_colder_than_its_refrigerant():
    columns = readings()
    columns["suction_pressure"] = columns["suction_pressure"] + ATMOSPHERE
    columns["discharge_pressure"] = columns["discharge_pressure"] + ATMOSPHERE
    assert broken(columns, FLUID.dew_temps_c) == [
        "a coil is never colder than the refrigerant that boils in it"
    ]
    names = {"suction_pressure", "discharge_pressure"}
    mended, why = as_absolute(columns, names, atmosphere_pa=ATMOSPHERE, dew_c=FLUID.dew_temps_c)
    assert why == "a coil is never colder than the refrigerant that boils in it"
    assert mended["suction_pressure"] == pytest.approx(readings()["suction_pressure"])


def test_gauge_readings_stay_gauge_and_marked_ones_are_not_touched():
    columns = readings()
    same, why = as_absolute(
        columns, {"suction_pressure", "discharge_pressure"}, atmosphere_pa=ATMOSPHERE, dew_c=FLUID.dew_temps_c
    )
    assert why == ""
    assert same["suction_pressure"] is columns["suction_pressure"]
    columns["suction_pressure"] = columns["suction_pressure"] + ATMOSPHERE
    _, why = as_absolute(columns, set(), atmosphere_pa=ATMOSPHERE, dew_c=FLUID.dew_temps_c)
    assert why == ""


@pytest.mark.parametrize(("unit", "added"), [("kPa", 0.0), ("kPa gauge", 101.325), ("kPa(a)", 0.0)])
def test_a_file_in_plain_kpa_is_read_as_the_machine_says(tmp_path, unit, added):
    columns = readings()
    head = (
        f"time [s],suction_pressure [{unit}],discharge_pressure [{unit}],outdoor_coil_temp "
        f"[degC],outdoor_air_temp [degC]"
    )
    low = columns["suction_pressure"] / 1e3 - added
    high = columns["discharge_pressure"] / 1e3 - added
    coil = columns["outdoor_coil_temp"]
    rows = [f"{i},{low[i]:.2f},{high[i]:.2f},{coil[i]:.2f},2.0" for i in range(40)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join([head, *rows]) + "\n")
    reading = read_trace([path], atmosphere_pa=ATMOSPHERE, refrigerant="R-410A")
    assert reading.trace.get("suction_pressure") == pytest.approx(columns["suction_pressure"], abs=10.0)
    said = [note for note in reading.receipt.notes if "only absolute" in note]
    assert bool(said) == (unit == "kPa")
    if said:
        assert said[0].startswith(
            "The headers of discharge_pressure, suction_pressure say neither gauge nor absolute, and "
            "only absolute fits"
        )
        assert not [note for note in reading.receipt.notes if "was taken as gauge" in note]
