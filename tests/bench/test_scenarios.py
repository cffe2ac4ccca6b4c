"""The shipped course: it runs, its balances close, its files come back, and `check` is right about it.

The share that is right is about the bench's own runs, apart from the checks against the outside.
"""

import itertools
import json

import numpy as np
import pytest

from bench.course import compared, faulty_run, shipped_run
from firstfrost.bench.faults import FAULTS
from firstfrost.bench.plant.balance import balance
from firstfrost.bench.scenario.instruments import INSTRUMENT_FAULTS
from firstfrost.bench.scenario.phases import PHASES
from firstfrost.bench.scenario.read import read_scenario, shipped
from firstfrost.bench.scenario.standings import RULES
from firstfrost.bench.scenario.write import FILES, run_scenario, write_run
from firstfrost.cli.demo_command import DATA as DEMO
from firstfrost.equipment.read import read_unit
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace

NAMES = shipped()


def test_the_course_is_long_enough_and_in_order():
    assert len(NAMES) >= 22
    assert [int(name.partition("-")[0]) for name in NAMES] == list(range(1, len(NAMES) + 1))
    assert NAMES[-1].partition("-")[2].startswith("exam")


@pytest.mark.parametrize("name", NAMES)
def test_each_lesson_says_what_it_is_for(name):
    scenario = read_scenario(name)
    assert scenario.title != name
    assert len(scenario.title) <= 60
    assert len(scenario.lesson) > 80
    assert scenario.look_for
    assert all(scenario.look_for)


@pytest.mark.parametrize("name", NAMES)
def test_balances_close(name):
    done = shipped_run(name)
    closes = balance(done.played.plant, done.played.run.states)
    assert closes.energy_error < 1e-3
    assert closes.water_error < 1e-4
    assert closes.refrigerant_error < 1e-4


@pytest.mark.parametrize("name", NAMES)
def test_the_files_come_back(name, tmp_path):
    done = shipped_run(name)
    paths = write_run(done, tmp_path)
    assert [path.name for path in paths] == [
        n for n in FILES if n != "marks.csv" or done.record.marks is not None
    ]
    unit = read_unit(tmp_path / "unit.toml")
    assert unit == done.played.scenario.unit
    reading = read_trace(
        [tmp_path / "trace.csv"],
        atmosphere_pa=unit.site.atmosphere_pa,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    )
    trace = done.record.trace
    assert set(reading.trace.columns) == set(trace.columns)
    assert reading.trace.time_s == pytest.approx(trace.time_s, abs=1e-6)
    for channel, values in trace.columns.items():
        # Three digits in units of people: a thousandth of a psi is 7 Pa.
        assert reading.trace.columns[channel] == pytest.approx(values, rel=1e-6, abs=6e-4, nan_ok=True) or (
            channel.endswith("pressure")
            and reading.trace.columns[channel] == pytest.approx(values, abs=4.0, nan_ok=True)
        )
    if done.record.marks is not None:
        assert read_marks(tmp_path / "marks.csv", trace=reading.trace).marks == done.record.marks
    truth = json.loads((tmp_path / "truth.json").read_text(encoding="utf-8"))
    assert truth == json.loads(json.dumps(done.truth))
    assert {phase["name"] for phase in truth["phases"]} <= set(PHASES)


def test_a_run_into_a_used_folder_leaves_no_marks_of_another(tmp_path):
    write_run(shipped_run(NAMES[0]), tmp_path)
    assert (tmp_path / "marks.csv").exists()
    write_run(shipped_run("04-nobody-wrote-it-down"), tmp_path)
    assert not (tmp_path / "marks.csv").exists()


@pytest.mark.parametrize("name", [NAMES[0], "10-damp-night", "30-logger-with-holes"])
def test_a_seed_gives_the_same_bytes(name, tmp_path):
    write_run(run_scenario(read_scenario(name)), tmp_path / "a")
    write_run(run_scenario(read_scenario(name)), tmp_path / "b")
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()


def test_phases_have_no_holes_and_defrosts_are_the_boards():
    done = shipped_run("02-first-frost")
    spans = done.truth["phases"]
    assert all(a["end"] == b["start"] for a, b in itertools.pairwise(spans))
    board = [t for t, v in done.played.run.switches("mode") if v == 3.0]
    assert [d.start_s for d in done.look.defrosts] == board
    assert [p["start"] for p in spans if p["name"] == "defrost"] == [
        d["start"] for d in done.truth["defrosts"]
    ]


def test_the_truth_names_the_functions_of_the_ledger():
    assert tuple(RULES) == FUNCTIONS


