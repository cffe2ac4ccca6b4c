import copy
import tomllib
from datetime import datetime
from pathlib import Path

import pytest

from firstfrost.bench.scenario.build import play
from firstfrost.bench.scenario.read import find, read_scenario, scenario_from, shipped
from firstfrost.bench.scenario.write import unit_toml
from firstfrost.equipment.read import read_unit
from firstfrost.errors import DataError, InputError

BASE = tomllib.loads(
    """
title = "A test"
seed = 3
duration = "12 min"
[unit]
refrigerant = "R-410A"
[board]
interval = "60 min"
[weather]
temperature = "35 degF"
humidity = "85 %"
"""
)


def read(folder=Path(), **changes):
    table = copy.deepcopy(BASE)
    for name, value in changes.items():
        if value is None:
            table.pop(name)
        else:
            table[name] = value
    return scenario_from(table, name="test", source="test.toml", folder=folder)


def test_a_file_becomes_si():
    scenario = read(
        start={"frost": "0.1 mm", "run_time": "50 min", "house": "68 degF"},
        controls={"pins_run_out": "30 s", "call": "thermostat", "opening": "holds"},
        house={"load": "6 kW", "load_at": "17 degF"},
        acts=[
            {"act": "fan-lead-off", "at": "2 min", "note": "so"},
            {"act": "fan-lead-on", "when": "sensor-closed"},
        ],
        faults={"charge-low": 0.2, "backup-not-wired": {"severity": 1, "at": "3 min", "until": "6 min"}},
        recording={"every": "2 s", "channels": ["power", "suction_pressure"], "drop_outs": "1 %"},
        probes={"pressure": {"noise": "1 psi"}, "power": {"lag": "4 s", "resolution": "10 W"}},
    )
    assert scenario.duration_s == 720
    assert scenario.frost_kg == pytest.approx(1e-4 * 150.0 * scenario.plant.area_m2)
    assert scenario.clock_s == 3000.0
    assert scenario.house_c == pytest.approx(20.0)
    assert scenario.controls.pins_speed == pytest.approx(3600.0 / 30.0)
    assert scenario.controls.thermostat == 1.0
    assert scenario.controls.reset_on_open == 0.0
    assert scenario.plant.house_ua_wk == pytest.approx(6500.0 / (21.1 + 25.0 / 3.0), rel=1e-3)
    assert scenario.recording.channels == ("suction_pressure", "power")
    assert scenario.probes["suction_pressure"].noise == pytest.approx(6894.76, rel=1e-5)
    assert scenario.probes["power"].lag_s == 4.0
    assert scenario.acts[1].latest_s == 1800.0
    assert scenario.faults[1].until_s == 360.0


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        (
            {"duration": None},
            'test.toml: duration is missing. Write duration = "60 min", or the like, above the tables.',
        ),
        (
            {"wether": {}},
            "test.toml: [wether] is not a key or table of a scenario. Did you mean [weather]?",
        ),
        (
            {"start": {"frosst": "1 mm"}},
            "test.toml: start.frosst is not a key of [start]. Did you mean frost?",
        ),
        (
            {"start": {"frost": "4 mm"}},
            (
                "test.toml: start.frost is '4 mm'. It is mean frost on the outdoor coil, and 0 mm to "
                "0.6 mm is "
                "expected. Check the number and its unit."
            ),
        ),
        (
            {"faults": {"charge-lo": 0.2}},
            "test.toml: faults.charge-lo is no fault. Did you mean charge-low?",
        ),
        (
            {"faults": {"board-dead": 2}},
            (
                "test.toml: faults.board-dead has the severity 2. Expected a number from 0 (sound) to 1 "
                "(dead (any severity above 0))."
            ),
        ),
        (
            {"faults": {"charge-low": {"severity": 0.1, "at": "2 min"}}},
            "test.toml: faults.charge-low changes what the circuit was filled with. Leave at and until out.",
        ),
        (
            {"acts": [{"act": "fan-lead-of", "at": "1 min"}]},
            "test.toml: acts[1].act is 'fan-lead-of', which is no act. Did you mean fan-lead-off?",
        ),
        (
            {"acts": [{"act": "note"}]},
            'test.toml: acts[1] needs either at or when. Write at = "10 min", or when = "sensor-closed".',
        ),
        (
            {"weather": {"temperature": "35 degF"}},
            (
                "test.toml: [weather] needs one of: temperature and humidity; points; or epw and "
                "from. Write just one "
                "of them."
            ),
        ),
        (
            {"recording": {"channels": ["return_air_humidity"]}},
            "test.toml: recording.channels: the bench has no number for return_air_humidity. It has ",
        ),
        (
            {"seed": "7"},
            "test.toml: seed is '7'. Expected a whole number from 0 on, without quotes: seed = 7.",
        ),
        ({"unit": {"refrigerant": "R-9"}}, "test.toml: unit.refrigerant"),
        (
            {"recording": {"every": "1.5 s"}},
            "test.toml: recording.every is 1.5 s. Expected whole seconds. Round it.",
        ),
    ],
)
def test_one_mistake_gets_one_sentence(changes, text):
    with pytest.raises(InputError) as err:
        read(**changes)
    assert str(err.value).startswith(text)


