"""The causes of the shipped course: what a teacher's class would see."""

import pytest
from bench.course import shipped_run

from firstfrost.causes.readings import read_readings
from firstfrost.visit.check import check_trace

SOUND = (
    "01-mild-day-visit", "02-first-frost", "04-nobody-wrote-it-down", "05-covered-coil", "06-cold-and-dry",
    "11-first-call-of-the-day", "13-blend-with-glide", "14-small-unit-r32", "15-old-fixed-orifice",
    "30-logger-with-holes",
)  # fmt: skip
FAULTY = {
    "16-sensor-never-closes": "sensor-stuck-open",
    "17-sensor-stuck-closed": "sensor-stuck-closed",
    "18-sensor-out-of-place": "sensor-out-of-place",
    "20-welded-fan-relay": "fan-relay-welded",
    "21-valve-that-stays": "reversing-valve-stuck-heating",
    "23-cold-air-in-the-house": "backup-not-wired",
    "24-dead-board": "board-dead",
    "25-fast-clock": "timer-fast",
    "26-low-on-charge": "charge-low",
    "27-dirty-filter": "filter-blocked",
}


def judged(name, *readings):
    done = shipped_run(name)
    unit = done.played.scenario.unit
    return check_trace(
        done.record.trace, unit, done.record.marks, readings=read_readings(readings, unit)
    ).causes


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_machine_is_accused_of_nothing(name):
    causes = judged(name)
    assert causes.verdict == "sound"
    assert causes.first.names == ("sound",)
    assert not causes.worth_showing


@pytest.mark.parametrize("name", FAULTY)
def test_a_faulty_machine_has_its_fault_first(name):
    causes = judged(name)
    assert causes.verdict == "cause"
    assert causes.first.names == (FAULTY[name],)
    assert causes.first.speaks_for
    assert causes.first.remedy


def test_two_faults_are_told_as_two():
    first = judged("31-exam-one").first
    assert set(first.names) == {"sensor-opens-cold", "backup-not-wired"}


def test_a_reading_typed_in_moves_the_ranking_and_is_not_asked_for_again():
    def filter_of(causes):
        return next(one.probability for one in causes.answers if one.names == ("filter-blocked",))

    before = judged("27-dirty-filter")
    assert {one.act.name for one in before.next_readings} & {"look-filter", "static-pressure"}
    after = judged("27-dirty-filter", "filter_look = dirty", "filter_drop = 1.1 inH2O")
    assert filter_of(after) > filter_of(before) + 0.1
    assert after.worth_showing
    assert "look-filter" not in {one.act.name for one in after.next_readings}
    clean = judged("27-dirty-filter", "filter_look = clean")
    assert clean.first.names != ("filter-blocked",) or clean.first.probability < filter_of(before)


def test_the_same_visit_gets_the_same_advice():
    assert judged("27-dirty-filter") == judged("27-dirty-filter")
