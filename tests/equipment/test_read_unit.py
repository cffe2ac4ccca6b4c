# ruff: noqa: E501  (whole sentences)
import codecs
import re
from pathlib import Path

import pytest

from firstfrost.equipment.read import default_cutout, default_unit, read_unit, unit_from
from firstfrost.equipment.rows import Setting
from firstfrost.equipment.settings import CHOICES, FILES, SERIES, SETTINGS, STATEMENTS, TABLES
from firstfrost.errors import DataError, InputError
from firstfrost.instruments.accuracy import DEFAULTS
from firstfrost.quantities import parse
from firstfrost.refrigerants import REFRIGERANTS, refrigerant
from firstfrost.trace.channels import CHANNELS

PSI = 6894.757293168361
PAGE = Path(__file__).parents[2] / "docs" / "unit-file.md"

WHOLE = """
[unit]
name = "Hut 3"
refrigerant = "r410a"
nominal_capacity = "2.5 ton_refrigeration"
metering = "fixed orifice"
[coil_sensor]
closes_at = "28 degF"
opens_at = "15 degC"
tolerance = "3 delta_degC"
[board]
interval = "60 min"
longest_defrost = "10 min"
pins_time = "30 s"
kind = "demand"
[limits]
saturation_ceiling = "125 degF"
high_pressure_cutout = "600 psi"
[site]
altitude = "900 ft"
zone = "America/Denver"
[instruments]
suction_pressure = { accuracy = "2 %", instrument = "blue" }
liquid_pressure = { instrument = "blue" }
outdoor_coil_temp = "0.9 degF"
"""


def write(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "UNIT.toml"
    path.write_bytes(text.encode(encoding))
    return path


def test_a_whole_file(tmp_path):
    unit = read_unit(write(tmp_path, WHOLE))
    assert (unit.name, unit.refrigerant, unit.metering) == ("Hut 3", "R-410A", "fixed orifice")
    assert unit.nominal_capacity_w == pytest.approx(8792.13, abs=0.01)
    assert unit.coil_sensor.closes_at_c == pytest.approx(-20 / 9)
    assert unit.coil_sensor.opens_at_c == 15.0
    assert unit.coil_sensor.tolerance_k == 3.0
    board = unit.board
    assert (board.interval_s, board.longest_defrost_s, board.pins_s, board.kind) == (3600, 600, 30, "demand")
    assert unit.limits.saturation_ceiling_c == pytest.approx(465 / 9)
    assert unit.site.atmosphere_pa == pytest.approx(98_074, abs=20)
    assert unit.limits.high_pressure_cutout_pa == pytest.approx(600 * PSI + unit.site.atmosphere_pa)
    assert unit.site.zone == "America/Denver"
    assert unit.shared == {"suction_pressure": "blue", "liquid_pressure": "blue"}
    gauge = unit.instruments["suction_pressure"]
    assert gauge.limit(unit.site.atmosphere_pa + 100 * PSI) == pytest.approx(2 * PSI)
    assert unit.instruments["outdoor_coil_temp"].absolute == pytest.approx(0.5)
    named = {default.setting for default in unit.defaults}
    assert named == {f"instruments.{name}" for name in CHANNELS} - {
        "instruments.suction_pressure",
        "instruments.outdoor_coil_temp",
    }


@pytest.mark.parametrize(
    "dress", [lambda raw: codecs.BOM_UTF8 + raw, lambda raw: raw.replace(b"\n", b"\r\n")]
)
def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path, dress):
    path = write(tmp_path, WHOLE)
    plain = read_unit(path)
    path.write_bytes(dress(path.read_bytes()))
    assert read_unit(path) == plain


def test_only_the_refrigerant_is_required_and_each_default_is_named():
    unit = default_unit("R-32")
    assert unit.refrigerant == "R-32"
    values = {default.setting: default.value for default in (*unit.defaults, *unit.heating_defaults)}
    rows = {row.name: row.default for row in (*SETTINGS, *CHOICES, *STATEMENTS) if row.default is not None}
    assert rows.items() <= values.items()
    assert values.keys() - rows.keys() == {f"instruments.{name}" for name in CHANNELS}
    assert all(default.why for default in unit.defaults)
    assert unit.is_default("board.interval")
    assert not unit.is_default("unit.refrigerant")
    assert unit.board.interval_s == 5400.0
    assert (unit.site.altitude_m, unit.site.atmosphere_pa, unit.site.zone) == (0.0, 101_325.0, None)
    assert unit.limits.high_pressure_cutout_pa == pytest.approx(610 * PSI + 101_325.0)