def test_the_first_lesson_is_fit_for_the_demo():
    found = {function: standing for function, _, _, standing in compared(shipped_run(NAMES[0]))}
    assert found["timer_counts"] == found["defrost_starts"] == "prompted"
    assert found["fan_stops"] == "bypassed"
    assert found["coil_clears"] == "unseen"
    assert {found[name] for name in FUNCTIONS[:2]} == {"shown"}
    assert "failed" not in found.values()


def test_the_demo_is_the_first_lesson(tmp_path):
    """Run `python scripts/make_demo.py` where it is not."""
    write_run(shipped_run(NAMES[0]), tmp_path)
    made = (tmp_path / "trace.csv").read_text(encoding="utf-8").splitlines()[1:]
    told = (DEMO / "trace.csv").read_text(encoding="utf-8").splitlines()
    assert told[0] == made[0]
    assert len(told) == len(made)
    for one, other in zip(told[1::60], made[1::60], strict=True):
        assert one.split(",")[0] == other.split(",")[0]
        numbers = [[float(cell or "nan") for cell in row.split(",")[1:]] for row in (one, other)]
        # Another processor may round its last digit the other way.
        assert numbers[0] == pytest.approx(numbers[1], abs=0.15, nan_ok=True)
    for name in ("unit.toml", "marks.csv"):
        assert (DEMO / name).read_text(encoding="utf-8") == (tmp_path / name).read_text(encoding="utf-8")


def test_check_is_right_about_the_course():
    rows = [(name, *row) for name in NAMES for row in compared(shipped_run(name))]
    wrong = [row for row in rows if row[4] not in row[3]]
    assert [row for row in wrong if row[4] == "shown"] == []
    assert len(wrong) <= 0.01 * len(rows), wrong


@pytest.mark.parametrize("name", ["01-mild-day-visit", "02-first-frost", "08-thermostat-cycles"])
def test_check_is_right_about_every_fault_alone(name):
    """Every fault in every scenario: `python -m bench.sweep`, its run in docs/accuracy.md."""
    faults = {**FAULTS, **INSTRUMENT_FAULTS}
    rows = [
        (name, fault, *one)
        for fault, row in faults.items()
        for one in compared(faulty_run(name, fault, row.usual))
    ]
    wrong = [row for row in rows if row[5] not in row[4]]
    assert [row for row in wrong if row[5] == "shown"] == []
    assert len(wrong) <= 0.01 * len(rows), wrong


@pytest.mark.parametrize(
    ("name", "fault", "function", "standing"),
    [
        ("01-mild-day-visit", "sensor-stuck-open", "sensor_closes", "failed"),
        ("02-first-frost", "sensor-stuck-closed", "sensor_opens", "failed"),
        ("02-first-frost", "fan-relay-welded", "fan_stops", "failed"),
        ("02-first-frost", "backup-not-wired", "backup_runs", "failed"),
        ("02-first-frost", "reversing-valve-stuck-heating", "valve_shifts", "failed"),
        ("02-first-frost", "board-dead", "defrost_starts", "failed"),
        ("02-first-frost", "timer-fast", "timer_counts", "failed"),
    ],
)
def test_a_fault_makes_its_own_function_fail(name, fault, function, standing):
    done = faulty_run(name, fault, FAULTS[fault].usual)
    assert done.truth["functions"][function]["standing"] == standing
    assert done.truth["faults"][0]["name"] == fault


def test_instrument_faults_leave_the_machine_alone():
    sound = shipped_run(NAMES[0])
    for fault, row in INSTRUMENT_FAULTS.items():
        done = faulty_run(NAMES[0], fault, row.usual)
        assert np.array_equal(done.played.run.states, sound.played.run.states)
        for channel in sound.record.trace.columns:
            same = np.array_equal(
                done.record.trace.columns[channel], sound.record.trace.columns[channel], equal_nan=True
            )
            assert same == (channel not in row.channels)
        moved = [b.time_s - a.time_s for a, b in zip(sound.record.marks, done.record.marks, strict=True)]
        assert moved == pytest.approx([row.apart_s * row.usual] * len(moved), abs=1.0)


def test_without_marks_nothing_gets_better():
    order = ("shown", "prompted", "doubtful", "bypassed", "unseen")
    fault, row = "outdoor-coil-fouled", FAULTS["outdoor-coil-fouled"]
    with_marks = {f: s for f, _, _, s in compared(faulty_run(NAMES[0], fault, row.usual))}
    without = {f: s for f, _, _, s in compared(faulty_run(NAMES[0], fault, row.usual, "none"))}
    for function, standing in without.items():
        if standing != "failed" and with_marks[function] != "failed":
            assert order.index(standing) >= order.index(with_marks[function])
