# ruff: noqa: E501  (whole sentences)
"""The tables of a unit file that the heating check uses."""

import dataclasses

import pytest

from firstfrost.equipment.heating_settings import HEATING_TABLES
from firstfrost.equipment.plates import HeldTable
from firstfrost.equipment.read import default_unit, read_unit, unit_from
from firstfrost.equipment.unit import Unit
from firstfrost.equipment.write import unit_toml
from firstfrost.errors import InputError
from firstfrost.heating.tables import blower

BTU_H = 1055.05585262 / 3600.0
TEN = [float(n) for n in range(10)]


def read(**tables):
    return unit_from({"unit": {"refrigerant": "R-410A"}, **tables}, source="UNIT.toml")


def test_one_line_is_a_whole_file_and_its_heating_defaults_are_those_of_the_dataclasses():
    """A unit made by hand and one read from a bare file hold the same defaults."""
    unit = default_unit("R-410A")
    fields = {field.name: field for field in dataclasses.fields(Unit)}
    for name in HEATING_TABLES:
        made = fields[name].default_factory()
        if name == "airflow":
            made = dataclasses.replace(
                made,
                measured_accuracy=unit.airflow.measured_accuracy,
                traverse_accuracy=unit.airflow.traverse_accuracy,
            )
        for one in dataclasses.fields(made):
            given, own = getattr(unit, name), made
            value = getattr(own, one.name)
            assert getattr(given, one.name) == (
                pytest.approx(value) if isinstance(value, float) else value
            ), (name, one.name)
    assert {default.setting.partition(".")[0] for default in unit.heating_defaults} <= set(HEATING_TABLES)
    assert not {default.setting.partition(".")[0] for default in unit.defaults} & set(HEATING_TABLES)
    assert unit.is_default("house.indoor")
    assert unit.default_of("compressor.power_factor").value == "93 %"
    assert unit.default_of("backup.stages") is None


def test_what_is_given_is_read_in_si():
    unit = read(
        ratings={
            "capacity_47": "27000 Btu/h",
            "cop_47": "3.5 W/W",
            "capacity_17": "16200 Btu/h",
            "power_17": "1.95 kW",
            "airflow": "1000 cfm",
            "cut_out": "-10 degF",
            "cut_in": "-4 degF",
        },
        targets={"subcooling": "9 delta_degF"},
        compressor={"mass_flow": TEN, "map_temperature": "degC", "displacement": "1.94 in3"},
        backup={"stages": ["5 kW", "5000 W"], "backup_lockout": "40 degF"},
        blower={"tap": "3", "place": "outside the probes"},
        airflow={"traverse": ["600 fpm", "620 fpm", "590 fpm", "610 fpm"], "traverse_area": "1.4 ft2"},
        house={"design_load": "32 kBtu/h", "design_temp": "5 degF"},
        supply={"phases": "3"},
    )
    assert sorted(unit.ratings.points) == [17, 47]
    assert unit.ratings.points[47].capacity_w == pytest.approx(27000 * BTU_H)
    assert unit.ratings.points[47].power_w == pytest.approx(27000 * BTU_H / 3.5)
    assert unit.ratings.points[17].power_w == 1950.0
    assert unit.ratings.cut_out_c == pytest.approx(-70 / 3)
    assert unit.targets.subcooling_k == pytest.approx(5.0)
    assert unit.compressor.mass_flow == tuple(TEN)
    assert unit.compressor.displacement_m3 == pytest.approx(31.79e-6, rel=1e-3)
    assert unit.compressor.map_return_gas_c is None
    assert unit.backup.stages_w == (5000.0, 5000.0)
    assert unit.backup.compressor_lockout_c is None
    assert (unit.blower.tap, unit.blower.between_probes) == ("3", False)
    assert unit.airflow.traverse_m_s[0] == pytest.approx(600 * 0.3048 / 60)
    assert unit.house.design_temp_c == -15.0
    assert unit.supply.phases == 3
    assert not unit.is_default("supply.phases")


def test_files_lie_beside_the_unit_file(tmp_path):
    (tmp_path / "blower.csv").write_text("x")
    path = tmp_path / "UNIT.toml"
    path.write_text('[unit]\nrefrigerant = "R-32"\n[maker]\nblower = "blower.csv"\n')
    assert read_unit(path).maker.blower == tmp_path / "blower.csv"


