"""Measured records of real machines, read through a map file; skipped where they are not there."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from measured import ALASKA, ALASKA_MAP, MINUS_NINE, MINUS_NINE_MAP, needs

from firstfrost.trace.reader import read_trace


@needs(ALASKA)
def test_the_alaska_record(tmp_path: Path) -> None:
    # Cold Climate Housing Research Center, "Air Source Heat Pump Potential in Alaska" (2015), figure 18.
    (tmp_path / "map.toml").write_text(ALASKA_MAP)
    reading = read_trace([ALASKA], atmosphere_pa=101_325.0, columns=tmp_path / "map.toml")
    trace = reading.trace
    assert trace.epoch == datetime(2015, 2, 9, 11, 24, 56, tzinfo=UTC)
    assert trace.zone == "America/Anchorage"
    assert trace.time_s[0] == pytest.approx(0.103896104, abs=1e-12)
    assert trace.sampling_s == pytest.approx(38.96, abs=0.01)
    assert trace.time_s[-1] == pytest.approx(7.9 * 3600, rel=0.01)
    assert reading.receipt.dropped == ()
    assert not [note for note in reading.receipt.notes if note.startswith("Odd")]
    # Printed in the figure: 6.35 kWh in; read off the figure, so within some percent.
    energy = np.trapezoid(trace.get("power"), trace.time_s) / 3.6e6
    assert energy == pytest.approx(6.35, rel=0.05)


@needs(MINUS_NINE)
def test_the_minus_nine_record(tmp_path: Path) -> None:
    # US DOE Building America ductless heat pump field study (2015), figure 26: clock times without a date.
    (tmp_path / "map.toml").write_text(MINUS_NINE_MAP)
    trace = read_trace([MINUS_NINE], atmosphere_pa=101_325.0, columns=tmp_path / "map.toml").trace
    assert trace.epoch is None
    assert trace.time_s[0] == (14 * 60 + 30) * 60.0
    assert trace.sampling_s == 60.0
    assert float(trace.get("supply_air_temp")[0]) == pytest.approx((105.2 - 32.0) / 1.8)
