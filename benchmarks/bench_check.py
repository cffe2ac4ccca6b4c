"""Time of `firstfrost check` on a visit of one hour, whole process, against reading the same CSV alone.

    python benchmarks/bench_check.py

Bar: at most 2 times a process that starts Python, imports NumPy and our reader, and reads the same file. The
two take turns in one run, and the medians count. Exit status 1 if the bar is missed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "src"))

import numpy as np
from made.make import make
from made.visit import write

TURNS = 25
HOUR_S = 3600
BAR = 2.0
CHANNELS = (
    *("suction_pressure", "discharge_pressure", "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp"),
    *("supply_air_temp", "return_air_temp", "sensor_voltage", "fan_current", "compressor_current"),
    *("backup_current", "valve_voltage"),
)

READ = """
import sys
import numpy
from firstfrost.trace.reader import read_trace
read_trace([sys.argv[1]], atmosphere_pa=101325.0)
"""


def an_hour(folder: Path) -> Path:
    """Write a made visit of an hour with a defrost in it, 12 channels at 1 Hz."""
    for seed in range(400):
        visit = make("two whole intervals", seed)
        trace = visit.trace
        if visit.recorder.sampling_s == 1.0 and len(trace) > HOUR_S and trace.has(*CHANNELS):
            break
    path = write(visit, folder)
    lines = path.read_text(encoding="utf-8").splitlines()
    names = [header.partition(" [")[0] for header in lines[0].split(",")]
    keep = [k for k, name in enumerate(names) if name == "time" or name in CHANNELS]
    assert len(keep) == 1 + len(CHANNELS)
    cut = [",".join(line.split(",")[k] for k in keep) for line in lines[: 1 + HOUR_S]]
    path.write_text("\n".join(cut) + "\n", encoding="utf-8")
    return path


def seconds(command: list[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    done = subprocess.run(command, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False)
    spent = time.perf_counter() - start
    assert done.returncode in (0, 1), done.stderr.decode()
    assert done.stderr == b"", done.stderr.decode()
    return spent


def main() -> int:
    env = {**os.environ, "PYTHONPATH": sys.path[0]}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # both sides find their modules compiled, as once installed
    with tempfile.TemporaryDirectory() as folder:
        path = an_hour(Path(folder))
        unit = str(path.with_name("unit.toml"))
        ways = {
            "firstfrost check": [sys.executable, "-m", "firstfrost", "check", str(path), "--unit", unit],
            "start, NumPy, read the CSV": [sys.executable, "-c", READ, str(path)],
            "start, NumPy": [sys.executable, "-c", "import numpy"],
        }
        spent: dict[str, list[float]] = {name: [] for name in ways}
        for turn in range(TURNS + 1):
            for name, command in ways.items():
                took = seconds(command, env)
                if turn:  # the first fills the caches
                    spent[name].append(took)
    for name, times in spent.items():
        low, high = 1e3 * np.quantile(times, (0.25, 0.75))
        middle = 1e3 * median(times)
        print(f"{name:28} {middle:7.1f} ms  (half of {TURNS} runs within {low:.0f} to {high:.0f})")
    check, read = (median(spent[name]) for name in list(ways)[:2])
    met = "met" if check <= BAR * read else "MISSED"
    print(f"bar: at most {BAR:g} times reading alone: {check / read:.2f}, {met}")
    return 0 if check <= BAR * read else 1


if __name__ == "__main__":
    sys.exit(main())
