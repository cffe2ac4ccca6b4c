"""`sensor_closes` and `sensor_opens`: the coil sensor's contact by itself, near its ratings."""

from __future__ import annotations

from firstfrost.proofs.contact import (
    LAG_MOST_S,
    LAG_S,
    Closed,
    Contact,
    Switching,
    band,
    stays_closed,
    stays_open,
)
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Evidence, Limit, Measured, Standing
from firstfrost.proofs.occasion import by_probability, evidence, plate

CHANNELS = ("sensor_voltage", "outdoor_coil_temp")


def _limit(context: Context, *, closes: bool, one: Switching | None = None) -> Limit:
    """The band of the rating; for a switching, carried to the coil by the lag granted."""
    low, high = band(context, closes=closes)
    source = plate(context, "coil_sensor.closes_at" if closes else "coil_sensor.opens_at")
    if one is not None and one.coil_c == one.coil_c:
        low += min(0.0, one.coil_c - one.sensor_c[1])
        high += max(0.0, one.coil_c - one.sensor_c[0])
        source += f", as the coil shows it with up to {LAG_S:.0f} s of lag (common practice, no source)"
    return Limit(low=low, high=high, unit="degC", source=source)


def _measured(value: float, u: float) -> Measured | None:
    return Measured(value=value, unit="degC", expanded=2 * u) if value == value else None


def _own(context: Context, one: Switching) -> Evidence:
    verb = "closed" if one.closes else "opened"
    place = (one.time_s - 5 * context.step_s, one.time_s + 2 * context.step_s)
    limit = _limit(context, closes=one.closes, one=one)
    measured = _measured(one.coil_c, one.u_k)
    standing: Standing
    if one.kind == "person":
        what = f"The contact {verb} by a person's hand: a jumper across the sensor."
        return evidence("bypassed", *place, CHANNELS, what, measured=measured, limit=limit)
    if one.coil_c != one.coil_c:
        what = f"The contact {verb}, but no coil temperature was read to hold against its rating."
        return evidence("doubtful", *place, ("sensor_voltage",), what, limit=limit)
    if one.kind == "unclear":
        what = f"The contact {verb}, and no marks say that nobody put a jumper across it just then."
        return evidence(
            "doubtful", *place, CHANNELS, what, measured=measured, limit=limit, probability=one.good
        )
    if by_probability(one.good) == "shown":
        standing, what = "shown", f"The contact {verb} by itself, with the coil near its rating."
    elif context.events.gap_in(one.time_s - LAG_MOST_S, one.time_s):
        standing, what = (
            "doubtful",
            f"The contact {verb} soon after missing readings: how warm the sensor was cannot be told.",
        )
    elif by_probability(one.possible) == "failed":
        side = {"warm": "too warm", "cold": "too cold", "": "off"}[one.too]
        if context.marks_known or (one.closes and one.too == "cold"):
            standing, what = (
                "failed",
                f"The contact {verb} by itself, but with the coil {side} for its rating.",
            )
        else:
            standing, what = (
                "doubtful",
                f"The contact {verb} with the coil {side}; no marks tell whether by itself.",
            )
    else:
        standing, what = (
            "doubtful",
            f"The contact {verb} by itself; how near its rating the readings cannot tell.",
        )
    probability = one.possible if standing == "failed" else one.good
    return evidence(standing, *place, CHANNELS, what, measured=measured, limit=limit, probability=probability)


def closes(context: Context, contact: Contact) -> list[Evidence]:
    """Judge every closing, and every cold spell in which it should have closed and did not."""
    out: list[Evidence] = []
    if not contact.seen:
        return out
    for one in contact.switchings:
        if not one.closes:
            continue
        if context.events.gap_in(one.time_s - context.step_s, one.time_s + context.step_s):
            continue
        if (
            not context.running(one.time_s)
            and one.kind != "person"
            and one.good == one.good
            and one.good < 0.5
        ):
            continue  # the low-voltage supply may have been cut with everything else
        out.append(_own(context, one))
    for span in contact.closed:
        for a, b in span.jumpered:
            if not any(e.standing == "bypassed" and abs(e.start_s - a) < 60 for e in out):
                what = "A jumper lay across the sensor: what the contact did cannot be seen."
                out.append(
                    evidence("bypassed", max(a, context.first_s), min(b, context.last_s), CHANNELS, what)
                )
    for a, b in context.marked("sensor-jumpered"):
        if not any(e.standing == "bypassed" for e in out):
            what = "A jumper lay across the sensor: what the contact did cannot be seen."
            out.append(evidence("bypassed", max(a, context.first_s), min(b, context.last_s), CHANNELS, what))
    for a, b in _open_spans(context, contact):
        cold = stays_open(context, a, b)
        if cold is not None:
            _, sensor_c, u = cold
            what = "The coil stayed colder than the sensor's closing rating and its contact stayed open."
            out.append(
                evidence(
                    "failed", a, min(b, context.last_s), CHANNELS, what, measured=_measured(sensor_c, u),
                    limit=_limit(context, closes=True), probability=0.0,
                )
            )  # fmt: skip
    return out


def _open_spans(context: Context, contact: Contact) -> list[tuple[float, float]]:
    first = context.events.first_s[0]
    edges = [first]
    for span in contact.closed:
        edges += [span.start_s, span.end_s]
    edges.append(context.last_s)
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=False) if b - a > 2 * context.step_s]


def opens(context: Context, contact: Contact) -> list[Evidence]:
    """Judge every opening, and every warm spell in which it should have opened and did not."""
    out: list[Evidence] = []
    if not contact.seen:
        return out
    for one in contact.switchings:
        if one.closes:
            continue
        if (
            not context.running(one.time_s)
            and one.kind != "person"
            and one.good == one.good
            and one.good < 0.5
        ):
            continue
        if context.events.gap_in(one.time_s - context.step_s, one.time_s + context.step_s):
            continue
        out.append(_own(context, one))
    for span in contact.closed:
        out += _stuck(context, span)
    for a, b in context.marked("sensor-jumpered"):
        if not any(e.standing == "bypassed" for e in out):
            what = "A jumper lay across the sensor: what the contact did cannot be seen."
            out.append(evidence("bypassed", max(a, context.first_s), min(b, context.last_s), CHANNELS, what))
    return out


def _stuck(context: Context, span: Closed) -> list[Evidence]:
    end_s = min(span.end_s, context.last_s)
    if span.jumpered:
        a, b = span.jumpered[0]
        what = "A jumper lay across the sensor: its own opening cannot be seen."
        out = [evidence("bypassed", max(a, context.first_s), min(b, context.last_s), CHANNELS, what)]
        off_s = max(b for _, b in span.jumpered) + context.near_s
        # With the jumper marked as taken off, the contact is on its own again.
        return out + (_held(context, off_s, end_s) if context.marks_known and off_s < end_s else [])
    return _held(context, span.start_s, end_s)


def _held(context: Context, start_s: float, end_s: float) -> list[Evidence]:
    """A contact that stayed closed in a warm coil between two times, if it did."""
    warm = stays_closed(context, start_s, end_s)
    if warm is None:
        return []
    _, sensor_c, u = warm
    what = "The coil stayed warmer than the sensor's opening rating and its contact stayed closed."
    if not context.marks_known:
        what = "The contact stayed closed in a warm coil; no marks tell whether a jumper lay across it."
    standing: Standing = "failed" if context.marks_known else "doubtful"
    return [
        evidence(
            standing, start_s, end_s, CHANNELS, what, measured=_measured(sensor_c, u),
            limit=_limit(context, closes=False), probability=0.0,
        )
    ]  # fmt: skip
