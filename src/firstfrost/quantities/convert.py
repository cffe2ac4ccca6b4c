"""From what people write to SI, and back: the only place where units are converted."""

from __future__ import annotations

import math
import re
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import UnitError
from firstfrost.quantities.units import WORDS, Kind, Unit, unit

Floats = NDArray[np.float64]

_NUMBER: Final = re.compile(r"\s*([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(.*)", re.DOTALL)
_COMMA: Final = re.compile(r"\s*[+-]?[0-9.]*,[0-9]")


def _start(where: str, text: str) -> str:
    return f"{where} is {text!r}" if where else repr(text)


def expected(kind: Kind) -> str:
    """What a value of `kind` looks like, for the text of an error."""
    words, example = WORDS[kind]
    return f'Expected {words}, such as "{example}".'


def check_kind(found: Unit, kind: Kind, *, start: str) -> None:
    """Raise a UnitError that begins with `start` if `found` cannot measure `kind`."""
    if kind in found.kinds:
        return
    if kind == "temperature_difference" and "temperature" in found.kinds:
        raise UnitError(
            f"{start}: {found.name} gives a temperature, and a difference of temperatures is meant. "
            f"{expected(kind)} Write delta_degF, or delta_degC."
        )
    if kind == "temperature" and "temperature_difference" in found.kinds:
        raise UnitError(
            f"{start}: {found.name} gives a difference of temperatures, and a temperature is meant. "
            f"{expected(kind)} Write degF, or degC."
        )
    if kind == "pressure_difference" and found.gauge is False:
        raise UnitError(
            f"{start}: {found.name} is an absolute pressure, and a difference of pressures is meant. "
            f"{expected(kind)} Write it without the a."
        )
    raise UnitError(f"{start}: {found.name} is a unit of {found.kind_words}. {expected(kind)}")


def _shift(
    found: Unit, kind: Kind, *, atmosphere_pa: float | None, unmarked: str | None, start: str
) -> float:
    """What is added after the factor, so that the result is what `kind` says."""
    if kind == "temperature":
        return found.offset
    if kind not in ("pressure", "pressure_absolute", "pressure_gauge"):
        return 0.0
    gauge = found.gauge
    if gauge is None:
        if kind == "pressure" and unmarked is None:
            raise UnitError(
                f"{start}: {found.name} does not say whether it is gauge or absolute. "
                f"Write {found.name}g or {found.name} gauge for a gauge reading, {found.name}a or "
                f"{found.name} absolute for one from vacuum."
            )
        gauge = (unmarked or {"pressure_gauge": "gauge"}.get(kind, "absolute")) == "gauge"
    wanted_gauge = kind == "pressure_gauge"
    if gauge == wanted_gauge:
        return 0.0
    if atmosphere_pa is None:
        have, want = ("a gauge", "an absolute") if gauge else ("an absolute", "a gauge")
        raise UnitError(
            f"{start}: {found.name} is {have} pressure, and {want} pressure is meant. {expected(kind)} "
            f"Write it as {want} pressure, or give the site's altitude or barometer."
        )
    return atmosphere_pa if gauge else -atmosphere_pa


@overload
def to_si(
    value: float,
    unit_text: str | Unit,
    kind: Kind,
    *,
    atmosphere_pa: float | None = None,
    unmarked: str | None = None,
    where: str = "",
) -> float: ...
@overload
def to_si(
    value: Floats,
    unit_text: str | Unit,
    kind: Kind,
    *,
    atmosphere_pa: float | None = None,
    unmarked: str | None = None,
    where: str = "",
) -> Floats: ...
def to_si(
    value: float | Floats,
    unit_text: str | Unit,
    kind: Kind,
    *,
    atmosphere_pa: float | None = None,
    unmarked: str | None = None,
    where: str = "",
) -> float | Floats:
    """Bring a number with a unit to the unit in memory.

    Parameters
    ----------
    value : float or (n,) float64
        In `unit_text`. NaN stays NaN.
    unit_text : str or Unit
        As people write it.
    kind : Kind
        What it measures. `pressure` and `pressure_absolute` give absolute Pa, `pressure_gauge` gauge Pa,
        `temperature` degC, `temperature_difference` K.
    atmosphere_pa : float, optional
        Ambient pressure [Pa]. Needed to go between gauge and absolute.
    unmarked : {"gauge", "absolute"}, optional
        How to take a pressure unit that says neither (`psi`, `kPa`). Left out, `pressure` refuses it,
        `pressure_gauge` takes gauge, and `pressure_absolute` takes absolute.
    where : str
        Named in errors.

    Raises
    ------
    UnitError
        If the unit is unknown, of another kind, or leaves gauge or absolute open.
    """
    try:
        found = unit_text if isinstance(unit_text, Unit) else unit(unit_text)
    except UnitError as err:
        if where:
            raise UnitError(f"{where}: {err} {expected(kind)}") from err
        raise
    start = f"{where} is in {found.name}" if where else f"A value in {found.name}"
    check_kind(found, kind, start=start)
    shift = _shift(found, kind, atmosphere_pa=atmosphere_pa, unmarked=unmarked, start=start)
    return value * found.factor + shift


