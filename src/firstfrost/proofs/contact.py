"""The coil sensor's contact: when it switched, and whether it did so by itself.

The contact follows the sensor's own body, which lags behind the coil. As a first-order body of time
constant tau

    tau dT_sensor/dt = T_coil - T_sensor

(a lumped thermal mass), so that a contact closes with the coil a little colder, and opens with it a good deal
warmer, than the sensor is. tau is not known: up to `LAG_S` is granted when a switching is called good, up
to `LAG_MOST_S` before one is called bad. Both are common practice, no source.

A jumper shows itself: volts vanish while the coil is warm. A contact that closes by itself does so in a
coil that is falling, at a low that it has not had before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from firstfrost.instruments.decide import probability_within
from firstfrost.phases import fold
from firstfrost.proofs.context import Context, Span, pick

Floats = NDArray[np.float64]

LAG_S: Final = 30.0
LAG_MOST_S: Final = 75.0
LAG_CAP_K: Final = 10.0
"""More than this is not put down to lag when a switching is called good."""
WARM_K: Final = 3.0
"""A coil this much above the closing band is warm: nothing closes there by itself."""

Kind = Literal["own", "person", "unclear"]


@dataclass(frozen=True, kw_only=True)
class Switching:
    """One change of the contact."""

    time_s: float
    closes: bool
    kind: Kind
    coil_c: float
    """Coil at that moment; NaN if not read. [degC]"""
    u_k: float
    sensor_c: tuple[float, float]
    """Where the sensor's own temperature lay, for lags of 0 to `LAG_S`. [degC]"""
    good: float
    """Best probability, over the lags granted, that it switched within its band; NaN if not known."""
    possible: float
    """Likewise over the lags up to `LAG_MOST_S`."""
    too: Literal["", "warm", "cold"]
    """On which side of the band it lay, when outside."""


@dataclass(frozen=True, kw_only=True)
class Closed:
    """One span [start_s, end_s) with the contact closed."""

    start_s: float
    end_s: float
    start: Switching | None
    end: Switching | None
    jumpered: tuple[Span, ...]
    """Parts of it in which a jumper was in place, as marks or the readings say."""

    def jumper_at(self, time_s: float) -> bool:
        """Tell whether a jumper was in place at `time_s`."""
        return any(a <= time_s < b for a, b in self.jumpered)


@dataclass(frozen=True, kw_only=True)
class Contact:
    """The contact over the whole record."""

    seen: bool
    closed: tuple[Closed, ...]
    switchings: tuple[Switching, ...]

    def at(self, time_s: float) -> Closed | None:
        """The closed span that holds `time_s`."""
        return next((span for span in self.closed if span.start_s <= time_s < span.end_s), None)


def lagged(time_s: Floats, coil_c: Floats, at_s: float, tau_s: float) -> float:
    """Temperature of a first-order body of time constant `tau_s` on the coil, at `at_s` [degC].

    Parameters
    ----------
    time_s, coil_c : (n,)
        The coil; NaN left out. [s], [degC]
    at_s : float
        When. [s]
    tau_s : float
        The time constant; the body is taken to have been at the coil's temperature five of them before. [s]
    """
    t, v = pick(time_s, coil_c, at_s - max(5.0 * tau_s, 20.0), at_s)
    if len(v) == 0:
        return math.nan
    if tau_s <= 0.0 or len(v) < 2:
        return float(v[-1])
    body = float(v[0])
    for dt, value in zip(np.diff(t).tolist(), v[1:].tolist(), strict=True):
        body += (value - body) * (1.0 - math.exp(-dt / tau_s))
    return body


def band(context: Context, *, closes: bool) -> Span:
    """The band of the rating [degC]."""
    sensor = context.unit.coil_sensor
    middle = sensor.closes_at_c if closes else sensor.opens_at_c
    return middle - sensor.tolerance_k, middle + sensor.tolerance_k


