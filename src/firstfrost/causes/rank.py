"""Rank the hypotheses: prior, likelihood and probability of each, two faults at once among them."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.features import FEATURE
from firstfrost.causes.hypotheses import HYPOTHESES, NONE, P_TWO, SOUND, priors
from firstfrost.causes.model import Case, Model, log_likelihoods, log_t, log_words, mixed, parts
from firstfrost.causes.ratios import ratios

Floats = NDArray[np.float64]
LIKELIEST: Final = 7
"""`none of these` is held against so many of the likeliest faults."""
POWER_NONE: Final = 0.25
"""What the spreads say for `none of these` is taken to this power, as they overstate it."""
MOST_NONE: Final = -2.5
"""`none of these` explains at most e to this of what the likeliest on the list does. Both were chosen by
taking each fault off the list in turn: `made.faulty.fit_none` of the tests."""


@dataclass(frozen=True, kw_only=True)
class Ranked:
    """One answer: one hypothesis, or two faults at once."""

    names: tuple[str, ...]
    prior: float
    log_likelihood: float
    """Natural logarithm of the likelihood over the sound machine's."""
    probability: float

    @property
    def title(self) -> str:
        """In words."""
        if len(self.names) == 1:
            return HYPOTHESES[self.names[0]].title
        return "two at once: " + ", and ".join(HYPOTHESES[name].title for name in self.names)


@dataclass(frozen=True, kw_only=True)
class Ranking:
    """All answers, likeliest first; their probabilities add to 1."""

    answers: tuple[Ranked, ...]
    lead: float
    """By how much `none of these` explains more than the likeliest single cause, by the spreads (log)."""

    def probability(self, name: str) -> float:
        """That a hypothesis holds, alone."""
        return next((one.probability for one in self.answers if one.names == (name,)), 0.0)

    @property
    def two(self) -> float:
        """That two faults are at work."""
        return sum(one.probability for one in self.answers if len(one.names) == 2)


def none_log(lead: float, *, power: float = POWER_NONE, most: float = MOST_NONE) -> float:
    """Log likelihood of `none of these` over the likeliest listed cause's, of its lead by the spreads."""
    return min(power * lead, most)


def rank(tables: Model, one: Case, *, without: Collection[str] = ()) -> Ranking:
    """Rank all hypotheses for a case, but for faults that are left off the list to see what is said then.

    The probability is prior times likelihood, scaled so that all add to 1. What the record and the trade's
    readings say comes from the ratios of `firstfrost.causes.ratios`; what a person looked at is taken as
    independent of it and multiplies, of two faults each by itself. `none of these` has no runs to learn from:
    by how much it explains more than the likeliest single fault is read from the spreads of
    `firstfrost.causes.model`.
    """
    every = list(range(len(tables.hypotheses)))
    got = parts(tables, one, every)
    words = log_words(tables, one, every)
    numbers = log_t(one.residuals - got.means, got.scales, tables.nu)
    spread = tables.power * mixed(numbers + tables.word_weight * words)
    told = ratios().read(one.seen, one.conditions)
    looked = dict(zip(tables.hypotheses, _looked_at(tables, one).tolist(), strict=True))
    listed = priors(fixed_orifice=one.conditions.fixed > 0.5)
    prior = {name: p for name, p in listed.items() if name not in without}
    single = {name: log + looked[name] for name, log in told.logs.items() if name in prior}
    rows: list[tuple[tuple[str, ...], float, float]] = [((SOUND,), prior[SOUND], single[SOUND])]
    faults = sorted((single[name] + math.log(prior[name]), name) for name in single if name != SOUND)
    rows += [((name,), prior[name] * (1.0 - P_TWO), single[name]) for _, name in faults]
    named = [SOUND, *(name for _, name in faults[-LIKELIEST:])]
    lead = float(spread[tables.index(NONE)] - max(spread[tables.index(name)] for name in named))
    rows.append(((NONE,), prior[NONE], max(single[name] for name in named) + none_log(lead)))
    for (a, b), p in _pair_priors(told.pairs, prior).items():
        rows.append(((a, b), p, told.pairs[a, b] + looked[a] + looked[b]))
    logs = np.array([math.log(p) + value for _, p, value in rows])
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    answers = [
        Ranked(names=names, prior=p, log_likelihood=value - single[SOUND], probability=float(share))
        for (names, p, value), share in zip(rows, shares, strict=True)
    ]
    return Ranking(answers=tuple(sorted(answers, key=lambda a: -a.probability)), lead=lead)


def _pair_priors(
    pairs: Iterable[tuple[str, str]], prior: Mapping[str, float]
) -> dict[tuple[str, str], float]:
    """Prior of each two faults at once: as its faults come by themselves, `P_TWO` of all faults in all."""
    products = {(a, b): prior[a] * prior[b] for a, b in pairs if a in prior and b in prior}
    share = (1.0 - prior[SOUND] - prior[NONE]) * P_TWO / sum(products.values())
    return {names: share * product for names, product in products.items()}


def _looked_at(tables: Model, one: Case) -> Floats:
    """Log likelihood (H,) of what a person saw or measured beside the record, over a sound machine's."""
    keep = np.array([FEATURE[tables.numbers[k]].group == "typed" for k in one.at], dtype=bool)
    seen = replace(
        one,
        at=one.at[keep],
        residuals=one.residuals[keep],
        loose=one.loose[:, keep],
        extra=one.extra[keep],
        words=tuple((name, column) for name, column in one.words if FEATURE[name].group == "typed"),
    )
    logs = log_likelihoods(tables, seen)
    out: Floats = logs - logs[tables.index(SOUND)]
    return out
