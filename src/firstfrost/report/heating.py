"""What a report says of the heating check: rows for what was measured, one line for what was not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from firstfrost.heating.number import Heating, HeatingStanding, Number, Steady
from firstfrost.heating.rows import ROWS
from firstfrost.proofs.finding import Evidence, Measured, Standing
from firstfrost.report import words
from firstfrost.report.numbers import Held, Numbers
from firstfrost.report.text import clean
from firstfrost.report.times import Clock, length, tie

TITLES: Final = {row.name: row.title for row in ROWS}
HELD_BY: Final = {row.name: row.held_by for row in ROWS if row.held_by}
HEAT: Final = frozenset({"capacity_air_w", "capacity_refrigerant_w"})
"""Powers that are heat, and so are told in Btu/h."""


@dataclass(frozen=True, kw_only=True)
class HeatingRow:
    """One number that was measured."""

    name: str
    title: str
    standing: Standing
    number: str
    limit: str
    margin: str
    sentence: str
    settle: str
    remedy: str
    facts: tuple[tuple[str, str], ...]
    """Name and value of each: how, limit from, chance that it is met, when, from."""


@dataclass(frozen=True, kw_only=True)
class HeatingPage:
    """All that a report says of the heating check."""

    headline: str
    window: str
    """Where heating was steady."""
    rows: tuple[HeatingRow, ...]
    look_up: tuple[str, ...]
    """What to look up, for the numbers with nothing to hold them against."""
    unseen: str
    """All that was not measured, in one line."""


def held(number: Number, numbers: Numbers) -> Held:
    """The number as text, and what it is held against."""
    if not number.measured:
        return Held()
    unit = "heat" if number.name in HEAT else number.unit
    limit = None if number.limit is None or _plain(number) else replace(number.limit, unit=unit)
    evidence = Evidence(
        standing=number.standing,
        start_s=number.start_s or 0.0,
        end_s=number.end_s or 0.0,
        channels=number.channels,
        what=number.sentence,
        measured=Measured(value=number.value, unit=unit, expanded=number.expanded),
        limit=limit,
        probability=number.probability,
    )
    return numbers.held(evidence)


def _plain(number: Number) -> bool:
    """Whether the limit is that heat flows downhill: how far a sound number lies above it says nothing."""
    return number.limit is not None and number.limit.source.startswith("physics: heat flows")


def heating_page(heating: Heating, numbers: Numbers, clock: Clock) -> HeatingPage:
    """Compose what a report says of `heating`."""
    measured = [one for one in heating.numbers if one.measured]
    return HeatingPage(
        headline=headline(heating),
        window=window(heating, clock),
        rows=tuple(_row(one, heating.steady, numbers, clock) for one in measured),
        look_up=look_up(heating),
        unseen=unseen(heating),
    )


def apart(heating: Heating, standing: HeatingStanding) -> list[Number]:
    """The numbers with a standing, without those that only share the standing of their ratio."""
    return [
        one
        for one in heating.of(standing)
        if one.name not in HELD_BY or heating.number(HELD_BY[one.name]).standing != standing
    ]


def headline(heating: Heating) -> str:
    """How many numbers have which standing."""
    failed, shown = len(apart(heating, "failed")), len(apart(heating, "shown"))
    held_too = [one for one in apart(heating, "doubtful") if one.limit is not None]
    bare = len(apart(heating, "doubtful")) - len(held_too)
    parts = [
        f"{shown} within their limits" if shown else "",
        f"{len(held_too)} too close to call" if held_too else "",
        f"{bare} measured with nothing to hold them to" if bare else "",
        f"{len(heating.of('unseen'))} not measured" if heating.of("unseen") else "",
    ]
    rest = ", ".join(part for part in parts if part)
    return f"{failed} FAILED; {rest}." if failed else f"None failed; {rest}."


def window(heating: Heating, clock: Clock) -> str:
    """Where heating was steady, and for how long."""
    steady = heating.steady
    if steady is None:
        return heating.why_not
    span = clock.span(steady.start_s, steady.end_s)
    if not heating.steady_s:
        return f"Read from {span}; whether heating was steady such readings cannot tell."
    text = f"Read from {span}, where heating was steadiest, {_since(steady)}."
    return f"{text} Heating was steady for {length(60 * round(heating.steady_s / 60))} in all."


def _since(steady: Steady) -> str:
    minutes = 60 * round(max(steady.since_s, 0.0) / 60)
    after = f"{length(minutes or max(steady.since_s, 0.0))} after the last start or defrost"
    return after if steady.waited else f"only {after} (15 min are usual)"


def look_up(heating: Heating) -> tuple[str, ...]:
    """What to look up, each text once with the numbers it is for."""
    said: dict[str, list[str]] = {}
    for one in heating.of("doubtful"):
        if one.limit is None and one.settle:
            said.setdefault(clean(one.settle), []).append(TITLES[one.name])
    return tuple(f"{'; '.join(titles)}: {text}" for text, titles in said.items())


def unseen(heating: Heating) -> str:
    """One line on all that was not measured."""
    titles = [TITLES[one.name] for one in heating.of("unseen")]
    return f"Not measured: {', '.join(titles)}." if titles else ""


def _row(number: Number, steady: Steady | None, numbers: Numbers, clock: Clock) -> HeatingRow:
    text = held(number, numbers)
    when = ""
    usual = steady is not None and (number.start_s, number.end_s) == (steady.start_s, steady.end_s)
    if number.start_s is not None and number.end_s is not None and number.channels and not usual:
        when = clock.span(number.start_s, number.end_s)
    facts = (
        ("how", clean(number.how)),
        ("limit from", clean(number.limit.source) if number.limit and text.limit else ""),
        ("when", when),
    )
    return HeatingRow(
        name=number.name,
        title=TITLES[number.name],
        standing=number.standing,
        number=tie(text.number),
        limit=tie(text.limit),
        margin=tie(text.margin),
        sentence=clean(number.sentence),
        settle=tie(clean(number.settle)) if number.limit is not None and not number.remedy else "",
        remedy=clean(number.remedy),
        facts=tuple((name, tie(value)) for name, value in facts if value),
    )


def answer(heating: Heating, numbers: Numbers) -> tuple[str, Standing, tuple[str, ...]]:
    """The householder's question, whether it will heat the house: the answer, its standing, two sentences."""
    failed = {one.name for one in heating.of("failed")}
    if failed & words.HEAT_MATTERS:
        key = "no"
    elif heating.number("capacity_ratio").standing == "shown" and not failed:
        key = "yes"
    elif not any(one.measured for one in heating.numbers):
        key = "untested"
    else:
        key = "unclear"
    return words.ANSWERS[key], words.ANSWER_STANDING[key], (_heat(heating, numbers), _rest(heating))


def _heat(heating: Heating, numbers: Numbers) -> str:
    """The first sentence: how much heat the house gets."""
    if heating.number("capacity_ratio").measured:
        return clean(heating.number("capacity_ratio").sentence)
    for name in ("capacity_air_w", "capacity_refrigerant_w"):
        one = heating.number(name)
        if one.measured:
            return words.HEAT_ALONE.format(amount=numbers.value(one.value, "heat", one.expanded))
    return words.HEAT_NOT_MEASURED


def _rest(heating: Heating) -> str:
    """The second sentence: what was found wrong; else how it stands on the coldest day, or what is open."""
    failed = [words.HEATING_PARTS[one.name] for one in apart(heating, "failed")]
    if failed:
        parts = list(dict.fromkeys(failed))
        listed = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
        return words.OUT_OF_BOUNDS.format(parts=listed)
    if heating.number("design_coverage").measured:
        return clean(heating.number("design_coverage").sentence)
    shown = len(apart(heating, "shown"))
    if shown:
        return words.NONE_BEYOND.format(count=shown, s="s" if shown > 1 else "")
    return words.NOTHING_HELD