def test_all_mistakes_are_told_at_once():
    with pytest.raises(InputError) as err:
        read(unit={"refrigerant": "R-410A", "nam": "x"}, duration="12", probes={"presure": {}}, house=3)
    lines = str(err.value).splitlines()
    assert lines[0] == "test.toml has 4 mistakes:"
    assert [line.split()[1] for line in lines[1:]] == ["house", "unit.nam", "duration", "probes.presure"]


def test_points_run_straight_between():
    scenario = read(
        weather={
            "points": [
                {"at": "0 min", "temperature": "40 degF", "humidity": "80 %"},
                {"at": "10 min", "temperature": "30 degF", "humidity": "80 %"},
            ]
        }
    )
    assert scenario.weather.temps_c[5] == pytest.approx((35.0 - 32.0) / 1.8)
    with pytest.raises(
        InputError, match=r"weather.points: times do not rise. Put the points in order of at."
    ):
        read(
            weather={
                "points": [
                    {"at": "9 min", "temperature": "40 degF", "humidity": "80 %"},
                    {"at": "0 min", "temperature": "30 degF", "humidity": "80 %"},
                ]
            }
        )


def test_names_are_found_with_and_without_their_number():
    name = shipped()[1]
    assert find(name) == find(name.partition("-")[2]) == find("2") == find("02")
    with pytest.raises(
        InputError, match=r'No scenario is named "first-forst". Did you mean 02-first-frost\?'
    ):
        find("first-forst")
    with pytest.raises(InputError, match=r"The scenario file nowhere.toml cannot be read: No such file"):
        read_scenario("nowhere.toml")


def test_broken_toml_is_told_with_its_line(tmp_path):
    (tmp_path / "x.toml").write_text("duration = \n")
    with pytest.raises(DataError, match=r"is not sound TOML: .*line 1"):
        read_scenario(tmp_path / "x.toml")


def test_an_act_waits_for_what_it_waits_for():
    scenario = read(
        duration="30 min",
        weather={"temperature": "49 degF", "humidity": "55 %"},
        acts=[
            {"act": "fan-lead-off", "at": "5 min"},
            {"act": "pins-bridged", "when": "sensor-closed", "wait": "10 s"},
            {"act": "pins-released", "when": "defrosting", "latest": "2 min"},
            {"act": "call-off", "when": "resting", "latest": "1 min"},
        ],
    )
    played = play(scenario)
    closed = next(t for t, v in played.run.switches("sensed") if v > 0.5)
    starts = next(t for t, v in played.run.switches("mode") if v == 3.0)
    times = [mark.time_s for mark in played.acts]
    assert times[1] - closed == pytest.approx(10.0, abs=1.0)
    assert times[2] - starts == pytest.approx(0.0, abs=1.0)
    # It never rested, so the person gave up waiting.
    assert times[3] - times[2] == 60.0


def test_a_part_breaks_during_the_run_and_is_mended():
    scenario = read(faults={"outdoor-fan-weak": {"severity": 1.0, "at": "3 min", "until": "6 min"}})
    fan = play(scenario).run.state("fan")
    assert fan[170] == pytest.approx(1.0, abs=1e-3)
    assert fan[340] < 1e-3
    assert fan[600] == pytest.approx(1.0, abs=1e-3)


def test_a_clock_that_jumps_moves_what_comes_after():
    from firstfrost.bench.scenario.record import record

    scenario = read(
        recording={
            "starts": datetime.fromisoformat("2026-01-14T08:00:00-07:00"),
            "clock_jump": {"at": "5 min", "by": "10 min"},
        },
        acts=[{"act": "note", "at": "6 min"}],
    )
    taken = record(play(scenario))
    assert taken.trace.time_s[301] - taken.trace.time_s[299] == 602.0
    assert taken.marks[0].time_s == 960.0
    assert taken.trace.instant(0.0).hour == 15


def test_what_the_heating_check_wants_goes_to_the_unit_file(tmp_path):
    told = read(
        ratings={"capacity_47": "27000 Btu/h", "cop_47": "3.1 W/W"},
        backup={"stages": ["5 kW", "3 kW"]},
        compressor={"mass_flow": [1.5, 2, 3, 4, 5, 6, 7, 8, 9, 10]},
        house={"load": "6 kW", "design_load": "26000 Btu/h", "design_temp": "5 degF"},
    )
    (tmp_path / "unit.toml").write_text(unit_toml(told), encoding="utf-8")
    unit = read_unit(tmp_path / "unit.toml")
    assert unit.ratings == told.unit.ratings
    assert unit.backup.stages_w == pytest.approx((5000.0, 3000.0))
    assert unit.compressor.mass_flow == pytest.approx((1.5, 2, 3, 4, 5, 6, 7, 8, 9, 10))
    # The house that the bench heats stays with the bench; what a person was told goes out.
    assert unit.house.design_load_w == pytest.approx(26000 * 0.29307107, rel=1e-6)
    assert "load = " not in unit_toml(told).replace("design_load = ", "")


def test_a_key_of_the_house_that_is_neither_s_is_told():
    with pytest.raises(InputError, match=r"house\.design_loud is not a key of \[house\]"):
        read(house={"design_loud": "6 kW"})
