"""Readings typed in by hand: understood, refused with what to do, and counted."""

import math
import re

import pytest

from firstfrost.causes.readings import read_readings
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