def examine(context: Context) -> Contact:
    """Read the whole life of the contact from the record."""
    events = context.events
    changes = events.of(fold.SW_CONTACT)
    first = events.first[fold.SW_CONTACT]
    if first is None:
        return Contact(seen=False, closed=(), switchings=())
    switchings: list[Switching] = []
    spans: list[Closed] = []
    start_s, start = (events.first_s[fold.SW_CONTACT], None) if not first else (math.nan, None)
    for change in changes:
        one = _switching(context, change.time_s, closes=not change.on)
        if not change.on:
            start_s, start = change.time_s, one
            switchings.append(one)
        elif start_s == start_s:
            span = _span(context, start_s, change.time_s, start, one)
            if span.end is not None:
                switchings.append(span.end)
            spans.append(span)
            start_s, start = math.nan, None
        else:
            switchings.append(one)
    if start_s == start_s:
        spans.append(_span(context, start_s, math.inf, start, None))
    # A span that the readings show to be a jumper marks its closing as a person's.
    for span in spans:
        if span.start is not None and span.jumpered and span.jumpered[0][0] <= span.start_s + context.near_s:
            k = switchings.index(span.start)
            switchings[k] = _as_person(span.start)
    return Contact(seen=True, closed=tuple(spans), switchings=tuple(switchings))


def _as_person(one: Switching) -> Switching:
    return replace(one, kind="person")


def _temperatures(context: Context, time_s: float) -> dict[float, float]:
    coil = context.trace.get("outdoor_coil_temp")
    now = context.value_at(coil, time_s)
    out = {0.0: now}
    if now == now:
        for tau in (5.0, 10.0, 15.0, 20.0, 25.0, LAG_S, 40.0, 50.0, LAG_MOST_S):
            out[tau] = lagged(context.trace.time_s, coil, time_s, tau)
        # The contact moved somewhere between two samples.
        _, v = pick(context.trace.time_s, coil, time_s - 1.6 * context.step_s, time_s - 0.4 * context.step_s)
        if len(v):
            out[-1.0] = float(v[-1])
            out[-2.0] = 0.5 * (float(v[-1]) + now)
    return out


def _switching(context: Context, time_s: float, *, closes: bool) -> Switching:
    by_lag = _temperatures(context, time_s)
    coil = by_lag[0.0]
    low, high = band(context, closes=closes)
    if coil != coil:
        kind: Kind = "own" if context.marks_known else "unclear"
        if _by_mark(context, time_s, closes=closes):
            kind = "person"
        return Switching(
            time_s=time_s, closes=closes, kind=kind, coil_c=coil, u_k=math.nan, sensor_c=(math.nan, math.nan),
            good=math.nan, possible=math.nan, too="",
        )  # fmt: skip
    u_k = context.u("outdoor_coil_temp", coil)
    granted = [v for tau, v in by_lag.items() if tau <= LAG_S and abs(v - coil) <= LAG_CAP_K]
    good = max(probability_within(v, u_k, low=low, high=high) for v in granted)
    possible = max(probability_within(v, u_k, low=low, high=high) for v in by_lag.values())
    nearest = min(by_lag.values(), key=lambda v: max(low - v, v - high, 0.0))
    too: Literal["", "warm", "cold"] = "" if low <= nearest <= high else "warm" if nearest > high else "cold"
    return Switching(
        time_s=time_s,
        closes=closes,
        kind=_kind(context, time_s, closes=closes, coil=coil, u_k=u_k, by_lag=by_lag, possible=possible),
        coil_c=coil,
        u_k=u_k,
        sensor_c=(min(granted), max(granted)),
        good=good,
        possible=possible,
        too=too,
    )


def _by_mark(context: Context, time_s: float, *, closes: bool) -> bool:
    for start, end in context.marked("sensor-jumpered"):
        if abs(time_s - (start if closes else end)) <= context.near_s:
            return True
    return False


def fresh_low(context: Context, time_s: float, coil: float) -> bool:
    """Tell whether the coil is falling to a low that it has not had since the contact last opened."""
    opened = [c.time_s for c in context.events.of(fold.SW_CONTACT, on=True) if c.time_s < time_s]
    since = max([time_s - 600.0, *opened])
    t, v = pick(context.trace.time_s, context.trace.get("outdoor_coil_temp"), since, time_s - 20.0)
    if len(v) == 0:
        return False
    recent = v[t >= time_s - 90.0]
    falling = len(recent) > 0 and float(np.mean(recent)) - coil > 0.25
    return falling and coil <= float(np.quantile(v, 0.02)) + 0.4


def _kind(
    context: Context,
    time_s: float,
    *,
    closes: bool,
    coil: float,
    u_k: float,
    by_lag: dict[float, float],
    possible: float,
) -> Kind:
    if _by_mark(context, time_s, closes=closes):
        return "person"
    if not closes:
        return "own"
    _, high = band(context, closes=True)
    warm = min(by_lag.values()) - 1.65 * u_k > high
    fresh = fresh_low(context, time_s, coil)
    if warm:
        if not fresh or coil > context.unit.coil_sensor.opens_at_c - context.unit.coil_sensor.tolerance_k:
            return "person"
        if not context.marks_known:
            return "person" if min(by_lag.values()) - high > WARM_K else "unclear"
        return "own"
    if not context.marks_known and not fresh:
        return "unclear"
    return "own"


