import json

import pytest

from firstfrost.cli.main import run
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.proofs.rows import RULES


def test_the_demo_prints_the_ledger_and_says_where_the_report_lies(tmp_path, capsys):
    folder = tmp_path / "new" / "demo"
    assert run(["demo", "--folder", str(folder)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Alder Row 3\n")
    for name, start in (("report.html", b"<!"), ("report.pdf", b"%PDF-")):
        assert str((folder / name).resolve()) in out
        assert (folder / name).read_bytes().lstrip().startswith(start)
    standings = {
        name: row["standing"]
        for name, row in json.loads((folder / "result.json").read_text())["functions"].items()
    }
    # What the made visit did: pins bridged; fan lead off as the defrost starts, back on before its end.
    assert standings["timer_counts"] == standings["defrost_starts"] == "prompted"
    assert standings["fan_stops"] == "bypassed"
    assert standings["coil_clears"] == "unseen"
    assert {standings[name] for name in FUNCTIONS[:2]} == {"shown"}
    assert standings["fan_returns"] == "shown"


def test_a_demo_without_a_place_gets_one_message(tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert run(["demo", "--folder", str(tmp_path / "file")]) == 2
    assert capsys.readouterr().err.startswith(
        f"firstfrost: The demo cannot be written to {tmp_path / 'file'}: "
    )


def test_the_rules_are_those_that_judge(capsys):
    assert run(["rules"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    words = " ".join(out.split())
    for rule in RULES:
        assert f"{rule.title} ({rule.function})" in out
        for text in (rule.situation, rule.measure, rule.limit, rule.source, rule.remedy, *rule.says.values()):
            assert " ".join(text.split()) in words


@pytest.mark.parametrize("name", FUNCTIONS)
def test_one_rule(name, capsys):
    assert run(["rules", name]) == 0
    assert capsys.readouterr().out.count("  measure ") == 1


def test_an_unknown_function_is_told(capsys):
    assert run(["rules", "fan_spins"]) == 2
    assert "'fan_spins' is not a function. Expected one of: sensor_closes," in capsys.readouterr().err
