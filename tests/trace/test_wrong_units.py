"""Headers that say one unit over readings in another: never a trace with wrong numbers in silence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from made import make, write
from reading import read

from firstfrost.errors import DataError
from firstfrost.trace.reader import read_trace

# An R-410A machine heating on a mild day, then in defrost, in UNITS. Common practice, no source.
HEATING = (118.0, 345.0, 31.0, 45.0, 70.0, 101.0, 0.1)
DEFROST = (60.0, 300.0, 52.0, 45.0, 70.0, 62.0, 25.0)
NAMES = (
    "suction_pressure",
    "discharge_pressure",
    "outdoor_coil_temp",
    "outdoor_air_temp",
    "return_air_temp",
    "supply_air_temp",
    "sensor_voltage",
)
UNITS = ("psig", "psig", "degF", "degF", "degF", "degF", "V")
TURN = {
    # What the logger was set to: figures in that unit from those above.
    "kPa(g)": lambda v: v * 6.894757,
    "barg": lambda v: v * 0.06894757,
    "degC": lambda v: (v - 32.0) / 1.8,
    "mV": lambda v: v * 1e3,
}


def _visit(real: dict[str, str], header: dict[str, str]) -> str:
    """A visit whose logger wrote in the units `real` under headers that say `header`."""
    dice = np.random.default_rng(3)
    lines = ["time [s]," + ",".join(f"{n} [{header.get(n, u)}]" for n, u in zip(NAMES, UNITS, strict=True))]
    for i in range(120):
        row = DEFROST if 60 <= i < 80 else HEATING
        shown = [TURN.get(real.get(n, ""), lambda v: v)(v) for n, v in zip(NAMES, row, strict=True)]
        lines.append(f"{5 * i}," + ",".join(f"{v * (1 + 0.003 * dice.normal()):.2f}" for v in shown))
    return "\n".join(lines) + "\n"


def _all(kind: str, unit: str) -> dict[str, str]:
    return {name: unit for name in NAMES if kind in name}


@pytest.mark.parametrize(
    ("real", "header", "fits"),
    [
        (_all("pressure", "kPa(g)"), {}, "kPa(g)"),
        (_all("pressure", "barg"), {}, "barg"),
        ({}, _all("pressure", "kPag"), "psig"),
        ({}, _all("pressure", "barg"), "psig"),
        ({"suction_pressure": "kPa(g)"}, {}, "kPa(g)"),
        ({"suction_pressure": "barg"}, {}, "barg"),
        ({"discharge_pressure": "kPa(g)"}, {}, "kPa(g)"),
        ({"discharge_pressure": "barg"}, {}, "barg"),
        (_all("temp", "degC"), {}, "degC"),
        ({}, _all("temp", "degC"), "degF"),
        ({"return_air_temp": "degC"}, {}, "degC"),
        ({}, {"return_air_temp": "degC"}, "degF"),
        ({}, {"supply_air_temp": "degC"}, "degF"),
        ({}, {"outdoor_coil_temp": "degC"}, "degF"),
        ({"sensor_voltage": "mV"}, {}, "mV"),
    ],
)
def test_a_wrong_unit_is_refused_with_the_right_one(tmp_path: Path, real, header, fits) -> None:
    with pytest.raises(DataError, match="looks wrong") as caught:
        read(tmp_path, _visit(real, header), refrigerant="R-410A")
    offered = str(caught.value).split("looks wrong: ")[1].split(" would fit")[0].split(" or ")
    assert offered[0] == fits


@pytest.mark.parametrize("refrigerant", [None, "R-410A"])
@pytest.mark.parametrize("system", [{}, {**_all("pressure", "kPa(g)"), **_all("temp", "degC")}])
def test_right_units_pass_without_a_word(tmp_path: Path, refrigerant, system) -> None:
    reading = read(tmp_path, _visit(system, system), refrigerant=refrigerant)
    assert reading.receipt.notes == ()
    assert reading.receipt.dropped == ()


def test_the_user_can_stand_by_a_unit(tmp_path: Path) -> None:
    text = _visit({}, {"return_air_temp": "degC"}).replace("return_air_temp", "return_air_temp")
    reading = read(tmp_path, text, chart='sure = ["return_air_temp [degC]"]\n')
    assert np.isnan(reading.trace.get("return_air_temp")).mean() > 0.9
    assert "outside what a probe can read" in reading.receipt.dropped[0]


def test_readings_are_the_same_with_and_without_the_refrigerant(tmp_path: Path) -> None:
    one, two = (read(tmp_path, _visit({}, {}), refrigerant=r).trace for r in (None, "R-410A"))
    for name in NAMES:
        np.testing.assert_array_equal(one.get(name), two.get(name))


@pytest.mark.parametrize(
    "situation", ["mild day", "valve does not return", "cooling season", "wrong units in a header"]
)
def test_made_visits_are_refused_only_for_wrong_units(tmp_path: Path, situation: str) -> None:
    from firstfrost.equipment.read import read_unit

    visit = make(situation, 3)
    path = write(visit, tmp_path)
    unit = read_unit(tmp_path / "unit.toml")
    told = {"atmosphere_pa": unit.site.atmosphere_pa, "refrigerant": unit.refrigerant}
    if situation == "wrong units in a header":
        with pytest.raises(DataError, match=r"looks wrong: kPa\(g\) would fit"):
            read_trace([path], **told)
    else:
        assert len(read_trace([path], **told).trace) == len(visit.trace)
