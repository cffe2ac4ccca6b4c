"""The units people write, and what each is in SI.

The common ones are rows of our own, with exact factors, so that reading a unit file or a header costs
nothing; each row is tested against Pint. Any other unit is asked of Pint, which is imported only then.

Conversion is ``si = factor * value + offset``; the offset counts for temperatures alone.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from firstfrost.errors import UnitError
from firstfrost.quantities.constants import BTU_J, FOOT_M, ICE_POINT_K, INCH_M, POUND_KG, STANDARD_GRAVITY

Kind = Literal[
    "pressure",
    "pressure_absolute",
    "pressure_gauge",
    "pressure_difference",
    "temperature",
    "temperature_difference",
    "humidity",
    "voltage",
    "current",
    "power",
    "energy",
    "flow",
    "switch",
    "time",
    "length",
    "ratio",
    "velocity",
    "area",
    "volume",
    "mass_flow",
    "rotation",
]
"""What a number is. In memory: Pa, degC, K (difference), ratio, V, A, W, J, m3/s, s, m, m/s, m2, m3,
kg/s, 1/s.
"""

WORDS: Final[dict[Kind, tuple[str, str]]] = {
    "pressure": ("a pressure", "120 psig"),
    "pressure_absolute": ("an absolute pressure", "90 kPa"),
    "pressure_gauge": ("a gauge pressure", "610 psi"),
    "pressure_difference": ("a pressure difference", "0.5 inH2O"),
    "temperature": ("a temperature", "30 degF"),
    "temperature_difference": ("a temperature difference", "5 delta_degF"),
    "humidity": ("a relative humidity", "80 %"),
    "voltage": ("a voltage", "24 V"),
    "current": ("a current", "1.2 A"),
    "power": ("a power", "2.5 ton_refrigeration"),
    "energy": ("an energy", "1.2 kWh"),
    "flow": ("an airflow", "1000 cfm"),
    "switch": ("a switch", "1"),
    "time": ("a time", "60 min"),
    "length": ("a length", "900 ft"),
    "ratio": ("a ratio", "1 %"),
    "velocity": ("a velocity", "600 ft/min"),
    "area": ("an area", "1.4 ft2"),
    "volume": ("a volume", "1.9 in3"),
    "mass_flow": ("a mass flow", "380 lb/h"),
    "rotation": ("a speed of rotation", "3500 rpm"),
}
"""Each kind in words, and an example of it."""

SI: Final[dict[Kind, str]] = {
    "pressure": "Pa",
    "pressure_absolute": "Pa",
    "pressure_gauge": "Pa",
    "pressure_difference": "Pa",
    "temperature": "degC",
    "temperature_difference": "delta_degC",
    "humidity": "1",
    "voltage": "V",
    "current": "A",
    "power": "W",
    "energy": "J",
    "flow": "m3/s",
    "switch": "1",
    "time": "s",
    "length": "m",
    "ratio": "1",
    "velocity": "m/s",
    "area": "m2",
    "volume": "m3",
    "mass_flow": "kg/s",
    "rotation": "1/s",
}
"""The unit of each kind in memory."""

_PRESSURES: Final = frozenset({"pressure", "pressure_absolute", "pressure_gauge", "pressure_difference"})
_RATIOS: Final = frozenset({"humidity", "ratio", "switch"})


@dataclass(frozen=True, kw_only=True)
class Unit:
    """One unit.

    Parameters
    ----------
    name : str
        How Firstfrost writes it.
    kinds : frozenset of str
        What it can measure.
    factor, offset : float
        SI value = factor * value + offset; the offset counts for the kind `temperature` alone.
    gauge : bool or None
        For a pressure: True if it says gauge, False if it says absolute, None if it says neither.
    """

    name: str
    kinds: frozenset[str]
    factor: float
    offset: float = 0.0
    gauge: bool | None = None

    @property
    def kind_words(self) -> str:
        """What it is a unit of, in words."""
        if self.kinds & _PRESSURES:
            return {True: "gauge pressure", False: "absolute pressure", None: "pressure"}[self.gauge]
        if self.kinds == {"humidity"}:
            return "relative humidity"
        if self.kinds & _RATIOS and "voltage" not in self.kinds:
            return "ratio"
        first = next(kind for kind in WORDS if kind in self.kinds)
        return WORDS[first][0].split(" ", 1)[1]


_PSI: Final = POUND_KG * STANDARD_GRAVITY / INCH_M**2
_INCH_MERCURY: Final = 13_595.1 * STANDARD_GRAVITY * INCH_M  # conventional mercury, NIST SP 811 B.8
_INCH_WATER: Final = 1_000.0 * STANDARD_GRAVITY * INCH_M  # conventional water, NIST SP 811 B.8
_CUBIC_FOOT: Final = FOOT_M**3
_BTU_H: Final = BTU_J / 3600.0

# name, kinds, factor, offset, other spellings
_ROWS: Final[tuple[tuple[str, str, float, float, str], ...]] = (
    ("degF", "temperature", 5.0 / 9.0, -160.0 / 9.0, "°F|F|deg F|℉|[degF]|Fahrenheit|degrees F"),
    ("degC", "temperature", 1.0, 0.0, "°C|C|deg C|℃|Cel|Celsius|degrees C"),
    ("K", "temperature temperature_difference", 1.0, -ICE_POINT_K, "kelvin"),
    ("delta_degF", "temperature_difference", 5.0 / 9.0, 0.0, "Δ°F|ΔdegF|ΔF|delta°F|deltaF|delta F"),
    ("delta_degC", "temperature_difference", 1.0, 0.0, "Δ°C|ΔdegC|ΔC|delta°C|deltaC|ΔK|delta_K"),
    ("%", "ratio humidity switch", 0.01, 0.0, "percent|pct"),
    ("%RH", "humidity", 0.01, 0.0, "%rel|rh%|RH"),
    ("1", "ratio humidity switch", 1.0, 0.0, "/|-|W/W|ratio|fraction|bool|on/off|0/1|[1]|one"),
    ("V", "voltage switch", 1.0, 0.0, "volt|volts|Vac|Vdc|V AC|V DC"),
    ("mV", "voltage", 1e-3, 0.0, "millivolt|millivolts"),
    ("kV", "voltage", 1e3, 0.0, "kilovolt"),
    ("A", "current", 1.0, 0.0, "amp|amps|ampere|amperes|Aac|A AC|Adc"),
    ("mA", "current", 1e-3, 0.0, "milliamp|milliamps|milliampere"),
    ("W", "power", 1.0, 0.0, "watt|watts"),
    ("kW", "power", 1e3, 0.0, "kilowatt|kilowatts"),
    ("Btu/h", "power", _BTU_H, 0.0, "Btu/hr|Btuh|Btu/hour|[Btu_IT]/h|BTU per hour"),
    ("kBtu/h", "power", 1e3 * _BTU_H, 0.0, "kBtu/hr|kBtuh|MBH"),
    ("ton_refrigeration", "power", 12e3 * _BTU_H, 0.0, "ton_of_refrigeration|refrigeration_ton|ton|tons|TR"),
    ("J", "energy", 1.0, 0.0, "joule|joules"),
    ("kJ", "energy", 1e3, 0.0, "kilojoule"),
    ("MJ", "energy", 1e6, 0.0, "megajoule"),
    ("Wh", "energy", 3.6e3, 0.0, "W h|W.h"),
    ("kWh", "energy", 3.6e6, 0.0, "kW h|kW.h|kW·h|kilowatt hour"),
    ("Btu", "energy", BTU_J, 0.0, "[Btu_IT]"),
    ("cfm", "flow", _CUBIC_FOOT / 60.0, 0.0, "ft3/min|ft^3/min|ft³/min|cu ft/min|[cft_i]/min"),
    ("m3/s", "flow", 1.0, 0.0, "m^3/s|m³/s"),
    ("m3/h", "flow", 1.0 / 3600.0, 0.0, "m^3/h|m³/h|m3/hr|cmh"),
    ("m3/min", "flow", 1.0 / 60.0, 0.0, "m^3/min|m³/min"),
    ("L/s", "flow", 1e-3, 0.0, "lps|litre/s|liter/s"),
    ("s", "time", 1.0, 0.0, "sec|secs|second|seconds"),
    ("ms", "time", 1e-3, 0.0, "msec|millisecond|milliseconds"),
    ("min", "time", 60.0, 0.0, "mins|minute|minutes"),
    ("h", "time", 3600.0, 0.0, "hr|hrs|hour|hours"),
    ("d", "time", 86_400.0, 0.0, "day|days"),
    ("ft", "length", FOOT_M, 0.0, "foot|feet"),
    ("in", "length", INCH_M, 0.0, "inch|inches"),
    ("m", "length", 1.0, 0.0, "metre|metres|meter|meters"),
    ("km", "length", 1e3, 0.0, "kilometre|kilometer"),
    ("m/s", "velocity", 1.0, 0.0, "metre/s|meter/s|mps"),
    ("ft/min", "velocity", FOOT_M / 60.0, 0.0, "fpm|feet/min|foot/min|FPM"),
    ("m2", "area", 1.0, 0.0, "m^2|m²|sq m"),
    ("cm2", "area", 1e-4, 0.0, "cm^2|cm²|sq cm"),
    ("ft2", "area", FOOT_M**2, 0.0, "ft^2|ft²|sq ft|sqft"),
    ("in2", "area", INCH_M**2, 0.0, "in^2|in²|sq in"),
    ("m3", "volume", 1.0, 0.0, "m^3|m³"),
    ("cm3", "volume", 1e-6, 0.0, "cm^3|cm³|cc|mL"),
    ("in3", "volume", INCH_M**3, 0.0, "in^3|in³|cu in"),
    ("ft3", "volume", _CUBIC_FOOT, 0.0, "ft^3|ft³|cu ft"),
    ("kg/s", "mass_flow", 1.0, 0.0, "kg s-1"),
    ("kg/h", "mass_flow", 1.0 / 3600.0, 0.0, "kg/hr"),
    ("g/s", "mass_flow", 1e-3, 0.0, "gram/s"),
    ("lb/h", "mass_flow", POUND_KG / 3600.0, 0.0, "lb/hr|lbm/h|lbm/hr|lbs/h|lbs/hr|pph"),
    ("1/s", "rotation", 1.0, 0.0, "Hz|rps|rev/s|hertz"),
    ("rpm", "rotation", 1.0 / 60.0, 0.0, "1/min|rev/min|r/min"),
)

# Pressures come three ways: as written, gauge, and absolute.
_PRESSURE_ROWS: Final[tuple[tuple[str, float, str], ...]] = (
    ("psi", _PSI, "lb/in2|lbf/in2|lbs/in2|[psi]"),
    ("Pa", 1.0, "pascal|pascals"),
    ("hPa", 1e2, "mbar|millibar"),
    ("kPa", 1e3, "kilopascal"),
    ("MPa", 1e6, "megapascal"),
    ("bar", 1e5, "bars"),
    ("inHg", _INCH_MERCURY, "in Hg|[in_i'Hg]|inches of mercury"),
    ("mmHg", 13_595.1 * STANDARD_GRAVITY * 1e-3, "mm Hg|mm[Hg]"),
    ("inH2O", _INCH_WATER, "in w.c.|in wc|iwc|in wg|in w.g.|in. w.c.|in H2O|[in_i'H2O]|inches of water"),
)
_GAUGE: Final = ("g", "(g)", "gauge", "-g")
_ABSOLUTE: Final = ("a", "(a)", "abs", "absolute", "-a")

_EXACT: Final = frozenset({"K", "mV", "mA", "MJ", "MPa", "m", "s", "ms", "h", "d", "MBH"})
"""Units whose letters mean something else in the other case."""

_APPARENT: Final = "volt-amperes are apparent power, not watts. Measure true power, or leave it out"
_REFUSED: Final[dict[str, str]] = {
    "VA": _APPARENT,
    "kVA": _APPARENT,
    "scfm": "standard cubic feet a minute are a mass flow. Give the flow at the air's own density, in cfm",
}


def _key(text: str) -> str:
    """Spelling without what does not matter: blanks, points, underscores, signs of power."""
    text = unicodedata.normalize("NFKC", text.replace("º", "°").replace("˚", "°"))
    text = text.replace("∆", "Δ").replace("**", "^")
    return "".join(letter for letter in text if not letter.isspace() and letter not in "._^")


def _row(name: str, kinds: frozenset[str], factor: float, offset: float, gauge: bool | None = None) -> Unit:
    return Unit(name=name, kinds=kinds, factor=factor, offset=offset, gauge=gauge)


def _table() -> tuple[dict[str, Unit], dict[str, Unit]]:
    exact: dict[str, Unit] = {}
    folded: dict[str, Unit] = {}

    def put(unit: Unit, spellings: list[str], *, fold: bool) -> None:
        for spelling in spellings:
            key = _key(spelling)
            if exact.setdefault(key, unit) is not unit:
                raise AssertionError(f"two units are spelled {spelling!r}: {exact[key].name} and {unit.name}")
            if fold or spelling != unit.name:
                folded.setdefault(key.casefold(), unit)

    for name, kinds, factor, offset, others in _ROWS:
        row = _row(name, frozenset(kinds.split()), factor, offset)
        put(row, [name, *others.split("|")], fold=name not in _EXACT)
    for name, factor, others in _PRESSURE_ROWS:
        spellings = [name, *others.split("|")]
        put(_row(name, _PRESSURES, factor, 0.0), spellings, fold=name not in _EXACT)
        for gauge, endings in ((True, _GAUGE), (False, _ABSOLUTE)):
            kinds_of = _PRESSURES - ({"pressure_difference"} if gauge is False else set())
            short = (
                name + ("g" if gauge else "a")
                if name in ("psi", "bar")
                else f"{name}({'g' if gauge else 'a'})"
            )
            row = _row(short, kinds_of, factor, 0.0, gauge)
            put(row, [s + ending for s in spellings for ending in endings], fold=name not in _EXACT)
    return exact, folded


_TABLE, _FOLDED = _table()

NAMES: Final = tuple(dict.fromkeys(unit.name for unit in _TABLE.values()))
"""The units of the table, as Firstfrost writes them."""


def unit(text: str) -> Unit:
    """The unit that `text` names.

    Raises
    ------
    UnitError
        If neither the table nor Pint knows it.
    """
    key = _key(text)
    found = _TABLE.get(key) or _FOLDED.get(key.casefold())
    if found is not None:
        return found
    if key in _REFUSED:
        raise UnitError(f"{text!r} cannot be used: {_REFUSED[key]}.")
    return _from_pint(text)


_POWER: Final = re.compile(r"(?<![)\s])\^-?[1-4](?![0-9.]|\s*\^)")
"""The powers that a unit can have; Pint would work out 9^9^9 for ever."""


@cache
def _registry() -> object:
    import pint

    return pint.UnitRegistry(cache_folder=None)


_PINT_KINDS: Final[tuple[tuple[str, frozenset[str]], ...]] = (
    ("kelvin", frozenset({"temperature"})),
    ("pascal", _PRESSURES),
    ("volt", frozenset({"voltage"})),
    ("ampere", frozenset({"current"})),
    ("watt", frozenset({"power"})),
    ("joule", frozenset({"energy"})),
    ("meter ** 3 / second", frozenset({"flow"})),
    ("second", frozenset({"time"})),
    ("meter", frozenset({"length"})),
    ("meter / second", frozenset({"velocity"})),
    ("meter ** 2", frozenset({"area"})),
    ("meter ** 3", frozenset({"volume"})),
    ("kilogram / second", frozenset({"mass_flow"})),
    ("dimensionless", frozenset({"ratio", "humidity"})),
)


@cache
def _from_pint(text: str) -> Unit:
    """Ask Pint for a unit that the table lacks."""
    unknown = (
        f"{text!r} is not a known unit. Units are written like "
        "degF, psig, kPa, V, A, W, Btu/h, cfm, min, ft or %."
    )
    odd = any(letter in text for letter in "\"'`{};=\\") or "^" in _POWER.sub("", text.replace("**", "^"))
    if not text.strip() or len(text) > 40 or odd:
        raise UnitError(unknown)
    registry: object = _registry()
    try:
        quantity = registry.Quantity  # type: ignore[attr-defined]
        name = text.strip()
        one = quantity(1.0, name)
        si, kinds = next(((si, kinds) for si, kinds in _PINT_KINDS if one.is_compatible_with(si)), ("", None))
        if kinds is None:
            raise UnitError(f"{text!r} is a unit of {one.dimensionality}, which nothing here is measured in.")
        zero_si, one_si, two_si = (float(quantity(value, name).to(si).magnitude) for value in (0.0, 1.0, 2.0))
    except UnitError:
        raise
    except Exception as err:  # Pint's parser lets out errors of many kinds for odd text
        raise UnitError(unknown) from err
    factor, offset = one_si - zero_si, zero_si
    if abs(two_si - one_si - factor) > 1e-9 * abs(factor):
        raise UnitError(f"{text!r} is not a linear unit. Give the value in its plain unit.")
    if si == "kelvin":
        if "delta" in str(one.units):
            return Unit(name=name, kinds=frozenset({"temperature_difference"}), factor=factor)
        return Unit(name=name, kinds=kinds, factor=factor, offset=offset - ICE_POINT_K)
    return Unit(name=name, kinds=kinds, factor=factor)
