"""`firstfrost season` from files to terminal, JSON, HTML and PDF."""

import json
from pathlib import Path

import pytest

import firstfrost
from firstfrost.cli.main import run

pytest.importorskip("numba")
DEMO = Path(firstfrost.__file__).parent / "demo"

UNIT = """
[unit]
name = "Made <unit> & yard"
refrigerant = "R-410A"
[board]
interval = "90 min"
[ratings]
capacity_47 = "28000 Btu/h"
cop_47 = "3.4 W/W"
capacity_17 = "17500 Btu/h"
cop_17 = "2.4 W/W"
[house]
design_load = "34000 Btu/h"
design_temp = "0 degF"
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("unit.toml").write_text(UNIT)
    rows = ["time,temperature [degF],humidity [%]"]
    for hour in range(24 * 14):
        temp = 28 + 8 * ((hour % 24 - 12) / 12) ** 2 - 6 * (hour // 168)
        rows.append(f"2023-01-{1 + hour // 24:02d} {hour % 24:02d}:00,{temp:.1f},{80 + hour % 15}")
    Path("weather.csv").write_text("\n".join(rows) + "\n")
    Path("prices.toml").write_text('currency = "USD"\n[electricity]\nprice = 0.2\n')
    return tmp_path


BASE = ["season", "--unit", "unit.toml", "--weather", "weather.csv"]


def test_it_prints_in_80_columns_and_answers(folder, capsys):
    assert run([*BASE, "--prices", "prices.toml"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    for text in ("The board's setting", "90 min", "Will it heat the house?", "HSPF2, region IV", "USD"):
        assert text in out


def test_json_html_and_pdf_are_written(folder, capsys):
    files = ["--report", "s.html", "--report", "s.pdf", "--json", "s.json"]
    assert run([*BASE, *files, "--quick", "--units", "si"]) == 0
    page = Path("s.html").read_text(encoding="utf-8")
    assert "Made &lt;unit&gt; &amp; yard" in page
    assert "<unit>" not in page
    assert page.count('type="radio"') == 5
    assert "<script" not in page
    assert "http" not in page.replace("http://www.w3.org", "").replace("http-equiv", "")
    assert Path("s.pdf").read_bytes().startswith(b"%PDF-")
    data = json.loads(Path("s.json").read_text(encoding="utf-8"))
    assert [row["name"] for row in data["settings"]] == ["30 min", "60 min", "90 min", "120 min", "demand"]
    assert data["settings"][0]["above_best_expanded_j"] is None
    assert data["hspf2"]["IV"] > 5.0
    pymupdf = pytest.importorskip("pymupdf")
    text = "".join(page.get_text() for page in pymupdf.open("s.pdf"))
    assert "When frost can form" in text
    assert "line voltage" in text.lower()


def test_the_same_input_gives_the_same_bytes(folder):
    for name in ("a", "b"):
        assert run([*BASE, "--quick", "--report", f"{name}.html", "--report", f"{name}.pdf"]) == 0
    assert Path("a.html").read_bytes() == Path("b.html").read_bytes()
    assert Path("a.pdf").read_bytes() == Path("b.pdf").read_bytes()


def test_what_failed_at_a_visit_is_costed_in_plain_words(folder, capsys):
    visit = [str(DEMO / "trace.csv"), "--unit", str(DEMO / "unit.toml"), "--marks", str(DEMO / "marks.csv")]
    assert run(["check", *visit, "--json", "visit.json"]) == 0
    data = json.loads(Path("visit.json").read_text(encoding="utf-8"))
    data["functions"]["sensor_opens"]["standing"] = "failed"
    Path("visit.json").write_text(json.dumps(data))
    capsys.readouterr()
    assert run([*BASE, "--visit", "visit.json", "--quick"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "For the householder Left as it is, a winter like this takes" in out
    assert "warms the yard with heat from the house" in out


def test_a_check_with_weather_costs_what_failed(folder, capsys):
    """The demo's visit with its marks and a sensor rated to open at 90 degF: it opened far too early."""
    text = (DEMO / "unit.toml").read_text(encoding="utf-8").replace('"60 degF"', '"100 degF"', 1)
    Path("wrong.toml").write_text(text, encoding="utf-8")
    visit = [str(DEMO / "trace.csv"), "--unit", "wrong.toml", "--marks", str(DEMO / "marks.csv")]
    more = ["--weather", "weather.csv", "--prices", "prices.toml", "--report", "r.html", "--report", "r.pdf"]
    status = run(["check", *visit, *more])
    out = " ".join(capsys.readouterr().out.split())
    assert status == 1
    assert "What it costs to leave it Left as it is, a winter like this takes" in out
    assert "USD" in out
    page = " ".join(Path("r.html").read_text(encoding="utf-8").split())
    assert "Left as it is, a winter like this takes" in page
    assert run(["check", *visit, "--prices", "prices.toml"]) == 2
    assert "--prices does nothing without --weather" in capsys.readouterr().err


def test_a_sensor_that_switches_off_its_rating_is_costed_as_measured(folder, capsys):
    """The demo's sensor against a plate of 100 degF: its real opening temperature is costed, as a range."""
    text = (DEMO / "unit.toml").read_text(encoding="utf-8").replace('"60 degF"', '"100 degF"', 1)
    Path("wrong.toml").write_text(text, encoding="utf-8")
    visit = [str(DEMO / "trace.csv"), "--unit", "wrong.toml", "--marks", str(DEMO / "marks.csv")]
    assert run(["check", *visit, "--json", "visit.json"]) == 1
    assert run([*BASE, "--visit", "visit.json", "--quick", "--json", "s.json", "--units", "us"]) == 0
    data = json.loads(Path("s.json").read_text(encoding="utf-8"))
    row = data["faults"][0]
    assert row["functions"] == ["sensor_opens"]
    assert row["extra_low_j"] <= row["extra_high_j"]
    assert "switches where the visit found it" in " ".join(data["householder"])
    assert "to the board's time limit" not in data["householder"][0]
    assert any(
        line.startswith("The coil sensor opens at ") and "2025-10-14" in line for line in data["measured"]
    )


def test_less_heat_than_rated_moves_the_balance_point_up(folder):
    found = {}
    for part in ("100 %", "80 %"):
        assert run([*BASE, "--quick", "--capacity", part, "--json", "s.json"]) == 0
        found[part] = json.loads(Path("s.json").read_text(encoding="utf-8"))
    weak, sound = found["80 %"], found["100 %"]
    assert weak["load"]["balance_point_c"] > sound["load"]["balance_point_c"] + 1.0
    assert weak["load"]["design_coverage"] == pytest.approx(0.8 * sound["load"]["design_coverage"], rel=1e-6)
    assert weak["hspf2"] == sound["hspf2"]


@pytest.mark.parametrize(
    ("extra", "told"),
    [
        (["--weather", "none.epw"], "cannot be read"),
        (["--weather", "region:IX"], "There is no climate region 'IX'"),
        (["--visit", "weather.csv"], "is not the result of a check"),
        (["--humidity", "80"], "a number without a unit"),
        (["--closes-at", "30 psi"], "is a unit of pressure"),
        (["--report", "x.txt"], "has an ending that is not known"),
        (["--json", "weather.csv"], "both read and to be written"),
    ],
)
def test_what_cannot_be_used_is_refused(folder, capsys, extra, told):
    assert run([*BASE, *extra, "--quick"]) == 2
    assert told in capsys.readouterr().err


def test_a_region_does_without_a_file(folder, capsys):
    assert run(["season", "--unit", "unit.toml", "--weather", "region:II", "--quick"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "a weather file of the place is better" in out
