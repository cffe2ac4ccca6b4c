"""The winter model against the bench run hour by hour with its house and thermostat, on four climates.

Whole heating seasons of each climate on each setting take the bench an hour: `scripts/prove_winter.py` runs
them and keeps what they gave by month in `bench_winters.json`, which is this program's own and no reference.
Make it anew with the table, whenever the bench's physics changes.
"""

import json
from pathlib import Path

import pytest
from season.bench_winter import (
    SETTINGS,
    beside,
    by_bench,
    by_model,
    heating_season,
    stretch,
    table_lines,
)
from season.climates import PLACES

pytest.importorskip("numba")
RUNS = json.loads((Path(__file__).parent / "bench_winters.json").read_text(encoding="utf-8"))["runs"]
PAGE = Path(__file__).parents[2] / "docs" / "season.md"


@pytest.fixture(scope="module", params=PLACES)
def place(request):
    return request.param


@pytest.fixture(scope="module")
def rows(place):
    """Setting, and a whole season's sums of the winter model and of the bench as once run."""
    return beside(place, RUNS, heating_season(PLACES[place]()))


def test_over_a_season_heat_and_energy_are_within_2_percent_of_the_benchs(rows):
    for name, model, bench in rows:
        heat = [one["heat"] + one["backup"] for one in (model, bench)]
        energy = [one["power"] + one["backup"] for one in (model, bench)]
        assert heat[0] == pytest.approx(heat[1], rel=0.02), name
        assert model["heat"] == pytest.approx(bench["heat"], rel=0.02), name
        assert energy[0] == pytest.approx(energy[1], rel=0.02), name


def test_over_a_season_the_defrosts_are_within_5_percent_of_the_benchs(rows):
    for name, model, bench in rows:
        assert model["defrosts"] == pytest.approx(bench["defrosts"], rel=0.05), name


def test_over_a_season_the_settings_come_in_the_benchs_order(rows):
    """Where the bench has two settings within 1 % of each other their order is a matter of chance."""
    model, bench = ({row[0]: row[at]["power"] + row[at]["backup"] for row in rows} for at in (1, 2))
    for one in bench:
        for other in bench:
            if bench[one] < 0.99 * bench[other]:
                assert model[one] < model[other], (one, other)


def test_the_page_has_the_table_that_the_shipped_model_gives(place, rows):
    lines = table_lines([(place, *row) for row in rows])
    text = PAGE.read_text(encoding="utf-8").splitlines()
    assert [line for line in text if line.startswith(f"| {place} |") and " for " in line] == lines[2:]


def test_three_days_run_now_are_as_near(place):
    """So that the kept seasons cannot go stale: 3 %, and defrosts within 5 % or two, on two settings."""
    air = stretch(PLACES[place](), 24 * 12, 24 * 3 + 1)
    for name in ("90 min", "demand"):
        case = SETTINGS[name]
        model, bench = by_model(air, [case])[0], by_bench(air, case)
        whole, real = (one["heat"] + one["backup"] for one in (model, bench))
        energy, truth = (one["power"] + one["backup"] for one in (model, bench))
        assert whole == pytest.approx(real, rel=0.03)
        assert energy == pytest.approx(truth, rel=0.03)
        assert model["defrosts"] == pytest.approx(bench["defrosts"], rel=0.05, abs=2.01)
