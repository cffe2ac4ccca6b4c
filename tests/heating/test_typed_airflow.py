"""Airflows from what is typed into the unit file."""

import math
import re
from pathlib import Path

import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.heating.airflow import CFM_M3_S
from firstfrost.heating.blower_table import COLUMNS, blower_table_from
from firstfrost.heating.maker_table import CHARGING, PERFORMANCE, table_from
from firstfrost.heating.quantity_csv import sheet_from
from firstfrost.heating.run_log import COLUMNS as RUN_TIME
from firstfrost.heating.typed_airflow import (
    airflow_by_hood,
    airflow_by_static,
    airflow_by_typed_traverse,
    site_pressure,
)
from firstfrost.instruments.budget import Value

AIR = {"temp_c": Value(value=21.0), "humidity_ratio": Value(value=0.006)}
PAGE = Path(__file__).parents[2] / "docs" / "unit-file.md"
BLOWER = "tap,external_static_pressure [inH2O],airflow [cfm]\n3,0.1,1150\n3,0.5,1010\n2,0.1,900\n2,0.5,800\n"


def unit(**tables):
    return unit_from({"unit": {"refrigerant": "R-410A"}, **tables}, source="x")


def test_nothing_typed_is_nothing_found():
    table = blower_table_from(sheet_from(BLOWER, COLUMNS, source="b"))
    assert airflow_by_hood(unit(), **AIR) is None
    assert airflow_by_typed_traverse(unit(), **AIR) is None
    assert airflow_by_static(unit(), table, **AIR) is None


def test_a_hood_is_worth_what_its_maker_states():
    flow = airflow_by_hood(unit(airflow={"measured": "900 cfm", "measured_accuracy": "3 % + 7 cfm"}), **AIR)
    assert flow.flow_m3_s.value / CFM_M3_S == pytest.approx(900)
    assert flow.flow_m3_s.u / CFM_M3_S == pytest.approx((27 + 7) / math.sqrt(3))
    assert flow.how == "flow hood"


def test_a_traverse():
    typed = {"traverse": ["600 fpm", "640 fpm", "620 fpm", "580 fpm"], "traverse_area": "1.5 ft2"}
    flow = airflow_by_typed_traverse(unit(airflow=typed), **AIR)
    assert flow.flow_m3_s.value / CFM_M3_S == pytest.approx(915)


def test_static_pressure_with_the_tap_of_the_unit_file():
    table = blower_table_from(sheet_from(BLOWER, COLUMNS, source="b"))
    one = unit(blower={"tap": "3"}, airflow={"external_static": "0.3 inH2O"}, site={"altitude": "0 ft"})
    flow = airflow_by_static(one, table, **AIR)
    # 21 degC with a little moisture is 1 % thinner than standard air
    assert flow.flow_m3_s.value / CFM_M3_S == pytest.approx(1080, rel=0.002)
    assert flow.flow_m3_s.sources["external_static_pressure"] != 0.0
    logged = airflow_by_static(one, table, static_pa=Value(value=0.4 * 249.0889), **AIR)
    assert logged.flow_m3_s.value / CFM_M3_S == pytest.approx(1045, rel=0.002)


def test_thin_air_enters_the_table_at_a_higher_static_pressure():
    """Fan laws: 0.3 in w.c. at 7000 ft, where air has 0.772 of its density, is 0.389 in standard air."""
    table = blower_table_from(sheet_from(BLOWER, COLUMNS, source="b"))
    typed = {"blower": {"tap": "3"}, "airflow": {"external_static": "0.3 inH2O"}}
    dry = {"temp_c": Value(value=(70 - 32) / 1.8), "humidity_ratio": Value(value=0.0)}
    low = airflow_by_static(unit(site={"altitude": "0 ft"}, **typed), table, **dry)
    high = airflow_by_static(unit(site={"altitude": "7000 ft"}, **typed), table, **dry)
    by_hand = 1150 - 350 * (0.3 / 0.772 - 0.1)
    assert high.flow_m3_s.value / CFM_M3_S == pytest.approx(by_hand, rel=0.001)
    assert high.flow_m3_s.sources["blower in thin air"] > 5 * low.flow_m3_s.sources["blower in thin air"]
    assert high.standard_m3_s.value == pytest.approx(0.772 * high.flow_m3_s.value, rel=0.003)


def test_a_barometer_is_worth_more_than_an_altitude():
    assert site_pressure(unit(site={"altitude": "900 ft"})).u == pytest.approx(2000 / math.sqrt(3))
    assert site_pressure(unit(site={"barometer": "97 kPa"})).u == pytest.approx(200 / math.sqrt(3))
    both = unit(site={"barometer": "97 kPa", "altitude": "1200 ft"})
    assert site_pressure(both).u == pytest.approx(200 / math.sqrt(3))
    assert site_pressure(unit()).u == pytest.approx(2000 / math.sqrt(3))


def test_the_page_names_the_columns_of_each_file():
    page = PAGE.read_text(encoding="utf-8")
    for name, columns in (
        ("maker.performance", PERFORMANCE),
        ("maker.blower", COLUMNS),
        ("targets.table", CHARGING),
        ("house.run_time", RUN_TIME),
    ):
        (row,) = re.findall(rf"(?m)^\| `{name}` \| (.*)$", page)
        needed, may = row.split(" | ")
        assert set(re.findall(r"`(\w+)`", row)) == {column.name for column in columns}
        for column in columns:
            if name != "targets.table":
                assert (f"`{column.name}`" in needed) == column.needed
                assert (f"`{column.name}`" in may) != column.needed


def test_the_pages_example_is_a_sound_table():
    (example,) = re.findall(r"```csv\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.S)
    table = table_from(sheet_from(example, PERFORMANCE, source="x"), ("capacity", "power"))
    assert table.columns == ("outdoor_air_temp",)
