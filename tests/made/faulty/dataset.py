"""Many cases run and looked at, kept in a file outside the repository: a sweep is costly, a look is not.

``python -m made.faulty.dataset build 120`` runs 120 cases of each fault, and ten times as many sound ones.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import os
import pickle
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

import firstfrost
from firstfrost.causes.conditions import Conditions
from firstfrost.causes.hypotheses import HYPOTHESES
from firstfrost.causes.seen import Seen
from made.faulty.cases import NAMES, case
from made.faulty.machines import BUILD, JUDGE, TUNE, WIDE
from made.faulty.observe import Observed, observe

PEOPLES = {
    "build": BUILD,
    "build-2": BUILD,
    "build-3": BUILD,
    "build-4": WIDE,
    "build-5": WIDE,
    "build-6": WIDE,
    "build-wide": WIDE,
    "build-pairs": WIDE,
    "tune": TUNE,
    "judge": JUDGE,
}
BASE = {
    "build": 10_000_000,
    "build-2": 20_000_000,
    "build-3": 40_000_000,
    "build-4": 50_000_000,
    "build-5": 80_000_000,
    "build-6": 100_000_000,
    "build-wide": 60_000_000,
    "build-pairs": 70_000_000,
    "tune": 30_000_000,
    "judge": 120_000_000,
}
"""First seed of each people. The judged ones were drawn anew once all had been chosen."""
WAVES = (
    ("build", 160, 2400, 0),
    ("build-2", 160, 2400, 0),
    ("build-3", 160, 2400, 0),
    ("build-wide", 40, 1500, 0),
    ("build-4", 240, 1600, 0),
    ("build-5", 240, 1600, 0),
    ("build-6", 240, 1600, 0),
    ("build-pairs", 0, 3000, 6000),
)
"""What likelihoods and ratios are made from: a people, runs of each fault, sound ones, with two faults."""
LOOKS = ("look.py", "levels.py", "conditions.py", "compression.py")
"""What of `causes` the features go through."""
Features = dict[str, Seen]


Job = tuple[str, int, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True)
class Row:
    """A run: its truth, what was seen, and what was seen of its twin: the same visit and machine, sound."""

    people: str
    seed: int
    faults: dict[str, float]
    kind: str
    all_channels: bool
    seen: Observed
    twin: Observed | None = None


def run_one(job: Job) -> Row | None:
    """One case; None where the bench cannot follow so gross a fault, or the machine has no such part."""
    name, seed, faults = job
    one = case(PEOPLES[name], seed, faults)
    if one.machine.unit.metering == "fixed orifice" and any(
        HYPOTHESES[fault].needs_valve for fault in faults
    ):
        return None
    seen = observe(one, more=2 if name.startswith("build") else 0)
    if seen is None:
        return None
    return Row(
        people=name,
        seed=seed,
        faults=one.faults,
        kind=one.kind,
        all_channels=len(one.kit) >= 19,
        seen=seen,
    )


def groups(people: str, each: int, sound: int, pairs: int) -> dict[str, list[Job]]:
    """Runs by group: sound ones, each fault `each` times, pairs of faults.

    Faults are laid on visits of the sound ones, each on others, so that every run has its twin.
    """
    base = BASE[people]
    out: dict[str, list[Job]] = {"sound": [(people, base + k, ()) for k in range(sound)]}
    for j, name in enumerate(NAMES):
        # Steps of the golden ratio: neighbours do not share visits more than others do.
        start = int(sound * ((0.618034 * (j + 1)) % 1.0))
        out[name] = [(people, base + (start + k) % sound, (name,)) for k in range(each)]
    rng = np.random.default_rng(5)
    both = []
    for k in range(pairs):
        two = rng.choice(len(NAMES), size=2, replace=False)
        both.append((people, base + k % sound, tuple(NAMES[i] for i in two)))
    out["pairs"] = both
    return out


def sources() -> str:
    """A hash of what the features and the runs are made by; comments and docstrings do not count."""
    root = Path(firstfrost.__file__).parent
    mine = hashlib.sha256()
    paths = [
        path
        for folder in ("bench", "phases", "proofs", "cycle", "heating", "causes")
        for path in sorted((root / folder).rglob("*.py"))
        if folder != "causes" or path.name in LOOKS
    ]
    here = Path(__file__).parent
    for path in (*paths, *(here / name for name in ("cases.py", "machines.py", "observe.py"))):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            # A text that stands alone is a docstring or a note on an attribute.
            body = getattr(node, "body", None)
            if isinstance(body, list):
                node.body = [one for one in body if not _is_text(one)]  # type: ignore[attr-defined]
        mine.update(ast.dump(tree).encode())
    return mine.hexdigest()[:12]


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def folder() -> Path:
    """Where the runs are kept."""
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "firstfrost" / "causes"


def load(
    people: str, *, each: int, sound: int, pairs: int = 0, processes: int = 2, progress: bool = False
) -> list[Row]:
    """The runs of a population, each group from its file if the same code made it."""
    place, mark, begin = folder(), sources(), time.monotonic()
    place.mkdir(parents=True, exist_ok=True)
    kept: dict[str, list[Row]] = {}
    with ProcessPoolExecutor(max_workers=processes) as pool:
        for name, work in groups(people, each, sound, pairs).items():
            path = place / f"{people}-{name}-{len(work)}-of-{sound}-{mark}.pickle"
            if path.exists():
                kept[name] = pickle.loads(path.read_bytes())
                continue
            rows = [row for row in pool.map(run_one, work, chunksize=10) if row is not None]
            path.write_bytes(pickle.dumps(rows))
            kept[name] = rows
            if progress:
                spent = time.monotonic() - begin
                print(f"{people} {name}: {len(rows)} runs, {spent:.0f} s", file=sys.stderr, flush=True)
    twins = {row.seed: row.seen for row in kept["sound"]}
    return [
        replace(row, twin=twins.get(row.seed)) if row.faults else row
        for rows in kept.values()
        for row in rows
    ]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a sweep."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("people", choices=sorted(PEOPLES))
    parser.add_argument("each", type=int)
    parser.add_argument("--sound", type=int)
    parser.add_argument("--pairs", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args(arguments)
    sound = options.sound if options.sound is not None else 10 * options.each
    # By its own name: rows kept by this module run as a script could not be read again.
    from made.faulty import dataset

    rows = dataset.load(
        options.people,
        each=options.each,
        sound=sound,
        pairs=options.pairs,
        processes=options.processes,
        progress=True,
    )
    print(f"{len(rows)} runs")
    return 0


def conditions_of(row: Row, *, full: bool) -> Conditions:
    """Of the whole van, or of the kit."""
    return row.seen.full_at if full else row.seen.kit_at


if __name__ == "__main__":
    sys.exit(main())
