from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from reading import read

from firstfrost.errors import DataError


def _instants(reading) -> list[str]:
    return [
        reading.trace.instant(t).isoformat(timespec="milliseconds") for t in reading.trace.time_s.tolist()
    ]


def _file(*times: str, header: str = "time") -> str:
    return f"{header},power [W]\n" + "".join(f"{time},2000\n" for time in times)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("2025-01-15T08:30:00Z", "2025-01-15T08:30:01.5Z"),
        ("2025-01-15 08:30:00+00:00", "2025-01-15 08:30:01.500+00:00"),
        ("2025-01-15T01:30:00-07:00", "2025-01-15T01:30:01.5-07:00"),
        ("2025-01-15T01:30:00-0700", "2025-01-15T02:30:01.5-06"),
        ("20250115T083000Z", "20250115T083001.5Z"),
        ("2025-01-15 08:30:00 UTC", "2025-01-15 08:30:01.5 UTC"),
        ("2025/01/15 08:30:00Z", "2025/1/15 8:30:01.5Z"),
        ("1736929800", "1736929801.5"),
        ("1736929800000", "1736929801500"),
        ("1736929800000000", "1736929801500000"),
    ],
)
def test_ways_to_write_an_instant(tmp_path: Path, first: str, second: str) -> None:
    reading = read(tmp_path, _file(first, second))
    assert _instants(reading) == ["2025-01-15T08:30:00.000+00:00", "2025-01-15T08:30:01.500+00:00"]
    assert reading.trace.time_s.tolist() == [0.0, 1.5]


@pytest.mark.parametrize(
    ("header", "first", "second"),
    [
        ("time", "2025-01-15 01:30:00", "2025-01-15 01:30:01.5"),
        ("timestamp", "1/15/2025 1:30:00 AM", "1/15/2025 1:30:01.5 am"),
        ("time [local]", "15.01.2025 01:30:00", "15.01.2025 01:30:01,5"),
        ("time [UTC]", "2025-01-15 08:30:00", "2025-01-15 08:30:01.5"),
        ("Time (America/New_York)", "2025-01-15 03:30:00", "2025-01-15 03:30:01.5"),
    ],
)
def test_local_times_in_a_named_zone(tmp_path: Path, header: str, first: str, second: str) -> None:
    text = f"{header};power [W]\n{first};2000\n{second};2001\n"
    reading = read(tmp_path, text, zone="America/Denver")
    assert _instants(reading) == ["2025-01-15T08:30:00.000+00:00", "2025-01-15T08:30:01.500+00:00"]


def test_the_map_gives_zone_and_format(tmp_path: Path) -> None:
    chart = '[time]\nzone = "Europe/Berlin"\nformat = "%d.%m.%Y %H:%M:%S"\n'
    reading = read(tmp_path, _file("02.01.2025 09:30:00", "02.01.2025 09:30:01"), chart=chart, zone="UTC")
    assert reading.trace.epoch == datetime(2025, 1, 2, 8, 30, tzinfo=UTC)


def test_date_and_time_in_two_columns(tmp_path: Path) -> None:
    text = "Date,Time,power [W]\n2025-01-15,01:30:00,2000\n2025-01-15,01:30:01,2000\n"
    reading = read(tmp_path, text, zone="America/Denver")
    assert reading.trace.epoch == datetime(2025, 1, 15, 8, 30, tzinfo=UTC)
    assert reading.trace.time_s.tolist() == [0.0, 1.0]


@pytest.mark.parametrize(
    ("header", "times", "seconds"),
    [
        ("time [s]", ("0", "0.5", "2"), [0.0, 0.5, 2.0]),
        ("time [min]", ("0", "0.5", "2"), [0.0, 30.0, 120.0]),
        ("time [h]", ("0", "0.5", "2"), [0.0, 1800.0, 7200.0]),
        ("elapsed time (ms)", ("0", "500", "2000"), [0.0, 0.5, 2.0]),
        ("time", ("23:59:58", "23:59:59.5", "0:00:01"), [86398.0, 86399.5, 86401.0]),
        ("time", ("11:59 PM", "12:00 AM", "12:01 AM"), [86340.0, 86400.0, 86460.0]),
    ],
)
def test_bare_seconds_and_clock_times(tmp_path: Path, header: str, times: tuple, seconds: list) -> None:
    reading = read(tmp_path, _file(*times, header=header), zone="America/Denver")
    assert reading.trace.epoch is None
    assert reading.trace.time_s.tolist() == pytest.approx(seconds, abs=1e-9)


def test_clock_times_over_midnight_are_said(tmp_path: Path) -> None:
    reading = read(tmp_path, _file("23:59:58", "00:00:01"))
    assert reading.receipt.notes == (
        (
            "a.csv, column 'time': clock times without a date were taken as seconds since midnight, with "
            "midnight passed 1 time(s)."
        ),
    )


def _fall(*clocks: str) -> str:
    return _file(*(f"2025-11-02 {clock}:00" for clock in clocks))


def test_the_hour_that_comes_twice_by_the_order_of_rows(tmp_path: Path) -> None:
    # In Denver 2025-11-02 01:00-02:00 comes at 07:00 UTC and again at 08:00 UTC (IANA time zone database).
    reading = read(
        tmp_path, _fall("00:59", "01:00", "01:30", "01:00", "01:30", "02:00"), zone="America/Denver"
    )
    hours = [(t - reading.trace.time_s[1]) / 60 for t in reading.trace.time_s.tolist()]
    assert hours == [-1.0, 0.0, 30.0, 60.0, 90.0, 120.0]
    assert reading.receipt.notes == (
        (
            "a.csv, column 'time': 4 time(s) lie in the hour that comes twice in America/Denver; the rows "
            "after the clock went back were taken as the second pass."
        ),
    )


@pytest.mark.parametrize(
    ("clocks", "first_utc", "said"),
    [
        (
            ("00:58", "00:59", "01:00", "01:01"),
            "06:58",
            "first pass, which the rows before and after bear out",
        ),
        (
            ("01:58", "01:59", "02:00", "02:01"),
            "08:58",
            "second pass, which the rows before and after bear out",
        ),
        (("01:10", "01:11"), "07:10", "first pass; nothing in the file tells"),
    ],
)
def test_the_hour_that_comes_twice_by_its_neighbours(tmp_path, clocks, first_utc, said) -> None:
    reading = read(tmp_path, _fall(*clocks), zone="America/Denver")
    assert f"{reading.trace.instant(0.0):%H:%M}" == first_utc
    assert [t / 60 for t in reading.trace.time_s.tolist()] == list(range(len(clocks)))
    assert said in reading.receipt.notes[0]


def test_a_second_time_column_is_left_out_and_said(tmp_path: Path) -> None:
    reading = read(tmp_path, "timestamp,time [s],power [W]\n2025-01-15T08:30:00Z,0,2000\n")
    assert reading.receipt.ignored == ("time [s]",)
    assert reading.receipt.notes == ("a.csv: 'time [s]' is a second time column and was left out.",)


def test_two_digit_years_are_not_guessed(tmp_path: Path) -> None:
    with pytest.raises(DataError, match=r"the time at line 2 cannot be read: '15\.01\.25 08:30'"):
        read(tmp_path, _file("15.01.25 08:30"), zone="UTC")


def test_fractions_of_a_second_lose_nothing(tmp_path: Path) -> None:
    reading = read(tmp_path, _file("2015-02-09 02:24:56.103896104Z", "2015-02-09 02:25:35.064935065Z"))
    assert reading.trace.time_s.tolist() == [0.103896104, 39 + 0.064935065]
