import json
from pathlib import Path

import firstfrost
from firstfrost.cli.main import run

UNIT = str(Path(firstfrost.__file__).parent / "demo" / "unit.toml")


def test_a_mild_day_is_planned_with_the_fan_stopped(capsys):
    assert run(["plan", "--unit", UNIT, "--outdoor", "68 degF", "--humidity", "60 %RH"]) == 0
    out = capsys.readouterr().out
    assert "STOP before 478 psig on the high-side gauge." in out
    assert "Outdoor fan stopped: steps" in out
    assert "Outdoor coil covered: steps" not in out


def test_ways_can_be_named_and_json_written(tmp_path, capsys):
    target = tmp_path / "plan.json"
    argv = ["plan", "--unit", UNIT, "--outdoor", "15 degC", "--way", "coil-covered", "--units", "si"]
    assert run([*argv, "--json", str(target)]) == 0
    out = capsys.readouterr().out
    assert "Outdoor coil covered: steps" in out
    assert "assumed: give --humidity" in " ".join(out.split())
    content = json.loads(target.read_text(encoding="utf-8"))
    assert content["best"] == "fan-stopped"
    assert content["day"]["humidity_given"] is False


def test_json_alone_goes_to_standard_output(capsys):
    assert run(["plan", "--unit", UNIT, "--outdoor", "15 degC", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["unit"]["refrigerant"] == "R-410A"


def test_a_day_too_warm_to_test_has_its_own_status(capsys):
    assert run(["plan", "--unit", UNIT, "--outdoor", "95 degF"]) == 1
    assert "Too warm outdoors to run heating" in capsys.readouterr().out


def test_a_temperature_without_its_unit_is_refused(capsys):
    assert run(["plan", "--unit", UNIT, "--outdoor", "68"]) == 2
    assert "--outdoor is '68'" in capsys.readouterr().err
