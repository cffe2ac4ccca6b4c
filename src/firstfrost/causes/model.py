"""How likely a visit's features are under each hypothesis, from runs of the practice bench.

A number y is held against what a sound machine shows under the same conditions (the no-fault polynomial of
NIST SP 1087, fitted here to sound runs of the bench over many sizes and refrigerants):

    r = y - W phi(conditions)

Under hypothesis h with severity s the residuals r (m,) of the numbers that were read have a multivariate t
distribution about mu_h(s), a polynomial in the severity and the conditions, with scale matrix

    S_h(s) = D_h(s) R_h D_h(s) + g g' + G' G + diag(extra)

D spreads and R correlations (m, m) over machines, weather and instruments; g what the severities of one step
differ by; G what each condition that was not read would move; extra where an instrument is worse than those
of the runs. Words (a standing, whether a fan turned) have a table of probabilities for each h and s, taken as
independent of each other once h and s are given. Severities are averaged over:

    log L_h = log sum_s w_s t(r; mu_h(s), S_h(s), nu) prod_words P(word | h, s)^a

`a` below 1 weakens words, which are not quite independent; it is fitted to held-out runs, as is the one
power that the whole likelihood is taken to so that probabilities mean what they say.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.conditions import TYPICAL, Conditions, terms
from firstfrost.causes.features import FEATURE, FEATURES
from firstfrost.causes.seen import Seen

Floats = NDArray[np.float64]
FILE: Final = Path(__file__).with_name("likelihoods.npz")
MEAN_TERMS: Final = 9


@dataclass(frozen=True, kw_only=True)
class Model:
    """The tables of `likelihoods.npz`.

    H hypotheses, K steps of severity, d numbers, w levels of all words together.
    """

    hypotheses: tuple[str, ...]
    numbers: tuple[str, ...]
    words: tuple[str, ...]
    expect: Floats
    """(d, terms) of the no-fault polynomials."""
    severities: Floats
    """(H, K)."""
    means: Floats
    """(H, 9, d): coefficients of `severity_terms`."""
    spreads: Floats
    """(H, K, d)."""
    correlations: Floats
    """(H, d, d)."""
    word_logs: Floats
    """(H, K, w)."""
    usual_u: Floats
    """(d,): standard uncertainty of each number from the instruments of the runs."""
    nu: float
    word_weight: float
    power: float
    made_from: str

    def index(self, name: str) -> int:
        """Place of a hypothesis."""
        return self.hypotheses.index(name)

    @property
    def word_at(self) -> dict[tuple[str, str], int]:
        """Column of each word of each feature."""
        return _columns(self.words)


@cache
def _columns(words: tuple[str, ...]) -> dict[tuple[str, str], int]:
    out: dict[tuple[str, str], int] = {}
    for name in words:
        for word in FEATURE[name].words:
            out[name, word] = len(out)
    return out


@cache
def model(path: Path = FILE) -> Model:
    """The model that is shipped."""
    with np.load(path) as file:
        got = {name: file[name] for name in file.files}
    text = {name: tuple(str(one) for one in got[name]) for name in ("hypotheses", "numbers", "words")}
    tables = {
        name: got[name].astype(np.float64)
        for name in ("expect", "severities", "means", "spreads", "correlations", "word_logs", "usual_u")
    }
    nu, weight, power = (float(one) for one in got["settings"])
    return Model(
        hypotheses=text["hypotheses"], numbers=text["numbers"], words=text["words"], **tables,
        nu=nu, word_weight=weight, power=power, made_from=str(got["made_from"]),
    )  # fmt: skip


def severity_terms(severity: Floats, one: Conditions) -> Floats:
    """Terms (..., 9) of a hypothesis's mean at severities (...)."""
    t = 0.0 if math.isnan(one.outdoor_c) else (one.outdoor_c - 4.0) / 10.0
    s = severity
    o = np.ones_like(s)
    f, p = one.fixed, one.forced
    return np.stack([o, s, s * s, f * o, f * s, t * o, t * s, p * o, p * s], axis=-1)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A visit's features ready for the model."""

    at: NDArray[np.intp]
    """(m,) places of the numbers that were seen."""
    residuals: Floats
    """(m,)"""
    loose: Floats
    """(c, m): what each condition that was not read would move."""
    extra: Floats
    """(m,) further variance."""
    words: tuple[tuple[str, int], ...]
    """Feature and column of each word."""
    conditions: Conditions
    seen: Mapping[str, Seen] = field(default_factory=dict)
    """As it was seen, levels among it."""


