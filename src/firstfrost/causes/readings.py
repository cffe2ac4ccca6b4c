# ruff: noqa: E501
"""Readings that a person types in: `airflow = 980 cfm`, `filter_look = dirty`, `superheat = 12 delta_degF ± 1 delta_degF`.

A typed reading stands in for the same feature of the record, and the result says that it was typed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.causes.acts import Act
from firstfrost.causes.features import FEATURE, FEATURES
from firstfrost.causes.seen import Seen
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.quantities.convert import parse
from firstfrost.quantities.units import Kind

How = Literal["as it is", "log over capacity", "log over nominal volts", "log over a clean one's drop"]
CLEAN_PA: Final = 60.0
"""Drop of a clean filter or coil (0.24 inH2O). Common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Typed:
    """A number that can be typed: its name there, the feature it gives, and what it is worth if nothing is said."""

    name: str
    feature: str
    kind: Kind
    how: How
    lowest: str
    highest: str
    u: str
    """Standard uncertainty taken: an amount with its unit, or per cent of the reading. Common practice, no source."""


def _k(name: str, feature: str, u: str = "0.7 delta_degC") -> Typed:
    return Typed(
        name=name,
        feature=feature,
        kind="temperature_difference",
        how="as it is",
        lowest="-60 delta_degC",
        highest="150 delta_degC",
        u=u,
    )


TYPED: Final[dict[str, Typed]] = {
    row.name: row
    for row in (
        _k("superheat", "superheat_k"),
        _k("subcooling", "subcooling_k"),
        _k("evaporating_approach", "evaporating_approach_k"),
        _k("condensing_approach", "condensing_approach_k"),
        _k("discharge_superheat", "discharge_superheat_k"),
        _k("temperature_rise", "temperature_rise_k"),
        Typed(name="discharge_temp", feature="discharge_temp_c", kind="temperature", how="as it is", lowest="-20 degC", highest="200 degC", u="0.8 delta_degC"),
        Typed(name="airflow", feature="airflow_log", kind="flow", how="log over capacity", lowest="20 cfm", highest="5000 cfm", u="6 %"),
        Typed(name="capacity", feature="capacity_air_log", kind="power", how="log over capacity", lowest="100 W", highest="60 kW", u="8 %"),
        Typed(name="power", feature="power_log", kind="power", how="log over capacity", lowest="50 W", highest="20 kW", u="3 %"),
        Typed(name="compressor_current", feature="compressor_current_log", kind="current", how="log over capacity", lowest="0.5 A", highest="150 A", u="3 %"),
        Typed(name="fan_current", feature="fan_current_log", kind="current", how="log over capacity", lowest="0.1 A", highest="20 A", u="4 %"),
        Typed(name="backup_power", feature="backup_log", kind="power", how="log over capacity", lowest="300 W", highest="40 kW", u="4 %"),
        Typed(name="line_voltage", feature="line_voltage_log", kind="voltage", how="log over nominal volts", lowest="90 V", highest="300 V", u="1 %"),
        Typed(name="filter_drop", feature="filter_drop_log", kind="pressure_difference", how="log over a clean one's drop", lowest="0.5 Pa", highest="1000 Pa", u="5 %"),
        Typed(name="coil_drop", feature="coil_drop_log", kind="pressure_difference", how="log over a clean one's drop", lowest="0.5 Pa", highest="1000 Pa", u="5 %"),
    )
}  # fmt: skip
LOOKED: Final = tuple(
    row.name
    for row in FEATURES
    if row.words and row.group != "standing" and row.name not in ("ended_by", "steady")
)
"""Words that can be typed."""


