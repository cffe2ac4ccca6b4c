"""Cost of the fold a sample of 12 channels: compiled and plain, beside reading the same numbers.

    python benchmarks/bench_fold.py

Bar: compiled, at most 50 ns a sample. The ways take turns in one run, and the median of the turns counts.
Exit status 1 if the bar is missed. Compiling is not counted: it is paid once a process.
"""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "src"))

from made.make import make

from firstfrost.cycle.derive import derive
from firstfrost.phases import fold
from firstfrost.phases.compiled import find_compiled
from firstfrost.phases.events import find
from firstfrost.phases.samples import rows

CHANNELS = (
    *("suction_pressure", "discharge_pressure", "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp"),
    *("supply_air_temp", "return_air_temp", "sensor_voltage", "fan_current", "compressor_current"),
    *("backup_current", "valve_voltage"),
)
SAMPLES = 86_400  # a day at one sample a second
TURNS = 15
BAR_NS = 50.0


def day() -> np.ndarray:
    """A made cold day with its defrosts: the same visit, one after the other, (SAMPLES, fold.WIDTH)."""
    traces = (make("two whole intervals", seed).trace for seed in range(400))
    trace = next(t for t in traces if t.has(*CHANNELS) and t.sampling_s == 1.0)
    trace = replace(trace, columns={name: trace.columns[name] for name in CHANNELS})
    one = rows(trace, derive(trace, "R-410A"), ())
    many = np.tile(one, (SAMPLES // len(one) + 1, 1))[:SAMPLES]
    many[:, fold.T] = np.arange(SAMPLES)
    return many


def seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def main() -> int:
    samples = day()
    short = samples[: SAMPLES // 20]
    listed = short.tolist()
    text = "\n".join(",".join(f"{v:.2f}" for v in row) for row in short[:, :12].tolist())
    began = time.perf_counter()
    events = find_compiled(samples)
    compiling = time.perf_counter() - began
    assert len(events.stretches) > 20, "the day must hold its changes"
    ways: dict[str, tuple[Callable[[], object], int]] = {
        "compiled fold": (lambda: find_compiled(samples), len(samples)),
        "plain fold": (lambda: find(listed), len(short)),
        "numpy.loadtxt of 12 columns": (lambda: np.loadtxt(io.StringIO(text), delimiter=","), len(short)),
    }
    spent: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(TURNS):
        for name, (call, n) in ways.items():
            spent[name].append(1e9 * seconds(call) / n)
    got = {name: median(times) for name, times in spent.items()}
    for name, value in got.items():
        print(f"{name:30} {value:10.1f} ns a sample")
    print(f"{'compiling, once a process':30} {compiling:10.1f} s")
    ours = got["compiled fold"]
    print(f"bar: at most {BAR_NS:.0f} ns compiled: {'met' if ours <= BAR_NS else 'MISSED'}")
    return 0 if ours <= BAR_NS else 1


if __name__ == "__main__":
    sys.exit(main())