ONE = [
    (
        {"ratings": {"power_47": "2.2 kW"}},
        "ratings.power_47 is given without ratings.capacity_47. Expected both, of one test. Add the capacity, or leave this out.",
    ),
    (
        {"ratings": {"capacity_47": "27 kBtu/h", "power_47": "2.2 kW", "cop_47": "3.1 W/W"}},
        (
            "ratings.cop_47 is 3.1 W/W, but capacity over power is 3.60. Expected them within 3 %. "
            "Check the units, or leave one of the two out."
        ),
    ),
    (
        {"ratings": {"cut_out": "0 degF", "cut_in": "-5 degF"}},
        (
            "ratings.cut_out 0 degF is above ratings.cut_in -5 degF. Expected a unit that starts again warmer than it "
            "stopped. Swap the two, or look them up."
        ),
    ),
    (
        {"compressor": {"mass_flow": TEN[:9]}},
        (
            "compressor.mass_flow is 9 of them. It is the ten AHRI 540 coefficients of the mass flow: a list of 10 bare "
            "numbers. Write it in square brackets."
        ),
    ),
    (
        {"compressor": {"power": [*TEN[:9], "9 W"]}},
        "compressor.power, number 10, is '9 W'. Expected a bare number. Write it without quotes and unit.",
    ),
    (
        {"compressor": {"map_superheat": "20 delta_degF", "map_return_gas": "65 degF"}},
        (
            "compressor.map_superheat and compressor.map_return_gas are both given. Expected the one at which the maker "
            "made the map. Leave the other out."
        ),
    ),
    (
        {"backup": {"stages": ["5 kW", "5"]}},
        (
            "backup.stages, number 2, is '5', a number without a unit. Expected a power, such as "
            '"2.5 ton_refrigeration". Write the unit after the number.'
        ),
    ),
    (
        {"backup": {"stages": "10 kW"}},
        (
            "backup.stages is '10 kW'. It is the plate power of each stage, in the order in which they come on: a list of "
            '1 to 8 values with their units, such as ["2.5 ton_refrigeration", ...]. Write it in square brackets.'
        ),
    ),
    (
        {"backup": {"stages": ["5 W"]}},
        (
            "backup.stages, number 1, is '5 W'. It is the plate power of each stage, in the order in which they come on, "
            "and 200 W to 60 kW is expected. Check the number and its unit."
        ),
    ),
    (
        {"backup": {"compressor_lockout": "40 degF", "backup_lockout": "30 degF"}},
        (
            "backup.compressor_lockout 40 degF is above backup.backup_lockout 30 degF: between the two nothing would heat "
            "the house. Expected the compressor's lockout below that of backup heat. Check both."
        ),
    ),
    (
        {"airflow": {"traverse_area": "1.4 ft2"}},
        (
            "airflow.traverse_area is given without airflow.traverse. Expected both: the mean velocity times the area is "
            "the airflow. Add airflow.traverse."
        ),
    ),
    (
        {"airflow": {"measured": "900 cfm", "measured_accuracy": "good"}},
        (
            'airflow.measured_accuracy is \'good\', which is not an accuracy statement. Expected "1 %", "1 % of full '
            'scale 800 psi", "0.9 delta_degF", or a sum such as "1 % + 0.5 V + resolution 0.1 V". Write it in that way.'
        ),
    ),
    (
        {"house": {"design_temp": "5 degF"}},
        (
            "house.design_temp is given without house.design_load. Expected both: a load holds at a temperature. "
            "Add house.design_load."
        ),
    ),
    (
        {"house": {"design_temp": "58 degF", "design_load": "9 kW"}},
        (
            "house.design_temp 58 degF is not below house.zero_load 55 degF. Expected the design temperature below the "
            "zero-load temperature, that below the set point. Check both."
        ),
    ),
    (
        {"maker": {"blower": "no-such.csv"}},
        (
            "maker.blower is 'no-such.csv', and there is no such file: no-such.csv. It is the maker's blower table, as "
            "CSV. Put it beside the unit file, or correct its name."
        ),
    ),
    (
        {"maker": {"blower": 3}},
        'maker.blower is 3. Expected the name of a file in quotes, such as "table.csv".',
    ),
    (
        {"ratings": {"capacity": "3 kW"}},
        "ratings.capacity is not a key of [ratings]. Did you mean capacity_5?",
    ),
]


@pytest.mark.parametrize(("tables", "message"), ONE)
def test_one_mistake_in_a_sentence(tables, message):
    with pytest.raises(InputError) as caught:
        read(**tables)
    assert str(caught.value) == f"UNIT.toml: {message}"


def test_all_mistakes_are_told_at_once():
    with pytest.raises(InputError) as caught:
        read(
            **{name: keys for extra, _ in (ONE[1], ONE[9], ONE[12], ONE[14]) for name, keys in extra.items()}
        )
    lines = str(caught.value).splitlines()
    assert lines[0] == "UNIT.toml has 4 mistakes:"
    assert len(lines) == 5


def test_a_table_may_stand_in_the_unit_file_itself(tmp_path):
    text = "external_static_pressure [inH2O],airflow [cfm]\n0.1,1060\n0.5,930\n"
    table = {"unit": {"refrigerant": "R-410A"}, "maker": {"blower": {"name": "blower.csv", "text": text}}}
    path = tmp_path / "unit.toml"
    path.write_text(unit_toml(table), encoding="utf-8")
    unit = read_unit(path)
    assert unit.maker.blower == HeldTable(name="blower.csv", text=text)
    # 1060 and 930 cfm.
    assert blower(unit).grids[""].values["airflow"] == pytest.approx([0.5003, 0.4389], abs=1e-4)
    (tmp_path / "blower.csv").write_text(text, encoding="utf-8")
    path.write_text('unit.refrigerant = "R-410A"\nmaker.blower = "blower.csv"\n', encoding="utf-8")
    beside = blower(read_unit(path))
    assert list(beside.grids[""].values["airflow"]) == list(blower(unit).grids[""].values["airflow"])


@pytest.mark.parametrize(
    "held", [{}, {"name": "a.csv"}, {"name": " ", "text": "a"}, {"name": "a", "text": 3}]
)
def test_half_a_table_in_the_unit_file_is_told(held):
    table = {"unit": {"refrigerant": "R-410A"}, "maker": {"blower": held}}
    with pytest.raises(InputError, match=r"maker\.blower is a table with the keys .* Write one of the two\."):
        unit_from(table, source="x")
