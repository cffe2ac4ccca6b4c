"""What speaks for an answer and what against it, feature by feature, in numbers and words.

Each feature's ratio is of its likelihood under the hypothesis, at the severity that fits best, to that of a
sound machine, the feature taken alone. Features go together, so that the ratios of single ones do not
multiply to the ratio of all; the ranking uses all of them at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from firstfrost.causes.conditions import terms
from firstfrost.causes.features import FEATURE
from firstfrost.causes.hypotheses import SOUND
from firstfrost.causes.model import Case, Model, log_t, log_words, parts
from firstfrost.causes.seen import Seen

LEAST: Final = 0.4
"""Ratios nearer to 1 than e^0.4 : 1 are not worth a line."""
MOST: Final = 4


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One feature beside a hypothesis."""

    feature: str
    log_ratio: float
    """Natural logarithm of its likelihood over a sound machine's; above 0 it speaks for the hypothesis."""
    value: float | str
    expected: float | str
    """Of a sound machine under the same conditions: a number, or the likeliest word."""
    spread: float
    """Standard deviation over sound machines and instruments; NaN for a word."""
    predicted: float | str
    """Under the hypothesis."""
    typed: bool

    @property
    def weight(self) -> str:
        """In words."""
        size = abs(self.log_ratio)
        much = "strongly" if size > 3.0 else "clearly" if size > 1.2 else "a little"
        return f"speaks {much} {'for' if self.log_ratio > 0 else 'against'} it"


def evidence(
    tables: Model, one: Case, seen: Mapping[str, Seen], names: tuple[str, ...]
) -> tuple[tuple[Evidence, ...], tuple[Evidence, ...]]:
    """What speaks for an answer, and what against it, strongest first.

    Parameters
    ----------
    tables, one : Model, Case
        The likelihoods and the visit.
    seen : mapping of str to Seen
        The visit's features.
    names : tuple of str
        The answer: a hypothesis, or two at once, whose shifts add.
    """
    which = [tables.index(SOUND), *(tables.index(name) for name in names)]
    got = parts(tables, one, which)
    words = log_words(tables, one, which)
    logs = log_t(one.residuals - got.means, got.scales, tables.nu) + tables.word_weight * words
    best = [int(k) for k in np.argmax(logs, axis=1)]
    phi, _ = terms(one.conditions)
    out: list[Evidence] = []
    shift = sum(got.means[i, best[i]] for i in range(1, len(which)))
    scale = sum(np.diag(got.scales[i, best[i]]) for i in range(1, len(which))) / len(names)
    sound_scale = np.diag(got.scales[0, best[0]])
    for j, k in enumerate(one.at):
        name = tables.numbers[int(k)]
        value = float(one.residuals[j])
        ratio = _one(value - float(np.asarray(shift)[j]), float(np.asarray(scale)[j]), tables.nu) - _one(
            value, float(sound_scale[j]), tables.nu
        )
        expected = float(tables.expect[int(k)] @ phi)
        out.append(
            Evidence(
                feature=name,
                log_ratio=_power(tables, name) * ratio,
                value=float(expected + value),
                expected=expected,
                spread=math.sqrt(float(sound_scale[j])),
                predicted=expected + float(np.asarray(shift)[j]),
                typed=seen[name].typed,
            )
        )
    out += _words(tables, one, seen, which, best)
    ranked = sorted(out, key=lambda e: -abs(e.log_ratio))
    pro = tuple(e for e in ranked if e.log_ratio > LEAST)[:MOST]
    con = tuple(e for e in ranked if e.log_ratio < -LEAST)[:MOST]
    return pro, con


def _power(tables: Model, name: str) -> float:
    """What a number's ratio is taken to: a reading beside the record is independent and counts whole."""
    return 1.0 if FEATURE[name].group == "typed" else tables.power


def _one(off: float, scale: float, nu: float) -> float:
    return float(log_t(np.array([off]), np.array([[scale]]), nu))


def _words(
    tables: Model, one: Case, seen: Mapping[str, Seen], which: list[int], best: list[int]
) -> list[Evidence]:
    out = []
    columns = tables.word_at
    for name, column in one.words:
        levels = FEATURE[name].words
        first = columns[name, levels[0]]
        at = slice(first, first + len(levels))
        sound = tables.word_logs[which[0], best[0], at]
        own = (
            sum(tables.word_logs[h, k, at] - sound for h, k in zip(which[1:], best[1:], strict=True)) + sound
        )
        own = own - math.log(float(np.exp(own).sum()))
        weight = 1.0 if FEATURE[name].group == "typed" else tables.power * tables.word_weight
        ratio = weight * float(own[column - first] - sound[column - first])
        out.append(
            Evidence(
                feature=name,
                log_ratio=ratio,
                value=levels[column - first],
                expected=levels[int(np.argmax(sound))],
                spread=math.nan,
                predicted=levels[int(np.argmax(own))],
                typed=seen[name].typed,
            )
        )
    return out
