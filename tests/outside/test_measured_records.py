"""The finder and the judges against records of real machines, and against published cooling states.

The records are not shipped; where they are absent the tests skip. Their edges were read off the published
figures, to within the times given with each.
"""

from __future__ import annotations

import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from measured import ALASKA, ALASKA_MAP, MINUS_NINE, MINUS_NINE_MAP, NIST, needs

from firstfrost.cli.main import run
from firstfrost.cycle.derive import derive
from firstfrost.equipment.read import default_unit
from firstfrost.trace.marks import Marks
from firstfrost.trace.reader import read_trace
from firstfrost.trace.trace import Trace
from firstfrost.visit.check import check_trace
from firstfrost.visit.result import Result

WITHIN_S = 120.0
UNIT = default_unit("R-410A")
"""No pressure was read in either record, so the refrigerant plays no part."""
PSI = 6894.757293168


def judged(record: Path, chart: str, folder: Path, marks: Marks | None = None) -> Result:
    (folder / "map.toml").write_text(chart, encoding="utf-8")
    reading = read_trace([record], atmosphere_pa=101_325.0, columns=folder / "map.toml")
    return check_trace(reading.trace, UNIT, marks, reading.receipt)


def seconds(result: Result, clock: str) -> float:
    """A local time in Alaska on 9 February 2015 (UTC - 9 h), in seconds of the trace."""
    hours, minutes, s = map(int, clock.split(":"))
    assert result.trace.epoch is not None
    return (datetime(2015, 2, 9, hours + 9, minutes, s, tzinfo=UTC) - result.trace.epoch).total_seconds()


@needs(ALASKA)
@pytest.mark.parametrize("marks", [None, ()], ids=["no marks", "empty marks"])
def test_alaska_has_the_tail_of_one_defrost_and_two_whole_ones(tmp_path: Path, marks: Marks | None) -> None:
    """Cold Climate Housing Research Center, "Air Source Heat Pump Potential in Alaska" (2015), figure 18.

    Edges read off the figure to +-80 s; the finder may be two minutes off.
    """
    result = judged(ALASKA, ALASKA_MAP, tmp_path, marks)
    tail, first, second = result.defrosts
    assert (tail.cut, first.cut, second.cut) == ("start", "", "")
    assert [d.whole for d in result.defrosts] == [False, True, True]
    assert tail.end_s == pytest.approx(seconds(result, "02:27:30"), abs=WITHIN_S)
    assert first.start_s == pytest.approx(seconds(result, "05:59:13"), abs=WITHIN_S)
    assert first.end_s == pytest.approx(seconds(result, "06:16:06"), abs=WITHIN_S)
    assert second.start_s == pytest.approx(seconds(result, "09:47:48"), abs=WITHIN_S)
    assert second.end_s == pytest.approx(seconds(result, "10:04:02"), abs=WITHIN_S)
    assert all("outdoor_coil_temp" in d.decided_by for d in result.defrosts)


@needs(ALASKA)
def test_alaska_is_called_clear_nowhere_and_what_was_not_read_is_unseen(tmp_path: Path) -> None:
    """Same source: the second defrost ends with the coil at 30.2 degF, below the melting point of ice."""
    result = judged(ALASKA, ALASKA_MAP, tmp_path)
    by_function = {finding.function: finding for finding in result.findings}
    second = result.defrosts[-1]
    (last,) = [e for e in by_function["coil_clears"].evidence if e.start_s == second.start_s]
    assert last.standing in ("failed", "doubtful")
    assert last.measured is not None
    assert last.measured.value == pytest.approx((30.2 - 32.0) / 1.8, abs=0.6)
    assert by_function["coil_clears"].standing != "shown"
    for function in ("sensor_closes", "sensor_opens", "fan_stops", "backup_runs", "ends_by_sensor"):
        assert by_function[function].standing == "unseen", function
    assert by_function["ends_safely"].standing == "unseen"
    assert by_function["defrost_starts"].standing == "doubtful"
    assert by_function["timer_counts"].standing in ("doubtful", "unseen")