@overload
def from_si(
    value: float, unit_text: str | Unit, kind: Kind, *, atmosphere_pa: float | None = None
) -> float: ...
@overload
def from_si(
    value: Floats, unit_text: str | Unit, kind: Kind, *, atmosphere_pa: float | None = None
) -> Floats: ...
def from_si(
    value: float | Floats, unit_text: str | Unit, kind: Kind, *, atmosphere_pa: float | None = None
) -> float | Floats:
    """Give a value in memory in another unit: the way back of `to_si`.

    A unit of pressure that says neither gauge nor absolute keeps what `kind` says.

    Raises
    ------
    UnitError
        As `to_si`.
    """
    found = unit_text if isinstance(unit_text, Unit) else unit(unit_text)
    check_kind(found, kind, start=f"A value in {found.name}")
    same = "gauge" if kind == "pressure_gauge" else "absolute"
    shift = _shift(found, kind, atmosphere_pa=atmosphere_pa, unmarked=same, start=f"A value in {found.name}")
    return (value - shift) / found.factor


def split(text: object, kind: Kind, *, where: str = "") -> tuple[float, str]:
    """The number and the unit's text in `text`, the latter never empty.

    Raises
    ------
    UnitError
        If `text` is no text, or lacks the number or the unit.
    """
    key = where.rsplit(".", 1)[-1] or "value"
    example = WORDS[kind][1]
    if isinstance(text, bool) or not isinstance(text, str):
        thing = (
            "a number without a unit"
            if isinstance(text, (int, float)) and not isinstance(text, bool)
            else "no text"
        )
        begin = f"{where} is {text}" if where else f"{text}"
        raise UnitError(
            f'{begin}, {thing}. {expected(kind)} Write value and unit in quotes: {key} = "{example}".'
        )
    plain = text.replace("−", "-").strip()
    start = _start(where, text)
    if _COMMA.match(plain):
        raise UnitError(
            f"{start}, with a comma in the number. {expected(kind)} "
            "Write the number with a point for decimals and nothing between thousands."
        )
    match = _NUMBER.fullmatch(plain)
    if match is None:
        raise UnitError(
            f"{start}, which does not begin with a number. {expected(kind)} Write a number, then its unit."
        )
    value, rest = float(match[1]), match[2].strip()
    if not math.isfinite(value):
        raise UnitError(f"{start}, which is too large a number. {expected(kind)}")
    if not rest:
        raise UnitError(
            f"{start}, a number without a unit. {expected(kind)} Write the unit after the number."
        )
    return value, rest


def parse(
    text: object,
    kind: Kind,
    where: str = "",
    *,
    atmosphere_pa: float | None = None,
    unmarked: str | None = None,
) -> float:
    """Read a quantity such as "30 degF" into the unit in memory.

    A time may be in parts: "4 min 10 s". See `to_si` for the other arguments.

    Raises
    ------
    UnitError
        With what was met, what was expected, and what to do.
    """
    value, rest = split(text, kind, where=where)
    start = _start(where, str(text))
    later = re.search(r"\s[+]?[0-9]", rest) if kind == "time" else None
    if later is not None:
        rest, more = rest[: later.start()], rest[later.start() :]
        tail = parse(more, kind, where)
        return (-1.0 if value < 0 else 1.0) * (abs(parse(f"{value!r} {rest}", kind, where)) + tail)
    try:
        found = unit(rest)
    except UnitError as err:
        raise UnitError(f"{start}: {err} {expected(kind)}") from err
    check_kind(found, kind, start=start)
    shift = _shift(found, kind, atmosphere_pa=atmosphere_pa, unmarked=unmarked, start=start)
    return value * found.factor + shift
