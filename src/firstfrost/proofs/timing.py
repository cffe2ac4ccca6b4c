"""`timer_counts` and `defrost_starts`: the board's count of run time, and what it does with it."""

from __future__ import annotations

import math
from typing import Final

from firstfrost.instruments.decide import probability_within
from firstfrost.phases.phase import Defrost
from firstfrost.proofs.contact import Contact
from firstfrost.proofs.context import Context, Span
from firstfrost.proofs.during import SURE
from firstfrost.proofs.finding import Evidence, Limit, Measured, Standing
from firstfrost.proofs.occasion import by_probability, evidence, plate

COUNT_WITHIN: Final = 0.10
"""A board's count may be off by this much of its setting; common practice, no source."""
LATE_MARK_S: Final = 120.0
"""Pins marked as bridged so soon after a start may have been bridged before it: watches differ."""
LONGEST_SETTING_S: Final = 7200.0
"""The longest interval that boards are commonly set to; common practice, no source."""
RUN_CHANNELS: Final = ("compressor_current", "power", "sensor_voltage")


def closed_spans(context: Context, contact: Contact) -> list[Span]:
    """The spans with the contact closed, within the record."""
    return [(max(s.start_s, context.first_s), min(s.end_s, context.last_s)) for s in contact.closed]


def counts(context: Context, contact: Contact, start_s: float, end_s: float) -> tuple[float, list[float]]:
    """Run time between two moments [s]: the whole of it, and each way in which boards count it.

    Boards count all run time in heating, or only that with the contact closed, or that since it last closed.
    """
    whole = context.seconds(start_s, end_s)
    ways = [whole]
    if contact.seen:
        closed = closed_spans(context, contact)
        ways.append(context.seconds(start_s, end_s, within=closed))
        last = contact.at(end_s - 1e-6) or contact.at(end_s - 2 * context.step_s)
        if last is not None:
            ways.append(context.seconds(max(start_s, last.start_s), end_s))
    return whole, ways


def _by_pins(context: Context, since_s: float, start_s: float) -> bool:
    return any(a <= start_s + context.near_s and b > since_s for a, b in context.marked("pins-bridged"))


def _jumpered(context: Context, contact: Contact, time_s: float) -> bool:
    span = contact.at(time_s) or contact.at(time_s - 2 * context.step_s)
    if span is not None and span.jumper_at(min(max(time_s, span.start_s), span.end_s - 1e-6)):
        return True
    return context.during("sensor-jumpered", time_s)


def _rested(context: Context, start_s: float, end_s: float) -> bool:
    """Tell whether the compressor rested between two times; pressures tell of a rest late and roughly."""
    return any(a < end_s and b > start_s for a, b in context.rests)


def interval(context: Context, contact: Contact, k: int) -> Evidence | None:
    """Judge the count before defrost number `k` of the record, where a termination before it was seen."""
    defrosts = context.found.defrosts
    this = defrosts[k]
    if k == 0 or this.cut in ("start", "both") or context.unit.board.kind == "demand":
        return None
    last = defrosts[k - 1]
    if last.cut in ("end", "both") or last.ended_by in ("call", "pressure"):
        return None  # broken off, it may have left the clock where it was
    set_s = context.unit.board.interval_s
    whole, ways = counts(context, contact, last.end_s, this.start_s)
    limit = Limit(
        low=set_s * (1 - COUNT_WITHIN),
        high=set_s * (1 + COUNT_WITHIN),
        unit="s",
        source=plate(context, "board.interval"),
    )
    place = (last.end_s, this.start_s)
    if _by_pins(context, last.end_s, this.start_s):
        what = "The test pins ran the clock fast: the board acted, but did not count a whole interval."
        return evidence("prompted", *place, RUN_CHANNELS, what)
    missing = sum(
        min(b, this.start_s) - max(a, last.end_s)
        for a, b in context.events.gaps
        if b > last.end_s and a < this.start_s
    )
    u = math.sqrt(
        (last.end_half_width_s**2 + this.start_half_width_s**2) / 3.0
        + (missing / 2.0) ** 2 / 3.0
        + context.step_s**2 * (1 + 2 * len(context.rests)) / 3.0
        + (0.01 * set_s) ** 2
        + (
            0.0
            if context.run_known
            else sum((60.0 if b > last.end_s and a < this.start_s else 0.0) ** 2 for a, b in context.rests)
        )
    )
    best = max(ways, key=lambda w: probability_within(w, u, low=limit.low, high=limit.high))
    probability = probability_within(best, u, low=limit.low, high=limit.high)
    measured = Measured(value=best, unit="s", expanded=2 * u)
    standing: Standing = by_probability(probability)
    what = "From one defrost's end to the next one's start, the run time is the board's interval."
    early = whole < set_s
    if context.unit.is_default("board.interval"):
        standing, what = (
            "doubtful",
            "A whole interval was counted, but the board's setting is not in the unit file.",
        )
    elif standing == "failed" and early and not context.marks_known:
        standing = "doubtful"
        what = (
            "The board started before its interval was over; no marks tell whether somebody bridged the pins."
        )
    elif (
        standing == "failed"
        and not context.run_known
        and (context.cycle.high_channel is None or _rested(context, last.end_s, this.start_s))
    ):
        standing, what = "doubtful", "The run time cannot be read closely enough from these channels."
    elif standing == "failed":
        what = f"The board started too {'early' if early else 'late'} for the interval it is set to."
    elif standing == "doubtful":
        what = "The run time is near the board's interval, within what the record can tell apart."
    return evidence(
        standing, *place, RUN_CHANNELS, what, measured=measured, limit=limit, probability=probability
    )


