"""The made visits themselves: same seed same visit, sound physics, sound labels."""

import numpy as np
import pytest

from firstfrost.equipment.read import read_unit
from firstfrost.proofs.finding import BEST_FIRST, FUNCTIONS
from firstfrost.trace.marks import ACTS
from firstfrost.trace.reader import read_trace
from made import SITUATIONS, MadeVisit, make, write
from made.look import overall


@pytest.mark.parametrize("name", SITUATIONS)
def test_each_situation_gives_a_sound_visit(name: str) -> None:
    visit = make(name, 7)
    log, truth = visit.log, visit.truth
    assert len(visit.trace) >= 10
    assert tuple(truth.standings) == FUNCTIONS
    for accepted in truth.standings.values():
        assert accepted
        assert set(accepted) <= {*BEST_FIRST, "failed"}
    assert {mark.act for mark in visit.marks or ()} <= set(ACTS)
    running = np.convolve(log["compressor"], np.ones(241), mode="valid") > 240.5
    high, low = log["high"][240:][running], log["low"][240:][running]
    turning = (
        np.convolve(np.abs(np.diff(log["valve"], prepend=log["valve"][0])), np.ones(241), mode="valid") > 0
    )
    assert (high > low)[~turning[running]].all(), "the compressor's discharge lies above its suction"
    assert (log["frost"] >= 0.0).all()
    for phase, after in zip(truth.phases[:-1], truth.phases[1:], strict=True):
        assert phase.end_s == after.start_s
        assert phase.name != after.name
    in_defrost = sum(p.end_s - p.start_s for p in truth.phases if p.name == "defrost")
    assert in_defrost == pytest.approx(
        sum(d.end_s - d.start_s for d in truth.defrosts), abs=1.5 * len(truth.phases)
    )


def test_the_same_seed_gives_the_same_visit() -> None:
    one, two, other = make("mild day", 3), make("mild day", 3), make("mild day", 4)
    assert one.marks == two.marks
    assert one.unit_toml == two.unit_toml
    for name, column in one.trace.columns.items():
        np.testing.assert_array_equal(column, two.trace.columns[name])
    assert len(other.trace) != len(one.trace) or other.unit_toml != one.unit_toml


def _firsts(name: str, seed: int = 5) -> dict[str, str]:
    return {function: accepted[0] for function, accepted in make(name, seed).truth.standings.items()}


@pytest.mark.parametrize(
    ("name", "function", "standing"),
    [
        ("mild day", "fan_stops", "bypassed"),
        ("mild day", "timer_counts", "prompted"),
        ("mild day, no marks", "defrost_starts", "doubtful"),
        ("two whole intervals", "timer_counts", "shown"),
        ("sensor jumpered", "sensor_closes", "bypassed"),
        ("sensor never closes", "sensor_closes", "failed"),
        ("sensor never opens", "ends_by_sensor", "failed"),
        ("board dead, pins bridged", "defrost_starts", "failed"),
        ("board dead in the cold", "timer_counts", "failed"),
        ("valve does not shift", "valve_shifts", "failed"),
        ("valve does not return", "valve_returns", "failed"),
        ("fan does not come back", "fan_returns", "failed"),
        ("fan runs in defrost", "fan_stops", "failed"),
        ("no backup heat", "backup_runs", "failed"),
        ("backup on before", "backup_runs", "doubtful"),
        ("ended by time", "coil_clears", "failed"),
        ("gap over the termination", "ends_by_sensor", "unseen"),
        ("call removed in defrost", "valve_returns", "unseen"),
        ("plain cycling", "valve_shifts", "unseen"),
    ],
)
def test_a_situation_brings_what_it_is_named_for(name: str, function: str, standing: str) -> None:
    assert _firsts(name)[function] == standing


def test_failed_outweighs_and_else_the_best_counts() -> None:
    assert overall([("shown",), ("failed",)]) == ("failed",)
    assert overall([("bypassed",), ("prompted",)]) == ("prompted",)
    assert overall([("doubtful", "shown"), ("unseen",)]) == ("doubtful", "shown")
    assert overall([]) == ("unseen",)


def test_the_peak_of_a_trip_is_the_switch() -> None:
    visit: MadeVisit = make("high-pressure trip", 2)
    (defrost,) = visit.truth.defrosts
    assert defrost.ended_by == "pressure"
    assert 55.5 < defrost.peak_dew_c < 61.0


def test_written_files_are_complete(tmp_path) -> None:  # type: ignore[no-untyped-def]
    visit = make("mild day", 1)
    path = write(visit, tmp_path)
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) == len(visit.trace) + 1
    assert lines[0].startswith("time [s],suction_pressure [")
    assert (tmp_path / "marks.csv").read_text(encoding="utf-8").count("\n") == len(visit.marks or ()) + 1
    assert "[coil_sensor]" in (tmp_path / "unit.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "seed"), [("mild day", 1), ("rests between", 2), ("cooling season", 3)])
def test_written_files_read_back_as_the_trace(tmp_path, name: str, seed: int) -> None:  # type: ignore[no-untyped-def]
    visit = make(name, seed)
    path = write(visit, tmp_path)
    unit = read_unit(tmp_path / "unit.toml")
    back = read_trace([path], atmosphere_pa=unit.site.atmosphere_pa).trace
    np.testing.assert_allclose(back.time_s, visit.trace.time_s, atol=0.006)
    assert set(back.columns) == set(visit.trace.columns)
    for channel, values in visit.trace.columns.items():
        tolerance = 60.0 if channel.endswith("_pressure") else 0.51 if channel == "power" else 0.02
        np.testing.assert_allclose(back.get(channel), values, atol=tolerance, rtol=0.0, err_msg=channel)