@dataclass(frozen=True, kw_only=True)
class Stated:
    """What a typed text says by itself, whatever unit it is of.

    value : a word, or a number in the unit in memory; u : the number's standard uncertainty, in the same unit
    """

    name: str
    value: float | str
    u: float = 0.0

    @property
    def feature(self) -> str:
        """The feature that it gives."""
        return TYPED[self.name].feature if self.name in TYPED else self.name


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A reading as typed, and the feature it is."""

    text: str
    feature: str
    seen: Seen


def read_readings(texts: Sequence[str], unit: Unit) -> tuple[Reading, ...]:
    """Understand readings as they were typed, `NAME = VALUE`, all mistakes told at once.

    Raises
    ------
    InputError
        One is not of that form, has an unknown name, unit or word, lies outside what makes sense, or is given
        twice.
    """
    out: list[Reading] = []
    wrong: list[str] = []
    for text in texts:
        try:
            one = _read(text, unit)
            if any(other.feature == one.feature for other in out):
                raise InputError(
                    f"--reading {text!r} gives {one.feature} twice. Expected each once. Leave one out."
                )
            out.append(one)
        except InputError as err:
            wrong.append(str(err))
    if wrong:
        raise InputError("\n".join(wrong))
    return tuple(out)


def _read(text: str, unit: Unit) -> Reading:
    name, sign, value = (part.strip() for part in text.partition("="))
    where = f"--reading {text!r}"
    if not sign or not name or not value:
        raise InputError(
            f'{where} is not of the form NAME = VALUE. Expected such as "airflow = 980 cfm" or "filter_look = dirty". Write it so.'
        )
    return reading_of(state(name, value, where), unit, text=text, where=where)


def state(name: str, text: str, where: str) -> Stated:
    """Understand one reading as far as that goes without the unit.

    Parameters
    ----------
    name : str
        Of `TYPED` or `LOOKED`.
    text : str
        The word; or the number with its unit and, after ±, its standard uncertainty.
    where : str
        Named in errors.

    Raises
    ------
    InputError
        If the name, word or unit is unknown, or the number lies outside what makes sense.
    """
    if name in LOOKED:
        words = FEATURE[name].words
        if text not in words:
            raise InputError(
                f"{where}: {FEATURE[name].title} is {text!r}. Expected one of: {', '.join(words)}. Take one of these words."
            )
        return Stated(name=name, value=text)
    if name not in TYPED:
        raise InputError(
            f"{where}: {name!r} is no reading that can be typed. Expected one of: {', '.join(sorted((*TYPED, *LOOKED)))}. Take one of these."
        )
    row = TYPED[name]
    amount, _, worth = (part.strip() for part in re.sub(r"\+/-|\+-", "±", text).partition("±"))
    number = parse(amount, row.kind, where=where)
    low, high = bounds(row)
    if not low <= number <= high:
        raise InputError(
            f"{where} lies outside {row.lowest} to {row.highest}, which a working unit can show. Check the number and its unit."
        )
    return Stated(name=name, value=number, u=_worth(worth or row.u, row, number, where))


def bounds(row: Typed) -> tuple[float, float]:
    """The lowest and the highest number that makes sense, in the unit in memory."""
    return parse(row.lowest, row.kind), parse(row.highest, row.kind)


def agree(one: Stated, other: Stated) -> bool:
    """Whether two statements of one feature can both be so: the same word, or numbers within their joint k = 2."""
    if isinstance(one.value, str) or isinstance(other.value, str):
        return one.value == other.value
    return abs(one.value - other.value) <= 2.0 * math.hypot(one.u, other.u)


def typed_for(act: Act) -> tuple[str, ...]:
    """What can be typed for an act: what it gives, and what its channels alone come to.

    Where a channel can be typed itself, no number is asked for that only follows from it.
    """
    have = set(act.channel)
    alone = {row.name for row in FEATURES if row.channels and set(row.channels) <= have}
    numbers = [
        row.name
        for row in TYPED.values()
        if row.feature in act.gives
        or (
            row.feature in alone
            and (row.name in have or not TYPED.keys() & set(FEATURE[row.feature].channels))
        )
    ]
    return (*numbers, *(name for name in LOOKED if name in act.gives or name in alone))


def channels_for(act: Act) -> tuple[str, ...]:
    """Channels of an act that no number can be typed for: they are read into the record."""
    features = [FEATURE[TYPED[name].feature] for name in typed_for(act) if name in TYPED]
    covered = {channel for row in features for channel in row.channels}
    return tuple(name for name in act.channel if name not in covered)


def _worth(text: str, row: Typed, number: float, where: str) -> float:
    if text.endswith("%"):
        u = abs(number) * parse(text, "ratio", where=where)
    else:
        kind: Kind = "temperature_difference" if row.kind == "temperature" else row.kind
        u = parse(text, kind, where=where)
    if not 0.0 < u < math.inf:
        raise InputError(
            f"{where} has an uncertainty that is not above 0. Write it as ± and an amount with its unit."
        )
    return u


def reading_of(one: Stated, unit: Unit, *, text: str, where: str) -> Reading:
    """The reading of a unit that a statement is; `text` is what it is called by, `where` named in errors.

    Raises
    ------
    InputError
        If it means something only beside the unit's size, and that is not known.
    """
    if isinstance(one.value, str):
        return Reading(text=text, feature=one.feature, seen=Seen(value=one.value, typed=True))
    row, number = TYPED[one.name], one.value
    if row.how == "as it is":
        return Reading(text=text, feature=row.feature, seen=Seen(value=number, u=one.u, typed=True))
    base = {"log over nominal volts": unit.supply.voltage_v, "log over a clean one's drop": CLEAN_PA}.get(
        row.how, unit.nominal_capacity_w
    )
    if base is None:
        raise InputError(
            f"{where} means something only beside the unit's size, which the unit file does not give. Write nominal_capacity under [unit]."
        )
    seen = Seen(value=math.log(number / base), u=one.u / number, typed=True)
    return Reading(text=text, feature=row.feature, seen=seen)
