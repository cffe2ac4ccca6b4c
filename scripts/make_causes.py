# ruff: noqa: E501
"""Make the likelihoods and the ratios of `firstfrost.causes` from runs of the bench.

Run from the repository's root: `python scripts/make_causes.py`. Thousands of runs take half an hour on two
cores; they are kept in the user's cache folder, and made anew when code that they go through has changed. The
same code gives the same files, but for the last digits of the networks on another machine.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

PLAIN = 4000
"""Runs that the plainer model is fitted to: it has few numbers to fit, and its tuning takes long."""
ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from made.faulty import dataset, fit, fit_ratios  # noqa: E402

from firstfrost.causes import ratios  # noqa: E402
from firstfrost.causes.model import FILE  # noqa: E402


def main() -> None:
    """Run or load the runs, tune, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=160, help="runs of each fault")
    parser.add_argument("--sound", type=int, default=2400)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    rows = []
    for wave in ("build", "build-2", "build-3"):
        rows += dataset.load(
            wave, each=options.each, sound=options.sound, processes=options.processes, progress=True
        )
    rows += dataset.load("build-wide", each=40, sound=1500, processes=options.processes, progress=True)
    pick = np.random.default_rng(1).permutation(len(rows))[:PLAIN]
    some = [rows[i] for i in sorted(pick.tolist())]
    tuned = fit.tune(some, parts=2)
    print(tuned)
    made = fit.fit(some, nu=tuned.nu, word_weight=tuned.word_weight, power=tuned.power)
    about = (
        f"{len(rows)} runs of the practice bench ({3 * options.sound + 1500} of sound machines, "
        f"{3 * options.each + 40} of each fault, from slight to gross), over sizes, refrigerants, weather, visits and "
        "instruments; the probabilities are worth what the bench is worth"
    )
    np.savez_compressed(FILE, **fit.arrays(replace(made, made_from=about)))
    others = dataset.load("tune", each=40, sound=600, processes=options.processes, progress=True)
    learnt = fit_ratios.warm(fit_ratios.train(rows), others)
    print(f"temperature {learnt.temperature:.2f}")
    np.savez_compressed(ratios.FILE, **fit_ratios.arrays(learnt))
    for path in (FILE, ratios.FILE):
        print(f"{path.relative_to(ROOT)}: {path.stat().st_size / 1024:.0f} kB")


if __name__ == "__main__":
    main()
