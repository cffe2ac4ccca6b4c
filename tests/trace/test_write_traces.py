from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reading import ATMOSPHERE_PA

from firstfrost.errors import InputError
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS, Mark
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace
from firstfrost.trace.trace import Trace
from firstfrost.trace.write import write_csv, write_marks

USUAL = {
    # Spans in which no unit is doubted, in memory units.
    "suction_pressure": (6.0e5, 9.0e5),
    "discharge_pressure": (2.0e6, 3.0e6),
    "outdoor_coil_temp": (-8.0, 4.0),
    "outdoor_air_temp": (3.0, 6.0),
    "outdoor_humidity": (0.5, 1.0),
    "return_air_temp": (18.0, 22.0),
    "supply_air_temp": (28.0, 45.0),
    "sensor_voltage": (-1.0, 28.0),
    "compressor_current": (6.0, 12.0),
    "heating_call": (0.0, 1.0),
    "power": (1500.0, 3500.0),
    "airflow": (0.3, 0.7),
    "external_static_pressure": (50.0, 200.0),
}


@st.composite
def traces(draw: st.DrawFn) -> Trace:
    n = draw(st.integers(1, 12))
    steps = draw(st.lists(st.floats(1e-3, 400.0), min_size=n, max_size=n))
    names = draw(st.lists(st.sampled_from(sorted(USUAL)), min_size=1, max_size=5, unique=True))
    columns = {}
    for name in names:
        low, high = USUAL[name]
        cell = st.floats(low, high) | st.just(float("nan"))
        values = np.array(draw(st.lists(cell, min_size=n, max_size=n)))
        values[0] = low if np.isnan(values).all() else values[0]
        columns[name] = values
    dated = draw(st.booleans())
    return Trace(
        time_s=np.cumsum(steps),
        columns=columns,
        epoch=datetime(2025, 1, draw(st.integers(1, 31)), 7, 30, draw(st.integers(0, 59)), tzinfo=UTC)
        if dated
        else None,
        zone=draw(st.sampled_from([None, "America/Denver"])) if dated else None,
    )


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(trace=traces())
def test_si_comes_back_to_the_last_bit(tmp_path: Path, trace: Trace) -> None:
    path = tmp_path / "trace.csv"
    write_csv(trace, path, system="si", atmosphere_pa=ATMOSPHERE_PA)
    back = read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace
    assert back.epoch == trace.epoch
    assert back.zone == trace.zone
    np.testing.assert_array_equal(back.time_s, trace.time_s)
    assert set(back.columns) == set(trace.columns)
    for name, values in trace.columns.items():
        np.testing.assert_array_equal(back.columns[name], values, err_msg=name)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(trace=traces())
def test_us_units_come_back(tmp_path: Path, trace: Trace) -> None:
    path = tmp_path / "trace.csv"
    write_csv(trace, path, system="us", atmosphere_pa=ATMOSPHERE_PA)
    back = read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace
    np.testing.assert_array_equal(back.time_s, trace.time_s)
    for name, values in trace.columns.items():
        np.testing.assert_allclose(back.columns[name], values, rtol=1e-12, atol=1e-12, err_msg=name)


def test_every_channel_has_a_unit_to_be_written_in(tmp_path: Path) -> None:
    middle = {name: (c.lowest + min(c.highest, 1.0)) / 2 for name, c in CHANNELS.items()}
    trace = Trace(time_s=np.array([0.0]), columns={name: np.array([v]) for name, v in middle.items()})
    for system in ("us", "si"):
        write_csv(trace, tmp_path / "a.csv", system=system, atmosphere_pa=ATMOSPHERE_PA)
        header = (tmp_path / "a.csv").read_text().splitlines()[1]
        assert header.count("[") == len(CHANNELS) + 1


def test_rounded_for_people(tmp_path: Path) -> None:
    trace = Trace(time_s=np.array([0.0]), columns={"suction_pressure": np.array([911581.3605])})
    write_csv(trace, tmp_path / "a.csv", system="us", atmosphere_pa=ATMOSPHERE_PA, digits=1)
    assert (tmp_path / "a.csv").read_text() == (
        "# firstfrost trace\ntime [s],suction_pressure [psig]\n0.0,118.0\n"
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    trace=traces(),
    acts=st.lists(st.tuples(st.sampled_from(ACTS), st.floats(0, 5000), st.text(max_size=12)), max_size=6),
)
def test_marks_come_back(tmp_path: Path, trace: Trace, acts: list[tuple[str, float, str]]) -> None:
    marks = tuple(
        Mark(time_s=t, act=act, note=" ".join(note.split()).replace('"', "'").replace("\0", ""))
        for act, t, note in sorted(acts, key=lambda item: item[1])
    )
    marks = tuple(
        Mark(time_s=m.time_s, act=m.act, note=m.note if m.note.isprintable() else "") for m in marks
    )
    write_marks(marks, tmp_path / "marks.csv", trace=trace)
    assert read_marks(tmp_path / "marks.csv", trace=trace).marks == marks


def test_a_place_that_cannot_be_written_to(tmp_path: Path) -> None:
    trace = Trace(time_s=np.array([0.0]), columns={"power": np.array([1.0])})
    with pytest.raises(InputError, match="cannot be written: No such file or directory"):
        write_csv(trace, tmp_path / "none" / "a.csv", atmosphere_pa=ATMOSPHERE_PA)