def overdue(context: Context, contact: Contact, *, late: bool = False) -> Evidence | None:
    """A whole interval of run time with the contact closed all along, and no start.

    With `late`, instead, a start that came a good deal later than that.
    """
    if context.unit.board.kind == "demand" or not contact.seen:
        return None
    set_s = LONGEST_SETTING_S if context.unit.is_default("board.interval") else context.unit.board.interval_s
    worst: Evidence | None = None
    for span in contact.closed:
        start_s, end_s = max(span.start_s, context.first_s), min(span.end_s, context.last_s)
        pieces = [start_s]
        for defrost in context.found.defrosts:
            if start_s - 60 <= defrost.start_s and defrost.start_s <= end_s + 60:
                pieces += [max(defrost.start_s, start_s), min(defrost.end_s, end_s)]
        pieces.append(end_s)
        for a, b in zip(pieces[::2], pieces[1::2], strict=False):
            if b <= a:
                continue
            run = context.seconds(a, b)
            missing = sum(min(d, b) - max(c, a) for c, d in context.events.gaps if d > a and c < b)
            vague = 0.0 if context.run_known else 150.0 * sum(1 for c, d in context.rests if d > a and c < b)
            if run - missing - vague > set_s * (1 + COUNT_WITHIN) + 120.0:
                started = any(abs(d.start_s - b) < 60 for d in context.found.defrosts)
                if started != late or (late and _by_pins(context, a, b)):
                    continue
                sure = context.run_known or context.cycle.high_channel is not None
                worst = evidence(
                    "failed" if sure else "doubtful", a, b, RUN_CHANNELS,
                    "The sensor was closed for more than a whole interval of run time"
                    + (" before the board started." if late else ", and the board started nothing."),
                    measured=Measured(value=run, unit="s", expanded=2 * context.step_s),
                    limit=Limit(low=None, high=set_s, unit="s", source=plate(context, "board.interval")),
                )  # fmt: skip
    return worst


def timer(context: Context, contact: Contact) -> list[Evidence]:
    """Judge the count of run time."""
    out: list[Evidence] = []
    if context.unit.board.kind == "demand":
        return out
    for k, defrost in enumerate(context.found.defrosts):
        judged = interval(context, contact, k)
        if judged is not None:
            out.append(judged)
        elif defrost.cut not in ("start", "both") and _by_pins(context, -math.inf, defrost.start_s):
            what = "The test pins ran the clock fast: the board acted, but did not count a whole interval."
            out.append(evidence("prompted", defrost.start_s - 30, defrost.start_s, RUN_CHANNELS, what))
    for late in (False, True):
        waited = overdue(context, contact, late=late)
        if waited is not None:
            out.append(waited)
    return out


