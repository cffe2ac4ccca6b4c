# ruff: noqa: E501  (whole sentences)
"""Expected capacity and power: by the maker's table, by rating points, and refusals."""

import math

import numpy as np
import pytest

from firstfrost.equipment.read import unit_from
from firstfrost.errors import DataError, InputError, OutOfRange
from firstfrost.heating.expected import by_ratings, expected
from firstfrost.heating.maker_table import (
    CHARGING,
    PERFORMANCE,
    read_charging,
    read_performance,
    table_from,
)
from firstfrost.heating.quantity_csv import sheet_from
from firstfrost.heating.rating_points import (
    airflow_correction,
    indoor_correction,
    rating_lines,
    single_speed_curve,
)
from firstfrost.instruments.budget import Value

BTU_H = 1055.05585262 / 3600.0
KBTU_H = 1000 * BTU_H
RATED = {
    "capacity_47": "27000 Btu/h",
    "power_47": "2.2 kW",
    "capacity_17": "16200 Btu/h",
    "power_17": "1.9 kW",
}


def celsius(temp_f):
    return (temp_f - 32.0) / 1.8


def at(temp_f, u_k=0.0, source="probe"):
    return Value(value=celsius(temp_f), sources={source: u_k} if u_k else {})


def unit(ratings=RATED, **tables):
    return unit_from({"unit": {"refrigerant": "R-410A"}, "ratings": ratings, **tables}, source="x")


def lines(**more):
    return rating_lines(unit({**RATED, **more}).ratings)


# A table that a bilinear function made: interpolation must give that function back everywhere.
def bilinear(outdoor_f, indoor_f):
    return 12.0 + 0.3 * outdoor_f - 0.05 * indoor_f + 0.002 * outdoor_f * indoor_f


def performance(outdoors=(7, 17, 35, 47), indoors=(65, 70, 75), drop=()):
    rows = ["outdoor_air_temp [degF],return_air_temp [degF],capacity [kBtu/h],power [kW]"]
    rows += [
        f"{o},{i},{bilinear(o, i):.6f},{1.5 + 0.01 * o + 0.02 * i:.6f}"
        for o in outdoors
        for i in indoors
        if (o, i) not in drop
    ]
    return "\n".join(rows)


def table(text=None, **given):
    return table_from(
        sheet_from(text or performance(**given), PERFORMANCE, source="perf.csv"), ("capacity", "power")
    )


@pytest.mark.parametrize(("outdoor_f", "indoor_f"), [(7, 65), (12.3, 71.7), (35, 70), (46.9, 74.9), (47, 75)])
def test_interpolation_gives_a_bilinear_table_back(outdoor_f, indoor_f):
    made = table()
    value = made.at(
        "capacity", outdoor_air_temp=at(outdoor_f, 0.5, "o"), return_air_temp=at(indoor_f, 0.4, "i")
    )
    assert value.value == pytest.approx(bilinear(outdoor_f, indoor_f) * KBTU_H, rel=1e-6)
    assert abs(value.sources["o"]) == pytest.approx((0.3 + 0.002 * indoor_f) * 1.8 * 0.5 * KBTU_H, rel=1e-4)
    assert abs(value.sources["i"]) == pytest.approx(
        abs(-0.05 + 0.002 * outdoor_f) * 1.8 * 0.4 * KBTU_H, rel=1e-4
    )
    many = made.many(
        "capacity", np.array([celsius(outdoor_f), np.nan, 90.0]), return_air_temp=celsius(indoor_f)
    )
    assert many[0] == pytest.approx(value.value, rel=1e-12)
    assert np.isnan(many[1:]).all()