@needs(MINUS_NINE)
@pytest.mark.parametrize("marks", [None, ()], ids=["no marks", "empty marks"])
def test_minus_nine_has_three_defrosts(tmp_path: Path, marks: Marks | None) -> None:
    """US DOE Building America, field study of ductless heat pumps (2015), figure 26.

    Power leaves its plateau at the start; the end lies between the lowest supply air and 2.5 kW again. All
    times to +-2 min, of a record with a sample a minute.
    """
    result = judged(MINUS_NINE, MINUS_NINE_MAP, tmp_path, marks)
    assert [d.cut for d in result.defrosts] == ["", "", ""]
    published = (("14:48", "15:00", "15:04"), ("15:35", "15:47", "15:51"), ("16:22", "16:34", "16:38"))
    for defrost, times in zip(result.defrosts, published, strict=True):
        leaves, lowest, back = (60.0 * (int(t[:2]) * 60 + int(t[3:])) for t in times)
        assert defrost.start_s == pytest.approx(leaves, abs=WITHIN_S)
        assert lowest - 60.0 <= defrost.end_s <= back + 60.0
        assert set(defrost.decided_by) == {"power", "supply_air_temp"}
        assert defrost.peak_saturation_c is None


@needs(MINUS_NINE)
def test_minus_nine_shows_no_more_than_power_and_supply_air_can_tell(tmp_path: Path) -> None:
    result = judged(MINUS_NINE, MINUS_NINE_MAP, tmp_path, ())
    standings = {finding.function: finding.standing for finding in result.findings}
    assert standings["valve_shifts"] == standings["valve_returns"] == "doubtful"
    assert [f for f, standing in standings.items() if standing == "shown"] == ["heating_resumes"]
    assert "failed" not in standings.values()


@needs(ALASKA)
@needs(MINUS_NINE)
@pytest.mark.parametrize(
    ("record", "chart", "defrosts"), [(ALASKA, ALASKA_MAP, 3), (MINUS_NINE, MINUS_NINE_MAP, 3)]
)
def test_the_command_reads_them_through_a_map(
    tmp_path: Path, record: Path, chart: str, defrosts: int, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "unit.toml").write_text('[unit]\nrefrigerant = "R-410A"\n', encoding="utf-8")
    (tmp_path / "map.toml").write_text(chart, encoding="utf-8")
    out = tmp_path / "out.json"
    status = run(
        ["check", str(record), "--unit", str(tmp_path / "unit.toml"), "--columns", str(tmp_path / "map.toml"),
         "--json", str(out)]
    )  # fmt: skip
    result = json.loads(out.read_text(encoding="utf-8"))
    assert len(result["defrosts"]) == defrosts
    failed = [name for name, one in result["functions"].items() if one["standing"] == "failed"]
    assert status == (1 if failed else 0)
    assert "Traceback" not in capsys.readouterr().err


def nist() -> dict[str, np.ndarray]:
    with NIST.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))[1:]
    return {row[0]: np.array(row[2:], dtype=float) for row in rows}


