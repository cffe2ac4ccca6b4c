"""What a result says beside its standings: warnings about the record, and cautions for the person."""

from __future__ import annotations

import numpy as np
import pytest
from drawn import END_S, START_S, acts, check, cold_trace, steps, unit, with_gap

from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.refrigerants import REFRIGERANTS
from firstfrost.trace.trace import Trace
from firstfrost.visit.cautions import cautions
from firstfrost.visit.check import usable

NO_MARKS = (
    "No marks were given, so what a person may have done is not known. Give a marks file, even an empty one."
)


def test_a_sound_record_with_marks_is_warned_of_nothing() -> None:
    assert check(cold_trace()).warnings == ()


def test_missing_marks_are_said() -> None:
    assert check(cold_trace(), None).warnings == (NO_MARKS,)


def test_gaps_are_counted_and_the_longest_is_given() -> None:
    trace = with_gap(with_gap(cold_trace(), 300, 400), 1600, 1650)
    assert check(trace).warnings == ("Readings are missing 2 times, for up to 101 s.",)


def test_swapped_hoses_are_said() -> None:
    trace = cold_trace()
    columns = dict(trace.columns)
    columns["suction_pressure"], columns["discharge_pressure"] = (
        columns["discharge_pressure"],
        columns["suction_pressure"],
    )
    found = check(Trace(time_s=trace.time_s, columns=columns)).warnings
    assert (
        "The suction pressure lies above the high side for long: check which probe is on which port." in found
    )


def test_pressures_outside_the_tables_are_counted() -> None:
    trace = cold_trace()
    high = trace.get("discharge_pressure").copy()
    high[100:103] = 7.9e6
    found = check(Trace(time_s=trace.time_s, columns={**trace.columns, "discharge_pressure": high})).warnings
    assert (
        "3 pressure readings lie outside the property tables of R-410A. Check the refrigerant, or the unit "
        "of the readings." in found
    )


def test_a_fan_that_stands_while_the_unit_heats_is_said_unless_a_mark_does() -> None:
    still = cold_trace(fan_current=steps(0.9, (300, 0.0), (700, 0.9), (START_S, 0.0), (END_S, 0.9)))
    warning = "The outdoor fan stands still while the unit heats, and no mark says that this was on purpose."
    stands = cold_trace(fan_current=steps(0.9, (200, 0.0)))
    assert warning in check(stands).warnings
    assert warning not in check(still, acts((300, "fan-lead-off"), (700, "fan-lead-on"))).warnings


def test_an_empty_trace_is_judged_as_unseen() -> None:
    empty = Trace(time_s=np.array([]), columns={"power": np.array([])})
    result = check(empty)
    assert result.warnings == ("The record holds no sample.",)
    assert [f.function for f in result.findings] == list(FUNCTIONS)
    assert {f.standing for f in result.findings} == {"unseen"}
    assert not usable(empty)
    assert usable(cold_trace())


def test_a_single_sample_claims_nothing() -> None:
    trace = cold_trace()
    one = Trace(time_s=trace.time_s[:1], columns={n: c[:1] for n, c in trace.columns.items()})
    assert {f.standing for f in check(one).findings} == {"unseen"}


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_every_refrigerant_has_its_cautions(name: str) -> None:
    codes = [caution.code for caution in cautions(name)]
    assert codes[:3] == ["voltage", "fan", "pressure"]
    assert codes[-1] == "law"
    assert ("flammable" in codes) is (name in ("R-32", "R-454B", "R-290"))


def test_cautions_name_the_class_and_defer_to_makers_codes_and_licences() -> None:
    texts = {caution.code: caution.text for caution in cautions("R-32")}
    assert "mildly flammable (A2L)" in texts["flammable"]
    assert "highly flammable (A3)" in {c.code: c.text for c in cautions("R-290")}["flammable"]
    for word in ("maker's instructions", "local codes", "licensed"):
        assert word in texts["law"]
    assert "never block or bridge a high-pressure switch" in texts["pressure"]


def test_a_result_names_the_unit_it_was_judged_for() -> None:
    machine = unit(("R-410A", "R-32"))
    result = check(cold_trace(), (), machine)
    assert result.unit.refrigerant == "R-32"
    assert "flammable" in {caution.code for caution in result.cautions}