def test_a_barometer_goes_before_the_altitude():
    unit = unit_from({"unit": {"refrigerant": "R-22"}, "site": {"barometer": "90 kPa"}}, source="x")
    assert unit.site.atmosphere_pa == 90e3
    assert unit.site.altitude_m == pytest.approx(988.5, abs=1.0)
    assert [d.value for d in unit.defaults if d.setting == "site.altitude"] == ["3243 ft"]
    both = unit_from(
        {"unit": {"refrigerant": "R-22"}, "site": {"barometer": "90 kPa", "altitude": "3000 ft"}}, source="x"
    )
    assert both.site.atmosphere_pa == 90e3
    assert both.site.altitude_m == pytest.approx(914.4)


def test_an_absolute_cutout_is_not_shifted_twice():
    unit = unit_from(
        {"unit": {"refrigerant": "R-32"}, "limits": {"high_pressure_cutout": "620 psia"}}, source="x"
    )
    assert unit.limits.high_pressure_cutout_pa == pytest.approx(620 * PSI)


def test_a_default_cutout_guards_each_refrigerant():
    assert default_cutout(refrigerant("R-410A"))[0] == "610 psi"
    warmest = refrigerant("R-410A").dew_temp_c(610 * PSI + 101_325.0)
    for name in REFRIGERANTS:
        fluid = refrigerant(name)
        text, why = default_cutout(fluid)
        assert "common practice, no source" in why
        cutout = parse(text, "pressure_gauge") + 101_325.0
        assert fluid.dew_temp_c(cutout) <= warmest + 1e-6, name
        assert fluid.dew_temp_c(cutout) > 54.45, name  # above the default ceiling of 130 degF


ONE = [
    (
        {},
        (
            "unit.refrigerant is missing. It is the one setting without a default. "
            'Write refrigerant = "R-410A", or what the rating plate says, under [unit].'
        ),
    ),
    (
        {"unit": {"refrigerant": "R-999"}},
        (
            'unit.refrigerant: Refrigerant "R-999" is not known. Known are '
            f"{', '.join(REFRIGERANTS)}. Take the name from the unit's rating plate."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32", "metring": "x"}},
        "unit.metring is not a key of [unit]. Did you mean metering?",
    ),
    (
        {"unit": {"refrigerant": "R-32", "zzz": "x"}},
        "unit.zzz is not a key of [unit]. Known are name, refrigerant, nominal_capacity, metering.",
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "limit": {}},
        "[limit] is not a table of a unit file. Did you mean limits?",
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "board": "x"},
        "board is 'x', not a table. Write [board] on a line of its own.",
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "instruments": {"suction_presure": "1 %"}},
        "instruments.suction_presure is not a channel. Did you mean suction_pressure?",
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "instruments": {"power": {"acuracy": "1 %"}}},
        "instruments.power.acuracy is not a key of an instrument. Did you mean accuracy?",
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "instruments": {"power": {"instrument": 4}}},
        'instruments.power.instrument is 4. Expected a name in quotes, such as "gauge A".',
    ),
    (
        {
            "unit": {"refrigerant": "R-32"},
            "instruments": {"power": {"instrument": "A"}, "airflow": {"instrument": "A"}},
        },
        (
            "instruments: 'A' reads power and airflow, which are not of one kind. Expected one sensor, whose error all "
            "its channels share. Give each sensor a name of its own."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "board": {"interval": 60}},
        (
            'board.interval is 60, a number without a unit. Expected a time, such as "60 min". '
            'Write value and unit in quotes: interval = "60 min".'
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "board": {"interval": "-60 min"}},
        (
            "board.interval is '-60 min'. It is the compressor run time between defrosts, as set on the board, and 5 min "
            "to 24 h is expected. Check the number and its unit."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "board": {"kind": "timed"}},
        "board.kind is 'timed'. Expected one of: time-temperature, demand. Write it just so, in quotes.",
    ),
    (
        {"unit": {"refrigerant": "R-32", "name": 5}},
        'unit.name is 5. Expected text in quotes, such as name = "...".',
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "coil_sensor": {"closes_at": "30 degC"}},
        (
            "coil_sensor.closes_at is '30 degC'. It is the coil temperature at which the sensor's contact closes, and "
            "-20 degF to 50 degF is expected. Check the number and its unit."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "coil_sensor": {"closes_at": "40 degF", "opens_at": "35 degF"}},
        (
            "coil_sensor.closes_at 40 degF is not below coil_sensor.opens_at 35 degF. Expected a sensor that closes cold "
            "and opens warm. Check both against its label."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-410A"}, "limits": {"saturation_ceiling": "165 degF"}},
        (
            "limits.saturation_ceiling is 165 degF, and R-410A has no saturation above its critical point, 160.4 degF. "
            "Expected a ceiling below that. Check it, and unit.refrigerant."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-134a"}, "limits": {"high_pressure_cutout": "610 psi"}},
        (
            "limits.high_pressure_cutout is 610 psi, above the critical pressure of R-134a, 574 psi gauge. "
            "Expected a cutout below that. Check it, and unit.refrigerant."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "site": {"zone": "Mountain"}},
        (
            "site.zone is 'Mountain', which is not a known time zone. Expected an IANA name, such as \"America/Denver\". "
            "Look it up in the IANA list."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "site": {"altitude": "9000 m"}},
        (
            "site.altitude is '9000 m'. It is the height above sea level, and -500 m to 6000 m is expected. "
            "Check the number and its unit."
        ),
    ),
    (
        {"unit": {"refrigerant": "R-32"}, "site": {"altitude": "5280 ft", "barometer": "101.3 kPa"}},
        (
            "site.barometer is '101.3 kPa', but at site.altitude '5280 ft' the air has about 83.4 kPa. Expected them "
            "within 6 kPa. Give the pressure read at the site (a weather report's is corrected to sea level), or leave "
            "one of the two out."
        ),
    ),
]


