# ruff: noqa: E501  (whole sentences)
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstfrost.errors import UnitError
from firstfrost.quantities import from_si, parse, to_si, unit
from firstfrost.quantities.units import NAMES

ATMOSPHERE = 101_325.0


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("30 degF", "temperature", -10.0 / 9.0),
        ("-9 degF", "temperature", -205.0 / 9.0),
        ("−9 degF", "temperature", -205.0 / 9.0),
        ("273.15 K", "temperature", 0.0),
        ("32degF", "temperature", 0.0),
        ("5 delta_degF", "temperature_difference", 25.0 / 9.0),
        ("5 K", "temperature_difference", 5.0),
        ("2.5 ton_refrigeration", "power", 2.5 * 12_000 * 1055.05585262 / 3600),
        ("610 psi", "pressure_gauge", 610 * 6894.757293168361),
        ("610 psig", "pressure_gauge", 610 * 6894.757293168361),
        ("90 kPa", "pressure_absolute", 90e3),
        ("0.5 in w.c.", "pressure_difference", 124.544455),
        ("60 min", "time", 3600.0),
        ("4 min 10 s", "time", 250.0),
        ("1 h 30 min", "time", 5400.0),
        ("900 ft", "length", 274.32),
        ("1 %", "ratio", 0.01),
        ("80 %RH", "humidity", 0.8),
        ("1e3 W", "power", 1000.0),
        (".5 A", "current", 0.5),
    ],
)
def test_a_quantity_in_si(text, kind, si):
    assert parse(text, kind) == pytest.approx(si, rel=1e-12, abs=1e-12)


def test_gauge_and_absolute_meet_at_the_atmosphere():
    psi = 6894.757293168361
    assert to_si(100.0, "psig", "pressure", atmosphere_pa=ATMOSPHERE) == pytest.approx(100 * psi + ATMOSPHERE)
    assert to_si(100.0, "psia", "pressure", atmosphere_pa=ATMOSPHERE) == pytest.approx(100 * psi)
    assert to_si(100.0, "psia", "pressure_gauge", atmosphere_pa=ATMOSPHERE) == pytest.approx(
        100 * psi - ATMOSPHERE
    )
    assert to_si(100.0, "psi", "pressure", atmosphere_pa=ATMOSPHERE, unmarked="gauge") == pytest.approx(
        100 * psi + ATMOSPHERE
    )
    assert to_si(100.0, "psi", "pressure", unmarked="absolute") == pytest.approx(100 * psi)


def test_arrays_keep_what_is_missing():
    out = to_si(np.array([32.0, np.nan, 212.0]), "degF", "temperature")
    np.testing.assert_allclose(out, [0.0, np.nan, 100.0], atol=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        (
            "60",
            "time",
            (
                "board.interval is '60', a number without a unit. Expected a time, such as \"60 min\". "
                "Write the unit after the number."
            ),
        ),
        (
            60,
            "time",
            (
                'board.interval is 60, a number without a unit. Expected a time, such as "60 min". '
                'Write value and unit in quotes: interval = "60 min".'
            ),
        ),
        (
            True,
            "time",
            (
                'board.interval is True, no text. Expected a time, such as "60 min". '
                'Write value and unit in quotes: interval = "60 min".'
            ),
        ),
        (
            "soon",
            "time",
            (
                "board.interval is 'soon', which does not begin with a number. "
                'Expected a time, such as "60 min". Write a number, then its unit.'
            ),
        ),
        (
            "60 psi",
            "time",
            "board.interval is '60 psi': psi is a unit of pressure. Expected a time, such as \"60 min\".",
        ),
        (
            "5 degF",
            "temperature_difference",
            (
                "board.interval is '5 degF': degF gives a temperature, and a difference of temperatures is meant. "
                'Expected a temperature difference, such as "5 delta_degF". Write delta_degF, or delta_degC.'
            ),
        ),
        (
            "5 delta_degF",
            "temperature",
            (
                "board.interval is '5 delta_degF': delta_degF gives a difference of temperatures, and a temperature "
                'is meant. Expected a temperature, such as "30 degF". Write degF, or degC.'
            ),
        ),
        (
            "1,5 bar",
            "pressure_gauge",
            (
                "board.interval is '1,5 bar', with a comma in the number. Expected a gauge pressure, such as "
                '"610 psi". Write the number with a point for decimals and nothing between thousands.'
            ),
        ),
        (
            "100 psi",
            "pressure",
            (
                "board.interval is '100 psi': psi does not say whether it is gauge or absolute. Write psig or psi "
                "gauge for a gauge reading, psia or psi absolute for one from vacuum."
            ),
        ),
        (
            "100 psig",
            "pressure_absolute",
            (
                "board.interval is '100 psig': psig is a gauge pressure, and an absolute pressure is meant. "
                'Expected an absolute pressure, such as "90 kPa". Write it as an absolute pressure, or give the '
                "site's altitude or barometer."
            ),
        ),
        (
            "1 psia",
            "pressure_difference",
            (
                "board.interval is '1 psia': psia is an absolute pressure, and a difference of pressures is meant. "
                'Expected a pressure difference, such as "0.5 inH2O". Write it without the a.'
            ),
        ),
        (
            "1 foo",
            "time",
            (
                "board.interval is '1 foo': 'foo' is not a known unit. Units are written like degF, psig, kPa, V, A, "
                'W, Btu/h, cfm, min, ft or %. Expected a time, such as "60 min".'
            ),
        ),
        (
            "1e999 s",
            "time",
            "board.interval is '1e999 s', which is too large a number. Expected a time, such as \"60 min\".",
        ),
    ],
)
def test_what_cannot_be_read_says_the_way_out(text, kind, message):
    with pytest.raises(UnitError) as caught:
        parse(text, kind, "board.interval")
    assert str(caught.value) == message


def test_a_header_with_a_wrong_unit_is_named():
    with pytest.raises(
        UnitError, match=re.escape("suction_pressure is in degF: degF is a unit of temperature.")
    ):
        to_si(np.zeros(2), "degF", "pressure", where="suction_pressure")


@settings(deadline=None)
@given(value=st.floats(-1e6, 1e6), name=st.sampled_from(NAMES))
def test_there_and_back(value, name):
    found = unit(name)
    for kind in found.kinds:
        si = to_si(
            value,
            found,
            kind,
            atmosphere_pa=ATMOSPHERE,
            unmarked="gauge" if kind == "pressure_gauge" else "absolute",
        )
        back = from_si(si, found, kind, atmosphere_pa=ATMOSPHERE)
        assert back == pytest.approx(value, rel=1e-9, abs=1e-9 + 1e-10 * ATMOSPHERE / found.factor)


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_in_words(text):
    for kind in ("time", "temperature", "pressure_gauge"):
        try:
            value = parse(text, kind, "x")
        except UnitError as err:
            said = str(err)
        else:
            said = "x is read"
            assert np.isfinite(value)
        assert said.startswith("x is")
