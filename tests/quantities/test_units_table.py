"""Every row of our table of units against Pint, and the spellings people use."""

import subprocess
import sys
from pathlib import Path

import pint
import pytest

from firstfrost.errors import UnitError
from firstfrost.quantities import unit
from firstfrost.quantities.units import _FOLDED, _TABLE, NAMES

SRC = str(Path(__file__).parents[2] / "src")
REGISTRY = pint.UnitRegistry()

# Ours -> Pint's name. Btu is the International Table one.
IN_PINT = {
    "degF": "degF",
    "degC": "degC",
    "K": "kelvin",
    "delta_degF": "delta_degF",
    "delta_degC": "delta_degC",
    "%": "percent",
    "%RH": "percent",
    "1": "dimensionless",
    "V": "volt",
    "mV": "millivolt",
    "kV": "kilovolt",
    "A": "ampere",
    "mA": "milliampere",
    "W": "watt",
    "kW": "kilowatt",
    "Btu/h": "Btu_it/hour",
    "kBtu/h": "1000 * Btu_it/hour",
    "ton_refrigeration": "12000 * Btu_it/hour",
    "J": "joule",
    "kJ": "kilojoule",
    "MJ": "megajoule",
    "Wh": "watt_hour",
    "kWh": "kilowatt_hour",
    "Btu": "Btu_it",
    "cfm": "foot**3/minute",
    "m3/s": "meter**3/second",
    "m3/h": "meter**3/hour",
    "m3/min": "meter**3/minute",
    "L/s": "liter/second",
    "s": "second",
    "ms": "millisecond",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "ft": "foot",
    "in": "inch",
    "m": "meter",
    "km": "kilometer",
    "m/s": "meter/second",
    "ft/min": "foot/minute",
    "m2": "meter**2",
    "cm2": "centimeter**2",
    "ft2": "foot**2",
    "in2": "inch**2",
    "m3": "meter**3",
    "cm3": "centimeter**3",
    "in3": "inch**3",
    "ft3": "foot**3",
    "kg/s": "kilogram/second",
    "kg/h": "kilogram/hour",
    "g/s": "gram/second",
    "lb/h": "pound/hour",
    "1/s": "1/second",
    "rpm": "1/minute",
    "psi": "psi",
    "Pa": "pascal",
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "bar": "bar",
    "inHg": "inHg",
    "mmHg": "mmHg",
    "inH2O": "inH2O",
}


def bare(name: str) -> str:
    """The name without its mark of gauge or absolute."""
    if unit(name).gauge is None:
        return name
    return name.removesuffix("(g)").removesuffix("(a)") if name.endswith(")") else name[:-1]


@pytest.mark.parametrize("name", NAMES)
def test_a_row_agrees_with_pint(name):
    ours = unit(name)
    theirs = IN_PINT[bare(name)]
    if name in ("degF", "degC"):
        for value in (-40.0, 0.0, 212.0):
            expected = REGISTRY.Quantity(value, theirs).to("degC").magnitude
            assert value * ours.factor + ours.offset == pytest.approx(expected, abs=1e-10)
        return
    expected = (1.0 * REGISTRY.parse_expression(theirs)).to_base_units()
    magnitude = expected.magnitude if hasattr(expected, "magnitude") else expected
    assert ours.factor == pytest.approx(magnitude, rel=1e-12)


