# ruff: noqa: E501
"""Fit the likelihoods to runs: the arrays of `likelihoods.npz`."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.conditions import Conditions, terms
from firstfrost.causes.features import FEATURE, GIVEN, NUMBERS, SURE, WORDS
from firstfrost.causes.hypotheses import NONE, SOUND, priors
from firstfrost.causes.model import Model, case, log_t, log_words, mixed, settled, severity_terms
from firstfrost.causes.model import parts as parts_of
from firstfrost.causes.seen import Seen
from made.faulty.cases import NAMES, SEVERITIES
from made.faulty.dataset import Row

Floats = NDArray[np.float64]
STEPS = 6
SHRINK = 60.0
"""Runs that the sound machines' correlations count for in a fault's own."""
LEAST = {"K": 0.25, "degC": 0.25, "log": 0.015, "s": 3.0}
"""No spread is taken smaller than this."""
LEAST_OF = {
    "open_below_k": 1.5,
    "closed_above_k": 1.5,
    "interval_log": 0.04,
    "frost_left_k": 1.0,
    "rest_low_k": 0.7,
    "rest_high_k": 0.7,
}
"""Nor these: numbers that mostly stand at one value and now and then do not."""


def hypotheses() -> tuple[str, ...]:
    """Sound, then each fault, then none of these."""
    return (SOUND, *NAMES, NONE)


def matrix(seen: Sequence[dict[str, Seen]], at: Sequence[Conditions]) -> tuple[Floats, Floats]:
    """Numbers (n, d) and their standard uncertainties, NaN where missing."""
    y = np.full((len(seen), len(NUMBERS)), np.nan)
    u = np.full_like(y, np.nan)
    for i, row in enumerate(seen):
        for k, name in enumerate(NUMBERS):
            if name in row:
                y[i, k], u[i, k] = settled(name, float(row[name].value), at[i]), row[name].u
    return y, u


def fit(rows: Sequence[Row], *, nu: float = 5.0, word_weight: float = 0.7, power: float = 1.0) -> Model:
    """The model of a set of runs."""
    single = [row for row in rows if len(row.faults) < 2]
    names = hypotheses()
    label = np.array([names.index(next(iter(row.faults), SOUND)) for row in single])
    severity = np.array([next(iter(row.faults.values()), 0.0) for row in single])
    at = [row.seen.full_at for row in single]
    y, u = matrix([row.seen.full for row in single], at)
    phi = np.array([terms(one)[0] for one in at])
    sound = label == 0
    expect = robust_polynomials(phi[sound], y[sound])
    residual = y - phi @ expect.T
    d = len(NUMBERS)
    least = np.array([LEAST_OF.get(name, LEAST[FEATURE[name].unit]) for name in NUMBERS])
    sound_sd, sound_r = _spread(residual[sound], np.zeros((1, d)), least, None, None)
    h_n = len(names)
    severities = np.zeros((h_n, STEPS))
    means = np.zeros((h_n, 9, d))
    spreads = np.tile(sound_sd, (h_n, STEPS, 1))
    correlations = np.tile(sound_r, (h_n, 1, 1))
    for h in range(1, h_n - 1):
        mine = label == h
        low, high = SEVERITIES.get(names[h], (1.0, 1.0))
        edges = np.linspace(low, high, STEPS + 1)
        severities[h] = 0.5 * (edges[1:] + edges[:-1])
        r, s = residual[mine], severity[mine]
        conditions = [one for one, yes in zip(at, mine, strict=True) if yes]
        psi = np.array([severity_terms(np.array(sv), one) for sv, one in zip(s, conditions, strict=True)])
        means[h] = _mean(psi, r, sound_sd)
        left = r - psi @ means[h]
        spreads[h], correlations[h] = _spreads(left, s, severities[h], least, sound_sd, sound_r)
    spreads[-1], correlations[-1] = _anything(residual[~sound], least, sound_sd)
    word_logs = _words(single, label, severity, severities)
    _given(word_logs, names)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a number that no run has
        usual_u = np.nanmedian(u[sound], axis=0)
    return Model(
        hypotheses=names, numbers=NUMBERS, words=WORDS, expect=expect, severities=severities, means=means,
        spreads=spreads, correlations=correlations,
        word_logs=word_logs,
        usual_u=np.where(np.isfinite(usual_u), usual_u, 1.0),
        nu=nu, word_weight=word_weight, power=power, made_from="",
    )  # fmt: skip


def robust_polynomials(phi: Floats, y: Floats) -> Floats:
    """No-fault polynomials (d, terms), robust: two rounds of weights against runs far off."""
    out = np.zeros((y.shape[1], phi.shape[1]))
    for k in range(y.shape[1]):
        ok = np.isfinite(y[:, k])
        if ok.sum() < 8:
            continue
        a, b, weight = phi[ok], y[ok, k], np.ones(int(ok.sum()))
        penalty = 0.5 * np.eye(phi.shape[1])
        penalty[0, 0] = 1e-6
        for _ in range(3):
            left = a.T * weight
            w = np.linalg.solve(left @ a + penalty, left @ b)
            off = b - a @ w
            scale = max(1.4826 * float(np.median(np.abs(off))), 1e-6)
            weight = 1.0 / (1.0 + (off / (6.0 * scale)) ** 2)
        out[k] = w
    return out


PENALTY = np.diag([0.05, 0.05, 0.3, 1.0, 1.5, 1.0, 1.5, 1.0, 1.5])
"""Ridge on the terms of a mean: strongest on what the severity does together with the conditions."""
PLAIN, ALL = [0, 1, 2], list(range(9))
PLAIN_FIXED, ALL_FIXED = [0], [0, 3, 5, 7]
"""Terms of a fault that has but one state."""


def _mean(psi: Floats, r: Floats, sound_sd: Floats) -> Floats:
    """Coefficients (9, d), and only those that runs bear out.

    Nothing, the severity alone, or the severity with the conditions: whichever has the least BIC (Schwarz 1978,
    from memory). Most faults leave most numbers alone, and noise taken for a shift in each of forty numbers
    would make any two hypotheses look apart.
    """
    one_state = float(np.ptp(psi[:, 1])) < 1e-9
    choices = ([], PLAIN_FIXED, ALL_FIXED) if one_state else ([], PLAIN, ALL)
    out = np.zeros((psi.shape[1], r.shape[1]))
    for k in range(r.shape[1]):
        ok = np.isfinite(r[:, k])
        tried = [
            _robust_fit(psi[ok], r[ok, k], columns, float(sound_sd[k]))
            for columns in choices
            if len(columns) < int(ok.sum()) - 1
        ]
        if tried:
            out[:, k] = min(tried, key=lambda one: one[0])[1]
    return out


def _robust_fit(psi: Floats, y: Floats, columns: list[int], sound_sd: float) -> tuple[float, Floats]:
    """BIC and coefficients (9,) of a fit with some of the terms, runs far off weighing less."""
    w = np.zeros(psi.shape[1])
    weight, a, n = np.ones(len(y)), psi[:, columns], len(y)
    off, scale = y, 1.0
    for _ in range(3):
        if columns:
            left = a.T * weight
            w[columns] = np.linalg.solve(left @ a + PENALTY[np.ix_(columns, columns)], left @ y)
        off = y - psi @ w
        scale = max(1.4826 * float(np.median(np.abs(off))), 0.5 * sound_sd)
        weight = 1.0 / (1.0 + (off / (4.0 * scale)) ** 2)
    s = max(float(np.sqrt(np.mean(np.minimum(off**2, (4.0 * scale) ** 2)))), 0.7 * sound_sd)
    deviance = 2.0 * n * math.log(s) + float(np.sum(np.minimum((off / s) ** 2, 16.0)))
    return deviance + len(columns) * math.log(n), w


def _spread(
    r: Floats, mean: Floats, least: Floats, base_sd: Floats | None, base_r: Floats | None
) -> tuple[Floats, Floats]:
    """Spread (d,) and correlations (d, d) of residuals with holes, drawn to a base where runs are few."""
    off = r - mean
    ok = np.isfinite(off)
    n = ok.sum(axis=0)
    z = np.where(ok, off, 0.0)
    base = base_sd if base_sd is not None else _robust(off, least)
    # A run far out counts as one at some spreads: the tails are the t's.
    limit = (6.0 if base_sd is None else 3.5) * np.maximum(_robust(off, least), least)
    z = np.clip(z, -limit, limit)
    k = 20.0 if base_sd is not None else 0.5
    sd = np.sqrt((np.sum(z * z, axis=0) + k * base**2) / (n + k))
    sd = np.maximum(sd, least)
    scaled = z / sd
    pairs = ok.T.astype(float) @ ok.astype(float)
    cross = scaled.T @ scaled
    target = base_r if base_r is not None else np.eye(r.shape[1])
    weight = SHRINK if base_r is not None else 10.0
    corr = (cross + weight * target) / (pairs + weight)
    return sd, _sound_matrix(corr)


def _robust(off: Floats, least: Floats) -> Floats:
    out = np.array(least, copy=True)
    for k in range(off.shape[1]):
        x = off[:, k][np.isfinite(off[:, k])]
        if len(x) >= 5:
            out[k] = max(1.4826 * float(np.median(np.abs(x - np.median(x)))), float(least[k]))
        elif len(x):
            out[k] = max(float(np.max(np.abs(x))), float(least[k]))
    return out


def _spreads(
    left: Floats, severity: Floats, steps: Floats, least: Floats, sound_sd: Floats, sound_r: Floats
) -> tuple[Floats, Floats]:
    """Spreads (K, d) that may grow with the severity, and correlations (d, d)."""
    d = left.shape[1]
    sd, corr = _spread(left, np.zeros((1, d)), least, sound_sd, sound_r)
    out = np.tile(sd, (STEPS, 1))
    span = float(np.ptp(severity))
    if span > 0.0:
        width = span / 6.0
        for k, s in enumerate(steps):
            weight = np.exp(-0.5 * ((severity - s) / width) ** 2)[:, None]
            ok = np.isfinite(left)
            z = np.clip(np.where(ok, left, 0.0), -4.0 * sd, 4.0 * sd)
            total = (weight * ok).sum(axis=0)
            # Few runs: drawn half to the sound machines' spread, half to that over all severities.
            base = 0.5 * sd**2 + 0.5 * sound_sd**2
            out[k] = np.sqrt(((weight * z * z).sum(axis=0) + 4.0 * base) / (total + 4.0))
    return np.maximum(out, least), corr


def _anything(residual: Floats, least: Floats, sound_sd: Floats) -> tuple[Floats, Floats]:
    """Spreads (K, d) and correlations (d, d) of `none of these`: as wide as all faults together, and half more."""
    spread = np.array(sound_sd, copy=True)
    for k in range(residual.shape[1]):
        x = residual[:, k][np.isfinite(residual[:, k])]
        if len(x) >= 5:
            spread[k] = max(
                float(sound_sd[k]), float(np.sqrt(np.mean(np.clip(x, *np.percentile(x, [2, 98])) ** 2)))
            )
    return np.tile(1.5 * np.maximum(spread, least), (STEPS, 1)), np.eye(residual.shape[1])


def _given(word_logs: Floats, names: tuple[str, ...]) -> None:
    """Fill in what follows from the cause itself: features that a person looks up."""
    columns = [(name, word) for name in WORDS for word in FEATURE[name].words]
    for name, causes in GIVEN.items():
        first, second = (columns.index((name, word)) for word in FEATURE[name].words)
        for h, cause in enumerate(names):
            second_p = 0.5 if cause == NONE else SURE if cause in causes else 1.0 - SURE
            word_logs[h, :, second] = math.log(second_p)
            word_logs[h, :, first] = math.log(1.0 - second_p)


def _sound_matrix(corr: Floats) -> Floats:
    """The nearest matrix that is a correlation with some room: eigenvalues from 0.3 on.

    Several numbers are made of the same readings (an approach is the sum of two others): without room along
    those directions the least error of a mean would count for much.
    """
    values, vectors = np.linalg.eigh(0.5 * (corr + corr.T))
    fixed = (vectors * np.maximum(values, 0.3)) @ vectors.T
    scale = np.sqrt(np.diag(fixed))
    out: Floats = fixed / scale[:, None] / scale[None, :]
    return out


def _words(rows: Sequence[Row], label: Any, severity: Floats, severities: Floats) -> Floats:
    """Log probabilities (H, K, w) of words, smoothed over severity and drawn to the sound machines'."""
    columns: dict[tuple[str, str], int] = {}
    for name in WORDS:
        for word in FEATURE[name].words:
            columns[name, word] = len(columns)
    hits = np.zeros((len(rows), len(columns)))
    for i, row in enumerate(rows):
        for seen in (row.seen.full, row.seen.kit):
            for name in WORDS:
                got = seen.get(name)
                if got is not None and (name, got.value) in columns:
                    hits[i, columns[name, str(got.value)]] += 0.5
    h_n, steps = severities.shape
    out = np.zeros((h_n, steps, len(columns)))
    base = _shares(hits[label == 0].sum(axis=0), np.full(len(columns), 1.0), columns, uniform=True)
    for h in range(h_n):
        mine = label == h
        span = float(np.ptp(severities[h])) if h else 0.0
        if h == h_n - 1:
            # None of these: half of what all faults together show, half any word alike.
            counts = 0.5 * hits[label > 0].sum(axis=0)
            shares = _shares(counts, base, columns, uniform=True)
            even = np.concatenate(
                [np.full(len(FEATURE[n].words), 1.0 / len(FEATURE[n].words)) for n in WORDS]
            )
            out[h] = np.log(0.5 * shares + 0.5 * even)
            continue
        for k in range(steps):
            if span > 0.0:
                weight = np.exp(-0.5 * ((severity[mine] - severities[h, k]) / (span / 5.0)) ** 2)
            else:
                weight = np.ones(int(mine.sum()))
            counts = (weight[:, None] * hits[mine]).sum(axis=0)
            out[h, k] = np.log(_shares(counts, base, columns, uniform=False))
    return out


