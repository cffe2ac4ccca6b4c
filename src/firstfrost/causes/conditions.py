"""The conditions that a sound machine's numbers go with, and what is taken where one was not read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.air.moist import humidity_ratio
from firstfrost.causes.compression import compressed_c
from firstfrost.causes.look import heating_span
from firstfrost.heating.number import Heating
from firstfrost.proofs.context import Context
from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.refrigerants.refrigerant import refrigerant

Floats = NDArray[np.float64]
TYPICAL: Final = {"outdoor_c": (4.0, 6.0), "room_c": (20.5, 1.8), "humidity": (0.75, 0.15)}
"""Mean and standard deviation of what was not read. Model choice, no source."""


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What a sound machine's numbers depend on; NaN where it was not read."""

    outdoor_c: float
    room_c: float
    humidity: float
    size_w: float
    fixed: float
    """1 with a fixed orifice, else 0."""
    forced: float
    """1 where a person took the outdoor air away to make the coil cold."""
    refrigerant: str
    since_h: float = 0.4
    """Heating since the last start or defrost, to the window that the numbers are from. [h]"""
    clean: bool = True
    """A whole defrost of this record went before that window: how much frost was on the coil is known."""


def conditions(context: Context, heating: Heating) -> Conditions:
    """The conditions of a visit."""
    span = heating_span(context, heating) or (context.first_s, context.last_s)

    def median(name: str) -> float:
        _, values = context.window(name, *span)
        return float(np.median(values)) if len(values) else math.nan

    forced = bool(context.found.purpose) or any(p.name == "chilldown" for p in context.found.phases)
    return Conditions(
        outdoor_c=median("outdoor_air_temp"),
        room_c=median("return_air_temp"),
        humidity=median("outdoor_humidity"),
        size_w=context.unit.nominal_capacity_w or math.nan,
        fixed=float(context.unit.metering == "fixed orifice"),
        forced=float(forced),
        refrigerant=context.unit.refrigerant,
        clean=any(one.whole and one.end_s <= span[0] for one in context.found.defrosts),
        since_h=0.4 if heating.steady is None else min(max(heating.steady.since_s, 0.0) / 3600.0, 1.5),
    )


@cache
def discharge_index(name: str) -> float:
    """Discharge temperature of a reference cycle, over 100 degC: -2 degC dew and 5 K superheat to 42 degC.

    One number that says how hot a refrigerant gets.
    """
    return compressed_c(name, low_c=-2.0, superheat_k=5.0, high_c=42.0) / 100.0


@cache
def glide_k(name: str) -> float:
    """Dew above bubble near 40 degC, over 10 K."""
    fluid = refrigerant(name)
    return fluid.glide_k(fluid.dew_pressure_pa(40.0)) / 10.0


FROST_SPREAD: Final = 0.7
"""Standard deviation of what frost of before the record does, over its mean. Model choice, no source."""
TERMS: Final = (
    "1", "outdoor", "outdoor^2", "room", "humidity", "size", "fixed", "fixed x outdoor", "forced",
    "forced x outdoor", "discharge index", "glide", "outdoor x humidity",
    "frosting", "frosting x time", "fixed x room", "fixed x frosting",
    "frosting x frost not known",
)  # fmt: skip


def terms(one: Conditions) -> tuple[Floats, Floats]:
    """The polynomial's terms (18,), and how they move with one standard deviation of each missing condition.

    Returns
    -------
    terms : (18,)
        At the conditions, typical ones taken where they were not read.
    loose : (m, 18)
        A row for each that was not read, and for frost of before the record: change of the terms for one
        standard deviation of it.
    """
    given = {"outdoor_c": one.outdoor_c, "room_c": one.room_c, "humidity": one.humidity}
    at = {name: TYPICAL[name][0] if math.isnan(value) else value for name, value in given.items()}
    base = _terms(one, **at)
    loose = [
        0.5 * (_terms(one, **{**at, name: at[name] + TYPICAL[name][1]})
               - _terms(one, **{**at, name: at[name] - TYPICAL[name][1]}))
        for name, value in given.items() if math.isnan(value)
    ]  # fmt: skip
    if base[-1] > 0.0:
        # Frost of before the record may be none or much: its mean effect is as uncertain as it is large.
        row = np.zeros(len(TERMS))
        row[-1] = FROST_SPREAD * base[-1]
        loose.append(row)
    return base, np.array(loose).reshape(-1, len(TERMS))


def _terms(one: Conditions, *, outdoor_c: float, room_c: float, humidity: float) -> Floats:
    t, r, h = outdoor_c / 10.0, (room_c - 20.0) / 5.0, humidity - 0.75
    size = 0.0 if math.isnan(one.size_w) else math.log(one.size_w / 9000.0)
    f, p = one.fixed, one.forced
    d, g = discharge_index(one.refrigerant) - 0.75, glide_k(one.refrigerant)
    frost = frosting(outdoor_c, humidity)
    unknown = 0.0 if one.clean else frost
    more = [f * r, f * frost, unknown]
    return np.array(
        [1.0, t, t * t, r, h, size, f, f * t, p, p * t, d, g, t * h, frost, frost * one.since_h, *more]
    )


def frosting(outdoor_c: float, humidity: float) -> float:
    """What drives frost [g/kg]: outdoor humidity ratio over saturation at 0.82 t - 8.589 degC, below 0 degC.

    The coil temperature is that of EnergyPlus' frost model (Engineering Reference, "Frost Adjustment
    Factors").
    """
    coil_c = 0.82 * outdoor_c - 8.589
    if coil_c >= 0.0:
        return 0.0
    outdoor = humidity_ratio(outdoor_c, min(humidity, 1.0), STANDARD_ATMOSPHERE_PA)
    return max(0.0, 1000.0 * (outdoor - humidity_ratio(coil_c, 1.0, STANDARD_ATMOSPHERE_PA)))
