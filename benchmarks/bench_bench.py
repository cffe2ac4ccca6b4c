"""The practice bench's speed: an hour with a defrost in it, against real time and against SciPy's LSODA.

Run `python benchmarks/bench_bench.py`. LSODA integrates the same compiled right-hand side, restarted at each
second and at each switch, as a board that looks once a second makes it; tolerances are those at which it is
as exact as the bench (some 1e-5 of each state's swing). What the board costs is left out for LSODA.
"""

import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from bench.scipy_run import by_scipy  # noqa: E402

from firstfrost.bench.board.settings import Controls  # noqa: E402
from firstfrost.bench.simulate import Setup, simulate  # noqa: E402
from firstfrost.bench.weather import ramp  # noqa: E402

HOUR = Setup(
    duration_s=3600,
    settle_s=1,
    clock_s=3600.0,
    controls=Controls(count_always=1.0),
    frost_kg=1.0,
    weather=ramp([0.0, 1800.0, 3600.0], [1.67, 1.0, 1.3], [0.82, 0.9, 0.8]),
)


def best_of(count, function):
    """Shortest wall time [s] of several calls."""
    times = []
    for _ in range(count):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def measure():
    """Seconds for an hour: bench, LSODA restarted each second; and the greatest difference of states."""
    run = simulate(HOUR, compiled=True)
    bench = best_of(7, lambda: simulate(HOUR, compiled=True))
    options = {"method": "LSODA", "rtol": 1e-7, "atol": 1e-9}
    expected = by_scipy(run, each_second=True, **options)
    lsoda = best_of(1, lambda: by_scipy(run, each_second=True, **options))
    swing = np.maximum(np.ptp(expected, axis=0), 1e-9)
    apart = np.max(np.abs(expected - run.states).max(axis=0) / np.maximum(swing, 1e-2))
    return run, bench, lsoda, float(apart)


if __name__ == "__main__":
    run, bench, lsoda, apart = measure()
    print(f"an hour with {len(run.events)} switches in {run.steps} steps, output each second")
    print(f"bench           {bench * 1e3:8.1f} ms   {3600 / bench:10.0f} times real time   (100 000 wanted)")
    print(f"LSODA restarted {lsoda * 1e3:8.1f} ms   {lsoda / bench:10.0f} times the bench  (20 wanted)")
    print(f"greatest difference of a state over its swing: {apart:.1e}")