def test_three_axes():
    rows = ["outdoor_air_temp [degF],return_air_temp [degF],airflow [cfm],capacity [kW]"]
    rows += [f"{o},{i},{a},{o + 2 * i + a / 100}" for o in (17, 47) for i in (65, 75) for a in (800, 1200)]
    made = table("\n".join(rows))
    flow = Value(value=900 * 0.3048**3 / 60)
    value = made.at("capacity", outdoor_air_temp=at(30), return_air_temp=at(68), airflow=flow)
    assert value.value == pytest.approx(1000 * (30 + 2 * 68 + 9))
    with pytest.raises(InputError, match=r"^perf\.csv goes over airflow, which is not known at this visit\."):
        made.at("capacity", outdoor_air_temp=at(30), return_air_temp=at(68))
    with pytest.raises(InputError, match=r"^perf\.csv has no column power\."):
        made.at("power", outdoor_air_temp=at(30), return_air_temp=at(68), airflow=flow)


def test_out_of_the_table_is_a_refusal_that_names_the_edge():
    bare = unit({})
    with pytest.raises(OutOfRange) as caught:
        expected(bare, outdoor_c=at(2), indoor_c=at(70), table=table())
    assert str(caught.value) == (
        "perf.csv: outdoor air is 2.0 degF, outside the table, which ends at 7.0 degF (it holds 7.0 degF to 47.0 degF). "
        "Nothing is drawn out beyond it. Measure within the table, or type in more of the maker's rows."
    )
    # With ratings there is an estimate, and the table's refusal stands with it.
    found = expected(unit(), outdoor_c=at(2), indoor_c=at(70), table=table())
    assert found.estimate
    assert found.left_out[0] == str(caught.value)


def test_the_table_goes_before_the_ratings():
    found = expected(
        unit(maker={"performance_is": "integrated"}), outdoor_c=at(30, 0.5), indoor_c=at(70), table=table()
    )
    assert (found.estimate, found.frost, found.source) == (False, "counted", "maker's table perf.csv")
    assert found.capacity_w.value == pytest.approx(bilinear(30, 70) * KBTU_H, rel=1e-6)
    assert found.cop.value == pytest.approx(found.capacity_w.value / 3200, rel=1e-6)
    assert found.capacity_w.u / found.capacity_w.value > 0.06 / math.sqrt(3)
    one = expected(unit(), outdoor_c=at(30), table=table(indoors=(70,)))
    assert one.frost == "not told"
    assert one.left_out[0] == "indoor temperature: the table has one alone, made at 70.0 degF"


BAD = [
    (performance(drop={(17, 70)}), "perf.csv has no row for outdoor air 17.0 degF with indoor air 70.0 degF. Expected one for each combination of outdoor air and indoor air."),
    (performance(outdoors=(17,)), "perf.csv has rows at one outdoor temperature alone."),
    (performance() + "\n17,70,1,1", "perf.csv, rows 6 and 14 are for the same condition, outdoor air 17.0 degF with indoor air 70.0 degF."),
    ("outdoor_air_temp [degF],capacity [kW],power [kW]\n17,5,\n47,8,2", "perf.csv, row 2, column power is empty, and other rows have it."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), BAD)
def test_a_table_that_is_no_grid_is_refused(text, message):
    with pytest.raises(DataError) as caught:
        table(text)
    assert str(caught.value).startswith(message)


def test_files(tmp_path):
    path = tmp_path / "perf.csv"
    path.write_text(performance())
    assert read_performance(path).columns == ("outdoor_air_temp", "return_air_temp")
    path.write_text("outdoor_air_temp [degF],subcooling [delta_degF]\n17,6\n47,9\n")
    charging = read_charging(path)
    assert charging.at("subcooling", outdoor_air_temp=at(32)).value == pytest.approx(7.5 / 1.8)
    assert not charging.has("superheat")
    path.write_text("outdoor_air_temp [degF]\n17\n47\n")
    with pytest.raises(DataError, match=r"^perf\.csv has none of the columns superheat, subcooling\."):
        read_charging(path)
    assert [column.needed for column in CHARGING] == [True, False, False, False]


