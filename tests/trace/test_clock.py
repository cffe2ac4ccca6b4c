from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from reading import read

from firstfrost.trace.clock import order


def _order(times, values=None):
    times = np.asarray(times, dtype=float)
    values = np.arange(len(times), dtype=float) if values is None else np.asarray(values, dtype=float)
    return order(times, values[:, None], source="a.csv", lines=range(2, len(times) + 2))


def test_rows_in_order_are_left_alone() -> None:
    found = _order(range(100))
    assert found.untouched
    assert found.rows.tolist() == list(range(100))


def test_late_rows_go_to_their_place() -> None:
    found = _order([0, 1, 2, 4, 3, 5, 6])
    assert found.time_s.tolist() == [0, 1, 2, 3, 4, 5, 6]
    assert found.values[:, 0].tolist() == [0, 1, 2, 4, 3, 5, 6]
    assert found.notes == ("a.csv: 1 row(s) came late and were put in their place, the first at line 6.",)


def test_a_late_block_fills_its_hole() -> None:
    times = [*range(20), *range(60, 80), *range(20, 60), *range(80, 100)]
    found = _order(times)
    assert found.time_s.tolist() == list(range(100))
    assert found.notes == ("a.csv: 40 row(s) came late and were put in their place, the first at line 42.",)


def test_files_glued_in_the_wrong_order_are_sorted() -> None:
    found = _order([*range(100, 200), *range(100)])
    assert found.time_s.tolist() == list(range(200))
    assert found.values[0, 0] == 100


def test_a_clock_set_back_keeps_the_order_of_rows() -> None:
    found = _order([*range(100), *range(40, 240)])
    assert found.time_s.tolist() == list(range(300))
    assert found.values[:, 0].tolist() == list(range(300))
    assert found.notes == (
        (
            "a.csv: the clock was set back by 59 s at line 102; the 200 rows from there were moved to follow "
            "the row before."
        ),
    )


def test_a_clock_that_falls_to_its_birthday() -> None:
    found = _order([*(1e9 + np.arange(50)), *range(50)])
    assert np.diff(found.time_s).tolist() == [1.0] * 99
    assert found.values[:, 0].tolist() == list(range(100))


def test_a_clock_set_back_and_put_right_again() -> None:
    times = [*range(100), *range(50, 80), *range(130, 200)]
    found = _order(times)
    assert found.time_s.tolist() == [*range(130), *range(130, 200)]
    assert found.values[:, 0].tolist() == list(range(200))


def test_a_forward_jump_stays_a_gap_and_is_said() -> None:
    found = _order([*range(50), *range(3650, 3700)])
    assert found.time_s.tolist() == [*range(50), *range(3650, 3700)]
    assert found.notes == (
        "a.csv: no rows for 1 h before line 52: the logger paused, or its clock was put forward.",
    )


def test_a_clock_set_for_the_first_time_moves_the_rows_before_it() -> None:
    found = _order([*range(10), *(1e9 + np.arange(10))])
    assert np.diff(found.time_s).tolist() == [1.0] * 19
    assert found.time_s[-1] == 1e9 + 9
    assert "it was taken as set then, and the earlier rows were moved up to it" in found.notes[0]


def test_repeats_keep_one_and_the_first() -> None:
    found = _order([0, 1, 1, 2, 2, 3], values=[10, 11, 11, 12, 99, 13])
    assert found.time_s.tolist() == [0, 1, 2, 3]
    assert found.values[:, 0].tolist() == [10, 11, 12, 13]
    assert found.dropped == (
        "a.csv: 1 row(s) that repeat another were dropped.",
        (
            "a.csv: 1 row(s) give other readings for a time that came before, the first at line 6; the first "
            "reading of each time was kept."
        ),
    )


def test_a_block_sent_twice_is_no_clock_set_back() -> None:
    found = _order([*range(50), *range(30, 60)], values=[*range(50), *range(30, 60)])
    assert found.time_s.tolist() == list(range(60))
    assert found.dropped == ("a.csv: 20 row(s) that repeat another were dropped.",)


def test_rows_of_one_time_fill_each_others_blanks(tmp_path: Path) -> None:
    rows = (
        '"time": 0, "power [W]": 2000',
        '"time": 0, "sensor_voltage [V]": 24',
        '"time": 1, "power [W]": 2001',
    )
    text = "".join("{" + row + "}\n" for row in rows)
    reading = read(tmp_path, text)
    np.testing.assert_array_equal(reading.trace.get("power"), [2000.0, 2001.0])
    np.testing.assert_array_equal(reading.trace.get("sensor_voltage"), [24.0, np.nan])


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(-50, 400), min_size=1, max_size=60))
def test_any_order_gives_rising_times_and_loses_only_repeats(times: list[int]) -> None:
    found = _order(times)
    assert (np.diff(found.time_s) > 0).all()
    assert len(found.time_s) >= 1
    assert len(set(found.rows.tolist())) == len(found.rows)
    if not found.dropped:
        assert len(found.rows) == len(times)
