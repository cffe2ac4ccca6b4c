"""Weather files of other kinds, gaps, leap years, wrong units and the south."""

import numpy as np
import pytest

from firstfrost.air.moist import humidity_ratio
from firstfrost.errors import DataError, InputError
from firstfrost.weather.hours import air_of
from firstfrost.weather.read import read_weather

TMY3_HEAD = [
    '123456,"NOWHERE",XX,-5.0,41.000,-74.000,300',
    "Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),RHum (%),Pressure (mbar),Other",
]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def tmy3_rows():
    return [
        f"{month:02d}/{day:02d}/{1980 + month},{hour:02d}:00,{hour / 2 - 6:.1f},-8.0,80,980,x"
        for month, length in enumerate(DAYS, 1)
        for day in range(1, length + 1)
        for hour in range(1, 25)
    ]


@pytest.fixture
def write(tmp_path):
    def make(lines, name="w.csv"):
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return make


def plain(count=48, start=0, *, header="time,temperature [degC],humidity [%]", temp="-1.0", wet="85"):
    rows = [header]
    for n in range(start, start + count):
        rows.append(f"2023-01-{1 + n // 24:02d} {n % 24:02d}:00,{temp},{wet}")
    return rows


def test_a_tmy3_file_is_a_year(write):
    hours = read_weather(write([*TMY3_HEAD, *tmy3_rows()]))
    air = air_of(hours)
    assert len(air.temps_c) == 8760
    assert hours.altitude_m == 300.0
    assert hours.latitude_deg == 41.0
    assert air.temps_c[:3] == pytest.approx([-5.5, -5.0, -4.5])
    assert air.pressure_pa[0] == 98000.0
    assert air.humidity[0] == pytest.approx(0.8)
    assert np.bincount(air.months)[1:].tolist() == [24 * d for d in DAYS]
    assert np.bincount(air.hours).tolist() == [365] * 24


def test_tmy3_mistakes_are_told_with_their_line(write):
    rows = tmy3_rows()
    with pytest.raises(DataError, match=r"line 12 is 2 h after the row before it"):
        read_weather(write([*TMY3_HEAD, *rows[:9], *rows[10:]]))
    with pytest.raises(DataError, match="line 2 lacks the columns Dry-bulb"):
        read_weather(write([TMY3_HEAD[0], TMY3_HEAD[1].replace("Dry-bulb (C)", "Dry"), *rows]))
    bad = [*rows[:4], rows[4].replace("-3.5", "99.0"), *rows[5:]]
    with pytest.raises(DataError, match=r"line 7: Dry-bulb \(C\) is 99.0. Expected -70 to 70"):
        read_weather(write([*TMY3_HEAD, *bad]))


def test_a_plain_table_takes_its_units_from_the_header(write):
    lines = plain(header="Time,Outdoor Temperature [degF],RH", temp="30.2", wet="0.9")
    air = air_of(read_weather(write(lines), altitude_m=1000.0))
    assert air.temps_c == pytest.approx(np.full(48, -1.0))
    assert air.humidity == pytest.approx(np.full(48, 0.9))
    # 1,000 m: 89.87 kPa, U.S. Standard Atmosphere 1976, table I.
    assert air.pressure_pa[0] == pytest.approx(89875.0, rel=1e-3)


def test_semicolons_dew_points_and_pressures_are_read(write):
    lines = ["time;temp [degC];dew point [degC];pressure [hPa]"]
    lines += [f"2023-01-01 {h:02d}:00;2.0;-1.0;950" for h in range(24)]
    air = air_of(read_weather(write(lines)))
    assert air.pressure_pa[0] == 95000.0
    ratio = humidity_ratio(2.0, float(air.humidity[0]), 95000.0)
    assert ratio == pytest.approx(float(humidity_ratio(-1.0, 1.0, 95000.0)), rel=2e-3)


def test_rows_closer_than_an_hour_are_averaged(write):
    lines = ["time,temp [degC],rh [%]"]
    lines += [
        f"2023-01-{1 + m // 1440:02d} {m % 1440 // 60:02d}:{m % 60:02d},{m / 60:.3f},80"
        for m in range(0, 2880, 5)
    ]
    hours = read_weather(write(lines))
    assert len(hours.dry_c) == 49
    assert hours.dry_c[10] == pytest.approx(10.0, abs=0.06)
    assert any("mean" in note for note in hours.notes)


def test_short_gaps_are_filled_and_long_ones_left_out_and_both_are_told(write):
    lines = plain(240)
    for n in range(50, 52):
        lines[n] = lines[n].replace("-1.0,85", ",")
    del lines[100:120]
    air = air_of(read_weather(write(lines)))
    assert len(air.temps_c) == 220
    assert any("2 hours lack a value in gaps of at most 3 h" in note for note in air.notes)
    assert any("20 hours lack a value in longer gaps" in note for note in air.notes)


def test_half_of_a_file_is_needed(write):
    lines = plain(240)
    del lines[10:200]
    with pytest.raises(DataError, match="190 of its 240 hours lack temperature or humidity"):
        air_of(read_weather(write(lines)))


def test_without_humidity_frost_is_not_guessed(write):
    lines = [row.rsplit(",", 1)[0] for row in plain()]
    hours = read_weather(write(lines))
    with pytest.raises(InputError, match='assume one, such as "80 %RH"'):
        air_of(hours)
    air = air_of(hours, humidity=0.8)
    assert air.humidity_assumed
    assert any("80% is assumed" in note for note in air.notes)


def test_wrong_units_are_refused_and_the_right_one_guessed(write):
    with pytest.raises(DataError, match=r"line 2: the temperature is 68 degC, and 48 rows"):
        read_weather(write(plain(temp="68")))
    with pytest.raises(DataError, match="the column temperature has no unit"):
        read_weather(write(plain(header="time,temperature,humidity [%]")))
    with pytest.raises(DataError, match="temperature is in psi"):
        read_weather(write(plain(header="time,temperature [psi],humidity [%]")))
    with pytest.raises(DataError, match="no column for temperature"):
        read_weather(write(plain(header="time,speed [m/s],humidity [%]")))
    with pytest.raises(DataError, match="line 3: the time is 'noon'"):
        read_weather(write([*plain()[:2], "noon,1,2"]))
    with pytest.raises(InputError, match="cannot be read"):
        read_weather("/nowhere/at/all.csv")


def test_a_leap_year_has_its_day(write):
    lines = ["time,temperature [degC],humidity [%]"]
    for day in (28, 29):
        lines += [f"2024-02-{day} {h:02d}:00,1.0,80" for h in range(24)]
    lines += [f"2024-03-01 {h:02d}:00,1.0,80" for h in range(24)]
    hours = read_weather(write(lines))
    assert hours.leap
    assert len(hours.dry_c) == 72
    assert set(hours.months.tolist()) == {2, 3}


def test_the_south_has_its_winter_in_june(write):
    rows = tmy3_rows()
    south = []
    for row in rows:
        cells = row.split(",")
        month = int(cells[0][:2])
        cells[2] = f"{15 + 10 * np.cos(2 * np.pi * (month - 1) / 12):.1f}"
        cells[3] = "-5.0"
        south.append(",".join(cells))
    air = air_of(read_weather(write([*TMY3_HEAD, *south])))
    assert air.southern
    assert air.month_order == tuple(range(1, 13))
    north = air_of(read_weather(write([*TMY3_HEAD, *rows])))
    assert not north.southern
    assert north.month_order[0] == 7
