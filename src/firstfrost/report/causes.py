"""What a report says of the causes: one line for a machine that seems sound, else the ranking."""

from __future__ import annotations

import math
from dataclasses import dataclass

from firstfrost.causes.acts import DANGER_WORDS
from firstfrost.causes.cause import Cause, Causes
from firstfrost.causes.evidence import Evidence
from firstfrost.causes.features import FEATURE
from firstfrost.causes.find import percent
from firstfrost.causes.next_reading import NextReading
from firstfrost.report.numbers import Numbers
from firstfrost.report.times import tie


@dataclass(frozen=True, kw_only=True)
class CauseRow:
    """One answer of the ranking."""

    title: str
    probability: str
    odds: str
    """Prior, and how much better than a sound machine it explains the readings."""
    does: str
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, kw_only=True)
class NextRow:
    """A further reading."""

    title: str
    how: str
    worth: str
    caution: str


@dataclass(frozen=True, kw_only=True)
class CausesPage:
    """All that a report says of the causes."""

    headline: str
    rows: tuple[CauseRow, ...]
    """Empty where nothing is off and nobody asked."""
    apart: str
    nexts: tuple[NextRow, ...]
    typed: str
    basis: str


def causes_page(causes: Causes, numbers: Numbers, *, off: bool) -> CausesPage:
    """Compose what a report says of `causes`; `off` says that a function or a number failed."""
    whole = off or causes.worth_showing
    return CausesPage(
        headline=causes.sentence,
        rows=tuple(_row(one, numbers) for one in causes.answers) if whole else (),
        apart=f"To tell them apart: {causes.apart}" if whole and causes.apart else "",
        nexts=tuple(_next(one) for one in causes.next_readings) if whole else (),
        typed="Typed in: " + "; ".join(one.text for one in causes.readings) if causes.readings else "",
        basis=causes.basis if whole and causes.answers else "",
    )


def _row(one: Cause, numbers: Numbers) -> CauseRow:
    return CauseRow(
        title=one.title,
        probability=percent(one.probability),
        odds=f"prior {_small(one.prior)}; {odds(one.log_likelihood)}",
        does=one.does,
        speaks_for=tuple(tie(line(item, numbers)) for item in one.speaks_for),
        against=tuple(tie(line(item, numbers)) for item in one.against),
        remedy=one.remedy,
    )


def _small(p: float) -> str:
    return f"{100.0 * p:.1f} %" if p < 0.1 else f"{100.0 * p:.0f} %"


def odds(log_ratio: float) -> str:
    """A likelihood ratio against a sound machine in words."""
    if abs(log_ratio) < 0.05:
        return "explains the readings as a sound machine does"
    size = math.exp(min(abs(log_ratio), 20.0))
    # Two figures: a likelihood from some thousand runs is worth no more.
    rounded = float(f"{size:.2g}")
    much = f"{rounded:,.0f}" if rounded >= 10.0 else f"{rounded:.1f}"
    if size > 1e6:
        much = "over a million"
    return f"explains the readings {much} times {'better' if log_ratio > 0 else 'worse'} than a sound machine"


def line(one: Evidence, numbers: Numbers) -> str:
    """One feature as evidence: what was seen, what a sound machine would show, which way it speaks."""
    row = FEATURE[one.feature]
    typed = " (typed in)" if one.typed else ""
    if isinstance(one.value, str):
        return f"{row.title}{typed}: {one.value}, a sound machine {one.expected}; {one.weight}"
    assert not isinstance(one.expected, str)
    if row.unit == "log":
        part = math.exp(min(max(one.value - one.expected, -5.0), 5.0))
        spread = 200.0 * (math.exp(min(one.spread, 2.0)) - 1.0)
        return (
            f"{row.title}{typed}: {100.0 * part:.0f} % of a sound machine's (± {spread:.0f} %); {one.weight}"
        )
    seen = numbers.value(one.value, row.unit)
    usual = numbers.value(one.expected, row.unit, 2.0 * one.spread)
    return f"{row.title}{typed}: {seen}, a sound machine {usual}; {one.weight}"


def _next(one: NextReading) -> NextRow:
    act = one.act
    return NextRow(
        title=act.title,
        how=act.how,
        worth=(f"worth {one.bits:.1f} bit; about {act.minutes:.0f} min; danger: {DANGER_WORDS[act.danger]}"),
        caution=act.caution,
    )
