# ruff: noqa: E501
"""Make the likelihoods of `firstfrost.causes` from runs of the bench.

Run from the repository's root: `python scripts/make_causes.py`. Thousands of runs take half an hour on two
cores; they are kept in the user's cache folder, and made anew when code that they go through has changed. The
same code gives the same file.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from made.faulty import dataset, fit  # noqa: E402

from firstfrost.causes.model import FILE  # noqa: E402


def main() -> None:
    """Run or load the runs, tune, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=60, help="runs of each fault")
    parser.add_argument("--sound", type=int, default=900)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    rows = dataset.load(
        "build", each=options.each, sound=options.sound, processes=options.processes, progress=True
    )
    tuned = fit.tune(rows, parts=2)
    print(tuned)
    made = fit.fit(rows, nu=tuned.nu, word_weight=tuned.word_weight, power=tuned.power)
    about = (
        f"{len(rows)} runs of the practice bench ({options.sound} of sound machines, {options.each} of each fault, "
        "from slight to gross), over sizes, refrigerants, weather, visits and instruments; the probabilities are "
        "worth what the bench is worth"
    )
    np.savez_compressed(FILE, **fit.arrays(replace(made, made_from=about)))
    print(f"{FILE.relative_to(ROOT)}: {FILE.stat().st_size / 1024:.0f} kB")


if __name__ == "__main__":
    main()
