"""Train the networks of `ratios.npz` on runs of the bench, and fit their temperature on others."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.conditions import TYPICAL, Conditions, terms
from firstfrost.causes.features import FEATURE, LEVELS, NUMBERS, WORDS
from firstfrost.causes.hypotheses import P_TWO, SOUND, priors
from firstfrost.causes.model import settled
from firstfrost.causes.ratios import Network, Ratios, Scale
from firstfrost.causes.seen import Seen
from made.faulty.cases import NAMES
from made.faulty.dataset import Row
from made.faulty.fit import robust_polynomials, weighed_loss

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Look = tuple[dict[str, Seen], Conditions]
TWO: Final = "two"
CLASSES: Final = (SOUND, *NAMES, TWO)
LEAST: Final = {"K": 0.2, "degC": 0.2, "log": 0.01, "s": 3.0}
"""No spread is taken smaller than this."""
HIDDEN: Final = (384, 192)
DECAY: Final = 0.03
MEMBERS_HIDDEN: Final = (256, 128)
MEMBERS_DECAY: Final = 0.1
EPOCHS: Final = 20
NETWORKS: Final = 6
MEMBERS: Final = 3
RATE: Final = (1e-3, 3e-5)
"""Step of the optimizer in the first and in the last epoch."""
TEMPER: Final = 0.8
"""Classes are weighed by their priors to this power: rare ones are still learnt."""
LENT: Final = 4
"""So many looks of each run with what another visit's half of the channels gave."""
TAKEN: Final = 6
"""So many of a run's looks are taken in an epoch."""
WHOLE: Final = 0.6
"""How often the whole van is taken, to 1 of each other look."""
FEW: Final = 0.1
"""Share of looks that lose features at random."""
TEMPERATURES: Final = np.arange(0.4, 1.21, 0.02)
# Chosen by the loss on visits held out of the training and on the machines that the temperature is fitted to.


def label(row: Row) -> int:
    """Place of a run's truth in `CLASSES`."""
    return CLASSES.index(TWO if len(row.faults) > 1 else next(iter(row.faults), SOUND))


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


def looks(row: Row, lenders: Sequence[Look]) -> tuple[Look, ...]:
    """A run with the whole van, with its kit, with other kits, and with no more than was read elsewhere."""
    seen = row.seen
    return (
        (seen.full, seen.full_at),
        (seen.kit, seen.kit_at),
        *seen.more,
        *(lent(row, lender) for lender in lenders),
    )


def lent(row: Row, lender: Look) -> Look:
    """A run as it would be seen with the features and the conditions of another visit's look."""
    names, at = lender
    blind = {name: math.nan for name in TYPICAL if math.isnan(getattr(at, name))}
    return {name: one for name, one in row.seen.full.items() if name in names}, replace(
        row.seen.full_at, **blind
    )


def inputs(scale: Scale, rows: Sequence[Row]) -> Singles:
    """Inputs (looks, m, n) of runs."""
    rng = np.random.default_rng(82)
    out: list[Singles] = []
    for row in rows:
        others = [rows[i].seen.more for i in rng.integers(len(rows), size=LENT)]
        lenders = [more[int(rng.integers(len(more)))] for more in others]
        out.append(np.array([scale.inputs(*one) for one in looks(row, lenders)], dtype=np.float32))
    return np.stack(out, axis=1)


def draw(x: Singles, scale: Scale, rng: np.random.Generator) -> Singles:
    """An epoch's inputs (TAKEN * m, n): some looks of each run, some of them with few features."""
    often = np.ones(len(x))
    often[0] = WHOLE
    # The least of exponential waits: a draw by weight, none twice.
    wait = rng.exponential(size=(x.shape[1], len(x))) / often
    which = np.argsort(wait, axis=1)[:, :TAKEN]
    out: Singles = x[which.T.ravel(), np.tile(np.arange(x.shape[1]), TAKEN)]
    poor = np.flatnonzero(rng.random(len(out)) < FEW)
    d, w = len(scale.numbers), len(scale.words)
    keep = rng.random((len(poor), d)) < np.sqrt(rng.random(len(poor)))[:, None]
    out[poor, :d] *= keep
    out[poor, d : 2 * d] *= keep
    _, word = np.unique([name for name, _ in scale.words], return_inverse=True)
    out[poor, 2 * d : 2 * d + w] *= (rng.random((len(poor), int(word.max()) + 1)) < 0.6)[:, word]
    return out


def log_priors(rows: Sequence[Row]) -> Floats:
    """Log priors (n, H) of judged runs."""
    out = []
    for row in rows:
        given = priors(fixed_orifice=row.seen.kit_at.fixed > 0.5)
        faults = [given.get(name, 0.0) for name in NAMES]
        p = [given[SOUND], *((1.0 - P_TWO) * one for one in faults), P_TWO * sum(faults)]
        out.append([math.log(max(one, 1e-12)) for one in p])
    return np.array(out)


