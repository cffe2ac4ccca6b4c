"""Which further reading would best tell the likeliest causes apart.

The value of a reading is the expected information gain, in bits:

    I = H(causes | what is known) - E[ H(causes | what is known and the reading) ]

over the hypotheses that share nearly all of the probability, the reading's outcome drawn from the model's
own prediction given all that was read (Lindley 1956, from memory). From it goes what the act costs:
`BIT_PER_MINUTE` for each minute, and more with the danger. Draws come from a fixed seed, so that the same
visit gives the same advice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.acts import ACTS, Act
from firstfrost.causes.conditions import terms
from firstfrost.causes.features import FEATURE
from firstfrost.causes.model import Case, Model, log_t, log_words, parts
from firstfrost.causes.rank import Ranking
from firstfrost.causes.seen import Seen

Floats = NDArray[np.float64]
BIT_PER_MINUTE: Final = 0.01
"""What a minute is worth. Model choice, no source."""
PER_DANGER: Final = 0.35
"""A step of danger makes an act so much dearer. Model choice, no source."""
DRAWS: Final = 64
MOST: Final = 8
SHARE: Final = 0.985
LEAST_BITS: Final = 0.03


@dataclass(frozen=True, kw_only=True)
class NextReading:
    """One further reading and what it is worth."""

    act: Act
    bits: float
    """Expected information gain."""
    score: float
    """Less what it costs."""
    features: tuple[str, ...]
    tells_apart: tuple[str, ...]
    """The causes whose probabilities it would move most."""


def known_defrost(seen: Mapping[str, Seen]) -> bool:
    """Whether the visit holds a defrost."""
    return "ended_by" in seen or "defrost_lift_k" in seen or "backup_defrost" in seen


def _wanted(act: Act, seen: Mapping[str, Seen], tables: Model) -> tuple[str, ...]:
    defrost = known_defrost(seen) or act.name in ("defrost", "whole-interval")
    out = []
    for name in act.features:
        if name in seen or (name not in tables.numbers and name not in tables.words):
            continue
        row = FEATURE[name]
        later = row.group in ("defrost", "standing") or name.endswith("_defrost")
        if (later and not defrost) or row.group == "rest":
            continue
        out.append(name)
    return tuple(out)


def next_readings(
    tables: Model, one: Case, seen: Mapping[str, Seen], ranking: Ranking
) -> tuple[NextReading, ...]:
    """Further readings worth their cost, best first.

    Parameters
    ----------
    tables : Model
        The likelihoods.
    one : Case
        The visit's case.
    seen : mapping of str to Seen
        The visit's features: what is seen already is not asked for again.
    ranking : Ranking
        Of that case.
    """
    which, weight = _contenders(tables, ranking)
    if len(which) < 2:
        return ()
    got = parts(tables, one, which)
    words = log_words(tables, one, which)
    logs = log_t(one.residuals - got.means, got.scales, tables.nu) + tables.word_weight * words
    inside = np.exp(logs - logs.max(axis=1, keepdims=True))
    joint = weight[:, None] * inside / inside.sum(axis=1, keepdims=True)
    before = _entropy(weight)
    rng = np.random.default_rng(1)
    out = []
    for act in ACTS:
        wanted = _wanted(act, seen, tables)
        if not wanted:
            continue
        bits, moved = _gain(tables, one, which, joint, wanted, before, got.means, got.scales, rng)
        score = bits - BIT_PER_MINUTE * act.minutes * (1.0 + PER_DANGER * act.danger)
        if bits >= LEAST_BITS and score > 0.0:
            names = tuple(tables.hypotheses[which[i]] for i in moved)
            out.append(NextReading(act=act, bits=bits, score=score, features=wanted, tells_apart=names))
    return tuple(sorted(out, key=lambda one: -one.score))


def _contenders(tables: Model, ranking: Ranking) -> tuple[list[int], Floats]:
    """The single hypotheses that share nearly all of the probability, and their shares."""
    which, shares, total = [], [], 0.0
    for answer in ranking.answers:
        if len(answer.names) == 1:
            which.append(tables.index(answer.names[0]))
            shares.append(answer.probability)
            total += answer.probability
        if len(which) >= MOST or total >= SHARE:
            break
    weight = np.array(shares)
    return which, weight / weight.sum()


def _entropy(p: Floats) -> float:
    q = p[p > 1e-12]
    return float(-(q * np.log2(q)).sum())


def _gain(
    tables: Model, one: Case, which: list[int], joint: Floats, wanted: tuple[str, ...], before: float,
    means: Floats, scales: Floats, rng: np.random.Generator,
) -> tuple[float, tuple[int, ...]]:  # fmt: skip
    """Expected information gain [bit] of features, and the two hypotheses it parts best."""
    new = np.array([tables.numbers.index(name) for name in wanted if FEATURE[name].is_number], dtype=np.intp)
    h_n, k_n = joint.shape
    c_n = h_n * k_n
    flat = joint.reshape(c_n)
    keep = np.flatnonzero(flat > 1e-4 * flat.max())
    flat = flat[keep] / flat[keep].sum()
    owner = np.repeat(np.arange(h_n), k_n)[keep]
    picks = rng.choice(len(keep), size=DRAWS, p=flat)
    log_p = np.zeros((DRAWS, len(keep)))
    if len(new):
        mean, scale = _ahead(tables, one, which, new, means, scales, keep)
        lower = np.asarray(np.linalg.cholesky(scale), dtype=np.float64)
        z = rng.standard_normal((DRAWS, len(new)))
        z /= np.sqrt(rng.chisquare(tables.nu, DRAWS) / tables.nu)[:, None]
        drawn = mean[picks] + np.einsum("dij,dj->di", lower[picks], z)
        log_p += (
            log_t(drawn[:, None, :] - mean[None], np.broadcast_to(scale, (DRAWS, *scale.shape)), tables.nu)
            if len(new) == 1
            else _log_each(drawn, mean, lower, tables.nu)
        )
    columns = tables.word_at
    pick_h = np.array(which, dtype=np.intp)
    for name in wanted:
        if FEATURE[name].is_number:
            continue
        levels = FEATURE[name].words
        first = columns[name, levels[0]]
        table = tables.word_logs[pick_h][:, :, first : first + len(levels)].reshape(c_n, -1)[keep]
        p = np.exp(table)
        p /= p.sum(axis=1, keepdims=True)
        u = rng.random(DRAWS)
        drawn_word = (u[:, None] > np.cumsum(p[picks], axis=1)).sum(axis=1)
        drawn_word = np.minimum(drawn_word, len(levels) - 1)
        log_p += tables.word_weight * table[:, drawn_word].T
    log_post = np.log(flat)[None, :] + tables.power * log_p
    post = np.exp(log_post - log_post.max(axis=1, keepdims=True))
    post /= post.sum(axis=1, keepdims=True)
    by_h = np.zeros((DRAWS, h_n))
    np.add.at(by_h.T, owner, post.T)
    after = float(np.mean([_entropy(p) for p in by_h]))
    moved = np.argsort(-by_h.std(axis=0))[:2]
    return max(0.0, before - after), tuple(int(i) for i in moved)


def _log_each(drawn: Floats, mean: Floats, lower: Floats, nu: float) -> Floats:
    """Log t density (n, c) of draws (n, m) under components with means (c, m), Cholesky factors (c, m, m)."""
    m = mean.shape[1]
    off = np.moveaxis(drawn[:, None, :] - mean[None], 0, -1)
    z = np.linalg.solve(lower, off)
    distance = np.sum(z * z, axis=1).T
    log_det = 2.0 * np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1)
    constant = math.lgamma(0.5 * (nu + m)) - math.lgamma(0.5 * nu) - 0.5 * m * math.log(nu * math.pi)
    out: Floats = constant - 0.5 * log_det - 0.5 * (nu + m) * np.log1p(distance / nu)
    return out


def _ahead(
    tables: Model, one: Case, which: list[int], new: NDArray[np.intp], means: Floats, scales: Floats,
    keep: NDArray[np.intp],
) -> tuple[Floats, Floats]:  # fmt: skip
    """What each component predicts of further numbers: means (c, n), scales (c, n, n)."""
    _, loose = terms(one.conditions)
    wide = Case(
        at=np.concatenate([one.at, new]),
        residuals=np.concatenate([one.residuals, np.zeros(len(new))]),
        loose=loose @ tables.expect[np.concatenate([one.at, new])].T,
        extra=np.concatenate([one.extra, np.zeros(len(new))]),
        words=(),
        conditions=one.conditions,
    )
    got = parts(tables, wide, which)
    m, n = len(one.at), len(new)
    mean = got.means.reshape(-1, m + n)[keep]
    scale = got.scales.reshape(-1, m + n, m + n)[keep]
    if m == 0:
        return mean, scale
    inner, across, outer = scale[:, :m, :m], scale[:, :m, m:], scale[:, m:, m:]
    weights = np.linalg.solve(inner, across)
    off = one.residuals - mean[:, :m]
    ahead = mean[:, m:] + np.einsum("cmn,cm->cn", weights, off)
    left = outer - np.einsum("cmn,cmk->cnk", weights, across)
    del means, scales
    return ahead, left + 1e-6 * np.eye(n)
