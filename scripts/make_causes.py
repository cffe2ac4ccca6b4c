# ruff: noqa: E501
"""Make the likelihoods and the ratios of `firstfrost.causes` from runs of the bench.

Run from the repository's root: `python scripts/make_causes.py`. Tens of thousands of runs take hours on
two cores; they are kept in the user's cache folder, and made anew when code that they go through has changed. The
same code gives the same files, but for the last digits of the networks on another machine.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

PLAIN = 4000
"""Runs that the plainer model is tuned on: that takes long."""
FIRST = 4
"""From so many of the first waves, none of which has two faults in a run."""
ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from made.faulty import dataset, fit, fit_ratios  # noqa: E402

from firstfrost.causes import ratios  # noqa: E402
from firstfrost.causes.model import FILE  # noqa: E402


def main() -> None:
    """Run or load the runs, tune, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    waves = [
        dataset.load(name, each=each, sound=sound, pairs=pairs, processes=options.processes, progress=True)
        for name, each, sound, pairs in dataset.WAVES
    ]
    rows = [row for wave in waves for row in wave]
    single = [row for wave in waves[:FIRST] for row in wave]
    pick = np.random.default_rng(1).permutation(len(single))[:PLAIN]
    some = [single[i] for i in sorted(pick.tolist())]
    tuned = fit.tune(some, parts=2)
    print(tuned)
    made = fit.fit(single, nu=tuned.nu, word_weight=tuned.word_weight, power=tuned.power)
    np.savez_compressed(FILE, **fit.arrays(replace(made, made_from=about(rows))))
    others = dataset.load("tune", each=40, sound=600, processes=options.processes, progress=True)
    learnt = fit_ratios.warm(fit_ratios.train(rows), others)
    print(f"temperature {learnt.temperature:.2f}")
    np.savez_compressed(ratios.FILE, **fit_ratios.arrays(learnt))
    for path in (FILE, ratios.FILE):
        print(f"{path.relative_to(ROOT)}: {path.stat().st_size / 1024:.0f} kB")


def about(rows: Sequence[dataset.Row]) -> str:
    """What they are made from, in words."""
    runs = Counter(next(iter(row.faults)) for row in rows if len(row.faults) == 1)
    sound, two = (sum(len(row.faults) == n for row in rows) for n in (0, 2))
    return (
        f"{len(rows)} runs of the practice bench ({sound} of sound machines, {min(runs.values())} to "
        f"{max(runs.values())} of each fault, from slight to gross, {two} of two faults at once), over sizes, "
        "refrigerants, weather, visits and instruments; the probabilities are worth what the bench is worth"
    )


if __name__ == "__main__":
    main()
