from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from reading import ATMOSPHERE_PA, psig, read

from firstfrost.errors import DataError

ROWS = "0,118,30\n1,118.5,30.5\n2,119,31\n"


def _same(reading, coil=(30.0, 30.5, 31.0), suction=(118.0, 118.5, 119.0)):
    trace = reading.trace
    np.testing.assert_allclose(trace.get("suction_pressure"), [psig(v) for v in suction], rtol=1e-12)
    np.testing.assert_allclose(trace.get("outdoor_coil_temp"), [(v - 32.0) / 1.8 for v in coil], atol=1e-12)


@pytest.mark.parametrize(
    "header",
    [
        "time [s],suction_pressure [psig],outdoor_coil_temp [degF]",
        "time,suction pressure (psig),Outdoor Coil Temperature (°F)",
        'Time [sec],"Suction Pressure, psig","Outdoor Coil Temp, F"',
        "TIME (s),Suction-Pressure [PSIG],outdoor coil temp [deg F]",
        "elapsed [s],suction_pressure_psig,outdoor_coil_temp_f",
        "t,suction pressure [psi gauge],outdoor_coil_temperature [degF]",
    ],
)
def test_spellings_of_a_header(tmp_path: Path, header: str) -> None:
    _same(read(tmp_path, header + "\n" + ROWS))


HEADER = "time [s],suction_pressure [psig],outdoor_coil_temp [°F]"


@pytest.mark.parametrize(
    ("content", "note"),
    [
        ((HEADER + "\n" + ROWS).encode("utf-8-sig"), ""),
        ((HEADER + "\n" + ROWS).encode("utf-16"), "a.csv was read as utf-16."),
        ((HEADER + "\n" + ROWS).encode("utf-16-le"), "a.csv was read as utf-16-le."),
        ((HEADER + "\n" + ROWS).encode("utf-16-be"), "a.csv was read as utf-16-be."),
        ((HEADER + "\n" + ROWS).encode("cp1252"), "a.csv is not UTF-8 and was read as Windows-1252."),
        ((HEADER + "\n" + ROWS).replace("\n", "\r\n").encode(), ""),
        ((HEADER + "\n" + ROWS).replace("\n", "\r").encode(), ""),
        ((HEADER + "\n" + ROWS).replace(",", "\t").encode(), ""),
        ((HEADER + "\n" + ROWS).replace(",", ";").replace(".", ",").encode(), ""),
        ((HEADER + "\n" + ROWS).replace(",", " ; ").encode(), ""),
        ((HEADER + "\n" + ROWS).rstrip("\n").encode(), ""),
        (("# logger 7\n\n// made by hand\n" + HEADER + "\n# started\n" + ROWS).encode(), None),
        (("Logger,7\nSerial: 12,,\nSite yard\n" + HEADER + "\n" + ROWS).encode(), ""),
        (("time,suction_pressure,outdoor_coil_temp\ns,psig,degF\n" + ROWS).encode(), None),
        (("time,suction_pressure,outdoor_coil_temp\n[s],[psig],[degF]\n" + ROWS).encode(), None),
        ((HEADER + "\n" + '"0","118","30"\n"1","118.5","30.5"\n"2","119","31"\n').encode(), ""),
        ((HEADER + ",\n" + ROWS.replace("\n", ",\n")).encode(), ""),
    ],
)
def test_layouts_of_a_file(tmp_path: Path, content: bytes, note: str | None) -> None:
    reading = read(tmp_path, content)
    _same(reading)
    assert reading.trace.time_s.tolist() == [0.0, 1.0, 2.0]
    assert reading.receipt.dropped == ()
    if note is not None:
        assert reading.receipt.notes == ((note,) if note else ())


def test_a_map_file_names_odd_headers(tmp_path: Path) -> None:
    chart = (
        'decimal = ","\ndelimiter = ";"\nencoding = "cp1252"\n[columns]\n"Kanal 1" = "suction_pressure '
        '[psig]"\n'
        '"Kanal 2 (°F)" = "outdoor_coil_temp [degF]"\n"Ger\u00e4t" = "ignore"\n[time]\ncolumn = "Uhr"\nunit '
        '= "min"\n'
    )
    text = "Uhr;Kanal 1;Kanal 2 (°F);Ger\u00e4t\n0;118;30;x\n1;118,5;30,5;x\n2;119;31;x\n"
    reading = read(tmp_path, text.encode("cp1252"), chart=chart)
    _same(reading)
    assert reading.trace.time_s.tolist() == [0.0, 60.0, 120.0]
    assert reading.receipt.ignored == ("Ger\u00e4t",)


