"""Readings typed in by hand: understood, refused with what to do, and counted."""

import math
import re

import pytest

from firstfrost.causes.acts import ACT, ACTS
from firstfrost.causes.readings import LOOKED, TYPED, agree, channels_for, read_readings, state, typed_for
from firstfrost.equipment.read import default_unit, unit_from
from firstfrost.errors import FirstfrostError

UNIT = unit_from({"unit": {"refrigerant": "R-410A", "nominal_capacity": "10 kW"}}, source="test")


def test_a_number_is_converted_and_has_an_uncertainty():
    (one,) = read_readings(["airflow = 1000 cfm"], UNIT)
    assert one.feature == "airflow_log"
    assert one.seen.value == pytest.approx(math.log(0.471947 / 10000.0), abs=1e-4)
    assert one.seen.u == pytest.approx(0.06)
    assert one.seen.typed


def test_its_own_uncertainty_goes_first():
    (one,) = read_readings(["superheat = 18 delta_degF ± 1.8 delta_degF"], UNIT)
    assert one.seen.value == pytest.approx(10.0)
    assert one.seen.u == pytest.approx(1.0)
    (other,) = read_readings(["filter_drop = 0.5 inH2O +/- 10 %"], UNIT)
    assert other.seen.u == pytest.approx(0.1)


def test_a_word_is_taken_as_it_is():
    (one,) = read_readings(["filter_look=dirty"], UNIT)
    assert (one.feature, one.seen.value) == ("filter_look", "dirty")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("airflow", "is not of the form NAME = VALUE. Expected such as"),
        ("airflow = 1000", "1000"),
        ("airflow = 1000 psi", "1000 cfm"),
        ("airflow = 90000 cfm", "lies outside 20 cfm to 5000 cfm"),
        ("mood = good", "'mood' is no reading that can be typed. Expected one of: air_side"),
        ("filter_look = grey", "Expected one of: clean, dirty. Take one of these words"),
        ("airflow = 900 cfm ± 0 cfm", "uncertainty that is not above 0"),
    ],
)
def test_what_cannot_be_used_is_told(text, match):
    with pytest.raises(FirstfrostError, match=re.escape(match)):
        read_readings([text], UNIT)


def test_all_mistakes_are_told_at_once():
    with pytest.raises(FirstfrostError) as caught:
        read_readings(["mood = good", "filter_look = grey"], UNIT)
    assert "mood" in str(caught.value)
    assert "grey" in str(caught.value)


def test_one_reading_is_given_once():
    with pytest.raises(FirstfrostError, match="gives airflow_log twice"):
        read_readings(["airflow = 900 cfm", "airflow = 950 cfm"], UNIT)


def test_what_goes_with_the_size_needs_the_size():
    bare = default_unit("R-410A")
    with pytest.raises(FirstfrostError, match="Write nominal_capacity under \\[unit\\]"):
        read_readings(["airflow = 900 cfm"], bare)
    assert read_readings(["filter_drop = 60 Pa"], bare)[0].seen.value == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("act", "typed", "channels"),
    [
        ("look-filter", ("filter_look",), ()),
        ("static-pressure", ("filter_drop", "coil_drop"), ()),
        # Capacity only follows from the airflow, with more beside it.
        ("airflow", ("airflow",), ()),
        ("fan-amps", ("fan_current", "fan_heating", "fan_defrost"), ()),
        ("backup-amps", ("backup_power", "backup_heating", "backup_defrost"), ()),
        ("air-temps", ("temperature_rise", "air_side"), ()),
        ("suction-gauge", (), ("suction_pressure",)),
        ("vapor-temp", ("vapor_line", "vapor_defrost"), ("vapor_line_temp",)),
        ("sensor-volts", (), ("sensor_voltage",)),
        ("defrost", (), ()),
    ],
)
def test_an_act_is_answered_by_what_it_reads(act, typed, channels):
    assert (typed_for(ACT[act]), channels_for(ACT[act])) == (typed, channels)


def test_every_act_but_a_defrost_can_be_answered_and_gives_what_is_typed_for_it():
    for act in ACTS:
        answers = typed_for(act)
        assert bool(answers or channels_for(act)) == (act.name not in ("defrost", "whole-interval"))
        assert {TYPED[name].feature if name in TYPED else name for name in answers} <= set(act.features)
    # Whatever the eye alone can tell has an act that asks for it.
    looks = {name for name in LOOKED if name.endswith(("_look", "_clamp", "_zero", "_seat"))}
    assert looks <= {name for act in ACTS for name in typed_for(act)}


def test_two_words_agree_when_they_are_the_same_and_two_numbers_within_twice_their_joint_uncertainty():
    def said(text):
        name, _, value = text.partition(" = ")
        return state(name, value, text)

    assert agree(said("filter_look = dirty"), said("filter_look = dirty"))
    assert not agree(said("filter_look = dirty"), said("filter_look = clean"))
    # GUM 2008, 5.1.2: of two that are independent, u of the difference is the root of the sum of squares.
    # Here 2 (3^2 + 4^2)^0.5 = 10 A.
    first = said("compressor_current = 60 A ± 3 A")
    assert agree(first, said("compressor_current = 69.9 A ± 4 A"))
    assert not agree(first, said("compressor_current = 70.1 A ± 4 A"))