def cooling(step_s: float = 2.0, run_s: float = 900.0, rest_s: float = 420.0, lag_s: float = 25.0) -> Trace:
    """The sixteen steady states as one record: each runs a while and rests; first-order ways between."""
    table = nist()
    temp = {name: (table[name] - 32.0) / 1.8 for name in table if name.endswith(("temp", "bulb"))}
    mean = 0.5 * (table["suction_pressure"] + table["discharge_pressure"]) * PSI
    # In cooling the outdoor coil condenses; its probe sits in the liquid end.
    runs = {
        "suction_pressure": table["suction_pressure"] * PSI,
        "discharge_pressure": table["discharge_pressure"] * PSI,
        "liquid_pressure": table["cond_unit_exit_pressure"] * PSI,
        "suction_line_temp": temp["suction_temp"],
        "discharge_temp": temp["discharge_temp"],
        "liquid_line_temp": temp["cond_unit_exit_temp"],
        "vapor_line_temp": temp["suction_temp"],
        "outdoor_coil_temp": 0.5 * (temp["cond_exit_temp"] + temp["cond_inlet_sat_temp"]),
        "supply_air_temp": temp["supply_dry_bulb"],
        "power": table["overall_power"],
        "compressor_current": table["compressor_power"] / 230.0,
        "fan_current": np.full(16, 1.0),
        "sensor_voltage": np.full(16, 25.5),
    }
    steady = {"outdoor_air_temp": temp["outdoor_dry_bulb"], "return_air_temp": temp["indoor_dry_bulb"]}
    rests = {
        **{name: mean for name in ("suction_pressure", "discharge_pressure", "liquid_pressure")},
        **{name: temp["outdoor_dry_bulb"] for name in runs if name.endswith("_temp")},
        "supply_air_temp": temp["indoor_dry_bulb"],
        "power": np.full(16, 20.0),
        "compressor_current": np.zeros(16),
        "fan_current": np.zeros(16),
        "sensor_voltage": np.full(16, 25.5),
    }
    t = np.arange(0.0, 16 * (run_s + rest_s), step_s)
    k = (t // (run_s + rest_s)).astype(int)
    on = t - k * (run_s + rest_s) < run_s
    columns = {name: values[k] for name, values in steady.items()}
    for name in runs:
        target = np.where(on, runs[name][k], rests[name][k])
        quick = name.endswith(("_current", "_voltage")) or name == "power"
        value = target.copy()
        if not quick:
            for i in range(1, len(value)):
                value[i] = value[i - 1] + (target[i] - value[i - 1]) * step_s / lag_s
        columns[name] = value
    return Trace(time_s=t, columns=columns)


KITS = {
    "everything": (),
    "no currents, no power": ("power", "compressor_current", "fan_current"),
    "gauges and coil only": (
        "power", "compressor_current", "fan_current", "vapor_line_temp", "supply_air_temp", "return_air_temp",
        "sensor_voltage",
    ),
    "no pressures": ("suction_pressure", "discharge_pressure", "liquid_pressure"),
    "power and supply air only": (
        "suction_pressure", "discharge_pressure", "liquid_pressure", "vapor_line_temp", "outdoor_coil_temp",
        "compressor_current", "fan_current", "sensor_voltage", "outdoor_air_temp", "return_air_temp",
        "suction_line_temp", "discharge_temp", "liquid_line_temp",
    ),
}  # fmt: skip


@needs(NIST)
@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("marks", [None, ()], ids=["no marks", "empty marks"])
def test_no_defrost_is_invented_in_cooling(kit: str, marks: Marks | None) -> None:
    """NIST IR 7350, appendix D: sixteen fault-free steady states of an R-410A split machine in cooling."""
    whole = cooling()
    trace = Trace(time_s=whole.time_s, columns={n: c for n, c in whole.columns.items() if n not in KITS[kit]})
    result = check_trace(trace, UNIT, marks)
    assert result.defrosts == ()
    standings = {finding.standing for finding in result.findings}
    assert standings == {"unseen"}
    if kit != "power and supply air only":
        # Power and supply air cannot tell cooling from a start; they only must invent nothing.
        assert {phase.name for phase in result.phases} <= {"cooling", "off"}
        assert sum(phase.name == "cooling" for phase in result.phases) == 16


@needs(NIST)
def test_superheat_and_subcooling_of_the_cooling_table() -> None:
    """NIST IR 7350, appendix D prints both beside the pressures; CoolProp's R-410A agrees to 0.3 degF."""
    table = nist()
    f = {name: (values - 32.0) / 1.8 for name, values in table.items() if name.endswith("temp")}
    trace = Trace(
        time_s=np.arange(16.0),
        columns={
            "suction_pressure": table["evap_exit_pressure"] * PSI,
            "suction_line_temp": f["evap_exit_temp"],
            "liquid_pressure": table["cond_unit_exit_pressure"] * PSI,
            "liquid_line_temp": f["cond_unit_exit_temp"],
        },
    )
    cycle = derive(trace, "R-410A")
    np.testing.assert_allclose(cycle.low_dew_c, f["evap_exit_sat_temp"], atol=0.3 / 1.8)
    np.testing.assert_allclose(cycle.superheat_k, table["evap_exit_superheat"] / 1.8, atol=0.3 / 1.8)
    np.testing.assert_allclose(cycle.subcooling_k, table["cond_exit_subcooling"] / 1.8, atol=0.3 / 1.8)
