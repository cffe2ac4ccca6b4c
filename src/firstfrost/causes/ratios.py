"""How much likelier what a visit shows is under each cause than on a sound machine: the likelihood ratios.

A classifier that is trained to tell runs of the bench with fault h from sound ones, class h weighed by w_h,
tends to s_h(x) = w_h p(x | h) / sum_j w_j p(x | j), whatever x is. Its logits z therefore hold the ratio

    log L_h / L_sound = T (z_h - z_sound - log w_h + log w_sound)

(likelihood ratios by classification: K. Cranmer, J. Pavez, G. Louppe, arXiv:1506.02169, 2015; from memory).
T is fitted to machines held out of the training, so that probabilities mean what they say; it would be 1 for
a classifier without error. z is the mean over networks of two hidden layers,

    z = W3 relu(W2 relu(W1 x + b1) + b2) + b3

x holds, for each number y of a visit, its distance from a sound machine's under the same conditions in robust
standard deviations s of sound machines, drawn in where it is far, and whether it was read at all:

    r = (y - W phi(conditions)) / s,   c = s^2 / (s^2 + e),   x = c sign(r) 1.5 log(1 + |r| / 1.5),   c / 2

with e the variance by which an instrument is worse than those of the runs: a poor one counts as less read.
Then each word of each feature as 0 or 1, and the conditions. What was not read is 0 in both, and the networks
were trained on visits with half of their channels missing: they need no value put in.

Two faults at once are one class of the networks. Which two is told by others, trained on such runs alone to
say of each fault whether it is one of them: their logits m are log odds, and of exactly two, taken as free of
each other,

    p(a and b | x, two) = exp(m_a + m_b) / sum over all pairs of the same

The ratio of a pair is that of the class times this over its share of the runs, in which each is as often.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.conditions import TYPICAL, Conditions, discharge_index, frosting, glide_k, terms
from firstfrost.causes.hypotheses import SOUND
from firstfrost.causes.model import settled
from firstfrost.causes.seen import Seen

Floats = NDArray[np.float64]
FILE: Final = Path(__file__).with_name("ratios.npz")
KNEE: Final = 1.5
"""Distances beyond this many standard deviations are drawn in. Model choice, no source."""


@dataclass(frozen=True, kw_only=True)
class Network:
    """One network; x (n,) to logits (H,)."""

    weights: tuple[Floats, ...]
    """(n, a), (a, b), (b, H)."""
    biases: tuple[Floats, ...]
    """(a,), (b,), (H,)."""

    def logits(self, x: Floats) -> Floats:
        """Logits (..., H) of inputs (..., n)."""
        for w, b in zip(self.weights[:-1], self.biases[:-1], strict=True):
            x = np.maximum(x @ w + b, 0.0)
        out: Floats = x @ self.weights[-1] + self.biases[-1]
        return out


@dataclass(frozen=True, kw_only=True)
class Scale:
    """What numbers are held against."""

    numbers: tuple[str, ...]
    words: tuple[tuple[str, str], ...]
    """Feature and word."""
    expect: Floats
    """(d, terms) of the no-fault polynomials."""
    spread: Floats
    """(d,): robust standard deviation of sound machines."""
    usual_u: Floats
    """(d,): standard uncertainty of each number from the instruments of the runs."""

    def inputs(self, seen: Mapping[str, Seen], at: Conditions) -> Floats:
        """The vector x (n,) of a visit."""
        phi, _ = terms(at)
        y = np.full(len(self.numbers), np.nan)
        extra = np.zeros(len(self.numbers))
        for k, name in enumerate(self.numbers):
            got = seen.get(name)
            if got is not None and not isinstance(got.value, str):
                y[k] = settled(name, got.value, at)
                extra[k] = max(0.0, got.u**2 - self.usual_u[k] ** 2)
        far = (y - self.expect @ phi) / self.spread
        read = np.isfinite(far)
        far = np.where(read, far, 0.0)
        counts = np.where(read, self.spread**2 / (self.spread**2 + extra), 0.0)
        drawn = np.sign(far) * KNEE * np.log1p(np.abs(far) / KNEE)
        word = [float(name in seen and seen[name].value == value) for name, value in self.words]
        return np.concatenate([counts * drawn, 0.5 * counts, word, surroundings(at)])


def surroundings(at: Conditions) -> Floats:
    """The conditions as inputs (14,); one that was not read is 0, and so is the input that says it was."""
    out: list[float] = []
    for name, (mean, spread) in TYPICAL.items():
        value: float = getattr(at, name)
        out += [0.0, 0.0] if math.isnan(value) else [(value - mean) / spread, 1.0]
    outdoor, humidity = (
        TYPICAL[name][0] if math.isnan(value) else value
        for name, value in (("outdoor_c", at.outdoor_c), ("humidity", at.humidity))
    )
    size = 0.0 if math.isnan(at.size_w) else math.log(at.size_w / 9000.0)
    fluid = [5.0 * (discharge_index(at.refrigerant) - 0.75), 2.0 * glide_k(at.refrigerant)]
    more = [at.since_h, float(at.clean), frosting(outdoor, humidity)]
    return np.array([*out, at.fixed, at.forced, 2.0 * size, *fluid, *more])


@dataclass(frozen=True, kw_only=True)
class Told:
    """What the networks make of a visit."""

    logs: dict[str, float]
    """Log of each hypothesis' likelihood over a sound machine's, by name."""
    pairs: dict[tuple[str, str], float]
    """The same of two faults at once."""


@dataclass(frozen=True, kw_only=True)
class Ratios:
    """The tables of `ratios.npz`, for H classes: a sound machine, F faults, and two faults at once."""

    faults: tuple[str, ...]
    scale: Scale
    networks: tuple[Network, ...]
    members: tuple[Network, ...]
    """Logits (F,) of which faults two at once are."""
    log_weights: Floats
    """(H,): log w of the classes in training."""
    temperature: float

    def read(self, seen: Mapping[str, Seen], at: Conditions) -> Told:
        """Tell what a visit shows; where nothing was seen all is as likely as on a sound machine."""
        both = tuple(combinations(self.faults, 2))
        known = {*self.scale.numbers, *(name for name, _ in self.scale.words)}
        if not known & set(seen):
            return Told(logs=dict.fromkeys((SOUND, *self.faults), 0.0), pairs=dict.fromkeys(both, 0.0))
        x = self.scale.inputs(seen, at)
        logs = self.log_ratios(x)
        shares = self.log_shares(x) + math.log(len(both))
        return Told(
            logs=dict(zip((SOUND, *self.faults), (float(one) for one in logs[:-1]), strict=True)),
            pairs=dict(zip(both, (float(logs[-1] + one) for one in shares), strict=True)),
        )

    def log_ratios(self, x: Floats) -> Floats:
        """Log ratios (..., H) of inputs (..., n)."""
        z = np.mean([one.logits(x) for one in self.networks], axis=0) - self.log_weights
        out: Floats = self.temperature * (z - z[..., :1])
        return out

    def log_shares(self, x: Floats) -> Floats:
        """Log probability (P,) of each pair of faults, if there are two, of inputs (n,)."""
        m = np.mean([one.logits(x) for one in self.members], axis=0)
        a, b = np.triu_indices(len(self.faults), 1)
        logs = m[a] + m[b]
        top = logs.max()
        out: Floats = logs - top - math.log(float(np.exp(logs - top).sum()))
        return out


@cache
def ratios(path: Path = FILE) -> Ratios:
    """The ratios that are shipped."""
    with np.load(path) as file:
        got = {name: file[name] for name in file.files}
    names, values = got["words"].tolist(), got["word_values"].tolist()
    return Ratios(
        faults=tuple(got["faults"].tolist()),
        scale=Scale(
            numbers=tuple(got["numbers"].tolist()),
            words=tuple(zip(names, values, strict=True)),
            expect=got["expect"].astype(np.float64),
            spread=got["spread"].astype(np.float64),
            usual_u=got["usual_u"].astype(np.float64),
        ),
        networks=_networks(got, "network"),
        members=_networks(got, "members"),
        log_weights=got["log_weights"].astype(np.float64),
        temperature=float(got["temperature"]),
    )


def _networks(got: Mapping[str, Any], name: str) -> tuple[Network, ...]:
    def part(letter: str, i: int) -> tuple[Floats, ...]:
        return tuple(got[f"{name}_{letter}{i}_{k}"].astype(np.float64) for k in range(3))

    return tuple(Network(weights=part("w", i), biases=part("b", i)) for i in range(int(got[f"{name}_count"])))
