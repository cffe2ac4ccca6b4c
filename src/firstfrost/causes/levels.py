"""What each channel reads by itself: in settled heating, through a defrost, where the contact switches.

Differences of two channels (superheat, an approach) are there only where both were read. A level stands with
any kit: beside what a sound machine shows under the same conditions one probe says something, and any two say
what their difference would.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.seen import Seen
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context, Span

Floats = NDArray[np.float64]
RATE_S: Final = 10.0
"""The coil's rate where the contact switches is taken from twice this before it to half of this after it."""
DRIFT_S: Final = 300.0
"""A shorter stretch of heating says nothing of how readings drift."""
SETTLING_S: Final = 300.0
SATURATION_U_K: Final = 0.4
"""Standard uncertainty taken for a saturation. Model choice, no source. [K]"""
CLAMPED: Final = (
    "suction_line_temp", "liquid_line_temp", "outdoor_coil_temp", "vapor_line_temp", "discharge_temp",
    "supply_air_temp",
)  # fmt: skip
"""Temperatures that are levels."""


def levels(context: Context, contact: Contact, span: Span | None, undisturbed: list[Span]) -> dict[str, Seen]:
    """The levels of a visit, name -> number with its standard uncertainty.

    Parameters
    ----------
    context : Context
        The record with its phases.
    contact : Contact
        The coil sensor's contact over the record.
    span : (float, float) or None
        The window that settled numbers are from. [s]
    undisturbed : list of (float, float)
        Stretches of heating that nobody touched. [s]
    """
    out: dict[str, Seen] = {}
    if span is not None:
        out.update(_settled(context, span))
    out.update(_drift(context, undisturbed))
    out.update(_switched(context, contact))
    out.update(_cooled(context, contact))
    found = context.found.defrosts
    if found:
        out.update(_through(context, next((d for d in found if d.whole and not d.gap), found[0])))
    return out


def middle(context: Context, y: Floats, start_s: float, end_s: float) -> float:
    """Median of a series over a span; NaN with fewer than two readings in it."""
    t = context.trace.time_s
    values = y[(t >= start_s) & (t <= end_s)]
    values = values[np.isfinite(values)]
    return float(np.median(values)) if len(values) >= 2 else math.nan


def _series(context: Context) -> dict[str, tuple[Floats, float]]:
    """Levels by stem: series and standard uncertainty [degC], [K]."""
    cycle = context.cycle
    out = {"low": (cycle.low_dew_c, SATURATION_U_K), "high": (cycle.high_dew_c, SATURATION_U_K)}
    for name in CLAMPED:
        stem = name.removesuffix("_temp").removesuffix("_line").removeprefix("outdoor_").removesuffix("_air")
        out[stem] = (context.trace.get(name), context.u(name, 10.0))
    return out


def _settled(context: Context, span: Span) -> dict[str, Seen]:
    out = {}
    backup = middle(context, context.trace.get("backup_current"), *span)
    for stem, (y, u) in _series(context).items():
        value = middle(context, y, *span)
        if math.isfinite(value) and not (stem == "supply" and backup > 1.0):
            out[f"{stem}_level_c"] = Seen(value=value, u=u)
    return out


def _drift(context: Context, undisturbed: list[Span]) -> dict[str, Seen]:
    """How fast saturation, coil and supply air move over the longest stretch of heating [K/h]."""
    out: dict[str, Seen] = {}
    spans = [(a + SETTLING_S, b - 2.0 * context.step_s) for a, b in undisturbed]
    spans = [(a, b) for a, b in spans if b - a >= DRIFT_S]
    if not spans:
        return out
    a, b = max(spans, key=lambda one: one[1] - one[0])
    t = context.trace.time_s
    for stem, (y, _) in _series(context).items():
        if stem not in ("low", "coil", "supply", "high"):
            continue
        use = (t >= a) & (t <= b) & np.isfinite(y)
        if int(use.sum()) < 20:
            continue
        third = (b - a) / 3.0
        first, last = middle(context, y, a, a + third), middle(context, y, b - third, b)
        if math.isfinite(first) and math.isfinite(last):
            per_h = 3600.0 / (2.0 * third)
            out[f"{stem}_drift_k_h"] = Seen(value=(last - first) * per_h, u=0.05 * per_h)
    return out


def _switched(context: Context, contact: Contact) -> dict[str, Seen]:
    """The coil where the contact switched by itself, beside its rating [K], and how fast it moved [K/s]."""
    out: dict[str, Seen] = {}
    rated = context.unit.coil_sensor
    t, coil = context.trace.time_s, context.trace.get("outdoor_coil_temp")
    for stem, closes, at_c in (("closing", True, rated.closes_at_c), ("opening", False, rated.opens_at_c)):
        own = [
            one
            for one in contact.switchings
            if one.closes is closes and one.kind == "own" and math.isfinite(one.coil_c)
        ]
        if not own:
            continue
        one = own[0]
        out[f"{stem}_coil_k"] = Seen(value=one.coil_c - at_c, u=one.u_k)
        use = (t >= one.time_s - 2.0 * RATE_S) & (t <= one.time_s + 0.5 * RATE_S) & np.isfinite(coil)
        if int(use.sum()) >= 3:
            out[f"{stem}_rate_k_s"] = Seen(value=float(np.polyfit(t[use], coil[use], 1)[0]), u=0.02)
    return out


def _cooled(context: Context, contact: Contact) -> dict[str, Seen]:
    """From the outdoor air taken away to the contact's closing: how long, and the low side there."""
    spans = context.marked("fan-lead-off")
    if not spans:
        return {}
    out: dict[str, Seen] = {}
    start = spans[0][0]
    closing = next(
        (one.time_s for one in contact.switchings if one.closes and start < one.time_s < start + 900.0), None
    )
    if closing is not None:
        out["chill_log"] = Seen(value=math.log(max(closing - start, 2.0)), u=5.0 / max(closing - start, 5.0))
    for stem, (y, u) in _series(context).items():
        before, after = (
            middle(context, y, start - 60.0, start - 5.0),
            middle(context, y, start + 60.0, start + 90.0),
        )
        if stem in ("low", "high", "coil", "suction") and math.isfinite(before) and math.isfinite(after):
            out[f"{stem}_chill_k"] = Seen(value=after - before, u=u)
    return out


def _through(context: Context, one: Defrost) -> dict[str, Seen]:
    """Levels in the later part of a defrost, and the power it takes over the nominal capacity."""
    out: dict[str, Seen] = {}
    length = one.end_s - one.start_s
    a, b = one.start_s + min(25.0, 0.3 * length), one.end_s
    late = b - min(20.0, 0.3 * length)
    for stem, (y, u) in _series(context).items():
        value = middle(context, y, late, b)
        if math.isfinite(value):
            out[f"{stem}_defrost_c"] = Seen(value=value, u=1.5 * u)
    size = context.unit.nominal_capacity_w
    for name, feature in (("compressor_current", "compressor_defrost_log"), ("power", "power_defrost_log")):
        value = middle(context, context.trace.get(name), a, b)
        if size and value > 0.5:
            out[feature] = Seen(value=math.log(value / size), u=0.03)
    return out
