from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from firstfrost.trace.marks_file import MarksReading, read_marks
from firstfrost.trace.trace import Trace

BARE = Trace(time_s=np.arange(100.0), columns={})
DATED = Trace(
    time_s=np.arange(100.0),
    columns={},
    epoch=datetime(2025, 1, 15, 8, 30, tzinfo=UTC),
    zone="America/Denver",
)


def _read(folder: Path, text: str, trace: Trace = BARE) -> MarksReading:
    (folder / "marks.csv").write_text(text, encoding="utf-8")
    return read_marks(folder / "marks.csv", trace=trace)


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("", "marks.csv is empty: nothing was touched."),
        ("time [s],act\n", "marks.csv holds no marks: nothing was touched."),
        ("# nobody came near it\n", "marks.csv holds no marks: nothing was touched."),
    ],
)
def test_an_empty_file_says_that_nothing_was_touched(tmp_path: Path, text: str, note: str) -> None:
    assert _read(tmp_path, text) == MarksReading(marks=(), notes=(note,))


def test_marks_are_sorted_and_spellings_forgiven(tmp_path: Path) -> None:
    found = _read(tmp_path, "Time (min);Act;Note\n1;PINS RELEASED;\n0,5;pins_bridged; with a wire ; \n")
    assert [(m.time_s, m.act) for m in found.marks] == [(30.0, "pins-bridged"), (60.0, "pins-released")]
    assert found.notes == ("marks.csv: the marks are not in order of time and were sorted.",)


@pytest.mark.parametrize(
    "time",
    ["2025-01-15T08:30:10Z", "2025-01-15T01:30:10-07:00", "2025-01-15 01:30:10", "01:30:10", "1736929810"],
)
def test_times_go_onto_the_base_of_the_trace(tmp_path: Path, time: str) -> None:
    assert _read(tmp_path, f"time,act\n{time},pins-bridged\n", DATED).marks[0].time_s == 10.0


def test_a_clock_time_after_midnight_is_the_next_day(tmp_path: Path) -> None:
    late = Trace(
        time_s=np.arange(100.0),
        columns={},
        epoch=datetime(2025, 1, 16, 6, 59, tzinfo=UTC),
        zone="America/Denver",
    )
    found = _read(tmp_path, "time,act\n00:00:20,note\n", late)
    assert found.marks[0].time_s == 80.0
    assert found.notes == (
        "marks.csv: clock times were taken on 2025-01-15 in America/Denver, the day the record starts.",
    )


def test_marks_outside_are_kept_and_said(tmp_path: Path) -> None:
    found = _read(tmp_path, 'time [s],act,note\n-5,fan-lead-off,"before, with a glove"\n5,fan-lead-on,\n')
    assert [m.time_s for m in found.marks] == [-5.0, 5.0]
    assert found.marks[0].note == "before, with a glove"
    assert found.notes == (
        "marks.csv: 1 of 2 marks lie outside the record, the first 'fan-lead-off' at -5 s; they were kept.",
    )
