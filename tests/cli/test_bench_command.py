import json

import pytest

from firstfrost.bench.scenario.read import shipped
from firstfrost.cli.main import run
from firstfrost.proofs.finding import FUNCTIONS


def test_list_names_each_scenario_on_a_line(capsys):
    assert run(["bench", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(shipped())
    assert all(len(line) <= 90 for line in lines)
    assert run(["bench", "list", "--long"]) == 0
    assert len(capsys.readouterr().out.splitlines()) > 4 * len(lines)


def test_run_writes_what_check_takes_and_the_truth(tmp_path, capsys):
    assert run(["bench", "run", "mild-day-visit", "-o", str(tmp_path / "a" / "b")]) == 0
    out = capsys.readouterr().out
    folder = tmp_path / "a" / "b"
    assert sorted(path.name for path in folder.iterdir()) == [
        "marks.csv",
        "trace.csv",
        "truth.json",
        "unit.toml",
    ]
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    assert tuple(truth["functions"]) == FUNCTIONS
    command = next(line for line in out.splitlines() if line.strip().startswith("firstfrost check"))
    assert run([*command.split()[1:], "--json", str(tmp_path / "result.json")]) == 0
    found = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))["functions"]
    for name, one in truth["functions"].items():
        assert found[name]["standing"] in (one["standing"], *one["also"])


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_plot_draws_the_same_bytes_twice(ending, tmp_path, capsys):
    paths = [tmp_path / f"{name}.{ending}" for name in "ab"]
    for path in paths:
        options = ["--from", "20 min", "--until", "40 min", "--units", "si"]
        assert run(["bench", "plot", "2", "-o", str(path), *options]) == 0
        assert capsys.readouterr().out == f"{path}\n"
    first, second = (path.read_bytes() for path in paths)
    assert first == second
    assert first.startswith(b"<svg" if ending == "svg" else b"\x89PNG")


def test_what_cannot_be_done_is_one_sentence(tmp_path, capsys):
    for argv, text in (
        (["bench", "run", "nothing-like-it", "-o", "x"], 'No scenario is named "nothing-like-it".'),
        (["bench", "plot", "2", "-o", "x.pdf"], "The plot 'x.pdf' has an ending that is not known."),
        (
            ["bench", "plot", "2", "-o", "x.svg", "--from", "9 h"],
            "A plot from 540 min until 140 min holds nothing",
        ),
        (["bench", "run", "2", "-o", str(tmp_path / "f" / "x")], f"The run cannot be written to {tmp_path}"),
    ):
        (tmp_path / "f").write_text("")
        assert run(argv) == 2
        assert capsys.readouterr().err.startswith(f"firstfrost: {text}")
