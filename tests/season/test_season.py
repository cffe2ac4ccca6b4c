"""From a unit file and weather to advice, load, money and words."""

import json
from dataclasses import replace

import numpy as np
import pytest
from season.air import steady, winter_air

from firstfrost.equipment.read import read_unit
from firstfrost.errors import DataError, InputError
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.season import words
from firstfrost.season.as_json import as_json
from firstfrost.season.at_visit import AtVisit, Found
from firstfrost.season.compare import Factor, compare, factors, settings
from firstfrost.season.faults import FAULTS, fault_costs
from firstfrost.season.money import read_prices
from firstfrost.season.region_year import region_air
from firstfrost.season.regions import REGIONS, region
from firstfrost.season.risk import frost_risk
from firstfrost.season.season import season
from firstfrost.season.setup import prepare
from firstfrost.season.table import drive
from firstfrost.season.winter import Case

pytest.importorskip("numba")

UNIT = """
[unit]
name = "Made unit"
refrigerant = "R-410A"
nominal_capacity = "2.5 ton_refrigeration"
[board]
interval = "90 min"
[ratings]
capacity_47 = "28000 Btu/h"
cop_47 = "3.4 W/W"
capacity_17 = "17500 Btu/h"
cop_17 = "2.4 W/W"
cooling_capacity = "29000 Btu/h"
[house]
design_load = "34000 Btu/h"
design_temp = "0 degF"
[backup]
stages = ["5 kW", "5 kW"]
"""
PRICES = """
currency = "USD"
[electricity]
price = 0.15
carbon = 0.4
[[fuel]]
name = "natural gas"
price = 1.3
per = "29.3 kWh"
efficiency = 0.9
carbon = 0.2
"""


