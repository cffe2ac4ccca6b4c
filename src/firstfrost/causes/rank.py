"""Rank the hypotheses: prior, likelihood and probability of each, two faults at once among them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.features import FEATURE
from firstfrost.causes.hypotheses import HYPOTHESES, NONE, P_TWO, SOUND, priors
from firstfrost.causes.model import Case, Model, log_likelihoods, log_t, log_words, mixed, parts
from firstfrost.causes.ratios import ratios

Floats = NDArray[np.float64]
PAIRED: Final = 7
"""So many of the likeliest faults are tried two by two."""
PAIR_STEPS: Final = (1, 3, 5)
"""Steps of severity that are tried in a pair."""
MOST: Final = 9.0
"""Two at once explain at most e^9 times more than the likelier of them alone: what the spreads say of so rare
a thing is worth no more. Model choice, no source."""
MOST_NONE: Final = -1.0
"""None of these explains at most 1/e of what the likeliest on the list does: a cause that was learnt is
believed before one that was not. Model choice, no source."""


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

    def probability(self, name: str) -> float:
        """That a hypothesis holds, alone."""
        return next((one.probability for one in self.answers if one.names == (name,)), 0.0)

    @property
    def two(self) -> float:
        """That two faults are at work."""
        return sum(one.probability for one in self.answers if len(one.names) == 2)


def rank(tables: Model, one: Case) -> Ranking:
    """Rank all hypotheses for a case.

    The probability is prior times likelihood, scaled so that all add to 1. What the record and the trade's
    readings say comes from the ratios of `firstfrost.causes.ratios`; what a person looked at is taken as
    independent of it and multiplies. `none of these` and two faults at once have no runs to learn from: by
    how much they explain more than the likeliest single fault is read from the spreads of
    `firstfrost.causes.model`.
    """
    every = list(range(len(tables.hypotheses)))
    got = parts(tables, one, every)
    words = log_words(tables, one, every)
    numbers = log_t(one.residuals - got.means, got.scales, tables.nu)
    spread = tables.power * mixed(numbers + tables.word_weight * words)
    learnt = ratios().log_ratios(one.seen, one.conditions)
    looked = _looked_at(tables, one)
    prior = priors(fixed_orifice=one.conditions.fixed > 0.5)
    rows: list[tuple[tuple[str, ...], float, float]] = []
    faults: list[tuple[float, int]] = []
    single = np.array([learnt.get(name, 0.0) for name in tables.hypotheses]) + looked
    for h, name in enumerate(tables.hypotheses):
        p = prior.get(name, 0.0)
        if p <= 0.0 or name == NONE:
            continue
        if name != SOUND:
            p *= 1.0 - P_TWO
            faults.append((float(single[h]) + math.log(p), h))
        rows.append(((name,), p, float(single[h])))
    none = tables.index(NONE)
    likely = sorted(faults, reverse=True)[:PAIRED]
    named = [tables.index(SOUND), *(h for _, h in likely)]
    more = min(float(spread[none] - spread[named].max()), MOST_NONE)
    rows.append(((NONE,), prior[NONE], float(single[named].max()) + more))
    for names, p, value in _pairs(tables, one, likely, got.means, got.scales, prior):
        pair = [tables.index(name) for name in names]
        more = min(value - float(spread[pair].max()), MOST)
        rows.append((names, p, float(single[pair].max()) + more))
    base = float(single[tables.index(SOUND)])
    logs = np.array([math.log(p) + value for _, p, value in rows])
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    answers = [
        Ranked(names=names, prior=p, log_likelihood=value - base, probability=float(share))
        for (names, p, value), share in zip(rows, shares, strict=True)
    ]
    return Ranking(answers=tuple(sorted(answers, key=lambda a: -a.probability)))


def _pairs(
    tables: Model,
    one: Case,
    faults: list[tuple[float, int]],
    means: Floats,
    scales: Floats,
    prior: dict[str, float],
) -> list[tuple[tuple[str, ...], float, float]]:
    """Two at once: shifts add, scales are three quarters of their sum, words multiply over the sound's.

    That shifts add is a first guess: effects of faults together are more or less than their sum (NIST TN
    1848).
    """
    which = [h for _, h in faults]
    sound = tables.index(SOUND)
    both = list(combinations(which, 2))
    if not both:
        return []
    steps = [(a, b) for a in PAIR_STEPS for b in PAIR_STEPS]
    mean = np.array([[means[h, a] + means[g, b] for a, b in steps] for h, g in both])
    scale = np.array([[0.75 * (scales[h, a] + scales[g, b]) for a, b in steps] for h, g in both])
    numbers = log_t(one.residuals - mean, scale, tables.nu)
    word = np.array([[_word_pair(tables, one, h, g, sound, a, b) for a, b in steps] for h, g in both])
    logs = tables.power * mixed(numbers + tables.word_weight * word)
    names = [tables.hypotheses[h] for h in range(len(tables.hypotheses)) if tables.hypotheses[h] in prior]
    p = np.array([prior[name] for name in names if name not in (SOUND, NONE)])
    total = float(p.sum())
    spread = 0.5 * (total**2 - float((p**2).sum()))
    out: list[tuple[tuple[str, ...], float, float]] = []
    for (h, g), value in zip(both, logs, strict=True):
        a, b = tables.hypotheses[h], tables.hypotheses[g]
        out.append(((a, b), total * P_TWO * prior[a] * prior[b] / spread, float(value)))
    return out


def _word_pair(tables: Model, one: Case, h: int, g: int, sound: int, a: int, b: int) -> float:
    """Log probability of the words with both faults: each table over the sound's, scaled to add to 1."""
    total = 0.0
    columns = tables.word_at
    for name, column in one.words:
        first = columns[name, FEATURE[name].words[0]]
        at = slice(first, first + len(FEATURE[name].words))
        logs = tables.word_logs[h, a, at] + tables.word_logs[g, b, at] - tables.word_logs[sound, 0, at]
        top = float(logs.max())
        total += float(logs[column - first]) - top - math.log(float(np.exp(logs - top).sum()))
    return total


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
