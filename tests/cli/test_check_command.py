import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from made.make import make
from made.visit import write

import firstfrost
from firstfrost.cli.main import run
from firstfrost.equipment.read import read_unit
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace
from firstfrost.visit.as_json import as_json
from firstfrost.visit.check import check_trace

ROOT = Path(firstfrost.__file__).parents[2]
DEMO = ROOT / "src" / "firstfrost" / "demo"


@pytest.fixture
def visit(tmp_path):
    for name in ("trace.csv", "unit.toml", "marks.csv"):
        shutil.copyfile(DEMO / name, tmp_path / name)
    return tmp_path


def change_unit(visit, old, new):
    path = visit / "unit.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def args(visit, *more):
    return ["check", str(visit / "trace.csv"), "--unit", str(visit / "unit.toml"), *more]


def test_a_sound_visit_prints_its_ledger_and_exits_with_0(visit, capsys):
    assert run(args(visit, "--marks", str(visit / "marks.csv"))) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Alder Row 3\n")
    assert "Coil sensor closes cold" in out
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 80
    assert err == ""


def test_something_failed_exits_with_1(tmp_path, capsys):
    write(make("high-pressure trip", 3), tmp_path)
    assert run(args(tmp_path)) == 1
    assert "FAILED" in capsys.readouterr().out


def test_a_number_of_the_heating_check_that_fails_exits_with_1_and_names_itself(visit, capsys):
    change_unit(visit, 'subcooling = "12 delta_degF"', 'subcooling = "3 delta_degF"')
    out_json = visit / "out.json"
    more = ("--marks", str(visit / "marks.csv"), "--json", str(out_json))
    assert run(args(visit, *more)) == 1
    out = capsys.readouterr().out
    assert "none failed. Heating: 1 FAILED." in " ".join(out.split())
    assert "✖ failed   Subcooling of the liquid" in out
    made = json.loads(out_json.read_text(encoding="utf-8"))["heating"]["numbers"]
    assert [name for name, one in made.items() if one["standing"] == "failed"] == ["subcooling_k"]
    assert "Only certified people" in made["subcooling_k"]["remedy"]


def test_a_record_without_a_defrost_says_so_once(tmp_path, capsys):
    """Ten functions lack the same thing; ten times the same advice hides the rest."""
    write(make("plain cycling", 3), tmp_path)
    assert run(args(tmp_path)) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.count("These take a defrost, and none is in this record.") == 1
    assert "Defrosts none in this record" in out


def test_what_failed_is_said_before_where_to_look(tmp_path, capsys):
    write(make("high-pressure trip", 3), tmp_path)
    run(args(tmp_path, "--marks", str(tmp_path / "marks.csv")))
    out = " ".join(capsys.readouterr().out.split())
    assert "Sensor ends the defrost: The high-pressure switch ended the defrost, not the sensor. Check" in out
    assert "failed Sensor ends the defrost 155 ± 1 s max 14 min ✖" in out


def test_the_json_is_the_result(visit):
    out = visit / "out.json"
    assert run(args(visit, "--marks", str(visit / "marks.csv"), "--json", str(out))) == 0
    unit = read_unit(visit / "unit.toml")
    reading = read_trace(
        [visit / "trace.csv"],
        atmosphere_pa=unit.site.atmosphere_pa,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    )
    marks = read_marks(visit / "marks.csv", trace=reading.trace).marks
    expected = as_json(check_trace(reading.trace, unit, marks, reading.receipt))
    assert json.loads(out.read_text(encoding="utf-8")) == expected


def test_a_dash_writes_the_json_in_place_of_the_ledger(visit, capsys):
    assert run(args(visit, "--json", "-")) == 0
    assert json.loads(capsys.readouterr().out)["format"] == "firstfrost-result"


def test_without_marks_no_standing_is_better(visit, tmp_path):
    order = ["shown", "prompted", "doubtful", "bypassed", "unseen"]
    got = []
    for more in (("--marks", str(visit / "marks.csv")), ()):
        out = tmp_path / "out.json"
        run(args(visit, *more, "--json", str(out)))
        got.append(json.loads(out.read_text(encoding="utf-8"))["functions"])
    for name, finding in got[1].items():
        if "failed" not in (finding["standing"], got[0][name]["standing"]):
            better = order.index(finding["standing"]) < order.index(got[0][name]["standing"])
            assert not better, name


