# ruff: noqa: E501  (whole sentences)
import math
import re

import numpy as np
import pytest

from firstfrost.errors import InputError, UnitError
from firstfrost.instruments.accuracy import DEFAULTS, DEFAULTS_WHY, default_accuracy, parse_accuracy
from firstfrost.trace.channels import CHANNELS

PSI = 6894.757293168361
ATMOSPHERE = 90e3


@pytest.mark.parametrize(
    ("text", "kind", "reading", "limit"),
    [
        ("1 %", "pressure", ATMOSPHERE + 300 * PSI, 3 * PSI),
        ("1 % of reading", "pressure", ATMOSPHERE - 10 * PSI, 0.1 * PSI),
        ("±1%", "pressure", ATMOSPHERE + 300 * PSI, 3 * PSI),
        ("1 % FS 800 psi", "pressure", ATMOSPHERE + 100 * PSI, 8 * PSI),
        ("1 % of full scale 800 psig", "pressure", ATMOSPHERE, 8 * PSI),
        ("0.5 % f.s. 50 bar", "pressure", ATMOSPHERE, 25e3),
        ("2 psi", "pressure", ATMOSPHERE, 2 * PSI),
        ("0.9 delta_degF", "temperature", -20.0, 0.5),
        ("0.9 degF", "temperature", -20.0, 0.5),
        ("0.9 °F", "temperature", -20.0, 0.5),
        ("0.5 degC", "temperature", -20.0, 0.5),
        ("0.5 K", "temperature", -20.0, 0.5),
        ("1 % + 0.1 V", "voltage", 24.0, 0.34),
        ("±(2 % rdg + 0.1 A)", "current", -5.0, 0.2),
        ("1e+0 %", "power", 500.0, 5.0),
        ("3 %", "humidity", 0.5, 0.03),
        ("3 %RH", "humidity", 0.5, 0.03),
        ("3 % RH", "humidity", 0.5, 0.03),
        ("3 % of reading", "humidity", 0.5, 0.015),
    ],
)
def test_the_limit_that_a_statement_sets(text, kind, reading, limit):
    accuracy = parse_accuracy(text, kind, atmosphere_pa=ATMOSPHERE)
    assert accuracy.limit(reading) == pytest.approx(limit, rel=1e-12)
    assert accuracy.u(reading) == pytest.approx(limit / math.sqrt(3), rel=1e-12)


def test_limits_add_up_and_the_display_goes_beside():
    accuracy = parse_accuracy("1 % + 0.9 V + resolution 0.1 V", "voltage")
    assert accuracy.u(20.0) == pytest.approx(math.sqrt(1.1**2 / 3 + 0.1**2 / 12))


def test_an_array_of_readings():
    accuracy = parse_accuracy("1 % + 0.1 A", "current")
    readings = np.array([0.0, 10.0, np.nan])
    np.testing.assert_allclose(accuracy.u(readings), np.array([0.1, 0.2, np.nan]) / math.sqrt(3))
    assert accuracy.u(readings)[1] == accuracy.u(10.0)


def test_the_spread_is_that_of_drawn_errors():
    """Draw what the statement says: an error anywhere within the limit, and a display that rounds."""
    rng = np.random.default_rng(7)
    true = 53.0 + rng.uniform(-0.5, 0.5, 400_000)  # spread over display steps
    shown = np.round((true + rng.uniform(-0.5, 0.5, true.size)) / 0.4) * 0.4
    accuracy = parse_accuracy("0.5 K + resolution 0.4 K", "temperature")
    assert accuracy.u(53.0) == pytest.approx(float(np.std(shown - true)), rel=5e-3)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        (
            "1 % FS",
            "pressure",
            (
                "instruments.x is '1 % FS': percent of full scale, without the full scale. "
                'Expected "1 % of full scale 800 psi" or the like. Write the full scale after it.'
            ),
        ),
        (
            "good",
            "pressure",
            (
                'instruments.x is \'good\', which is not an accuracy statement. Expected "1 %", "1 % of full scale '
                '800 psi", "0.9 delta_degF", or a sum such as "1 % + 0.5 V + resolution 0.1 V". Write it in that way.'
            ),
        ),
        (
            0.01,
            "pressure",
            (
                'instruments.x is 0.01, which is not an accuracy statement in quotes. Expected "1 %", "1 % of full '
                'scale 800 psi", "0.9 delta_degF", or a sum such as "1 % + 0.5 V + resolution 0.1 V". '
                'Write x = "1 %" or the like.'
            ),
        ),
        (
            "1 %",
            "temperature",
            (
                "instruments.x is '1 %': percent of a temperature reading depends on the scale it is read in. Expected "
                'a difference, such as "0.9 delta_degF". Write what it comes to at the warmest reading: '
                "0.5 % of 200 degF is 1 delta_degF."
            ),
        ),
        (
            "0.9",
            "temperature",
            (
                "instruments.x is '0.9', a number without a unit. Expected a temperature difference, such as "
                '"5 delta_degF". Write the unit after the number.'
            ),
        ),
        (
            "1 % + 2 psi",
            "voltage",
            "A part of instruments.x is '2 psi': psi is a unit of pressure. Expected a voltage, such as \"24 V\".",
        ),
        (
            "1 % + 1 %",
            "voltage",
            "instruments.x is '1 % + 1 %', which states of reading twice. Write each part once.",
        ),
        (
            "150 %",
            "voltage",
            (
                'instruments.x is \'150 %\': more than 100 %. Expected "1 %", "1 % of full scale 800 psi", '
                '"0.9 delta_degF", or a sum such as "1 % + 0.5 V + resolution 0.1 V". Check the number.'
            ),
        ),
    ],
)
def test_what_cannot_be_read_says_the_way_out(text, kind, message):
    with pytest.raises(InputError) as caught:
        parse_accuracy(text, kind, "instruments.x")
    assert str(caught.value) == message


@pytest.mark.parametrize("text", ["", "+", "%", "1 % of", "resolution", "-1 V", "1.2.3 V", "nan V", "±"])
def test_odd_text_is_refused(text):
    with pytest.raises(InputError, match=re.escape("instruments.x is")):
        parse_accuracy(text, "voltage", "instruments.x")


def test_a_negative_width_is_refused():
    with pytest.raises(
        UnitError, match=r"with a negative part\. Write the width of the error without a sign\."
    ):
        parse_accuracy("resolution -1 V", "voltage", "instruments.x")


def test_every_kind_of_channel_has_a_default_and_a_reason():
    kinds = {channel.kind for channel in CHANNELS.values()}
    assert kinds == set(DEFAULTS) == set(DEFAULTS_WHY)
    for kind in kinds - {"switch"}:
        assert default_accuracy(kind).u(1000.0 if kind == "power" else 1.0) > 0
        assert DEFAULTS_WHY[kind].startswith("common practice, no source: ")
