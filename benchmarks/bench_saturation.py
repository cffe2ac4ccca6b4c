"""Cost of a saturation temperature a point: ours, compiled and plain, beside `numpy.interp` on 4,096 nodes.

    python benchmarks/bench_saturation.py

Bar: compiled, at random pressures, at most a fifth of `numpy.interp`. They take turns in one run, and the
median of the turns counts. Exit status 1 if the bar is missed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "src"))

from firstfrost.refrigerants import refrigerant
from firstfrost.refrigerants.compiled import compiled_temps_at

POINTS = 86_400  # a day at one sample a second
NODES = 4_096
TURNS = 41
BAR = 0.2


def seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def main() -> int:
    ref = refrigerant("R-410A")
    line = ref.dew
    low, high = line.pressure_low_pa, line.pressure_high_pa
    grid = np.linspace(low, high, NODES)
    on_grid = ref.dew_temps_c(grid)
    rng = np.random.default_rng(1)
    random = rng.uniform(low, high, POINTS)
    smooth = 1.0e6 + 0.4e6 * np.sin(np.arange(POINTS) / 600.0) + rng.normal(0.0, 500.0, POINTS)
    loop, arguments, out = compiled_temps_at(), line.arguments(), np.empty(POINTS)
    loop(random, out, *arguments)  # compiles
    assert np.array_equal(out, ref.dew_temps_c(random)), "compiled and plain differ"

    ratio = 1.0
    for name, pressures in (("random pressures", random), ("a trace's pressures", smooth)):

        def compiled(pressures: np.ndarray = pressures) -> object:
            out = np.empty(len(pressures))  # `numpy.interp` makes its own array, too
            loop(pressures, out, *arguments)
            return out

        calls: dict[str, Callable[[], object]] = {
            f"numpy.interp, {NODES} nodes": lambda p=pressures: np.interp(p, grid, on_grid),
            "ours, compiled": compiled,
            "ours, NumPy": lambda p=pressures: ref.dew_temps_c(p),
        }
        turns = [{call: seconds(work) for call, work in calls.items()} for _ in range(TURNS)]
        cost = {call: 1e9 * median(turn[call] for turn in turns) / POINTS for call in calls}
        print(f"{name}: " + ", ".join(f"{call} {ns:.1f} ns" for call, ns in cost.items()))
        of_interp = cost["ours, compiled"] / cost[f"numpy.interp, {NODES} nodes"]
        print(f"  compiled / numpy.interp = {of_interp:.3f}")
        if pressures is random:
            ratio = of_interp
    verdict = "held" if ratio <= BAR else "MISSED"
    print(f"bar at random pressures: {ratio:.3f} of numpy.interp, at most {BAR}: {verdict}")
    return 0 if ratio <= BAR else 1


if __name__ == "__main__":
    sys.exit(main())
