# ruff: noqa: E501  (whole sentences)
"""Maker's tables: reading, interpolation, refusal."""

import re

import numpy as np
import pytest

from firstfrost.errors import DataError, InputError, OutOfRange
from firstfrost.heating.airflow import CFM_M3_S
from firstfrost.heating.blower_table import COLUMNS, TABLE_LIMIT, blower_table_from, read_blower_table
from firstfrost.heating.quantity_csv import Column, read_sheet, sheet_from
from firstfrost.instruments.budget import Value

INCH = 249.08891
BLOWER = """# typed off the sheet
tap,external_static_pressure [in w.c.],airflow [cfm],power [W]
2,0.1,950,220
2,0.5,810,240
3,0.1,1150,330
3,0.3,1090,345
3,0.5,1010,360
"""


def static(inches, u=0.0):
    return Value(value=inches * INCH, sources={"manometer": u * INCH} if u else {})


def table(text=BLOWER):
    return blower_table_from(sheet_from(text, COLUMNS, source="blower.csv"))


def test_between_the_rows_of_a_tap():
    flow = table().airflow_m3_s(static(0.4, u=0.01), "3")
    assert flow.value / CFM_M3_S == pytest.approx(1050)
    assert abs(flow.sources["manometer"]) / CFM_M3_S == pytest.approx(80 / 0.2 * 0.01)
    assert flow.sources["table blower.csv"] == pytest.approx(TABLE_LIMIT / 3**0.5 * flow.value)
    assert table().power_w(static(0.3), "2").value == pytest.approx(230)
    assert table().airflow_m3_s(static(0.3), "3").value / CFM_M3_S == pytest.approx(1090)
    assert table().airflow_m3_s(static(0.5), "3").value / CFM_M3_S == pytest.approx(1010)


def test_never_beyond_the_table():
    with pytest.raises(OutOfRange) as caught:
        table().airflow_m3_s(static(0.62), "3")
    assert str(caught.value) == (
        "blower.csv, tap 3: external static pressure is 0.62 in w.c., outside the table, which ends at 0.50 in w.c. "
        "(it holds 0.10 in w.c. to 0.50 in w.c.). Nothing is drawn out beyond it. Measure within the table, or type "
        "in more of the maker's rows."
    )


def test_the_tap_must_be_known():
    with pytest.raises(
        InputError, match=re.escape("blower.csv has the taps 2, 3, and which one the blower is on")
    ):
        table().airflow_m3_s(static(0.3))
    with pytest.raises(InputError, match=re.escape("blower.csv has no tap '5'. Known are 2, 3.")):
        table().airflow_m3_s(static(0.3), "5")


def test_a_table_without_taps_needs_none(tmp_path):
    path = tmp_path / "b.csv"
    path.write_text("airflow [L/s];external_static_pressure [Pa]\n500;25\n400,5;125\n")
    made = read_blower_table(path)
    assert made.airflow_m3_s(Value(value=75.0), "high").value == pytest.approx(0.45025)
    assert made.power_w(Value(value=75.0)) is None


BAD = [
    ("", "b.csv is empty."),
    ("tap,airflow [cfm]\n", "b.csv holds no rows. Expected a header line such as 'external_static_pressure [inH2O],airflow [cfm]'"),
    ("tap,airflow [cfm]\n1,900\n", "b.csv has no column external_static_pressure. Its header has tap, airflow [cfm]."),
    (BLOWER.replace("airflow [cfm]", "airflow"), "b.csv, row 2: the column 'airflow' has no unit. Expected an airflow, such as \"1000 cfm\". Write it in brackets: 'airflow [cfm]'."),
    (BLOWER.replace("airflow [cfm]", "airflow [psi]"), "b.csv, row 2, column 'airflow [psi]' is in psi: psi is a unit of pressure. Expected an airflow"),
    (BLOWER.replace("power [W]", "powr [W]"), "b.csv, row 2: the column 'powr [W]' is not understood. Did you mean power?"),
    (BLOWER.replace("power [W]", "airflow [cfm]"), "b.csv has the column airflow twice."),
    (BLOWER.replace("2,0.5,810,240", "2,0.5,81O,240"), "b.csv, row 4, column 'airflow [cfm]' is '81O'. Expected a bare number, in the unit of the header. Correct that cell."),
    (BLOWER.replace("2,0.5,810,240", "2,0.5,,240"), "b.csv, row 4, column 'airflow [cfm]' is empty. Expected a number. Fill it in, or leave the row out."),
    (BLOWER.replace("2,0.5,810,240", "2,0.5,810"), "b.csv, row 4 has 3 cells, and the header has 4."),
    (BLOWER.replace("2,0.5,", "2,0.1,"), "b.csv, tap 2 has rows at one static pressure alone."),
    (BLOWER.replace("3,0.3,", "3,0.5,"), "b.csv, tap 3, rows 6 and 7 are for the same condition, external static pressure 0.50 in w.c."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), BAD)
def test_a_mistake_is_told_with_its_row_and_column(text, message, tmp_path):
    path = tmp_path / "b.csv"
    path.write_text(text)
    with pytest.raises(DataError) as caught:
        read_blower_table(path)
    assert str(caught.value).startswith(message)


def test_a_file_that_is_not_there():
    with pytest.raises(DataError, match=r"^nowhere\.csv cannot be read: No such file or directory\."):
        read_sheet("nowhere.csv", COLUMNS)


def test_what_may_be_missing_is_nan():
    columns = (Column(name="power", kind="power"), Column(name="airflow", kind="flow", needed=False))
    sheet = sheet_from("power [kW],airflow [m3/s]\n1,\n2,0.5\n", columns, source="x")
    assert sheet.numbers["power"].tolist() == [1000.0, 2000.0]
    assert np.isnan(sheet.numbers["airflow"][0])
    assert sheet.lines == (2, 3)
    assert not sheet.has("tap")
