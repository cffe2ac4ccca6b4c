from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reading import ATMOSPHERE_PA, psig
from test_write_traces import traces

from firstfrost.errors import DataError
from firstfrost.trace.feed import LiveReader
from firstfrost.trace.reader import read_trace
from firstfrost.trace.trace import Trace
from firstfrost.trace.write import write_csv

HEADER = "time [s],suction_pressure [psig],outdoor_coil_temp [degF]\n"


def _collect(content: bytes, *, seed: int, as_text: bool = False, **told):
    """Feed a file in pieces of odd sizes."""
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA, source="a.csv", **told)
    dice, at, samples = random.Random(seed), 0, []
    data = content.decode() if as_text else content
    while at < len(data):
        size = dice.choice([1, 2, 5, 17, 80, 400])
        samples += reader.feed(data[at : at + size])
        at += size
    samples += reader.close()
    return reader, samples


def _same(reader: LiveReader, samples, whole: Trace) -> None:
    assert [sample.time_s for sample in samples] == whole.time_s.tolist()
    assert reader.epoch == (None if whole.epoch is None else int(whole.epoch.timestamp()))
    for name, values in whole.columns.items():
        found = [sample.readings.get(name, float("nan")) for sample in samples]
        np.testing.assert_array_equal(found, values, err_msg=name)
    again = reader.reading().trace
    np.testing.assert_array_equal(again.time_s, whole.time_s)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(again.columns[name], values, err_msg=name)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(trace=traces(), seed=st.integers(0, 2**32), system=st.sampled_from(["us", "si"]))
def test_the_feed_equals_the_file(tmp_path: Path, trace: Trace, seed: int, system) -> None:
    path = tmp_path / "a.csv"
    write_csv(trace, path, system=system, atmosphere_pa=ATMOSPHERE_PA)
    whole = read_trace([path], atmosphere_pa=ATMOSPHERE_PA).trace
    reader, samples = _collect(path.read_bytes(), seed=seed, as_text=seed % 2 == 0)
    assert reader.in_order
    _same(reader, samples, whole)


ROWS = "".join(f"{i},{118 + i % 7},{30 + i % 5}\n" for i in range(30))


@pytest.mark.parametrize(
    "content",
    [
        (HEADER + ROWS).encode(),
        (HEADER + ROWS).replace("\n", "\r\n").encode(),
        (HEADER + ROWS).replace("\n", "\r").encode(),
        (HEADER.replace("degF", "°F") + ROWS).encode("cp1252"),
        (HEADER.replace("degF", "°F") + ROWS).encode("utf-16"),
        (HEADER.replace("degF", "°F") + ROWS).encode("utf-8-sig"),
        ("# one\nLogger,7\n" + HEADER + "# two\n" + ROWS).encode(),
        ("time,suction_pressure,outdoor_coil_temp\ns,psig,degF\n" + ROWS).encode(),
        (HEADER + ROWS[: len(ROWS) // 2].rpartition("\n")[0] + "\n" + HEADER + "50,118,30\n").encode(),
        (HEADER + ROWS).encode() + b"30,11",
        (HEADER + ROWS).encode() + b"30,118,30",
        (HEADER + ROWS.replace("4,122,34\n", '4,"122,34\n5,OL,34,9\nsoon,118,30\n')).encode(),
        (HEADER + ROWS).replace(",", ";").replace("118;", "118,5;").encode(),
        b'{"time": 0, "power [W]": 2000}\n{"time": 1, "power [W]": null}\n\n{"time": 2, "power [W]": 25e2}\n',
        b"time,power [W]\n" + "".join(f"2025-01-15 08:30:{i:02d},{2000 + i}\n" for i in range(30)).encode(),
        b"time,power [W]\n"
        + "".join(f"23:59:{i:02d},{2000 + i}\n" for i in range(30, 60)).encode()
        + b"00:00:00,5\n00:00:01,6\n",
    ],
)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_layouts_come_live_as_from_the_file(tmp_path: Path, content: bytes, seed: int) -> None:
    (tmp_path / "a.csv").write_bytes(content)
    whole = read_trace([tmp_path / "a.csv"], atmosphere_pa=ATMOSPHERE_PA, zone="America/Denver").trace
    reader, samples = _collect(content, seed=seed, zone="America/Denver")
    _same(reader, samples, whole)


def test_a_line_is_held_back_until_its_end() -> None:
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA)
    assert reader.feed(HEADER + "0,11") == []
    assert reader.feed("8,30") == []
    (sample,) = reader.feed("\n1,1")
    assert sample.time_s == 0.0
    assert sample.readings["suction_pressure"] == pytest.approx(psig(118.0))
    assert reader.channels == ("suction_pressure", "outdoor_coil_temp")


def test_late_rows_are_not_given_but_kept() -> None:
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA)
    samples = reader.feed(HEADER + "0,118,30\n1,118,30\n3,118,30\n2,118,31\n4,118,30\n4,118,30\n5,118,30\n")
    assert [s.time_s for s in samples] == [0, 1, 3, 4, 5]
    assert not reader.in_order
    assert reader.reading().trace.time_s.tolist() == [0, 1, 2, 3, 4, 5]


def test_a_clock_set_back_does_not_silence_the_feed() -> None:
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA)
    times = [*range(100), *range(40, 60)]
    samples = reader.feed(HEADER + "".join(f"{t},{118 + i % 9},30\n" for i, t in enumerate(times)))
    assert [s.time_s for s in samples] == list(range(120))
    assert reader.reading().trace.time_s.tolist() == list(range(120))


def test_the_feed_refuses_what_the_file_reader_refuses() -> None:
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA)
    with pytest.raises(DataError, match="column 'Ch 1' is not understood"):
        reader.feed("time [s],Ch 1,power [W]\n0,1,2\n")
    with pytest.raises(DataError, match="standard input is empty"):
        LiveReader(atmosphere_pa=ATMOSPHERE_PA).reading()
