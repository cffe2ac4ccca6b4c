"""Values in memory as text for screens and reports."""

from __future__ import annotations

import math
from typing import Final, Literal

from firstfrost.errors import UnitError
from firstfrost.quantities.convert import from_si
from firstfrost.quantities.units import WORDS, Kind, unit

System = Literal["us", "si"]

# kind -> (unit, decimals) in each system
_SHOWN: Final[dict[Kind, dict[System, tuple[str, int]]]] = {
    "pressure": {"us": ("psig", 0), "si": ("kPa(g)", 0)},
    "pressure_absolute": {"us": ("psia", 1), "si": ("kPa(a)", 1)},
    "pressure_gauge": {"us": ("psig", 0), "si": ("kPa(g)", 0)},
    "pressure_difference": {"us": ("inH2O", 2), "si": ("Pa", 0)},
    "temperature": {"us": ("degF", 1), "si": ("degC", 1)},
    "temperature_difference": {"us": ("delta_degF", 1), "si": ("delta_degC", 1)},
    "humidity": {"us": ("%RH", 0), "si": ("%RH", 0)},
    "voltage": {"us": ("V", 1), "si": ("V", 1)},
    "current": {"us": ("A", 2), "si": ("A", 2)},
    "power": {"us": ("W", 0), "si": ("W", 0)},
    "energy": {"us": ("kWh", 2), "si": ("kWh", 2)},
    "flow": {"us": ("cfm", 0), "si": ("L/s", 0)},
    "switch": {"us": ("1", 0), "si": ("1", 0)},
    "time": {"us": ("s", 0), "si": ("s", 0)},
    "length": {"us": ("ft", 0), "si": ("m", 0)},
    "ratio": {"us": ("%", 1), "si": ("%", 1)},
    "velocity": {"us": ("ft/min", 0), "si": ("m/s", 2)},
    "area": {"us": ("ft2", 2), "si": ("m2", 3)},
    "volume": {"us": ("in3", 2), "si": ("cm3", 1)},
    "mass_flow": {"us": ("lb/h", 0), "si": ("g/s", 1)},
    "rotation": {"us": ("rpm", 0), "si": ("rpm", 0)},
}

# On a screen a difference is told from a temperature by its label ("superheat 9.0 degF").
_PLAIN: Final = {"delta_degF": "degF", "delta_degC": "K", "inH2O": "in w.c.", "%RH": "%", "1": ""}
_FINE: Final = {**_PLAIN, "degF": "°F", "degC": "°C", "delta_degF": "°F"}

NOT_KNOWN: Final = "not known"
"""What NaN is shown as."""


def show(
    value_si: float,
    kind_or_unit: str,
    system: System = "us",
    *,
    atmosphere_pa: float | None = None,
    decimals: int | None = None,
    symbols: bool = False,
) -> str:
    """A value as text with its unit, such as "128.4 degF".

    Parameters
    ----------
    value_si : float
        In the unit in memory; NaN gives "not known".
    kind_or_unit : str
        A kind, shown in the unit of `system`; or a unit ("Btu/h"), shown in that one.
    system : {"us", "si"}
        Which units a kind is shown in.
    atmosphere_pa : float, optional
        Needed to show an absolute pressure (kind `pressure`) as a gauge would. [Pa]
    decimals : int, optional
        Digits after the point; by default those usual for the kind, or four figures for a named unit.
    symbols : bool
        Write °F for degF.

    Raises
    ------
    UnitError
        If the unit is unknown, or a gauge pressure is asked for without the atmosphere.
    """
    if kind_or_unit == "time":
        return show_time(value_si)
    if kind_or_unit == "switch" and math.isfinite(value_si):
        return "on" if value_si >= 0.5 else "off"
    name, kind, digits = _target(kind_or_unit, system)
    if math.isnan(value_si):
        return NOT_KNOWN
    value = from_si(float(value_si), name, kind, atmosphere_pa=atmosphere_pa)
    places = decimals if decimals is not None else digits
    if places is None:
        places = max(0, 3 - _exponent(value))
    return _join(_fixed(value, places), name, symbols)