def test_the_lines_go_through_their_points():
    made = lines(capacity_35="20000 Btu/h", power_35="2.0 kW", capacity_5="12500 Btu/h", power_5="1.7 kW")
    for temp_f, kbtu in ((47, 27), (35, 20), (17, 16.2), (5, 12.5)):
        assert made.capacity_w(celsius(temp_f), frost=True) == pytest.approx(kbtu * KBTU_H)
    assert made.power_w(celsius(35), frost=True) == pytest.approx(2000)
    # without frost the 35 degF test drops out
    assert made.capacity_w(celsius(35), frost=False) == pytest.approx(22.68 * KBTU_H)
    many = made.capacity_w(np.array([celsius(t) for t in (47.0, 35.0, -40.0, 90.0)] + [np.nan]), frost=True)
    assert many[:2] == pytest.approx([27 * KBTU_H, 20 * KBTU_H])
    assert np.isnan(many[2:]).all()
    with pytest.raises(
        OutOfRange, match=r"^The outdoor air is at -40\.0 degF\. Expected -25\.5 to 64\.5 degF"
    ):
        made.capacity_w(-40.0, frost=True)


def test_what_is_missing_is_said():
    with pytest.raises(InputError) as caught:
        expected(unit({"capacity_47": "27 kBtu/h"}), outdoor_c=at(40))
    assert str(caught.value) == (
        "What the unit should deliver is not known: of its rating points there are 47 degF. Expected the heating "
        "capacities at 47 and 17 degF. Look them up by the model number and write them under [ratings], or type in the "
        "maker's table under [maker]."
    )
    half = unit({"capacity_47": "27 kBtu/h", "capacity_17": "16 kBtu/h"})
    found = expected(half, outdoor_c=at(40))
    assert found.power_w is None
    assert found.cop is None
    with pytest.raises(InputError, match=r"^The electric power at 47 and 17 degF is not known\."):
        rating_lines(half.ratings).power_w(0.0, frost=False)


def test_an_estimate_is_marked_and_its_slopes_are_right():
    """Against differences of the result itself."""
    made = lines()
    for frost in (False, True):
        here = by_ratings(made, outdoor_c=at(30, 0.5, "o"), indoor_c=at(66, 0.5, "i"), frost=frost)
        assert here.estimate
        warm = by_ratings(made, outdoor_c=at(30.9), indoor_c=at(66), frost=frost)
        inside = by_ratings(made, outdoor_c=at(30), indoor_c=at(66.9), frost=frost)
        for name in ("capacity_w", "power_w"):
            own = getattr(here, name)
            assert own.sources["i"] == pytest.approx(getattr(inside, name).value - own.value, rel=0.05)
            # the correction moves with the outdoor air, too, by less than a tenth of the line's own slope
            step = getattr(warm, name).value - own.value
            assert own.sources["o"] == pytest.approx(step, rel=0.1, abs=0.0015 * own.value)
    assert "Cutler" in here.corrected[0]
    assert here.frost == "counted"
    assert by_ratings(made, outdoor_c=at(30)).left_out[0] == "indoor temperature: not read, 70 degF taken"


def test_corrections():
    for outdoor_f in (10, 30, 47):
        assert indoor_correction(celsius(70), celsius(outdoor_f)) == pytest.approx((1.0, 1.0))
        warm = indoor_correction(celsius(75), celsius(outdoor_f))
        assert warm[0] < 1.0 < warm[1]
    assert airflow_correction(1.0) == pytest.approx((1.0, 1.022), abs=0.025)
    low = airflow_correction(0.7)
    assert low[0] < 0.96
    assert low[1] > 1.05
    assert single_speed_curve(celsius(70), celsius(47)) == pytest.approx((1.0, 1.0))
    with pytest.raises(OutOfRange, match=r"^The indoor air is at 40\.0 degF\. Expected 50 to 86 degF"):
        indoor_correction(celsius(40), 0.0)
    with pytest.raises(OutOfRange, match=r"^The airflow is 40 % of the rated one\. Expected 60 to 130 %"):
        airflow_correction(0.4)
