"""From the record to one number a row, each with its standing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from firstfrost.errors import InputError, OutOfRange
from firstfrost.heating.number import Heating, HeatingStanding, Number
from firstfrost.heating.row import Row
from firstfrost.heating.rows import ROWS
from firstfrost.heating.state import Reading, State
from firstfrost.instruments.decide import decide, probability_within
from firstfrost.proofs.context import Context
from firstfrost.proofs.finding import Limit
from firstfrost.refrigerants import refrigerant
from firstfrost.trace.channels import CHANNELS

CERTIFIED = "Only certified people open the circuit or handle refrigerant where the law asks it"
BY_CLASS = {
    "A2L": f"{CERTIFIED}; this mildly flammable (A2L) one with fresh air, no spark, and tools rated for it.",
    "A3": f"{CERTIFIED}; this highly flammable (A3) one only those trained for it.",
}


def check_heating(context: Context) -> Heating:
    """Work out every number of the heating check.

    Parameters
    ----------
    context : Context
        The record, its cycle, its unit and what the phase finder made of it.

    Returns
    -------
    Heating
        One number a row, in the order of the rows; those that could not be had are `unseen` and say why.
    """
    state = State(context=context)
    if len(context.trace) == 0:
        return Heating(numbers=tuple(_unseen(row, state, "The record holds no readings.") for row in ROWS))
    found = state.found
    numbers = {row.name: number(row, state) for row in ROWS}
    return Heating(
        numbers=tuple(held(row, numbers) for row in ROWS),
        steady=found.best,
        steady_s=found.total_s,
        why_not=found.why_not,
    )


def held(row: Row, numbers: Mapping[str, Number]) -> Number:
    """The number of a row; where a ratio judges it, with the ratio's standing and its limit scaled."""
    own = numbers[row.name]
    ratio = numbers.get(row.held_by)
    if ratio is None or ratio.limit is None or not own.measured or own.limit is not None or not ratio.value:
        return own
    whole = own.value / ratio.value
    low, high = (None if end is None else end * whole for end in (ratio.limit.low, ratio.limit.high))
    return replace(
        own,
        standing=ratio.standing,
        sentence=row.says[ratio.standing],
        limit=Limit(low=low, high=high, unit=row.unit, source=ratio.limit.source),
        probability=ratio.probability,
        settle="" if ratio.standing == "shown" else row.settle,
        remedy=ratio.remedy,
    )


def number(row: Row, state: State) -> Number:
    """Measure and judge one row."""
    try:
        reading = row.measure(state)
    except (InputError, OutOfRange) as err:
        return _unseen(row, state, str(err))
    if reading is None:
        return _unseen(row, state, why_unseen(row, state))
    try:
        limit, trouble = row.hold(state, reading), ""
    except (InputError, OutOfRange) as err:
        limit, trouble = None, str(err)
    return _judged(row, state, reading, limit, trouble)


def standing_of(row: Row, reading: Reading, limit: Limit | None) -> tuple[HeatingStanding, float | None]:
    """The standing of a measured number, and the probability that its limit is met."""
    if limit is None:
        return "doubtful", None
    probability = probability_within(reading.value.value, reading.value.u, low=limit.low, high=limit.high)
    answer = decide(probability)
    value, low, high = reading.value.value, limit.low, limit.high
    if row.simple and (low is None or low <= value) and (high is None or value <= high):
        answer = "holds"
    if answer == "holds" and not reading.weak:
        return "shown", probability
    if answer == "fails" and row.fails and not reading.weak:
        return "failed", probability
    return "doubtful", probability


def _judged(row: Row, state: State, reading: Reading, limit: Limit | None, trouble: str) -> Number:
    standing, probability = standing_of(row, reading, limit)
    settle = ""
    if limit is None:
        settle = trouble or row.look_up
    elif standing == "doubtful":
        if reading.weak:
            settle = f"{reading.weak[0].upper()}{reading.weak[1:]}. {row.settle}"
        else:
            settle = row.settle if probability is None or decide(probability) == "fails" else _near(reading)
    remedy = row.remedy if standing == "failed" else ""
    if remedy and row.circuit:
        caution = BY_CLASS.get(refrigerant(state.context.unit.refrigerant).safety_class, f"{CERTIFIED}.")
        remedy = f"{remedy} {caution}"
    return Number(
        name=row.name,
        standing=standing,
        unit=row.unit,
        sentence=row.open if limit is None else row.says[standing],
        value=reading.value.value,
        expanded=reading.value.expanded,
        sources=reading.value.sources,
        limit=limit,
        probability=probability,
        start_s=reading.start_s,
        end_s=reading.end_s,
        channels=reading.channels,
        how=reading.how,
        settle=settle,
        remedy=remedy,
    )


def _near(reading: Reading) -> str:
    """What would settle a number that its uncertainty does not part from its limit."""
    sources = reading.value.sources
    most = max(sources, key=lambda name: abs(sources[name]), default="")
    if not most:
        return "It lies too near its limit to tell."
    name = CHANNELS[most].title if most in CHANNELS else most
    return f"It lies too near its limit to tell. Most of its uncertainty comes from one thing: {name}."


def why_unseen(row: Row, state: State) -> str:
    """Say which channels are missing, or what did not come."""
    trace = state.context.trace
    if row.needs and not any(trace.has(*need) for need in row.needs):
        fewest = min(row.needs, key=lambda need: sum(not trace.has(name) for name in need))
        missing = [CHANNELS[name].title for name in fewest if not trace.has(name)]
        return f"Not in the record: {', '.join(missing)}."
    if state.found.best is None and state.found.why_not:
        return state.found.why_not
    return ""


def _unseen(row: Row, state: State, why: str) -> Number:
    return Number(
        name=row.name,
        standing="unseen",
        unit=row.unit,
        sentence=row.says["unseen"],
        settle=f"{why} {row.settle}".strip(),
    )