def _shares(counts: Floats, base: Floats, columns: dict[tuple[str, str], int], *, uniform: bool) -> Floats:
    out = np.zeros_like(counts)
    for name in WORDS:
        at = [columns[name, word] for word in FEATURE[name].words]
        prior = np.full(len(at), 0.5) if uniform else 1.0 * base[at] + 0.25 / len(at)
        out[at] = (counts[at] + prior) / (counts[at] + prior).sum()
    return out


def arrays(model: Model) -> dict[str, Any]:
    """What is saved."""
    return {
        "hypotheses": np.array(model.hypotheses),
        "numbers": np.array(model.numbers),
        "words": np.array(model.words),
        "expect": model.expect.astype(np.float32),
        "severities": model.severities.astype(np.float32),
        "means": model.means.astype(np.float32),
        "spreads": model.spreads.astype(np.float32),
        "correlations": np.round(model.correlations, 3).astype(np.float16),
        "word_logs": np.round(model.word_logs, 3).astype(np.float16),
        "usual_u": model.usual_u.astype(np.float32),
        "settings": np.array([model.nu, model.word_weight, model.power]),
        "made_from": np.array(model.made_from),
    }


@dataclass(frozen=True, kw_only=True)
class Tuned:
    """What was found best on runs held out of the fit."""

    nu: float
    word_weight: float
    power: float
    loss: float
    """Negative log probability of the truth, a run on the mean, weighed by the priors. [nat]"""