@pytest.fixture
def unit(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(UNIT)
    return read_unit(path)


@pytest.fixture
def prices(tmp_path):
    path = tmp_path / "prices.toml"
    path.write_text(PRICES)
    return read_prices(path)


def test_the_case_is_what_the_unit_file_says(unit):
    found = prepare(unit)
    case = found.case
    assert found.rated
    assert not found.assumptions
    assert case.interval_s == 5400.0
    assert case.warm.capacity_w == pytest.approx(28000 * 0.29307107)
    assert case.backup_w == 10000.0
    # 34,000 Btu/h at 0 degF, none at 55 degF, 70 degF indoors: worked by hand.
    ua = 34000 * 0.29307107 / (55 / 1.8)
    assert case.conductance_wk == pytest.approx(ua)
    assert ua * (70 - 32 - 23) / 1.8 == pytest.approx(case.gain_w, rel=1e-6)
    seen = prepare(
        unit, visit=AtVisit(closes=Found(value=-3.0, expanded=1.0), opens=Found(value=12.0, expanded=1.0))
    ).case
    assert (seen.closes_c, seen.opens_c) == (-3.0, 12.0)


def test_a_bare_unit_file_is_enough_and_says_what_was_assumed(tmp_path):
    path = tmp_path / "bare.toml"
    path.write_text('[unit]\nrefrigerant = "R-410A"\n')
    found = prepare(read_unit(path))
    assert not found.rated
    assert len(found.assumptions) == 3
    assert any("design_load" in one.better for one in found.assumptions)


def test_the_season_holds_together(unit, prices):
    made = season(unit, winter_air(), prices=prices)
    both = made.comparison
    assert [row.name for row in both.settings] == ["30 min", "60 min", "90 min", "120 min", "demand"]
    assert both.settings[made.current].name == "90 min"
    assert not both.settings[-1].offered
    assert np.argmin(both.energy_j[:4]) == both.best
    assert both.lead_j[both.best] == 0.0
    assert both.lead_u_j[both.best] == 0.0
    assert np.all(np.delete(both.lead_u_j, both.best) > 0.0)
    parts = both.lost_j()
    assert sum(parts.values()) + both.frost_free_j == pytest.approx(both.energy_j)
    assert len(made.ratings) == 6
    # Prices by hand: flat.
    cost = float(made.prices.cost(both.found.electricity_slots[0]))
    shown = both.found.energy_j[0] - both.found.total("short")[0]
    assert cost == pytest.approx(0.15 * shown / 3.6e6)
    out = as_json(made, "us", ("fan_stops",))
    text = json.dumps(out, allow_nan=False)
    assert "NaN" not in text
    assert out["settings"][2]["set_now"]
    for row in out["settings"]:
        lost = sum(row["lost_to_" + name + "_j"] for name in ("defrosts", "backup_in_defrosts", "frosting"))
        assert sum(row["lost_by_month_j"]) == pytest.approx(lost - row["short_j"], rel=1e-6, abs=1e3)
    assert out["weather"]["month_order"][0] == 7
    assert any("outdoor fan" in line for line in out["householder"])
    assert out["money"]["alternatives"][0]["cost"] == pytest.approx(
        made.heat_j / 3.6e6 * 1.3 / 29.3 / 0.9, rel=1e-6
    )


def test_every_function_that_can_fail_has_a_cost_but_the_safe_end():
    costed = {name for fault in FAULTS for name in fault.functions}
    assert costed == set(FUNCTIONS) - {"ends_safely"}


def test_faults_cost_and_their_bounds_are_in_order():
    sound, rows = fault_costs(drive(winter_air()), Case())
    assert sound > 0.0
    for row in rows:
        low, high = row.extra_j
        assert low <= high
    never, opens, fan, clears, backup, back = rows
    assert never.extra_j[0] > 0.05 * sound
    assert opens.extra_j[0] > 0.0
    assert fan.extra_j[0] > 0.0
    assert clears.extra_j[1] > 0.0
    assert backup.cold_s[1] > 3600.0
    assert back.extra_j[1] == pytest.approx(never.extra_j[1])


def test_a_factor_that_decides_is_told():
    case = Case(interval_s=5400.0)
    decisive = Factor(
        name="made",
        bounds="made",
        low=lambda one: replace(one, frost_free=one.interval_s == 1800.0),
        high=lambda one: replace(one, frost_free=one.interval_s == 7200.0),
    )
    found = compare(winter_air(10), case, [decisive])
    assert (found.turns[0].best_low, found.turns[0].best_high) == ("30 min", "120 min")
    lead = found.lead_j
    assert found.lead_u_j[found.best] == 0.0
    assert np.all(found.lead_u_j[[n for n in range(5) if n != found.best]] > 0.0)
    assert lead[found.best] == 0.0


def test_the_bounds_are_of_the_right_kind():
    rows = factors(load_part=0.2, sensor_k=2.0, capacity_part=0.05)
    case = Case()
    assert rows[0].high(case).growth == 1.5
    assert rows[3].low(case).conductance_wk == pytest.approx(0.8 * 230.0)
    assert rows[4].low(case).closes_c == pytest.approx(-3.1)
    air = steady(0.0, 0.98)
    assert rows[5].air_low(air).temps_c[0] == -1.5
    assert rows[6].air_high(air).humidity.max() == 1.0


def test_another_interval_of_the_board_is_a_setting_too():
    names = [row.name for row in settings(Case(interval_s=2700.0))]
    assert names == ["30 min", "45 min", "60 min", "90 min", "120 min", "demand"]
    demand = settings(Case(demand=True, interval_s=21600.0))
    assert [row.offered for row in demand] == [False] * 4 + [True]


def test_frost_needs_a_coil_below_freezing_and_below_the_frost_point():
    """At 35/33 degF (82 %) the frost point is 30.3 degF: a coil 8 degF colder than the air frosts, 4 not."""
    air = steady(1.67, 0.818)
    assert frost_risk(air, split_k=8 / 1.8).hours == 25.0
    assert frost_risk(air, split_k=4 / 1.8).hours == 0.0
    # The coil is below the dew point but above freezing: it only gets wet.
    assert frost_risk(steady(8.0, 0.95), split_k=4.0).hours == 0.0
    # Cold, but too dry.
    assert frost_risk(steady(-10.0, 0.45), split_k=5.0).hours == 0.0
    found = frost_risk(air, split_k=5.0)
    assert found.calendar.sum() == found.hours
    assert found.calendar[0].min() >= 1.0
    assert found.worst_c == 2.0


def test_a_climate_without_frost_says_so(unit):
    made = season(unit, steady(11.0, 0.6, 240), quick=True)
    assert not made.frosts
    assert words.risk(made).startswith("In no hour")
    assert words.advice(made).startswith("No hour of this weather frosts the coil")


def test_a_climate_without_heating_is_refused(unit):
    with pytest.raises(InputError, match=r"has no hour in which this house needs heat: its coldest is 25\.0"):
        season(unit, steady(25.0, 0.6))


@pytest.mark.parametrize("here", REGIONS, ids=lambda r: r.name)
def test_hours_of_a_region_have_its_bins(here):
    air = region_air(here.name)
    temps_f = air.temps_c * 1.8 + 32.0
    part = np.array(here.hours) / sum(here.hours)
    counted, _ = np.histogram(temps_f, np.arange(-25.5, 65.0, 5.0))
    assert counted[::-1] / len(temps_f) == pytest.approx(part, abs=0.01)
    # Heating load hours, from the hours themselves.
    load = np.maximum(here.zero_load_f - temps_f, 0.0) / (here.zero_load_f - here.design_f)
    assert load.sum() == pytest.approx(region(here.name).load_hours, rel=0.03)
    assert air.humidity_assumed
    assert air.notes


def test_prices_by_month_and_hour(tmp_path):
    (tmp_path / "t.csv").write_text("month,hour,price,carbon\nall,all,0.1,0.3\n11-2,17-20,0.4,0.6\n")
    (tmp_path / "p.toml").write_text('currency = "EUR"\n[electricity]\ntable = "t.csv"\n')
    found = read_prices(tmp_path / "p.toml")
    assert not found.flat
    assert found.price_kwh[0, 18] == 0.4
    assert found.price_kwh[5, 18] == 0.1
    slots = np.zeros((12, 24))
    slots[10, 17] = slots[6, 3] = 3.6e6
    assert found.cost(slots) == pytest.approx(0.5)
    assert found.carbon(slots) == pytest.approx(0.9)


def test_mistakes_of_a_prices_file_are_told_together(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text('[electricity]\nprise = 0.1\n[[fuel]]\nname = "gas"\nprice = "cheap"\nper = "1 m"\n')
    with pytest.raises(InputError) as told:
        read_prices(path)
    for part in (
        "currency is missing",
        "prise is not a key",
        "needs either price",
        "price is 'cheap'",
        "per",
    ):
        assert part in str(told.value)
    (tmp_path / "t.csv").write_text("month,hour,price\n1-11,all,0.1\n")
    path.write_text('currency = "USD"\n[electricity]\ntable = "t.csv"\n')
    with pytest.raises(DataError, match="has no price for month 12, hour 0"):
        read_prices(path)
    (tmp_path / "t.csv").write_text("month,hour,price\n13,all,0.1\n")
    with pytest.raises(DataError, match=r"line 2 is '13,all,0\.1'"):
        read_prices(path)
    with pytest.raises(InputError, match="cannot be read"):
        read_prices(tmp_path / "none.toml")