def test_both_reports_are_written(visit, capsys):
    html, pdf = visit / "a.html", visit / "b.pdf"
    assert run(args(visit, "--report", str(html), "--report", str(pdf))) == 0
    assert html.read_text(encoding="utf-8").lstrip().lower().startswith("<!doctype html")
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert capsys.readouterr().err == f"Report: {html}\nReport: {pdf}\n"


def test_si_units_on_request(visit, capsys):
    run(args(visit, "--units", "si"))
    out = capsys.readouterr().out
    assert "°C" in out
    assert "°F" not in out


def test_the_zone_goes_before_that_of_the_file(visit, capsys):
    run(args(visit))
    assert "09:02:00" in capsys.readouterr().out
    run(args(visit, "--zone", "America/New_York"))
    assert "11:02:00" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            ["check", "nowhere.csv", "--unit", "unit.toml"],
            "nowhere.csv does not exist. Expected a file with CSV, Parquet or JSON. Check the path.",
        ),
        (
            ["check", "trace.csv", "--unit", "nowhere.toml"],
            (
                "The unit file nowhere.toml cannot be read: No such file or directory. "
                "Expected a TOML file such as docs/unit-file.md shows. Check its name and place."
            ),
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--marks", "nowhere.csv"],
            "nowhere.csv does not exist. Expected a file with marks as CSV: time,act,note. Check the path.",
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--json", "trace.csv"],
            "trace.csv is both read and to be written. Expected an output of its own. Give it another name.",
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--json", "none/out.json"],
            (
                "none/out.json cannot be written: there is no folder none. "
                "Expected a folder that exists. Make it, or choose another."
            ),
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--report", "report.doc"],
            (
                "The report 'report.doc' has an ending that is not known. "
                "Expected a name that ends in .html or .pdf. Give it one of these endings."
            ),
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--json", "."],
            ". cannot be written: Is a directory. Expected a file that can be written. Choose another place.",
        ),
        (
            ["check", "unit.toml", "--unit", "unit.toml"],
            None,
        ),
        (
            ["check", "trace.csv", "--unit", "trace.csv"],
            None,
        ),
        (
            ["check", "trace.csv", "--unit", "unit.toml", "--zone", "Nowhere/Town"],
            None,
        ),
    ],
)
def test_input_that_cannot_be_used_gets_one_message_and_2(visit, monkeypatch, capsys, change, sentence):
    monkeypatch.chdir(visit)
    before = (visit / "trace.csv").read_bytes()
    assert run(change) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("firstfrost: ")
    assert "Traceback" not in err
    if sentence is not None:
        assert err == f"firstfrost: {sentence}\n"
    assert (visit / "trace.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("argv", "status"), [([], 2), (["nothing"], 2), (["check"], 2), (["--help"], 0), (["check", "--help"], 0)]
)
def test_the_parser_returns_its_status(argv, status, capsys):
    assert run(argv) == status
    out, err = capsys.readouterr()
    assert (out if status == 0 else err).startswith("usage: firstfrost")


def test_version(capsys):
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"firstfrost {firstfrost.__version__}\n"


def shell(*argv, **environment):
    env = {**os.environ, "PYTHONPATH": str(ROOT / "src"), **environment}
    return subprocess.run(
        [sys.executable, "-m", "firstfrost", *argv], capture_output=True, env=env, check=False, timeout=120
    )


def test_it_runs_as_a_module_where_only_ascii_can_be_written(visit):
    done = shell(*args(visit, "--marks", str(visit / "marks.csv")), PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Coil sensor closes cold" in done.stdout
    done.stdout.decode("ascii")


def test_a_reader_that_goes_away_gets_no_traceback(visit):
    env = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    command = [sys.executable, "-m", "firstfrost", *args(visit)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env) as process:
        process.stdout.close()
        assert process.wait(timeout=120) == 2
        assert process.stderr.read() == b""