def tune(rows: Sequence[Row], *, parts: int = 3) -> Tuned:
    """Tail, weight of words and power by cross-validation over the runs that the model is made from.

    The loss weighs runs so that causes come as often as their priors say.
    """
    single = [row for row in rows if len(row.faults) < 2]
    best: Tuned | None = None
    for nu in (3.0, 4.0, 8.0):
        got = [
            scores(fit([row for row in single if row.seed % parts != part], nu=nu),
                   [row for row in single if row.seed % parts == part])
            for part in range(parts)
        ]  # fmt: skip
        numbers, words, prior, truth = (np.concatenate([one[k] for one in got]) for k in range(4))
        for weight in (0.7, 1.0, 1.5, 2.0):
            logs = mixed(numbers + weight * words)
            for power in np.arange(0.2, 1.05, 0.05):
                loss = weighed_loss(float(power) * logs + prior, truth, prior)
                if best is None or loss < best.loss:
                    best = Tuned(nu=nu, word_weight=weight, power=float(power), loss=loss)
    assert best is not None
    return best


def scores(model: Model, rows: Sequence[Row]) -> tuple[Floats, Floats, Floats, Any]:
    """Log densities of numbers and of words (n, H, K), log priors (n, H), of runs with the van's kit; truth (n,)."""
    numbers, words, prior, truth = [], [], [], []
    every = range(len(model.hypotheses))
    for row in rows:
        one = case(model, row.seen.kit, row.seen.kit_at)
        given = priors(fixed_orifice=row.seen.kit_at.fixed > 0.5)
        got = parts_of(model, one, every)
        numbers.append(log_t(one.residuals - got.means, got.scales, model.nu).astype(np.float32))
        words.append(log_words(model, one, every).astype(np.float32))
        prior.append([math.log(given.get(name, 1e-12)) for name in model.hypotheses])
        truth.append(model.index(next(iter(row.faults), SOUND)))
    return np.array(numbers), np.array(words), np.array(prior), np.array(truth)


def weighed_loss(z: Floats, truth: Any, log_priors: Floats) -> float:
    """Mean of -log p(truth), causes weighed as often as their priors say."""
    top = z.max(axis=1, keepdims=True)
    log_p = z[np.arange(len(z)), truth] - (top[:, 0] + np.log(np.exp(z - top).sum(axis=1)))
    count = np.bincount(truth, minlength=z.shape[1])
    weight = np.exp(log_priors[np.arange(len(z)), truth]) / count[truth]
    return float(-(weight * log_p).sum() / weight.sum())
