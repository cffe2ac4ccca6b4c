from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from reading import ATMOSPHERE_PA, psig, read

from firstfrost.errors import DataError
from firstfrost.trace.reader import read_trace


def _parquet(folder: Path, columns: dict, fields: list | None = None, name: str = "a.parquet") -> Path:
    pa = pytest.importorskip("pyarrow")
    import pyarrow.parquet as pq

    table = pa.table(columns, schema=pa.schema(fields)) if fields else pa.table(columns)
    pq.write_table(table, folder / name)
    return folder / name


def test_parquet_with_seconds_and_texts(tmp_path: Path) -> None:
    path = _parquet(
        tmp_path,
        {
            "time [s]": [0, 1, 2],
            "suction_pressure [psig]": [118.0, None, 119.0],
            "heating_call": [True, None, False],
        },
    )
    trace = read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace
    np.testing.assert_allclose(trace.get("suction_pressure"), [psig(118), np.nan, psig(119)])
    np.testing.assert_array_equal(trace.get("heating_call"), [1.0, np.nan, 0.0])


@pytest.mark.parametrize("resolution", ["s", "ms", "us", "ns"])
def test_parquet_timestamps(tmp_path: Path, resolution: str) -> None:
    import pyarrow as pa

    stamps = [datetime(2025, 1, 15, 8, 30, tzinfo=UTC), datetime(2025, 1, 15, 8, 30, 1, tzinfo=UTC)]
    aware = pa.array(stamps, type=pa.timestamp(resolution, tz="UTC"))
    path = _parquet(tmp_path, {"timestamp": aware, "power [kW]": [2.0, 2.5]})
    trace = read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace
    assert (trace.epoch, trace.time_s.tolist()) == (stamps[0], [0.0, 1.0])
    assert trace.get("power").tolist() == [2000.0, 2500.0]
    local = pa.array([s.replace(tzinfo=None) for s in stamps], type=pa.timestamp(resolution))
    path = _parquet(tmp_path, {"timestamp": local, "power [kW]": [2.0, 2.5]})
    with pytest.raises(DataError, match="carry no time zone"):
        read_trace([path], atmosphere_pa=ATMOSPHERE_PA)
    trace = read_trace([path], atmosphere_pa=ATMOSPHERE_PA, zone="America/Denver").trace
    assert trace.epoch == datetime(2025, 1, 15, 15, 30, tzinfo=UTC)


def test_parquet_units_in_the_metadata(tmp_path: Path) -> None:
    import pyarrow as pa

    fields = [
        pa.field("time", pa.float64()),
        pa.field("suction_pressure", pa.float64(), metadata={"unit": "psig"}),
    ]
    path = _parquet(tmp_path, {"time": [0.0], "suction_pressure": [118.0]}, fields)
    assert read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace.get("suction_pressure")[0] == psig(118.0)


def test_senml_resolves_base_fields(tmp_path: Path) -> None:
    # Base name, time, unit and value go before each record's own: RFC 8428, section 4.6 (resolved records).
    pack = [
        {"bn": "urn:dev:yard:", "bt": 1.7e9, "bu": "A", "bv": 20, "n": "fan_current", "v": 1.2},
        {"n": "fan_current", "t": -5, "v": 1.3},
        {"n": "compressor_current", "v": 9.5},
        {"bv": 0, "n": "outdoor_coil_temp", "u": "Cel", "v": -1.5},
        {"n": "outdoor_humidity", "u": "%RH", "v": 81},
        {"n": "return_air_humidity", "u": "%", "v": 0.4},
        {"n": "suction_pressure", "u": "Pa", "v": 9.1e5},
        {"n": "heating_call", "u": "/", "vb": True},
        {"n": "power", "u": "W", "vs": "Err"},
    ]
    reading = read(tmp_path, json.dumps(pack), names=("a.json",))
    trace = reading.trace
    assert trace.epoch == datetime.fromtimestamp(1.7e9, UTC)
    assert trace.time_s.tolist() == [-5.0, 0.0]
    assert trace.get("fan_current").tolist() == [21.3, 21.2]
    last = {name: float(column[-1]) for name, column in trace.columns.items()}
    assert last == pytest.approx(
        {
            "suction_pressure": 9.1e5,
            "outdoor_coil_temp": -1.5,
            "outdoor_humidity": 0.81,
            "return_air_humidity": 0.4,
            "fan_current": 21.2,
            "compressor_current": 29.5,
            "heating_call": 1.0,
            "power": np.nan,
        },
        nan_ok=True,
    )


def test_senml_lines_with_relative_times(tmp_path: Path) -> None:
    lines = [{"n": "urn:dev:yard:power", "u": "W", "v": 2000 + t, "t": t} for t in range(5)]
    reading = read(tmp_path, "\n".join(json.dumps(line) for line in lines), names=("a.senml",))
    assert reading.trace.epoch is None
    assert reading.trace.get("power").tolist() == [2000.0, 2001.0, 2002.0, 2003.0, 2004.0]
    assert (
        "a.senml: SenML times below 2**28 s are relative; they were taken as bare seconds."
        in reading.receipt.notes
    )


def test_json_objects_with_headers_as_keys(tmp_path: Path) -> None:
    rows = [
        {"time": "2025-01-15T08:30:00Z", "power [kW]": 2},
        {"time": "2025-01-15T08:30:01Z", "power [kW]": None},
    ]
    for text in (
        json.dumps(rows),
        "\n".join(map(json.dumps, rows)),
        "\n".join(map(json.dumps, rows)) + '\n{"ti',
    ):
        trace = read(tmp_path, text).trace
        np.testing.assert_array_equal(trace.get("power"), [2000.0, np.nan])


def test_csv_and_parquet_and_senml_join(tmp_path: Path) -> None:
    parquet = _parquet(tmp_path, {"time": ["2025-01-15T08:30:00Z"], "power [W]": [2000.0]})
    (tmp_path / "b.json").write_text('[{"n": "sensor_voltage", "u": "V", "v": 24, "t": 1736929800}]')
    (tmp_path / "c.csv").write_text("time,outdoor_coil_temp [degC]\n2025-01-15T08:30:00Z,-1\n")
    trace = read_trace([parquet, tmp_path / "b.json", tmp_path / "c.csv"], atmosphere_pa=ATMOSPHERE_PA).trace
    assert len(trace) == 1
    assert {name: column[0] for name, column in trace.columns.items()} == {
        "power": 2000.0,
        "sensor_voltage": 24.0,
        "outdoor_coil_temp": -1.0,
    }