def case(tables: Model, seen: Mapping[str, Seen], one: Conditions) -> Case:
    """Put a visit's features beside what a sound machine would show."""
    phi, loose = terms(one)
    at, y, u = [], [], []
    for k, name in enumerate(tables.numbers):
        got = seen.get(name)
        if got is not None and not isinstance(got.value, str):
            at.append(k)
            y.append(settled(name, got.value, one))
            u.append(got.u)
    places = np.array(at, dtype=np.intp)
    columns = tables.word_at
    words = tuple(
        (name, columns[name, got.value])
        for name in tables.words
        if (got := seen.get(name)) is not None and isinstance(got.value, str) and (name, got.value) in columns
    )
    return Case(
        at=places,
        residuals=np.array(y) - tables.expect[places] @ phi if len(at) else np.zeros(0),
        loose=loose @ tables.expect[places].T if len(at) else np.zeros((len(loose), 0)),
        extra=np.maximum(0.0, np.array(u) ** 2 - tables.usual_u[places] ** 2) if len(at) else np.zeros(0),
        words=words,
        conditions=one,
        seen=dict(seen),
    )


def settled(name: str, value: float, one: Conditions) -> float:
    """A number as it is held against a sound machine's.

    At rest a circuit's saturation lies anywhere from the outdoor air's temperature to the room's, as the
    metering device lets it: only how far it lies outside that range says anything of a gauge.
    """
    if name not in ("rest_low_k", "rest_high_k") or math.isnan(one.outdoor_c):
        return value
    room = (TYPICAL["room_c"][0] if math.isnan(one.room_c) else one.room_c) - one.outdoor_c
    return min(value - min(0.0, room), 0.0) + max(value - max(0.0, room), 0.0)


@dataclass(frozen=True, kw_only=True)
class Parts:
    """Means (H, K, m) and scale matrices (H, K, m, m) of the numbers of a case."""

    means: Floats
    scales: Floats


def parts(tables: Model, one: Case, which: Sequence[int]) -> Parts:
    """Of the hypotheses `which`, for the numbers of a case."""
    pick = np.array(which, dtype=np.intp)
    severities = tables.severities[pick]
    psi = severity_terms(severities, one.conditions)
    coefficients = tables.means[pick][:, :, one.at]
    means = psi @ coefficients
    step = np.gradient(means, axis=1) / math.sqrt(12.0) if means.shape[1] > 1 else np.zeros_like(means)
    spread = tables.spreads[pick][:, :, one.at]
    correlation = tables.correlations[pick][:, one.at][:, :, one.at]
    scales = spread[..., :, None] * correlation[:, None] * spread[..., None, :]
    scales = scales + step[..., :, None] * step[..., None, :]
    scales = scales + (one.loose.T @ one.loose + np.diag(one.extra))
    return Parts(means=means, scales=scales)


def log_t(residual: Floats, scale: Floats, nu: float) -> Floats:
    """Log density (...) of a multivariate t about 0: residuals (..., m), scale matrices (..., m, m)."""
    m = residual.shape[-1]
    if m == 0:
        return np.zeros(residual.shape[:-1])
    lower = np.linalg.cholesky(scale)
    z = np.linalg.solve(lower, residual[..., None])[..., 0]
    distance = np.sum(z * z, axis=-1)
    log_det = 2.0 * np.sum(np.log(np.diagonal(lower, axis1=-2, axis2=-1)), axis=-1)
    constant = math.lgamma(0.5 * (nu + m)) - math.lgamma(0.5 * nu) - 0.5 * m * math.log(nu * math.pi)
    out: Floats = constant - 0.5 * log_det - 0.5 * (nu + m) * np.log1p(distance / nu)
    return out


def log_words(tables: Model, one: Case, which: Sequence[int]) -> Floats:
    """Log probability (H, K) of the words of a case."""
    pick = np.array(which, dtype=np.intp)
    columns = [column for _, column in one.words]
    out: Floats = tables.word_logs[pick][:, :, columns].sum(axis=-1)
    return out


def log_likelihoods(tables: Model, one: Case, which: Sequence[int] | None = None) -> Floats:
    """Log likelihood (H,) of each hypothesis, before it is taken to a power."""
    pick = list(range(len(tables.hypotheses))) if which is None else list(which)
    got = parts(tables, one, pick)
    numbers = log_t(one.residuals - got.means, got.scales, tables.nu)
    return mixed(numbers + tables.word_weight * log_words(tables, one, pick))


def mixed(logs: Floats) -> Floats:
    """Log of the mean over the last axis of exp(logs)."""
    top = logs.max(axis=-1, keepdims=True)
    out: Floats = (top + np.log(np.mean(np.exp(logs - top), axis=-1, keepdims=True)))[..., 0]
    return out


WORD_LEVELS: Final = sum(len(row.words) for row in FEATURES)
