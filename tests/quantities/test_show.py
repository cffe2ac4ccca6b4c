import math

import pytest

from firstfrost.errors import UnitError
from firstfrost.quantities import parse, show, show_measured, show_time
from firstfrost.quantities.show import places_for

ATMOSPHERE = 101_325.0


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (53.55, "temperature", "us", "128.4 degF"),
        (53.55, "temperature", "si", "53.5 degC"),
        (-0.001, "temperature", "si", "0.0 degC"),
        (5.0, "temperature_difference", "us", "9.0 degF"),
        (5.0, "temperature_difference", "si", "5.0 K"),
        (2.5e6, "pressure", "us", "348 psig"),
        (2.5e6, "pressure", "si", "2399 kPa(g)"),
        (2.5e6, "pressure_gauge", "us", "363 psig"),
        (101325.0, "pressure_absolute", "us", "14.7 psia"),
        (124.54, "pressure_difference", "us", "0.50 in w.c."),
        (0.8, "humidity", "us", "80 %"),
        (24.3, "voltage", "us", "24.3 V"),
        (1.234, "current", "us", "1.23 A"),
        (2345.6, "power", "us", "2346 W"),
        (8792.132, "Btu/h", "us", "30000 Btu/h"),
        (8792.132, "ton_refrigeration", "us", "2.500 ton_refrigeration"),
        (0.4719474, "flow", "us", "1000 cfm"),
        (1.0, "switch", "us", "on"),
        (250.0, "time", "us", "4 min 10 s"),
        (math.nan, "temperature", "us", "not known"),
        (math.nan, "time", "us", "not known"),
    ],
)
def test_a_value_as_text(value, kind, system, text):
    assert show(value, kind, system, atmosphere_pa=ATMOSPHERE) == text


@pytest.mark.parametrize(
    ("span", "text"),
    [
        (0.0, "0 s"),
        (8.46, "8.5 s"),
        (9.97, "10 s"),
        (42.0, "42 s"),
        (59.6, "1 min"),
        (60.0, "1 min"),
        (250.4, "4 min 10 s"),
        (3599.7, "1 h"),
        (4320.0, "1 h 12 min"),
        (-250.0, "-4 min 10 s"),
        (-3.0, "-3 s"),
        (math.inf, "without end"),
    ],
)
def test_a_time_span_as_text(span, text):
    assert show_time(span) == text


@pytest.mark.parametrize("span", [1.0, 42.0, 250.0, 4320.0, 7260.0])
def test_a_time_span_reads_back(span):
    assert parse(show_time(span), "time") == span


@pytest.mark.parametrize(
    ("value", "expanded", "kind", "text"),
    [
        (53.55, 0.5, "temperature", "128.4 ± 0.9 degF"),
        (53.55, 0.12, "temperature", "128.39 ± 0.22 degF"),
        (53.55, 5.4, "temperature", "128 ± 10 degF"),
        (2.5e6, 24.25e3, "pressure", "347.9 ± 3.5 psig"),
        (1.0, 0.097, "voltage", "1.00 ± 0.10 V"),
        (1234.0, 56.0, "power", "1230 ± 60 W"),
        (250.0, 4.2, "time", "250 ± 4 s"),
        (53.55, None, "temperature", "128.4 degF"),
        (53.55, 0.0, "temperature", "128.4 degF"),
        (math.nan, 1.0, "temperature", "not known"),
    ],
)
def test_digits_follow_the_uncertainty(value, expanded, kind, text):
    assert show_measured(value, expanded, kind, atmosphere_pa=ATMOSPHERE) == text


@pytest.mark.parametrize(
    # The rule of the Particle Data Group, Review of Particle Physics, introduction 5.3; from memory.
    ("uncertainty", "places"),
    [(0.119, 2), (0.354, 2), (0.367, 1), (0.827, 1), (0.949, 1), (0.96, 1), (123.0, -1)],
)
def test_places_by_the_particle_data_groups_rule(uncertainty, places):
    assert places_for(uncertainty) == places


def test_symbols_for_paper():
    assert show(53.55, "temperature", symbols=True) == "128.4 °F"


def test_an_absolute_pressure_is_not_shown_as_gauge_without_the_atmosphere():
    with pytest.raises(UnitError, match="psig is a gauge pressure, and an absolute pressure is meant"):
        show(2.5e6, "pressure")
