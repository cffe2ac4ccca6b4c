"""The season's JSON against its published schema, in each climate and with each option."""

import copy
import json
import re
from importlib.resources import files
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from season.air import steady, winter_air

from firstfrost.equipment.read import unit_from
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.season.as_json import SCHEMA_FILE, as_json
from firstfrost.season.at_visit import AtVisit, Found
from firstfrost.season.lane import OUTPUTS
from firstfrost.season.money import read_prices
from firstfrost.season.region_year import region_air
from firstfrost.season.season import season

pytest.importorskip("numba", reason="without Numba a season takes a minute")
SCHEMA = json.loads((files("firstfrost.season") / SCHEMA_FILE).read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)
BARE = {"unit": {"refrigerant": "R-410A"}}
RATED = {
    **BARE,
    "ratings": {
        "capacity_47": "28000 Btu/h", "cop_47": "3.4 W/W", "capacity_17": "17500 Btu/h", "cop_17": "2.4 W/W",
    },
}  # fmt: skip
DEMAND = {**RATED, "board": {"kind": "demand"}}
PRICES = """
currency = "USD"
[electricity]
table = "tariff.csv"
carbon = 0.38
[[fuel]]
name = "natural gas"
price = 1.30
per = "29.3 kWh"
efficiency = 0.92
carbon = 0.20
[[fuel]]
name = "own wood"
price = 0
per = "4 kWh"
efficiency = 0.7
"""
VISIT = AtVisit(
    when="2025-10-14",
    failed=("sensor_opens", "fan_stops"),
    closes=Found(value=-2.0, expanded=1.0),
    opens=Found(value=6.0, expanded=2.0, failed=True),
    capacity=Found(value=0.8, expanded=0.1),
)


@pytest.fixture(scope="module")
def prices(tmp_path_factory):
    folder = tmp_path_factory.mktemp("prices")
    (folder / "tariff.csv").write_text("month,hour,price\nall,all,0.12\n11-3,17-20,0.31\n")
    (folder / "prices.toml").write_text(PRICES)
    return read_prices(folder / "prices.toml")


def made(plate, air, *, system="us", failed=(), **options):
    options.setdefault("quick", True)
    return as_json(season(unit_from(plate, source="x"), air, **options), system, failed)


def holds(content):
    assert [(list(one.path), one.message) for one in VALIDATOR.iter_errors(content)] == []
    assert json.loads(json.dumps(content, allow_nan=False)) == content
    assert list(content) == list(SCHEMA["properties"])
    return content


@pytest.mark.parametrize("name", ["I", "II", "III", "IV", "V", "VI"])
@pytest.mark.parametrize("plate", [BARE, RATED, DEMAND], ids=["bare", "rated", "demand"])
def test_each_climate_and_kind_of_unit_follows_the_schema(name, plate):
    content = holds(made(plate, region_air(name)))
    assert content["money"] is None
    assert (content["hspf2"] is None) == (plate is BARE)


@pytest.mark.parametrize("system", ["us", "si"])
def test_prices_a_visit_and_bounds_follow_the_schema(prices, system):
    content = holds(
        made(RATED, winter_air(), system=system, failed=VISIT.failed, prices=prices, visit=VISIT, quick=False)
    )
    assert content["factors"]
    assert content["settings"][0]["above_best_expanded_j"] is not None
    assert content["taken"]["measured"] == ["closes", "capacity"]
    assert content["householder"]
    gas, wood, resistance = content["money"]["alternatives"]
    assert wood["equal_cop"] is None
    assert (wood["cheaper"], resistance["name"]) == ("everywhere", None)
    assert gas["carbon_kg"] == pytest.approx(content["load"]["heat_j"] / 3.6e6 * 0.20 / 0.92)
    assert all(row["extra_low_cost"] <= row["extra_high_cost"] for row in content["faults"])


@pytest.mark.parametrize("air", [steady(10.0, 0.3), steady(-30.0, 0.5)], ids=["no frost", "bitter cold"])
def test_a_winter_at_either_end_follows_the_schema(air):
    holds(made(RATED, air))


def test_flat_prices_are_the_price_times_the_energy(tmp_path):
    (tmp_path / "p.toml").write_text('currency = "EUR"\n[electricity]\nprice = 0.25\n')
    content = holds(made(RATED, winter_air(), prices=read_prices(tmp_path / "p.toml")))
    money = content["money"]
    assert (money["flat"], money["carbon_kg_by_setting"]) == (True, None)
    for row in content["settings"]:
        used = row["power_j"] + row["backup_j"] + row["backup_defrost_j"]
        assert money["by_setting"][row["name"]] == pytest.approx(0.25 * used / 3.6e6, rel=1e-6)


def test_the_schema_is_sound_closed_and_in_the_words_of_the_code():
    Draft202012Validator.check_schema(SCHEMA)
    setting = SCHEMA["$defs"]["setting"]["properties"]
    units = {"J": "_j", "s": "_s", "kg": "_kg", "degC": "_c", "1": ""}
    assert {name + units[unit] for name, unit, _ in OUTPUTS} <= set(setting)
    fault = SCHEMA["properties"]["faults"]["items"]["properties"]
    assert fault["functions"]["items"]["enum"] == list(FUNCTIONS)
    found = list(_objects(SCHEMA))
    assert len(found) > 10
    for one in found:
        assert one["additionalProperties"] is False
        assert one["required"] == list(one["properties"])


def _objects(node):
    if isinstance(node, dict):
        if "properties" in node:
            yield node
        for value in node.values():
            yield from _objects(value)
    elif isinstance(node, list):
        for value in node:
            yield from _objects(value)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(extra=1),
        lambda d: d.pop("money"),
        lambda d: d["settings"][0].pop("heat_j"),
        lambda d: d["settings"][0].update(energy_j=-1),
        lambda d: d["weather"].update(month_order=[1] * 12),
        lambda d: d["faults"][0].update(functions=["joy"]),
        lambda d: d["taken"].update(measured=["hearsay"]),
    ],
)
def test_the_schema_refuses_what_does_not_follow_it(spoil):
    content = copy.deepcopy(_ONE.setdefault("one", made(RATED, winter_air())))
    assert VALIDATOR.is_valid(content)
    spoil(content)
    assert not VALIDATOR.is_valid(content)


_ONE = {}


def test_the_page_on_the_json_points_at_the_schema():
    page = Path(__file__).parents[2] / "docs" / "json.md"
    link = re.search(r"\]\((\S+?season\.schema\.json)\)", page.read_text(encoding="utf-8"))
    assert json.loads((page.parent / link[1]).read_text(encoding="utf-8")) == SCHEMA