def test_others_ignored_only_when_told(tmp_path: Path) -> None:
    reading = read(tmp_path, HEADER + ",spare\n" + ROWS.replace("\n", ",9\n"), chart='others = "ignore"\n')
    _same(reading)
    assert reading.receipt.ignored == ("spare",)


@pytest.mark.parametrize(
    ("unit", "value", "pascals"),
    [
        ("psig", 100.0, 100 * 6894.757293168361 + ATMOSPHERE_PA),
        ("psi", 100.0, 100 * 6894.757293168361 + ATMOSPHERE_PA),
        ("psia", 100.0, 100 * 6894.757293168361),
        ("kPa", 700.0, 700e3 + ATMOSPHERE_PA),
        ("kPa abs", 700.0, 700e3),
        ("bar", 7.0, 7e5 + ATMOSPHERE_PA),
        ("bara", 7.0, 7e5),
        ("MPa(g)", 0.7, 7e5 + ATMOSPHERE_PA),
        ("Pa", 7e5, 7e5),
        ("Pa(a)", 7e5, 7e5),
    ],
)
def test_gauge_becomes_absolute_once(tmp_path: Path, unit: str, value: float, pascals: float) -> None:
    reading = read(tmp_path, f"time [s],suction_pressure [{unit}]\n0,{value!r}\n")
    assert reading.trace.get("suction_pressure")[0] == pytest.approx(pascals, rel=1e-12)
    said = [note for note in reading.receipt.notes if "neither gauge nor absolute" in note]
    assert bool(said) == (unit in ("psi", "kPa", "bar", "Pa"))


def test_a_call_in_volts_becomes_a_switch(tmp_path: Path) -> None:
    reading = read(tmp_path, "time [s],heating_call [V]\n0,0.4\n1,24.3\n2,\n3,2\n")
    assert reading.trace.get("heating_call").tolist() == pytest.approx([0.0, 1.0, np.nan, 0.0], nan_ok=True)
    reading = read(tmp_path, "time [s],heating_call\n0,on\n1,OFF\n2,true\n3,0\n4,1\n")
    assert reading.trace.get("heating_call").tolist() == [1.0, 0.0, 1.0, 0.0, 1.0]


def test_missing_is_missing_and_counted(tmp_path: Path) -> None:
    words = ["OL", "---", "NaN", "Err", "N/A", "", "inf", "-127"]
    text = HEADER + "\n" + "".join(f"{i},118,{w}\n" for i, w in enumerate([*words, *["30"] * 40]))
    reading = read(tmp_path, text)
    coil = reading.trace.get("outdoor_coil_temp")
    assert np.isnan(coil[:8]).all()
    assert np.isfinite(coil[8:]).all()
    (column,) = [c for c in reading.receipt.columns if c.channel == "outdoor_coil_temp"]
    assert (column.readings, column.dropped) == (40, 8)
    assert column.why == "6 not a number ('OL', '---', 'NaN'); 1 blank; 1 outside what a probe can read"
    assert reading.receipt.dropped == (
        f"a.csv: column 'outdoor_coil_temp [°F]' lacks 8 of 48 readings: {column.why}.",
    )


def test_a_probe_that_comes_off_is_said(tmp_path: Path) -> None:
    text = HEADER + "\n" + "".join(f"{i},118,{30 if i < 50 else ''}\n" for i in range(100))
    notes = read(tmp_path, text).receipt.notes
    assert notes == (
        "a.csv: outdoor_coil_temp stops at line 51 and does not come back; its probe came off or failed.",
    )


def test_odd_rows_cost_only_themselves(tmp_path: Path) -> None:
    rows = [f"{i},118,30" for i in range(60)]
    rows[5] = '5,"118,30'
    rows[9] = "9,118,30,77"
    rows[20] = "20,118"
    rows[30] = HEADER
    rows[40] = "soon,118,30"
    reading = read(tmp_path, HEADER + "\n" + "\n".join(rows) + "\n60,1")
    assert len(reading.trace) == 56
    assert np.isnan(reading.trace.get("outdoor_coil_temp")).sum() == 1
    assert reading.receipt.dropped == (
        "a.csv: 1 row(s) with an open quotation mark were dropped, the first at line 7.",
        "a.csv: the last row (line 62) is cut off and was dropped.",
        "a.csv: 1 row(s) with more cells than the header were dropped, the first at line 11.",
        (
            "a.csv, column 'time [s]': 1 row(s) without a readable time were dropped, the first at line 42: "
            "'soon'."
        ),
        "a.csv: column 'outdoor_coil_temp [°F]' lacks 1 of 57 readings: 1 blank.",
    )
    assert reading.receipt.notes == ("a.csv: the header comes 2 times; the logger was started again.",)


