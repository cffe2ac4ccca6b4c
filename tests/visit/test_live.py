import json
import math
import random
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from made.make import make
from made.visit import write

from firstfrost.equipment.read import read_unit
from firstfrost.equipment.stop import stop_limit
from firstfrost.phases.samples import rows
from firstfrost.trace.feed import LiveReader
from firstfrost.trace.marks import Mark
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace
from firstfrost.visit.as_json import as_json
from firstfrost.visit.check import check_trace
from firstfrost.visit.live import REPEAT_S, LiveVisit

SITUATIONS = (
    "mild day",
    "mild day, other kits",
    "cold day left alone",
    "sensor jumpered, no marks",
    "high-pressure trip",
    "gap over the termination",
    "clock jumps ahead",
    "probes fall off",
    "minisplit, coil and air only",
    "power and supply air only",
    "record starts in a defrost",
    "typed readings",
)


def live(folder, marks=True, *, seed=0, judge=True):
    """Follow the files of a visit in pieces: the visit, its notices, and its result."""
    unit = read_unit(folder / "unit.toml")
    pieces = random.Random(seed)
    reader = LiveReader(atmosphere_pa=unit.site.atmosphere_pa, zone=unit.site.zone, source="trace.csv")
    path = folder / "marks.csv"
    visit, notices = LiveVisit(unit, zone=unit.site.zone), []
    raw = (folder / "trace.csv").read_bytes()

    def take(samples):
        for sample in samples:
            if not len(visit):
                if reader.epoch is not None:
                    visit.epoch = datetime.fromtimestamp(reader.epoch, UTC)
                if marks and path.exists():
                    visit.mark(read_marks(path, trace=whole.trace).marks)
            notices.extend(visit.push(sample.time_s, sample.readings, judge=judge))

    whole = read_trace(
        [folder / "trace.csv"],
        atmosphere_pa=unit.site.atmosphere_pa,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    )
    while raw:
        size = pieces.choice((1, 17, 900, 9000))
        take(reader.feed(raw[:size]))
        raw = raw[size:]
    take(reader.close())
    reading = reader.reading(refrigerant=unit.refrigerant)
    result = visit.finish(reading.trace, reading.receipt)
    known = read_marks(path, trace=whole.trace).marks if marks and path.exists() else None
    return visit, notices, result, check_trace(whole.trace, unit, known, whole.receipt)


@pytest.mark.parametrize("situation", SITUATIONS)
def test_the_end_of_a_live_visit_is_the_result_of_check(situation, tmp_path):
    write(make(situation, 3), tmp_path)
    _, _, result, checked = live(tmp_path)
    assert json.dumps(as_json(result)) == json.dumps(as_json(checked))


@pytest.mark.parametrize("situation", ["mild day", "cold day left alone", "high-pressure trip"])
def test_the_live_fold_has_read_the_very_samples_of_the_batch(situation, tmp_path):
    write(make(situation, 3), tmp_path)
    visit, _, result, _ = live(tmp_path, judge=False)
    batch = rows(result.trace, result.cycle, result.marks)
    assert np.array_equal(batch, np.array(visit._pushed), equal_nan=True)
    assert visit._events(result.trace) is visit.finder.events


def test_each_standing_comes_as_a_notice_and_the_last_ones_are_those_of_the_result(tmp_path):
    write(make("mild day", 3), tmp_path)
    visit, notices, result, _ = live(tmp_path)
    notices += visit.judge()
    told = {finding.function: "unseen" for finding in result.findings}
    for notice in notices:
        if notice.kind == "standing":
            assert notice.was == told[notice.finding.function]
            assert notice.finding.standing != notice.was
            told[notice.finding.function] = notice.finding.standing
    assert told == {finding.function: finding.standing for finding in result.findings}
    firsts = [notice.time_s for notice in notices if notice.kind == "standing"]
    assert firsts[0] < result.trace.time_s[-1] - 300.0


