"""Whatever the bytes: a reading, or an error that is ours."""

from __future__ import annotations

import contextlib
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reading import ATMOSPHERE_PA

from firstfrost.errors import FirstfrostError
from firstfrost.trace.columns import ColumnMap
from firstfrost.trace.feed import LiveReader
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace
from firstfrost.trace.trace import Trace

SEED = (
    b"time,suction_pressure [psig],outdoor_coil_temp [degF],heating_call\n"
    b"2025-01-15T08:30:00-07:00,118,30,on\n2025-01-15T08:30:01-07:00,118.5,OL,off\n"
)
PIECES = st.sampled_from(
    [
        b"\n",
        b"\r\n",
        b",",
        b";",
        b"\t",
        b'"',
        b"#",
        b"[",
        b"]",
        b"{",
        b"}",
        b": ",
        b"_",
        b"Z",
        b"\x00",
        b"\xff\xfe",
        b"\xef\xbb\xbf",
        b"time [s]",
        b"date",
        b"power [W]",
        b"suction_pressure [kPa]",
        b"psig",
        b"degF",
        b"PAR1",
        b"0",
        b"1e999",
        b"-1",
        b"1,5",
        b"1.5",
        b"NaN",
        b"inf",
        b"99999999999",
        b"9" * 400,
        "°".encode("cp1252"),
        b"12:00:00",
        b"2025-11-02 01:30:00",
        b"2025-01-15T08:30:00Z",
        b"31/12/2024 10:00",
        b'"time"',
        b'{"n":"power","u":"W","v":1,"t":1}',
    ]
)
SOUP = st.lists(PIECES, max_size=40).map(b"".join)
BROKEN = st.tuples(st.integers(0, len(SEED)), st.integers(0, 12), st.binary(max_size=8) | PIECES).map(
    lambda t: SEED[: t[0]] + t[2] + SEED[t[0] + t[1] :]
)
ANY = st.binary(max_size=300) | SOUP | BROKEN | st.builds(lambda s: SEED + s, SOUP)
TOLD = {"max_examples": 300, "deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture]}


@settings(**TOLD)
@given(content=ANY, zone=st.sampled_from([None, "America/Denver"]))
def test_a_trace_or_our_error(tmp_path: Path, content: bytes, zone: str | None) -> None:
    (tmp_path / "a.csv").write_bytes(content)
    with contextlib.suppress(FirstfrostError):
        reading = read_trace(
            [tmp_path / "a.csv"], atmosphere_pa=ATMOSPHERE_PA, zone=zone, refrigerant="R-410A"
        )
        assert (np.diff(reading.trace.time_s) > 0).all()
        assert not any(np.isinf(column).any() for column in reading.trace.columns.values())


@settings(**TOLD)
@given(content=ANY, cut=st.integers(0, 300))
def test_a_feed_or_our_error(content: bytes, cut: int) -> None:
    reader = LiveReader(atmosphere_pa=ATMOSPHERE_PA, zone="America/Denver")
    with contextlib.suppress(FirstfrostError):
        samples = reader.feed(content[:cut]) + reader.feed(content[cut:]) + reader.close()
        assert (np.diff([sample.time_s for sample in samples]) > 0).all()
        reader.reading()


@settings(**TOLD)
@given(content=ANY | st.builds(lambda s: b"time,act,note\n" + s, SOUP))
def test_marks_or_our_error(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "marks.csv").write_bytes(content)
    with contextlib.suppress(FirstfrostError):
        read_marks(tmp_path / "marks.csv", trace=Trace(time_s=np.arange(5.0), columns={}))


@settings(**TOLD)
@given(
    content=st.binary(max_size=120)
    | st.text(max_size=200).map(str.encode)
    | SOUP.map(lambda s: b"[columns]\n" + s)
)
def test_a_map_or_our_error(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "map.toml").write_bytes(content)
    with contextlib.suppress(FirstfrostError):
        ColumnMap.from_toml(tmp_path / "map.toml")