def starts(context: Context, contact: Contact) -> list[Evidence]:
    """Judge every start, and every moment at which the board should have started a defrost."""
    out: list[Evidence] = []
    since = -math.inf
    for k, defrost in enumerate(context.found.defrosts):
        if defrost.cut not in ("start", "both"):
            out.append(_start(context, contact, k, defrost, since))
        if defrost.ended_by in ("sensor", "time"):
            since = defrost.end_s  # one that was broken off leaves the clock where the pins had brought it
    late = overdue(context, contact)
    if late is not None:
        out.append(late)
    out += _deaf_to_pins(context, contact)
    return out


def _start(context: Context, contact: Contact, k: int, defrost: Defrost, since_s: float) -> Evidence:
    at = defrost.start_s
    place = (at - 30.0, at + 30.0)
    channels = ("sensor_voltage", *defrost.decided_by[:2])
    before = at - max(
        defrost.start_half_width_s if defrost.start_half_width_s < 30 else 0.0, 0.6 * context.step_s
    )
    open_ = context.events.state_at(0, before) if contact.seen else None
    if open_ is True and context.events.state_at(0, at + 2 * context.step_s) is False:
        open_ = False
    pins = _by_pins(context, since_s, at)
    if context.events.gap_in(at - context.step_s, at + context.step_s):
        return evidence("unseen", *place, channels, "Readings are missing where the defrost began.")
    if defrost.sure < SURE or defrost.start_half_width_s > 100:
        return evidence("doubtful", *place, channels, "A defrost began, as far as these channels can tell.")
    if _jumpered(context, contact, at) and not context.marks_known:
        what = "A defrost began with a jumper in the sensor's place; no marks tell what else was done."
        return evidence("doubtful", *place, channels, what)
    if _jumpered(context, contact, at):
        return evidence(
            "prompted", *place, channels, "The board started a defrost with a jumper in the sensor's place."
        )
    if open_ is True:
        if pins or not context.marks_known:
            return evidence("doubtful", *place, channels, "A defrost began with the sensor's contact open.")
        return evidence(
            "failed", *place, channels, "The board started a defrost although the sensor's contact was open."
        )
    if not pins and any(at < a <= at + LATE_MARK_S for a, _ in context.marked("pins-bridged")):
        what = "A defrost began shortly before the mark of bridged pins: the mark may be late."
        return evidence("doubtful", *place, channels, what)
    if pins:
        return evidence(
            "prompted", *place, channels, "The board started a defrost with the test pins bridged."
        )
    if open_ is None:
        what = "A defrost began; whether the sensor had closed was not read."
        return evidence("doubtful", *place, channels, what)
    if context.marks_known:
        return evidence(
            "shown", *place, channels, "With the sensor closed, the board started a defrost by itself."
        )
    count = interval(context, contact, k)
    if count is not None and count.standing == "shown":
        what = "With the sensor closed and a whole interval run, the board started a defrost."
        return evidence("shown", count.start_s, at, channels, what)
    what = "A defrost began with the sensor closed; no marks tell whether somebody bridged the test pins."
    return evidence("doubtful", *place, channels, what)


def _deaf_to_pins(context: Context, contact: Contact) -> list[Evidence]:
    """Pins bridged long enough, the sensor closed, the compressor running, and no start."""
    out: list[Evidence] = []
    need = context.unit.board.pins_s
    for a, b in context.marked("pins-bridged"):
        end = min(b, context.last_s)
        a = max(a, context.first_s)
        if any(a - context.near_s <= d.start_s <= b + 30.0 + context.near_s for d in context.found.defrosts):
            continue
        if any(d.start_s <= a < d.end_s for d in context.found.defrosts):
            continue
        held = sum(
            context.seconds(max(a, c), min(end, d))
            for c, d in closed_spans(context, contact)
            if d > a and c < end
        )
        if held < 5.0:
            continue
        measured = Measured(value=held, unit="s", expanded=2 * context.step_s)
        limit = Limit(low=None, high=need, unit="s", source=plate(context, "board.pins_time"))
        if held >= need:
            what = "With the sensor closed and the test pins bridged, the board started nothing."
            out.append(evidence("failed", a, end, ("sensor_voltage",), what, measured=measured, limit=limit))
        else:
            what = "The test pins were bridged with the sensor closed, but perhaps not long enough."
            out.append(
                evidence("doubtful", a, end, ("sensor_voltage",), what, measured=measured, limit=limit)
            )
    return out
