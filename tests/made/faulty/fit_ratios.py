"""Train the networks of `ratios.npz` on runs of the bench, and fit their temperature on others."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.conditions import Conditions, terms
from firstfrost.causes.features import FEATURE, LEVELS, NUMBERS, WORDS
from firstfrost.causes.hypotheses import SOUND, priors
from firstfrost.causes.model import settled
from firstfrost.causes.ratios import Network, Ratios, Scale
from firstfrost.causes.seen import Seen
from made.faulty.cases import NAMES
from made.faulty.dataset import Row
from made.faulty.fit import robust_polynomials

Floats = NDArray[np.float64]
Look = tuple[dict[str, Seen], Conditions]
HYPOTHESES: Final = (SOUND, *NAMES)
LEAST: Final = {"K": 0.2, "degC": 0.2, "log": 0.01, "s": 3.0}
"""No spread is taken smaller than this."""
HIDDEN: Final = (256, 128)
DECAY: Final = 0.1
EPOCHS: Final = 12
NETWORKS: Final = 6
"""Chosen by the loss on the machines that the temperature is fitted to."""
TEMPER: Final = 0.5
"""Classes are weighed by their priors to this power: rare ones are still learnt."""
TEMPERATURES: Final = np.arange(0.4, 1.21, 0.02)


def label(row: Row) -> int:
    """Place of a run's truth in `HYPOTHESES`."""
    return HYPOTHESES.index(next(iter(row.faults), SOUND))


def fit_scale(rows: Sequence[Row]) -> Scale:
    """What numbers are held against: polynomials and spreads of the sound runs, seen with the whole van."""
    numbers = tuple(name for name in (*NUMBERS, *LEVELS) if FEATURE[name].group != "typed")
    words = tuple(
        (name, word) for name in WORDS if FEATURE[name].group != "typed" for word in FEATURE[name].words
    )
    sound = [row.seen for row in rows if not row.faults]
    y = np.full((len(sound), len(numbers)), np.nan)
    u = np.full_like(y, np.nan)
    for i, seen in enumerate(sound):
        for k, name in enumerate(numbers):
            if name in seen.full:
                one = seen.full[name]
                y[i, k], u[i, k] = settled(name, float(one.value), seen.full_at), one.u
    phi = np.array([terms(seen.full_at)[0] for seen in sound])
    expect = robust_polynomials(phi, y)
    off = y - phi @ expect.T
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a number that no run has
        spread = 1.4826 * np.nanmedian(np.abs(off - np.nanmedian(off, axis=0)), axis=0)
        usual = np.nanmedian(u, axis=0)
    least = np.array([LEAST[FEATURE[name].unit] for name in numbers])
    return Scale(
        numbers=numbers,
        words=words,
        expect=expect,
        spread=np.where(np.isfinite(spread), np.maximum(spread, least), 1.0),
        usual_u=np.where(np.isfinite(usual), usual, 1.0),
    )


def looks(row: Row) -> tuple[Look, ...]:
    """A run with the whole van, with its kit, with other kits, and with a part of its features at random."""
    seen = row.seen
    base: tuple[Look, ...] = ((seen.full, seen.full_at), (seen.kit, seen.kit_at), *seen.more)
    rng = np.random.default_rng([row.seed, 82])
    keep = rng.random() ** 2
    few = {name: one for name, one in seen.full.items() if rng.random() < keep}
    return (*base, (few, seen.full_at))


def matrix(scale: Scale, rows: Sequence[Row]) -> tuple[Floats, NDArray[np.intp]]:
    """Inputs (m, n) and labels (m,) of all looks of runs."""
    x, y = [], []
    for row in rows:
        for seen, at in looks(row):
            x.append(scale.inputs(seen, at))
            y.append(label(row))
    return np.array(x), np.array(y, dtype=np.intp)


def log_priors(rows: Sequence[Row]) -> Floats:
    """Log priors (n, H) of judged runs."""
    out = []
    for row in rows:
        given = priors(fixed_orifice=row.seen.kit_at.fixed > 0.5)
        out.append([math.log(given.get(name, 1e-12)) for name in HYPOTHESES])
    return np.array(out)


def train(rows: Sequence[Row], *, networks: int = NETWORKS) -> Ratios:
    """Networks of a set of runs, temperature 1."""
    from sklearn.neural_network import MLPClassifier

    single = [row for row in rows if len(row.faults) < 2]
    scale = fit_scale(single)
    x, y = matrix(scale, single)
    given = priors(fixed_orifice=False)
    prior = np.array([given[name] for name in HYPOTHESES])
    weight = ((prior / np.bincount(y, minlength=len(HYPOTHESES))) ** TEMPER)[y]
    weight /= weight.mean()
    total = np.array([weight[y == h].sum() for h in range(len(HYPOTHESES))])
    made: list[Network] = []
    for seed in range(networks):
        one: Any = MLPClassifier(
            HIDDEN, alpha=DECAY, batch_size=256, learning_rate_init=1e-3, max_iter=EPOCHS, random_state=seed
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it stops by count, not by its own rule
            one.fit(x.astype(np.float32), y, sample_weight=weight)
        made.append(Network(weights=tuple(one.coefs_), biases=tuple(one.intercepts_)))
    return Ratios(
        hypotheses=HYPOTHESES,
        scale=scale,
        networks=tuple(made),
        log_weights=np.log(total / total.sum()),
        temperature=1.0,
    )


def log_ratios(made: Ratios, rows: Sequence[Row]) -> Floats:
    """Log ratios (n, H) of runs as their vans' kits saw them."""
    return np.array([list(made.log_ratios(row.seen.kit, row.seen.kit_at).values()) for row in rows])


def warm(made: Ratios, rows: Sequence[Row]) -> Ratios:
    """Fit the temperature to runs that the networks do not know.

    The least mean of -log p(truth), causes weighed as often as their priors say.
    """
    from made.faulty.fit import weighed_loss

    single = [row for row in rows if len(row.faults) < 2]
    logs, prior = log_ratios(replace(made, temperature=1.0), single), log_priors(single)
    truth = np.array([label(row) for row in single])
    losses = [weighed_loss(float(t) * logs + prior, truth, prior) for t in TEMPERATURES]
    return replace(made, temperature=float(TEMPERATURES[int(np.argmin(losses))]))


def arrays(made: Ratios) -> dict[str, Any]:
    """What is saved."""
    out: dict[str, Any] = {
        "hypotheses": np.array(made.hypotheses),
        "numbers": np.array(made.scale.numbers),
        "words": np.array([name for name, _ in made.scale.words]),
        "word_values": np.array([word for _, word in made.scale.words]),
        "expect": made.scale.expect.astype(np.float32),
        "spread": made.scale.spread.astype(np.float32),
        "usual_u": made.scale.usual_u.astype(np.float32),
        "log_weights": made.log_weights.astype(np.float32),
        "temperature": np.array(made.temperature),
        "networks": np.array(len(made.networks)),
    }
    for i, one in enumerate(made.networks):
        for k, (w, b) in enumerate(zip(one.weights, one.biases, strict=True)):
            out[f"w{i}_{k}"], out[f"b{i}_{k}"] = w.astype(np.float16), b.astype(np.float16)
    return out