def test_the_course_is_told_as_it_changes(tmp_path):
    write(make("mild day", 3), tmp_path)
    _, notices, result, _ = live(tmp_path)
    courses = [(notice.course, notice.time_s) for notice in notices if notice.kind == "course"]
    assert [course for course, _ in courses][:4] == ["off", "heating", "chilldown", "turned"]
    turned = next(when for course, when in courses if course == "turned")
    assert result.defrosts[0].start_s <= turned <= result.defrosts[0].end_s


def test_the_stop_warning_comes_before_the_ceiling_and_is_repeated(tmp_path):
    write(make("high-pressure trip", 3), tmp_path)
    visit, notices, result, _ = live(tmp_path, judge=False)
    limit = stop_limit(visit.unit)
    over = float(result.trace.time_s[int(np.argmax(result.cycle.high_pressure_pa >= limit.pressure_pa))])
    stops = [notice for notice in notices if notice.kind == "stop"]
    assert 15.0 <= over - stops[0].time_s <= 60.0
    gaps = np.diff([notice.time_s for notice in stops])
    assert gaps.min() >= REPEAT_S
    assert gaps.max() <= REPEAT_S + 2 * result.trace.sampling_s
    lefts = [notice.danger.seconds_left for notice in stops]
    assert lefts[0] > lefts[-1] == 0.0
    assert [notice.kind for notice in notices if notice.kind == "clear"] == ["clear"]


@pytest.mark.parametrize("situation", ["mild day", "plain cycling"])
def test_a_visit_that_stays_far_below_is_never_warned_of(situation, tmp_path):
    write(make(situation, 3), tmp_path)
    _, notices, _, _ = live(tmp_path, judge=False)
    assert not [notice for notice in notices if notice.kind in ("stop", "clear")]


def test_marks_that_come_during_the_visit_count_from_its_start(tmp_path):
    write(make("mild day", 3), tmp_path)
    _, _, _, checked = live(tmp_path)
    unit = checked.unit
    visit = LiveVisit(unit, zone=unit.site.zone)
    names = list(checked.trace.columns)
    for i, t in enumerate(checked.trace.time_s.tolist()):
        if i == len(checked.trace) // 2:
            visit.mark(checked.marks)
        visit.push(t, {name: float(checked.trace.columns[name][i]) for name in names})
    result = visit.finish(checked.trace, checked.receipt)
    assert json.dumps(as_json(result)) == json.dumps(as_json(checked))


def test_a_mark_taken_back_is_taken_back(tmp_path):
    write(make("mild day", 3), tmp_path)
    _, _, _, checked = live(tmp_path)
    visit = LiveVisit(checked.unit, (Mark(time_s=0.0, act="sensor-jumpered"),))
    visit.mark(())
    visit.push(0.0, {"outdoor_coil_temp": 1.0})
    assert visit._marks == ()


def test_a_channel_that_begins_late_is_missing_before(tmp_path):
    write(make("mild day", 3), tmp_path)
    _, _, _, checked = live(tmp_path)
    visit = LiveVisit(checked.unit)
    visit.push(0.0, {"outdoor_coil_temp": 1.0})
    visit.push(1.0, {"outdoor_air_temp": 2.0})
    trace = visit.trace()
    assert [math.isnan(v) for v in trace.get("outdoor_coil_temp")] == [False, True]
    assert [math.isnan(v) for v in trace.get("outdoor_air_temp")] == [True, False]


def test_a_turned_circuit_without_high_side_is_told_once(tmp_path):
    write(make("cold day left alone", 3), tmp_path)
    _, _, _, checked = live(tmp_path)
    trace = checked.trace
    keep = {
        name: column
        for name, column in trace.columns.items()
        if name not in ("discharge_pressure", "liquid_pressure", "suction_pressure")
    }
    trace = replace(trace, columns=keep)
    visit = LiveVisit(checked.unit)
    notices = []
    for i, t in enumerate(trace.time_s.tolist()):
        readings = {name: float(column[i]) for name, column in keep.items()}
        notices += visit.push(t, readings, judge=False)
    assert [notice.kind for notice in notices if notice.kind != "course"] == ["blind"]