def test_every_row_is_held_against_pint():
    assert {bare(name) for name in NAMES} == set(IN_PINT)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("°F", "degF"),
        ("deg F", "degF"),
        ("F", "degF"),
        ("DEGF", "degF"),
        ("℉", "degF"),
        ("º C", "degC"),
        ("C", "degC"),
        ("deg C", "degC"),
        ("Cel", "degC"),
        ("Δ°F", "delta_degF"),
        ("delta degF", "delta_degF"),
        ("psi g", "psig"),
        ("PSIG", "psig"),
        ("psi(g)", "psig"),
        ("psi gauge", "psig"),
        ("psi_g", "psig"),
        ("PSIA", "psia"),
        ("psi absolute", "psia"),
        ("kPa(g)", "kPa(g)"),
        ("kPa gauge", "kPa(g)"),
        ("kPa a", "kPa(a)"),
        ("kPa abs", "kPa(a)"),
        ("barg", "barg"),
        ("bar g", "barg"),
        ("KPA", "kPa"),
        ("Volts", "V"),
        ("vac", "V"),
        ("amps", "A"),
        ("Amp", "A"),
        ("%RH", "%RH"),
        ("% rh", "%RH"),
        ("sec", "s"),
        ("mins", "min"),
        ("MIN", "min"),
        ("hrs", "h"),
        ("in w.c.", "inH2O"),
        ("in. w.c.", "inH2O"),
        ("in wc", "inH2O"),
        ("IWC", "inH2O"),
        ("in Hg", "inHg"),
        ("CFM", "cfm"),
        ("ft³/min", "cfm"),
        ("ft^3/min", "cfm"),
        ("ft**3/min", "cfm"),
        ("m³/h", "m3/h"),
        ("l/s", "L/s"),
        ("BTUH", "Btu/h"),
        ("tons", "ton_refrigeration"),
        ("mV", "mV"),
        ("mA", "mA"),
        ("KW", "kW"),
        ("feet", "ft"),
        ("/", "1"),
        ("[in_i'H2O]", "inH2O"),
        ("kW.h", "kWh"),
        ("mbar", "hPa"),
        ("FPM", "ft/min"),
        ("sq ft", "ft2"),
        ("in³", "in3"),
        ("cc", "cm3"),
        ("lbm/hr", "lb/h"),
        ("Hz", "1/s"),
        ("RPM", "rpm"),
    ],
)
def test_the_spellings_people_use(written, name):
    assert unit(written).name == name


def test_gauge_or_absolute_or_neither_is_kept():
    assert [unit(text).gauge for text in ("psig", "psia", "psi")] == [True, False, None]


def test_no_spelling_means_two_things_in_another_case():
    for key, found in _TABLE.items():
        folded = _FOLDED.get(key.casefold())
        # where the case matters (MJ, MPa, mV ...), the folded table must not hold the other one's value
        assert folded is None or folded.factor == found.factor, key


@pytest.mark.parametrize(("text", "kind"), [("MV", "voltage"), ("mPa", "pressure"), ("mW", "power")])
def test_case_is_kept_where_it_matters(text, kind):
    expected = {"MV": 1e6, "mPa": 1e-3, "mW": 1e-3}[text]
    assert unit(text).factor == pytest.approx(expected)
    assert kind in unit(text).kinds


@pytest.mark.parametrize(
    ("text", "factor", "kind"),
    [("hp", 745.69987158227, "power"), ("kgf/cm**2", 98066.5, "pressure"), ("yard", 0.9144, "length")],
)
def test_other_units_come_from_pint(text, factor, kind):
    assert unit(text).factor == pytest.approx(factor, rel=1e-12)
    assert kind in unit(text).kinds


def test_a_rankine_temperature_comes_from_pint():
    rankine = unit("degR")
    assert 491.67 * rankine.factor + rankine.offset == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "furlongs per potato",
        "degQ",
        "9**9**9**9",
        "(9**9)**9 psi",
        "psi^999",
        "psig!",
        "__import__('os')",
        "x" * 90,
    ],
)
def test_an_unknown_unit_says_how_units_are_written(text):
    with pytest.raises(
        UnitError, match=r"is not a known unit\. Units are written like degF, psig, kPa, V, A, W,"
    ):
        unit(text)


def test_apparent_power_is_refused():
    message = (
        "'kVA' cannot be used: volt-amperes are apparent power, not watts. "
        "Measure true power, or leave it out."
    )
    with pytest.raises(UnitError) as caught:
        unit("kVA")
    assert str(caught.value) == message


def test_common_units_do_not_import_pint():
    code = (
        "import sys; from firstfrost.quantities import parse; parse('610 psi', 'pressure_gauge');"
        "parse('30 degF', 'temperature'); sys.exit('pint' in sys.modules or 'numba' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, env={"PYTHONPATH": SRC}).returncode == 0
