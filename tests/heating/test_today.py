"""Airflow, targets and expectations from what a unit file names beside itself."""

import tomllib

import pytest
from drawn import UNIT
from heating.heated import heating, trace, unit

from firstfrost.equipment.read import read_unit
from firstfrost.errors import DataError, InputError

BLOWER = "external_static_pressure [inH2O],airflow [cfm]\n0.1,1200\n0.5,1000\n0.9,700\n"
CHARGING = "outdoor_air_temp [degF],subcooling [delta_degF]\n17,8\n57,16\n"
TABLE = """outdoor_air_temp [degF],return_air_temp [degF],capacity [kW],power [kW]
17,60,5.6,2.5
17,75,5.4,2.7
57,60,10.4,2.7
57,75,10.0,3.0
"""
RUN_TIME = "outdoor_air_temp [degF],run_fraction [%]\n" + "".join(
    f"{t},{100 * 0.010 * (60 - t) / (1 + 0.006 * (t - 30)):.3f}\n" for t in range(20, 50, 3)
)


def from_file(folder, text, **files):
    """A unit read from a file in `folder`, with `files` beside it."""
    for name, content in files.items():
        (folder / f"{name}.csv").write_text(content, encoding="utf-8")
    path = folder / "unit.toml"
    path.write_text(UNIT + text, encoding="utf-8")
    tomllib.loads(path.read_text(encoding="utf-8"))
    return read_unit(path)


def test_a_blower_table_gives_the_airflow_where_nothing_surer_does(tmp_path):
    machine = from_file(
        tmp_path, '[maker]\nblower = "blower.csv"\n[airflow]\nexternal_static = "0.5 inH2O"\n', blower=BLOWER
    )
    got = heating(trace("airflow"), machine).number("airflow_m3_s")
    assert "blower table" in got.how
    # Entered at the density of the warm air, 2 % or so thinner than the standard air of the table.
    assert got.value == pytest.approx(1000 * 0.3048**3 / 60, rel=0.02)
    logged = heating(trace(), machine).number("airflow_m3_s")
    assert "logged" not in logged.how or logged.expanded < got.expanded


def test_a_static_pressure_outside_the_table_is_told_and_gives_no_airflow(tmp_path):
    machine = from_file(
        tmp_path, '[maker]\nblower = "blower.csv"\n[airflow]\nexternal_static = "1.5 inH2O"\n', blower=BLOWER
    )
    got = heating(trace("airflow"), machine).number("airflow_m3_s")
    assert got.standing == "unseen"
    assert "0.9" in got.settle


def test_the_charging_table_goes_before_the_plate_and_the_plate_helps_where_it_ends(tmp_path):
    text = '[targets]\ntable = "charging.csv"\nsubcooling = "20 delta_degF"\n'
    machine = from_file(tmp_path, text, charging=CHARGING)
    # 5 degC is 41 degF: 12.8 degF by the line between the rows, less and more the tolerance of 3 degF.
    got = heating(machine=machine).number("subcooling_k")
    assert (got.limit.low, got.limit.high) == (pytest.approx(9.8 / 1.8), pytest.approx(15.8 / 1.8))
    assert got.standing == "shown"
    cold = heating(trace(outdoor_air_temp=-12.0), machine).number("subcooling_k")
    assert cold.limit.low == pytest.approx(17.0 / 1.8)


def test_outside_the_charging_table_alone_there_is_no_target_and_it_says_so(tmp_path):
    machine = from_file(tmp_path, '[targets]\ntable = "charging.csv"\n', charging=CHARGING)
    got = heating(trace(outdoor_air_temp=-12.0), machine).number("subcooling_k")
    assert (got.standing, got.limit) == ("doubtful", None)
    assert "17" in got.settle


def test_the_makers_table_goes_before_the_rating_points(tmp_path):
    text = '[maker]\nperformance = "table.csv"\n'
    machine = from_file(tmp_path, text, table=TABLE)
    got = heating(machine=machine).number("capacity_ratio")
    assert "table.csv" in got.how
    assert "estimate" not in got.how
    # Bilinear by hand at 41 degF and 69.8 degF: 0.6 of the way up, 0.653 across.
    capacity = 1e3 * (0.4 * (5.6 - 0.2 * 0.6533) + 0.6 * (10.4 - 0.4 * 0.6533))
    heat = heating(machine=machine).number("capacity_air_w").value
    assert got.value == pytest.approx(heat / capacity, rel=1e-3)
    assert "estimate" in heating().number("capacity_ratio").how


def test_run_time_and_weather_stand_in_for_a_load_calculation(tmp_path):
    text = (
        '[house]\nrun_time = "log.csv"\n[ratings]\ncapacity_47 = "9 kW"\ncapacity_17 = "5.5 kW"\n'
        'power_47 = "2.9 kW"\npower_17 = "2.6 kW"\n'
    )
    machine = from_file(tmp_path, text, log=RUN_TIME)
    got = heating(machine=machine).number("balance_point_c")
    assert got.measured
    assert got.expanded > 0.5


def test_a_table_that_is_not_there_or_not_sound_stops_the_check_with_one_error(tmp_path):
    with pytest.raises((InputError, DataError), match=r"blower\.csv"):
        heating(trace("airflow"), from_file(tmp_path, '[maker]\nblower = "blower.csv"\n'))
    bad = from_file(tmp_path, '[maker]\nblower = "blower.csv"\n', blower="airflow [cfm]\n900\n")
    with pytest.raises(DataError, match="external_static_pressure"):
        heating(trace("airflow"), bad)


def test_a_hood_reading_that_is_surer_than_the_log_is_taken():
    typed = unit(airflow={"measured": "1000 cfm", "measured_accuracy": "1 %"})
    assert "flow hood" in heating(machine=typed).number("airflow_m3_s").how
    rough = unit(airflow={"measured": "1000 cfm", "measured_accuracy": "20 %"})
    assert "logged" in heating(machine=rough).number("airflow_m3_s").how
