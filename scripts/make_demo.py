"""Make the data of `firstfrost demo` from the practice bench: its first scenario, a mild day and a healthy unit.

Run from the repository's root: `python scripts/make_demo.py`. The same scenario gives the same files.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "src"))

from firstfrost.bench.scenario.read import read_scenario  # noqa: E402
from firstfrost.bench.scenario.write import run_scenario, write_run  # noqa: E402

FOLDER = ROOT / "src" / "firstfrost" / "demo"
SCENARIO = "01-mild-day-visit"


def main() -> None:
    """Write trace.csv, marks.csv and unit.toml."""
    done = run_scenario(read_scenario(SCENARIO))
    for path in write_run(done, FOLDER):
        if path.name == "truth.json":
            # Whoever tries the demo judges first; `firstfrost bench run` gives the truth.
            path.unlink()
            continue
        if path.name == "trace.csv":
            # As a recorder writes it: its header in the first line, and no word of who made it.
            made_by, rows = path.read_text(encoding="utf-8").split("\n", 1)
            assert made_by.startswith("#")
            path.write_text(rows, encoding="utf-8")
        print(path.relative_to(ROOT))


if __name__ == "__main__":
    main()
