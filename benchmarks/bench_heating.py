"""Time of heating check and causes of a visit of one hour, after import, against reading its CSV.

    python benchmarks/bench_heating.py

Bars: the heating check at most 0.5 times the reading of the file (19 channels at 1 Hz), with the causes at
most 1.5 times; the milliseconds stand beside it, as both together are to take at most 50 ms. They take turns,
and the medians count. Exit status 1 if a bar is missed.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "src"))

import numpy as np
from drawn import draw
from heating.heated import LAST_S, day, unit

from firstfrost.causes.find import find_causes
from firstfrost.cycle.derive import derive
from firstfrost.heating.check import check_heating
from firstfrost.phases.find import find_phases
from firstfrost.proofs.contact import examine
from firstfrost.proofs.context import Context
from firstfrost.proofs.judge import judge
from firstfrost.trace.reader import read_trace
from firstfrost.trace.write import write_csv

TURNS = 15
HOUR_S = 3600.0
BAR = 0.5
BOTH = 1.5


def main() -> int:
    noise = {"suction_line_temp": 0.2, "discharge_temp": 0.3, "supply_air_temp": 0.1, "power": 8.0}
    trace = draw(np.arange(0.0, HOUR_S), day(), noise=noise)
    assert LAST_S < HOUR_S
    machine = unit()
    cycle = derive(trace, machine.refrigerant)
    found = find_phases(trace=trace, cycle=cycle, unit=machine, marks=())
    at = Context(trace=trace, cycle=cycle, unit=machine, marks=(), found=found)
    findings, contact = judge(at), examine(at)
    spent: dict[str, list[float]] = {"heating check": [], "causes": [], "reading the CSV": []}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "visit.csv"
        write_csv(trace, path, atmosphere_pa=machine.site.atmosphere_pa)
        for turn in range(TURNS + 1):
            context = Context(trace=trace, cycle=cycle, unit=machine, marks=(), found=found)
            start = time.perf_counter()
            made = check_heating(context)
            middle = time.perf_counter()
            find_causes(context, findings, contact, made)
            third = time.perf_counter()
            read_trace([path], atmosphere_pa=machine.site.atmosphere_pa)
            end = time.perf_counter()
            if turn:  # the first imports
                spent["heating check"].append(middle - start)
                spent["causes"].append(third - middle)
                spent["reading the CSV"].append(end - third)
    seen = sum(number.measured for number in made.numbers)
    print(f"one hour at 1 Hz, {len(trace.columns)} channels, {seen} of {len(made.numbers)} numbers measured")
    for name, times in spent.items():
        print(f"{name:<16} {1000.0 * median(times):7.1f} ms")
    ratio = median(spent["heating check"]) / median(spent["reading the CSV"])
    both = ratio + median(spent["causes"]) / median(spent["reading the CSV"])
    print(f"ratio {ratio:.2f}, bar {BAR}; with the causes {both:.2f}, bar {BOTH}")
    return 0 if ratio <= BAR and both <= BOTH else 1


if __name__ == "__main__":
    sys.exit(main())
