"""What docs/reading-files.md shows is run."""

from __future__ import annotations

import re
from pathlib import Path

from reading import ATMOSPHERE_PA, psig

from firstfrost.trace.columns import ColumnMap
from firstfrost.trace.marks import ACTS, ENDS
from firstfrost.trace.reader import read_trace

PAGE = (Path(__file__).parents[2] / "docs" / "reading-files.md").read_text(encoding="utf-8")


def test_the_csv_of_the_page(tmp_path: Path) -> None:
    lines = re.findall(r"^    (time,.*|2025-.*)$", PAGE, re.MULTILINE)
    (tmp_path / "a.csv").write_text("\n".join(lines) + "\n")
    reading = read_trace([tmp_path / "a.csv"], atmosphere_pa=ATMOSPHERE_PA)
    assert reading.trace.get("suction_pressure").tolist() == [psig(118.2), psig(118.3)]
    assert reading.receipt.notes == ()


def test_the_map_file_of_the_page(tmp_path: Path) -> None:
    (block,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    (tmp_path / "map.toml").write_text(block)
    chart = ColumnMap.from_toml(tmp_path / "map.toml")
    assert chart.columns["Ch 1 (Low)"] == "suction_pressure [psig]"
    assert chart.files["probes.csv"].clock_offset_s == -12.0
    for key in (
        "decimal",
        "delimiter",
        "encoding",
        "others",
        "time_column",
        "time_format",
        "zone",
        "time_unit",
    ):
        assert getattr(chart, key), key


def test_the_acts_of_the_page() -> None:
    rows = dict(re.findall(r"^\| `([a-z-]+)` \| (?:`([a-z-]+)`)? ?\|$", PAGE, re.MULTILINE))
    assert {act: end for act, end in rows.items() if end} == ENDS
    assert set(rows) | set(rows.values()) - {""} == set(ACTS)