def _span(
    context: Context, start_s: float, end_s: float, start: Switching | None, end: Switching | None
) -> Closed:
    jumpers: list[Span] = []
    for a, b in context.marked("sensor-jumpered"):
        lo, hi = max(a, start_s), min(b, end_s)
        if lo < hi:
            jumpers.append((lo, hi))
    if start is not None and start.kind == "person" and not jumpers:
        jumpers.append((start_s, end_s))
    if (
        start is None
        and not jumpers
        and not context.marks_known
        and _warm_and_closed(context, start_s, min(end_s, start_s + 120.0))
    ):
        # Closed from the first sample on with a coil that no healthy contact stays closed at.
        jumpers.append((start_s, end_s))
    if (
        start is not None
        and start.kind == "own"
        and not jumpers
        and start.too == "warm"
        and start.possible <= 0.05
        and _warm_and_closed(context, start_s, end_s)
    ):
        # It closed far too warm and then stayed closed in a hot coil: no sensor at all.
        jumpers.append((start_s, end_s))
    if end is not None and end.kind == "own":
        inside = next(
            (j for j in jumpers if j[0] <= end.time_s - context.near_s and end.time_s <= j[1]), None
        )
        if inside is not None:
            end = _as_person(end)
    if end is not None and end.kind == "own" and start is not None and start.kind == "unclear":
        end = replace(end, kind="unclear")
    return Closed(start_s=start_s, end_s=end_s, start=start, end=end, jumpered=tuple(jumpers))


def _warm_and_closed(context: Context, start_s: float, end_s: float) -> bool:
    """Tell whether the coil stayed above the opening band while the contact was closed, lag granted."""
    return stays_closed(context, start_s, min(end_s, context.last_s)) is not None


def stays_closed(context: Context, start_s: float, end_s: float) -> tuple[float, float, float] | None:
    """The longest stay of a closed contact with the sensor certainly above its opening band.

    Returns
    -------
    (time_s, sensor_c, u_k) or None
        The warmest moment of it; None if there was none of `LONG_S`.
    """
    _, high = band(context, closes=False)
    return _beyond(context, start_s, end_s, limit_c=high, above=True)


def stays_open(context: Context, start_s: float, end_s: float) -> tuple[float, float, float] | None:
    """Likewise an open contact with the sensor certainly below its closing band."""
    low, _ = band(context, closes=True)
    return _beyond(context, start_s, end_s, limit_c=low, above=False)


LONG_S: Final = 60.0
BEYOND_K: Final = 1.5
"""So much further beyond its band a sensor must be before a contact that does not move is called bad."""


def _beyond(
    context: Context, start_s: float, end_s: float, *, limit_c: float, above: bool
) -> tuple[float, float, float] | None:
    t, v = pick(context.trace.time_s, context.trace.get("outdoor_coil_temp"), start_s - 5 * LAG_MOST_S, end_s)
    if len(v) < 3:
        return None
    body = np.empty_like(v)
    body[0] = v[0]
    for i, dt in enumerate(np.diff(t).tolist()):
        body[i + 1] = body[i] + (v[i + 1] - body[i]) * (1.0 - math.exp(-dt / LAG_MOST_S))
    way = 1.0 if above else -1.0
    # Both the body with the longest lag and the coil itself must be beyond.
    nearest = np.minimum(way * body, way * v)
    u = np.array([context.u("outdoor_coil_temp", float(x)) for x in (nearest.min(), nearest.max())]).max()
    sure = (nearest - way * limit_c > 1.65 * u + BEYOND_K) & (t >= start_s)
    if not sure.any():
        return None
    starts = np.flatnonzero(np.diff(np.concatenate(([0], sure.astype(int)))) == 1)
    for i in starts.tolist():
        j = i
        while j + 1 < len(sure) and sure[j + 1]:
            j += 1
        if t[j] - t[i] >= max(LONG_S, context.step_s):
            k = i + int(np.argmax(nearest[i : j + 1]))
            return float(t[k]), float(way * nearest[k]), float(u)
    return None