def taught(
    x: Singles,
    y: NDArray[Any],
    weight: Floats,
    scale: Scale,
    *,
    hidden: tuple[int, ...],
    decay: float,
    seed: int,
) -> Network:
    """A network of inputs (looks, m, n), truths (m,) or (m, F) and weights (m,), seen anew in each epoch."""
    from sklearn.neural_network import MLPClassifier

    rng = np.random.default_rng([seed, 83])
    one: Any = MLPClassifier(
        hidden, alpha=decay, batch_size=256, learning_rate_init=RATE[0], random_state=seed
    )
    many = np.tile(y, (TAKEN, *(1,) * (y.ndim - 1)))
    classes = np.arange(y.shape[1] if y.ndim > 1 else len(CLASSES))
    for epoch in range(EPOCHS):
        drawn, order = draw(x, scale, rng), rng.permutation(len(many))
        if epoch:  # no public way to let the step fall
            one._optimizer.learning_rate_init = RATE[0] * (RATE[1] / RATE[0]) ** (epoch / (EPOCHS - 1))
        one.partial_fit(
            drawn[order], many[order], sample_weight=np.tile(weight, TAKEN)[order], classes=classes
        )
    return Network(weights=tuple(one.coefs_), biases=tuple(one.intercepts_))


def train(rows: Sequence[Row], *, networks: int = NETWORKS, members: int = MEMBERS) -> Ratios:
    """Networks of a set of runs, temperature 1."""
    scale = fit_scale([row for row in rows if len(row.faults) < 2])
    x, y = inputs(scale, rows), np.array([label(row) for row in rows])
    given = priors(fixed_orifice=False)
    prior = np.array([*(given[name] for name in CLASSES[:-1]), P_TWO * (1.0 - given[SOUND])])
    weight = ((prior / np.bincount(y, minlength=len(CLASSES))) ** TEMPER)[y]
    weight /= weight.mean()
    total = np.array([weight[y == h].sum() for h in range(len(CLASSES))])
    made = [taught(x, y, weight, scale, hidden=HIDDEN, decay=DECAY, seed=seed) for seed in range(networks)]
    two = np.flatnonzero(y == CLASSES.index(TWO))
    which = np.array([[int(name in rows[i].faults) for name in NAMES] for i in two])
    mates = [
        taught(
            x[:, two], which, np.ones(len(two)), scale, hidden=MEMBERS_HIDDEN, decay=MEMBERS_DECAY, seed=seed
        )
        for seed in range(members)
    ]
    return Ratios(
        faults=NAMES,
        scale=scale,
        networks=tuple(made),
        members=tuple(mates),
        log_weights=np.log(total / total.sum()),
        temperature=1.0,
    )


def log_ratios(made: Ratios, rows: Sequence[Row]) -> Floats:
    """Log ratios (n, H) of runs as their vans' kits saw them."""
    return made.log_ratios(np.array([made.scale.inputs(row.seen.kit, row.seen.kit_at) for row in rows]))


def warm(made: Ratios, rows: Sequence[Row]) -> Ratios:
    """Fit the temperature to runs that the networks do not know.

    The least mean of -log p(truth), causes weighed as often as their priors say.
    """
    single = [row for row in rows if len(row.faults) < 2]
    logs, prior = log_ratios(replace(made, temperature=1.0), single), log_priors(single)
    truth = np.array([label(row) for row in single])
    losses = [weighed_loss(float(t) * logs + prior, truth, prior) for t in TEMPERATURES]
    return replace(made, temperature=float(TEMPERATURES[int(np.argmin(losses))]))


def arrays(made: Ratios) -> dict[str, Any]:
    """What is saved."""
    out: dict[str, Any] = {
        "faults": np.array(made.faults),
        "numbers": np.array(made.scale.numbers),
        "words": np.array([name for name, _ in made.scale.words]),
        "word_values": np.array([word for _, word in made.scale.words]),
        "expect": made.scale.expect.astype(np.float32),
        "spread": made.scale.spread.astype(np.float32),
        "usual_u": made.scale.usual_u.astype(np.float32),
        "log_weights": made.log_weights.astype(np.float32),
        "temperature": np.array(made.temperature),
    }
    for name, networks in (("network", made.networks), ("members", made.members)):
        out[f"{name}_count"] = np.array(len(networks))
        for i, one in enumerate(networks):
            for k, (w, b) in enumerate(zip(one.weights, one.biases, strict=True)):
                out[f"{name}_w{i}_{k}"], out[f"{name}_b{i}_{k}"] = w.astype(np.float16), b.astype(np.float16)
    return out
