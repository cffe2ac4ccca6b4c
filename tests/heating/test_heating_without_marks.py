"""A record without marks never earns a better standing in the heating check than the same one with them."""

import tomllib

import pytest
from made.make import make
from made.situations import SITUATIONS

from firstfrost.equipment.read import unit_from
from firstfrost.visit.check import check_trace

BEST = ("shown", "doubtful", "unseen")
PLATES = {
    "targets": {"superheat": "10 delta_degF", "subcooling": "12 delta_degF"},
    "airflow": {"measured": "1000 cfm", "measured_accuracy": "5 %"},
    "ratings": {
        "capacity_47": "27000 Btu/h",
        "capacity_17": "16500 Btu/h",
        "power_47": "2.9 kW",
        "power_17": "2.5 kW",
    },
}


@pytest.mark.parametrize("situation", [name for name in SITUATIONS if "unit" not in name])
def test_no_marks_no_better_standing(situation):
    visit = make(situation, 7)
    if visit.recorder.wrong_units or not visit.marks:
        pytest.skip("no marks to take away")
    content = tomllib.loads(visit.unit_toml)
    content.update(PLATES)
    unit = unit_from(content, source="the made unit")
    known = check_trace(visit.trace, unit, visit.marks).heating
    unknown = check_trace(visit.trace, unit, None).heating
    for with_marks, without in zip(known.numbers, unknown.numbers, strict=True):
        if with_marks.standing == "failed" or without.standing == "failed":
            assert (without.standing, with_marks.standing) != ("shown", "failed"), without.name
            continue
        assert BEST.index(without.standing) >= BEST.index(with_marks.standing), without.name
