"""The reader of weather files, on files made here; their form is that of the EnergyPlus data dictionary."""

import numpy as np
import pytest

from firstfrost.air.moist import relative_humidity
from firstfrost.bench.hours import weather_from
from firstfrost.errors import DataError, InputError
from firstfrost.weather.epw import read_epw

HEAD = [
    "LOCATION,Nowhere,-,-,made,000000,41.0,-74.0,-5.0,300.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,x",
    "COMMENTS 2,y",
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def row(month, day, hour, *, dry="1.0", dew="-1.0", humidity="87", pressure="98000"):
    return f"2001,{month},{day},{hour},60,flags,{dry},{dew},{humidity},{pressure},0,0"


def year(*, leap=False):
    days = [*DAYS]
    days[1] += leap
    return [
        row(month, day, hour, dry=f"{hour / 2:.1f}")
        for month, length in enumerate(days, 1)
        for day in range(1, length + 1)
        for hour in range(1, 25)
    ]


@pytest.fixture
def write(tmp_path):
    def make(rows, head=HEAD):
        path = tmp_path / "x.epw"
        path.write_text("\n".join([*head, *rows]) + "\n")
        return path

    return make


@pytest.mark.parametrize("leap", [False, True])
def test_hours_are_moments_and_straight_between(write, leap):
    hours = read_epw(write(year(leap=leap)))
    assert len(hours.dry_c) == 8760 + 24 * leap
    assert hours.place == "Nowhere"
    assert hours.leap == leap
    sky = weather_from(hours, "06-10 06:00", 7200)
    assert sky.temps_c[[0, 30, 60, 120]] == pytest.approx([3.0, 3.25, 3.5, 4.0])
    part = relative_humidity(sky.temps_c, sky.humidity_ratios, 98000.0)
    assert np.asarray(part)[0] == pytest.approx(0.87, abs=1e-6)
    # From midnight on: 24:00 of the day before is the same moment.
    assert weather_from(hours, "06-10 00:00", 3600).temps_c[[0, 60]] == pytest.approx([12.0, 0.5])
    # The first hour of the file holds back to its beginning.
    assert weather_from(hours, "01-01 00:00", 3600).temps_c[0] == pytest.approx(0.5)


def test_a_run_goes_over_the_end_of_february(write):
    common, leap = year(), year(leap=True)
    assert weather_from(read_epw(write(common)), "02-28 23:00", 7200).temps_c[-1] == pytest.approx(0.5)
    with pytest.raises(InputError, match=r"x.epw has no 29 February. Take another day."):
        weather_from(read_epw(write(common)), "02-29 06:00", 3600)
    assert weather_from(read_epw(write(leap)), "02-29 06:00", 3600).temps_c[0] == pytest.approx(3.0)
    assert weather_from(read_epw(write(common)), "03-01 00:30", 3600).temps_c[30] == pytest.approx(0.5)


def test_missing_values(write):
    rows = [row(1, 5, hour) for hour in range(1, 13)]
    rows[3] = row(1, 5, 4, humidity="999", dew="-1.0", pressure="999999")
    sky = weather_from(read_epw(write(rows)), "01-05 04:00", 60)
    # From the dew point, at the standard pressure of the place's elevation, 97.8 kPa.
    assert relative_humidity(1.0, float(sky.humidity_ratios[0]), 97773.0) == pytest.approx(0.862, abs=0.01)
    rows[5] = row(1, 5, 6, dry="99.9")
    hours = read_epw(write(rows))
    assert weather_from(hours, "01-05 01:00", 3600 * 4).temps_c[-1] == pytest.approx(1.0)
    with pytest.raises(
        DataError,
        match=r"x.epw, line 14: the dry bulb is missing \(99.9\). A run needs it in every hour. Start at",
    ):
        weather_from(hours, "01-05 01:00", 3600 * 5)
    rows[5] = row(1, 5, 6, humidity="999", dew="99.9")
    with pytest.raises(DataError, match=r"line 14: humidity \(999\) and dew point \(99.9\) are both missing"):
        weather_from(read_epw(write(rows)), "01-05 05:00", 3600 * 2)


def test_what_is_not_in_the_file(write):
    hours = read_epw(write([row(1, 5, hour) for hour in range(1, 13)]))
    with pytest.raises(
        InputError, match=r'x.epw ends 2.0 h after "01-05 10:00", and the run lasts 3.0 h. Start'
    ):
        weather_from(hours, "01-05 10:00", 3 * 3600)
    with pytest.raises(InputError, match=r'x.epw does not hold "07-01 00:00". Take another day'):
        weather_from(hours, "07-01 00:00", 3600)
    for text in ("13-01 00:00", "noon", "02-30 01:00", "01-05 25:00"):
        with pytest.raises(
            InputError, match=r'is not a month, day and time. Write it such as "01-15 06:00".'
        ):
            weather_from(hours, text, 3600)


@pytest.mark.parametrize(
    ("rows", "head", "text"),
    [
        ([], ["a,b"], r"x.epw is not an EPW file: it begins with 'a'. Expected eight lines of header"),
        ([], HEAD, r"x.epw is not an EPW file|x.epw has a header and no hours"),
        (
            [row(1, 1, 1), row(1, 1, 3)],
            HEAD,
            r"x.epw, line 10 is 2 h after the row before it. Expected 1 h: rows",
        ),
        ([row(1, 1, 1), row(1, 1, 1)], HEAD, r"x.epw, line 10 is 0 h after the row before it"),
        ([row(1, 1, 25)], HEAD, r"x.epw, line 9 begins with '2001,1,1,25,60,flags'. Expected year, month"),
        ([row(1, 1, 1, dry="warm")], HEAD, r"line 9: the dry bulb is 'warm'. Expected a number in field 7"),
        (
            [row(1, 1, 1, dry="-80")],
            HEAD,
            r"line 9: the dry bulb is -80. Expected -70 to 70, or 99.9 for missing",
        ),
        ([row(1, 1, 1)], [*HEAD[:-1], "DATA PERIOD,1"], r"have no DATA PERIODS \(but 'DATA PERIOD'\)"),
        (
            [row(1, 1, 1)],
            [*HEAD[:-1], "DATA PERIODS,1,7"],
            r"line 8: 7 records in an hour. Expected a number that",
        ),
        (
            [row(1, 1, 1)],
            ["LOCATION,x,-,-,m,0,4,-7,-5,high", *HEAD[1:]],
            r"line 1: the elevation \[m\] is 'high'",
        ),
    ],
)
def test_a_file_that_cannot_be_used(write, rows, head, text):
    with pytest.raises(DataError, match=text):
        read_epw(write(rows, head))


def test_a_file_that_is_not_there():
    with pytest.raises(InputError, match=r"The weather file nowhere.epw cannot be read: No such file"):
        read_epw("nowhere.epw")


def test_quarters_of_an_hour(write):
    rows = [
        f"2001,1,5,{hour},{minute},f,{hour + minute / 60 - 1:.2f},-1,80,98000"
        for hour in (1, 2)
        for minute in (15, 30, 45, 60)
    ]
    hours = read_epw(write(rows, [*HEAD[:-1], "DATA PERIODS,1,4,Data,Friday,1/5,1/5"]))
    assert hours.step_s == 900.0
    assert weather_from(hours, "01-05 00:30", 1800).temps_c[[0, 30]] == pytest.approx([0.5, 1.0])