@pytest.mark.parametrize(("table", "message"), ONE)
def test_one_mistake_in_a_sentence(table, message):
    with pytest.raises(InputError) as caught:
        unit_from(table, source="UNIT.toml")
    assert str(caught.value) == f"UNIT.toml: {message}"


def test_all_mistakes_are_told_at_once():
    table = {}
    for extra, _ in (ONE[2], ONE[10], ONE[18]):
        for name, keys in extra.items():
            table.setdefault(name, {}).update(keys)
    with pytest.raises(InputError) as caught:
        unit_from(table, source="UNIT.toml")
    lines = str(caught.value).splitlines()
    assert lines[0] == "UNIT.toml has 3 mistakes:"
    assert sorted(lines[1:]) == sorted(f"  - {message}" for _, message in (ONE[2], ONE[10], ONE[18]))


def test_a_syntax_error_names_its_line(tmp_path):
    path = write(tmp_path, '[unit]\nrefrigerant = "R-32"\ninterval = 60 min\n')
    with pytest.raises(DataError) as caught:
        read_unit(path)
    text = str(caught.value)
    assert re.match(
        re.escape(f"The unit file {path} is not sound TOML: ") + r".*\(at line 3, column 15\)\. ", text
    )
    assert text.endswith(
        'Expected lines such as interval = "60 min" under a heading such as [board]. Correct that line.'
    )


def test_a_file_in_another_encoding_is_refused(tmp_path):
    path = write(tmp_path, '[unit]\nrefrigerant = "R-32"\nname = "Hütte"\n', encoding="latin-1")
    with pytest.raises(DataError) as caught:
        read_unit(path)
    assert str(caught.value) == (
        f"The unit file {path} is not UTF-8 text (at line 3). Expected TOML, which is always UTF-8. "
        'Save it again as "UTF-8".'
    )


def test_a_missing_file_is_said(tmp_path):
    path = tmp_path / "NONE.toml"
    with pytest.raises(InputError) as caught:
        read_unit(path)
    assert str(caught.value) == (
        f"The unit file {path} cannot be read: No such file or directory. Expected a TOML file such as "
        "docs/unit-file.md shows. Check its name and place."
    )


ROWS = (*SETTINGS, *CHOICES, *SERIES, *STATEMENTS, *FILES)


def test_the_rows_cover_the_tables():
    rows = [row.name for row in ROWS]
    assert len(rows) == len(set(rows))
    assert set(rows) == {f"{table}.{key}" for table, keys in TABLES.items() for key in keys}


def test_the_page_holds_every_row():
    page = PAGE.read_text(encoding="utf-8")
    sections = {part.partition("`]")[0].strip("[]`"): part for part in re.split(r"(?m)^## `", page)[1:]}
    sections = {name.partition("]")[0]: part.partition("\n## ")[0] for name, part in sections.items()}
    for row in ROWS:
        section = sections[row.table]
        (line,) = [line for line in section.splitlines() if line.startswith(f"| `{row.key}` |")]
        assert row.meaning in line.replace("**", "") or row.table in ("unit", "board", "site")
        if isinstance(row, Setting):
            assert row.meaning in line.replace("**", "")
            assert row.table == "unit" or f"{row.lowest} to {row.highest}" in line
        assert all(f'`"{word}"`' in line for word in getattr(row, "words", ()))
        assert getattr(row, "why", "") in line
        default = getattr(row, "default", None)
        assert default is None or f"| `{default}` |" in line
    for kind, text in DEFAULTS.items():
        assert f"| {kind.replace('_', ' ')} | `{text}` |" in page
    for name in REFRIGERANTS:
        assert f"| {name} | {default_cutout(refrigerant(name))[0]} |" in page


def test_the_pages_example_is_a_sound_file(tmp_path):
    example, heating = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.S)
    unit = read_unit(write(tmp_path, example + heating))
    assert unit.name == "Cabin 4, north wall"
    assert unit.board.interval_s == 3600.0
    assert unit.backup.stages_w == (4800.0, 4800.0)
    assert unit.ratings.points[47].power_w == pytest.approx(27000 * 0.29307107 / 3.5)
