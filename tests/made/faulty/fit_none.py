"""Choose how far `none of these` is believed: ``python -m made.faulty.fit_none``.

Run from `tests/` with `src` on the path. No run has a cause that the list lacks. So each fault is taken off
the list in turn: its runs are then such runs, as often as the prior of `none of these` says. The least mean
of -log p(truth) over them and the runs as they are chooses `POWER_NONE` and `MOST_NONE` of
`firstfrost.causes.rank`. The runs are of the machines that the temperature is from: neither the networks nor
the spreads know them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from firstfrost.causes.hypotheses import NONE, SOUND, priors
from firstfrost.causes.model import case, model
from firstfrost.causes.rank import MOST_NONE, POWER_NONE, none_log, rank
from made.faulty import dataset

POWERS = (0.0, 0.1, 0.2, 0.25, 0.3, 0.5, 1.0)
MOSTS = (-4.0, -3.0, -2.5, -2.0, -1.0, 0.0)


@dataclass(frozen=True)
class Said:
    """What was said of a run: the shares of its truth and of `none of these`, and how often it comes."""

    weight: float
    of_truth: float
    of_none: float
    lead: float
    listed: bool

    def loss(self, power: float, most: float) -> float:
        """-log p(truth) if `none of these` were believed by another rule than it was."""
        odds = none_log(self.lead, power=power, most=most) - none_log(self.lead)
        none = self.of_none * math.exp(odds)
        total = 1.0 - self.of_none + none
        return -math.log(max((self.of_truth if self.listed else none) / total, 1e-300))


def said(rows: Sequence[dataset.Row]) -> list[Said]:
    """Of runs with one fault or none: each as it is, each with a fault with that off the list too."""
    tables, prior = model(), priors(fixed_orifice=False)
    truths = [next(iter(row.faults), SOUND) for row in rows]
    runs = Counter(truths)
    faults = 1.0 - prior[SOUND] - prior[NONE]
    out = []
    for truth, row in zip(truths, rows, strict=True):
        one, weight = case(tables, row.seen.kit, row.seen.kit_at), prior[truth] / runs[truth]
        for without, times in (((), 1.0), ((truth,), prior[NONE] / faults)):
            if SOUND in without:
                continue
            told = rank(tables, one, without=without)
            out.append(
                Said(
                    weight=weight * times,
                    of_truth=told.probability(truth),
                    of_none=told.probability(NONE),
                    lead=told.lead,
                    listed=not without,
                )
            )
    return out


def loss(runs: Sequence[Said], power: float, most: float) -> float:
    """Weighed mean of -log p(truth), nats."""
    return sum(one.weight * one.loss(power, most) for one in runs) / sum(one.weight for one in runs)


def main() -> None:
    """Print the losses, and those of the rule that is used."""
    rows = dataset.load("tune", each=40, sound=600, progress=True)
    runs = said([row for row in rows if len(row.faults) < 2])
    print("power   " + "".join(f"{most:9.1f}" for most in MOSTS) + "  most, log")
    for power in POWERS:
        print(f"{power:5.2f}   " + "".join(f"{loss(runs, power, most):9.4f}" for most in MOSTS))
    off = [one for one in runs if not one.listed]
    print(
        f"used: power {POWER_NONE}, most {MOST_NONE}: {loss(runs, POWER_NONE, MOST_NONE):.4f}; "
        f"of faults off the list {loss(off, POWER_NONE, MOST_NONE):.2f}"
    )


if __name__ == "__main__":
    main()