def test_thousands_beside_decimals(tmp_path: Path) -> None:
    reading = read(tmp_path, 'time [s],power [W]\n0,"1,234.5"\n1,"999.5"\n')
    assert reading.trace.get("power").tolist() == [1234.5, 999.5]


def test_typed_lines_are_a_trace(tmp_path: Path) -> None:
    reading = read(tmp_path, "time,suction pressure (psig),outdoor coil temperature (F)\n10:02,118,30\n")
    assert len(reading.trace) == 1
    assert reading.trace.time_s.tolist() == [36120.0]


def test_the_reader_needs_nothing_heavy() -> None:
    code = (
        "import sys; import firstfrost.trace.reader, firstfrost.trace.feed, firstfrost.trace.marks_file;"
        "bad = {'pyarrow','pint','scipy','CoolProp','numba','pandas','matplotlib'} & set(sys.modules);"
        "sys.exit(str(bad) if bad else 0)"
    )
    assert subprocess.run([sys.executable, "-c", code], env=_env(), check=False).returncode == 0


def _env() -> dict[str, str]:
    import os

    return {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}


def test_two_files_on_one_base(tmp_path: Path) -> None:
    fast = HEADER + "\n" + "".join(f"{i},118,30\n" for i in range(20))
    slow = "time [s],power [W]\n" + "".join(f"{i + 12.2},{2000 + i}\n" for i in range(0, 20, 5))
    reading = read(tmp_path, fast, slow, chart='[files."b.csv"]\nclock_offset = "-12 s"\n')
    power = reading.trace.get("power")
    assert len(reading.trace) == 20
    assert np.flatnonzero(np.isfinite(power)).tolist() == [0, 5, 10, 15]
    assert power[[0, 5, 10, 15]].tolist() == [2000.0, 2005.0, 2010.0, 2015.0]
    assert reading.receipt.notes == (
        "b.csv: -12 s was added to its clock.",
        "b.csv: its readings were moved by at most 0.2 s onto the times of a.csv.",
        "The files give bare seconds; their zeros were taken as the same instant.",
    )


def test_files_one_after_the_other(tmp_path: Path) -> None:
    header = "time,power [W]\n"
    one = header + "2025-01-15T08:30:00Z,2000\n2025-01-15T08:30:01Z,2001\n2025-01-15T08:30:02Z,2002\n"
    two = header + "2025-01-15T01:30:03-07:00,2003\n2025-01-15T01:30:04-07:00,2004\n"
    reading = read(tmp_path, two, one)
    assert reading.trace.get("power").tolist() == [2000.0, 2001.0, 2002.0, 2003.0, 2004.0]
    assert reading.trace.time_s.tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert str(reading.trace.epoch) == "2025-01-15 08:30:00+00:00"


def test_a_file_of_bare_seconds_joins_a_dated_one_by_its_start(tmp_path: Path) -> None:
    dated = "time,power [W]\n2025-01-15T08:30:00Z,2000\n2025-01-15T08:30:10Z,2001\n2025-01-15T08:30:20Z,1\n"
    bare = "time [s],sensor_voltage [V]\n0,24\n10,25\n"
    reading = read(tmp_path, dated, bare, chart='[files."b.csv"]\nstart = "2025-01-15T01:30:10-07:00"\n')
    np.testing.assert_array_equal(reading.trace.get("sensor_voltage"), [np.nan, 24.0, 25.0])


def test_one_channel_from_two_files_keeps_the_longer(tmp_path: Path) -> None:
    one = "time [s],power [W]\n" + "".join(f"{i},2000\n" for i in range(10))
    two = "time [s],power [W]\n" + "".join(f"{i},2100\n" for i in range(5, 12))
    reading = read(tmp_path, one, two)
    assert reading.trace.get("power").tolist() == [2000.0] * 10 + [2100.0] * 2
    assert (
        "b.csv: 5 reading(s) of power differ from those of another file at the same time; those of a.csv "
        "were kept." in reading.receipt.notes
    )


def test_no_file_is_refused() -> None:
    from firstfrost.trace.reader import read_trace

    with pytest.raises(DataError, match="No file to read"):
        read_trace([], atmosphere_pa=ATMOSPHERE_PA)
