"""A maker's accuracy statement as a standard uncertainty.

A statement such as "1 % + 0.9 delta_degF + resolution 0.1 delta_degF" bounds the error: it lies within
±a, where a is the sum of the limits stated. Nothing more is known of it, so its distribution is taken as
uniform and ``u = a / sqrt(3)`` (JCGM 100:2008, 4.3.7). A display that steps by d adds ``u = d / sqrt(12)``
(JCGM 100:2008, F.2.2.1). The two are independent and add in quadrature. Both formulas are quoted from memory.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import InputError, UnitError
from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.quantities.convert import parse, split
from firstfrost.quantities.units import Kind, unit

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Accuracy:
    """What is known of the error of one instrument.

    Parameters
    ----------
    kind : Kind
        What it measures.
    of_reading : float
        Limit of error as a part of the reading. [ratio]
    of_full_scale : float
        Limit of error as a part of `full_scale`. [ratio]
    full_scale : float
        Span of the instrument, in the SI unit of `kind` (a gauge pressure for a pressure).
    absolute : float
        Constant limit of error, in the SI unit of `kind` (K for a temperature).
    resolution : float
        Step of the display, likewise.
    zero : float
        The value in memory at which the instrument reads zero: the atmosphere for a pressure gauge [Pa],
        because percent of reading is of what the gauge shows.
    text : str
        The statement as it was given.
    """

    kind: Kind
    of_reading: float = 0.0
    of_full_scale: float = 0.0
    full_scale: float = 0.0
    absolute: float = 0.0
    resolution: float = 0.0
    zero: float = 0.0
    text: str = ""

    @overload
    def limit(self, reading: float) -> float: ...
    @overload
    def limit(self, reading: Floats) -> Floats: ...
    def limit(self, reading: float | Floats) -> float | Floats:
        """Half-width a of the stated error at `reading` (SI, absolute for a pressure), without resolution."""
        constant = self.of_full_scale * self.full_scale + self.absolute
        shown = reading - self.zero
        if isinstance(shown, np.ndarray):
            return constant + self.of_reading * np.abs(shown)
        return constant + self.of_reading * abs(shown)

    @overload
    def u(self, reading: float) -> float: ...
    @overload
    def u(self, reading: Floats) -> Floats: ...
    def u(self, reading: float | Floats) -> float | Floats:
        """Standard uncertainty of `reading`.

        Parameters
        ----------
        reading : float or (n,) float64
            In the SI unit of the kind; a pressure absolute. NaN gives NaN.

        Returns
        -------
        float or (n,) float64
            In the same unit (K for a temperature).
        """
        a = self.limit(reading)
        if isinstance(a, np.ndarray):
            return np.sqrt(a**2 / 3.0 + self.resolution**2 / 12.0)
        return math.sqrt(a**2 / 3.0 + self.resolution**2 / 12.0)


DEFAULTS: Final[dict[Kind, str]] = {
    "pressure": "1 % of reading + resolution 0.1 psi",
    "temperature": "1.0 delta_degC + resolution 0.1 delta_degC",
    "humidity": "4 %RH + resolution 0.1 %RH",
    "voltage": "1 % of reading + 0.5 V",
    "current": "3 % of reading + 0.1 A",
    "power": "3 % of reading + 20 W",
    "flow": "10 % of reading",
    "pressure_difference": "1 % of reading + 2 Pa",
    "switch": "0 %",
}
"""What is taken where nothing is stated. All are common practice without a source."""

DEFAULTS_WHY: Final[dict[Kind, str]] = {
    "pressure": "common practice, no source: a digital gauge set in fair order",
    "temperature": "common practice, no source: a clamp or strap-on probe on a clean pipe, or an air probe",
    "humidity": "common practice, no source: a hand-held humidity probe",
    "voltage": "common practice, no source: a multimeter or logger on a 24 V circuit",
    "current": "common practice, no source: a clamp meter",
    "power": "common practice, no source: a clamp power meter",
    "flow": "common practice, no source: an airflow derived from a static pressure or a temperature rise",
    "pressure_difference": "common practice, no source: a hand-held manometer",
    "switch": "on or off has no error of its own",
}

_PERCENT: Final = re.compile(
    r"(?P<number>[0-9.]+(?:[eE][+-]?[0-9]+)?)\s*(?P<sign>%|percent)?\s*(?P<rest>.*)", re.S
)
_READING: Final = re.compile(r"(?:of\s+)?(?:the\s+)?(?:reading|rdg\.?|measured\s+value|m\.?v\.?)", re.I)
_FULL: Final = re.compile(
    r"(?:of\s+)?(?:the\s+)?(?:full[\s-]*scale|f\.?\s?s\.?)\s*(?:of\s+)?(?P<span>.*)", re.I | re.S
)
_RESOLUTION: Final = re.compile(
    r"(?:resolution|res\.?|display\s+step)\s+(?:of\s+)?(?P<value>.*)", re.I | re.S
)

_EXAMPLE: Final = (
    '"1 %", "1 % of full scale 800 psi", "0.9 delta_degF", or a sum such as "1 % + 0.5 V + resolution 0.1 V"'
)


def parse_accuracy(
    text: object, kind: Kind, where: str = "", *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
) -> Accuracy:
    """Read a maker's statement.

    Parts are joined by `+`: percent of reading ("1 %", "0.5 % of reading"), percent of full scale with the
    full scale ("1 % FS 800 psi"), a constant ("0.9 delta_degF"; "0.9 degF" is taken as the difference it
    means), and "resolution 0.1 delta_degF". Percent of a humidity without "of reading" is percent relative
    humidity, as makers mean it, which is never the smaller of the two.

    Parameters
    ----------
    text : str
        The statement. A leading ± is allowed.
    kind : Kind
        What the instrument measures.
    where : str
        Named in errors: `instruments.suction_pressure`.
    atmosphere_pa : float
        Percent of reading of a pressure is of the gauge reading, reading - atmosphere. [Pa]

    Raises
    ------
    InputError
        If it cannot be read; a UnitError if a unit is unknown or of another kind.
    """
    start = f"{where} is {text!r}" if where else repr(text)
    if not isinstance(text, str):
        key = where.rsplit(".", 1)[-1] or "accuracy"
        raise InputError(
            f"{where or 'The accuracy'} is {text!r}, which is not an accuracy statement in quotes. "
            f'Expected {_EXAMPLE}. Write {key} = "1 %" or the like.'
        )
    plain = text.replace("±", " ").replace("+/-", " ").strip()
    if plain.startswith("(") and plain.endswith(")"):
        plain = plain[1:-1]
    parts = {"of_reading": 0.0, "of_full_scale": 0.0, "full_scale": 0.0, "absolute": 0.0, "resolution": 0.0}
    pieces = [piece.strip() for piece in re.split(r"(?<![0-9][eE])\+", plain)]
    label = where or "The accuracy"
    for piece in pieces:
        part_label = label if len(pieces) == 1 else f"A part of {label}"
        for name, value in _part(piece, kind, start, part_label).items():
            if name in ("of_full_scale", "resolution", "of_reading") and parts[name]:
                raise InputError(
                    f"{start}, which states {name.replace('_', ' ')} twice. Write each part once."
                )
            parts[name] += value
    zero = atmosphere_pa if kind == "pressure" else 0.0
    return Accuracy(kind=kind, zero=zero, text=text.strip(), **parts)


def _part(piece: str, kind: Kind, start: str, label: str) -> dict[str, float]:
    unreadable = f"{start}, which is not an accuracy statement. Expected {_EXAMPLE}. Write it in that way."
    resolution = _RESOLUTION.fullmatch(piece)
    if resolution is not None:
        return {"resolution": _constant(resolution["value"], kind, start, label)}
    match = _PERCENT.fullmatch(piece)
    if match is None:
        raise InputError(unreadable)
    try:
        number = float(match["number"])
    except ValueError as err:
        raise InputError(unreadable) from err
    rest = match["rest"].strip()
    reading = _READING.fullmatch(rest) is not None
    full = _FULL.fullmatch(rest)
    if match["sign"] is None and not reading:
        return {"absolute": _constant(piece, kind, start, label)}
    part = number / 100.0 if match["sign"] else number
    if part > 1.0:
        raise InputError(f"{start}: more than 100 %. Expected {_EXAMPLE}. Check the number.")
    if full is not None:
        span = full["span"].strip()
        if not span:
            raise InputError(
                f"{start}: percent of full scale, without the full scale. "
                'Expected "1 % of full scale 800 psi" or the like. Write the full scale after it.'
            )
        return {"of_full_scale": part, "full_scale": _constant(span, kind, start, label)}
    if reading or not rest:
        if kind == "humidity" and not reading:
            return {"absolute": part}
        if kind == "temperature" and part:
            raise InputError(
                f"{start}: percent of a temperature reading depends on the scale it is read in. "
                'Expected a difference, such as "0.9 delta_degF". '
                "Write what it comes to at the warmest reading: 0.5 % of 200 degF is 1 delta_degF."
            )
        return {"of_reading": part}
    if kind == "humidity" and match["sign"]:
        return {"absolute": _constant(piece, kind, start, label)}
    raise InputError(unreadable)


def _constant(text: str, kind: Kind, start: str, label: str) -> float:
    """A width in SI: a difference where the kind is a temperature, a span where it is a pressure."""
    if kind == "temperature":
        _, name = split(text, "temperature_difference", where=label)
        if unit(name).name in ("degF", "degC"):
            text = text.replace(name, {"degF": "delta_degF", "degC": "delta_degC"}[unit(name).name])
        wanted: Kind = "temperature_difference"
    elif kind in ("pressure", "pressure_absolute", "pressure_gauge"):
        wanted = "pressure_difference"
    else:
        wanted = kind
    value = parse(text, wanted, where=label)
    if value < 0:
        raise UnitError(f"{start}, with a negative part. Write the width of the error without a sign.")
    return value


def default_accuracy(kind: Kind, *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> Accuracy:
    """What is taken for an instrument of which nothing is stated; see `DEFAULTS`."""
    return parse_accuracy(DEFAULTS[kind], kind, "default accuracy", atmosphere_pa=atmosphere_pa)