def show_time(value_s: float) -> str:
    """A time span as text: "8.5 s", "42 s", "4 min 10 s", "1 h 12 min"."""
    if math.isnan(value_s):
        return NOT_KNOWN
    if math.isinf(value_s):
        return "without end"
    sign, span = ("-" if value_s < 0 else ""), abs(value_s)
    if span < 9.95:
        return _fixed(value_s, 1) + " s" if span % 1 > 0.05 else _fixed(value_s, 0) + " s"
    whole = round(span)
    if whole < 60:
        return f"{sign}{whole} s"
    if whole < 3600:
        minutes, seconds = divmod(whole, 60)
        return f"{sign}{minutes} min" + (f" {seconds} s" if seconds else "")
    hours, minutes = divmod(round(span / 60), 60)
    return f"{sign}{hours} h" + (f" {minutes} min" if minutes else "")


def show_measured(
    value_si: float,
    expanded_si: float | None,
    kind_or_unit: str,
    system: System = "us",
    *,
    atmosphere_pa: float | None = None,
    symbols: bool = False,
) -> str:
    """A value with its expanded uncertainty, the digits set by it: "128.4 ± 0.9 degF".

    The uncertainty keeps two figures when they lie from 10 to 35 and one otherwise (the rule of the
    Particle Data Group, from memory; JCGM 100:2008, 7.2.6, asks for at most two), and the value is
    rounded to the same place.

    Parameters
    ----------
    value_si, expanded_si : float
        In the unit in memory. Without an uncertainty (None, NaN or 0) this is `show`.
    kind_or_unit, system, atmosphere_pa, symbols
        As in `show`. Times are shown in seconds.

    Raises
    ------
    UnitError
        As `show`.
    """
    if expanded_si is None or math.isnan(expanded_si) or expanded_si == 0 or math.isnan(value_si):
        return show(value_si, kind_or_unit, system, atmosphere_pa=atmosphere_pa, symbols=symbols)
    name, kind, _ = _target(kind_or_unit, system)
    value = from_si(float(value_si), name, kind, atmosphere_pa=atmosphere_pa)
    expanded = abs(expanded_si) / unit(name).factor
    places = places_for(expanded)
    return _join(f"{_fixed(value, places)} ± {_fixed(expanded, places)}", name, symbols)


def places_for(expanded: float) -> int:
    """Digits after the point that an uncertainty deserves; negative for tens, hundreds."""
    exponent = _exponent(expanded)
    leading = expanded / 10.0**exponent
    return 1 - exponent if leading < 3.55 else -exponent  # 9.7 so shows as 10


def _exponent(value: float) -> int:
    return math.floor(math.log10(abs(value))) if value and math.isfinite(value) else 0


def _fixed(value: float, places: int) -> str:
    if not math.isfinite(value):
        return "inf" if value > 0 else "-inf"
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _join(number: str, name: str, symbols: bool) -> str:
    shown = (_FINE if symbols else _PLAIN).get(name, name)
    return f"{number} {shown}".rstrip()


def _target(kind_or_unit: str, system: System) -> tuple[str, Kind, int | None]:
    """Unit, kind and usual decimals."""
    if kind_or_unit in _SHOWN:
        kind: Kind = kind_or_unit
        name, decimals = _SHOWN[kind][system]
        return name, kind, decimals
    found = unit(kind_or_unit)
    if found.name == "K":
        raise UnitError(
            "'K' can be a temperature or a difference. Show it as kind temperature or temperature_difference."
        )
    if found.gauge is not None:
        return found.name, "pressure", None
    order: tuple[Kind, ...] = ("ratio", *WORDS)
    return found.name, next(k for k in order if k in found.kinds), None
