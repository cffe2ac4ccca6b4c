"""`make audit` reads what the advisory service says: a hole, none, or nothing at all, each with its status.

The answers are made by us (tests/audit_answers/, marked so), in the form that pip-audit writes: no test asks
the internet. They are handed over by a stand-in for pip-audit that is found before the real one.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ANSWERS = Path(__file__).with_name("audit_answers")
WANTED = "Alder_Tools==1.4.0\nfrost.gauge==2.0.1\n"
STAND_IN = """
import shutil, sys
from pathlib import Path
given = dict(zip(sys.argv[1:], sys.argv[2:]))
wanted = Path(given["--requirement"]).read_text()
name = {control!r} if wanted.startswith("jinja2==") else {answer!r}
assert given["--format"] == "json" and "--disable-pip" in sys.argv and "--no-deps" in sys.argv
if name is None:
    print("requests.exceptions.ConnectionError: no route", file=sys.stderr)
    sys.exit(1)
if name == "garbled":
    Path(given["--output"]).write_text('{{"dependencies": [{{"name"')
    sys.exit(1)
if name == "other":
    Path(given["--output"]).write_text('{{"dependencies": ["frost-gauge"]}}')
    sys.exit(0)
shutil.copy(Path({folder!r}) / (name + ".json"), given["--output"])
sys.exit(1 if "found" in name or name == "control" else 0)
"""
UNHEARD = "This says nothing about holes: run it again where the internet can be reached."


def audited(tmp_path, control, answer, wanted=WANTED):
    """Status and words of the script, where the stand-in gives these answers."""
    stand_in = tmp_path / "pip_audit"
    stand_in.mkdir()
    (stand_in / "__init__.py").touch()
    (stand_in / "__main__.py").write_text(
        STAND_IN.format(control=control, answer=answer, folder=str(ANSWERS))
    )
    (tmp_path / "wanted.txt").write_text(wanted)
    done = subprocess.run(
        [sys.executable, ROOT / "scripts" / "audit.py", tmp_path / "wanted.txt"],
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    return done.returncode, (done.stdout + done.stderr).splitlines()


def test_clean_is_said_where_all_were_asked_about(tmp_path):
    assert audited(tmp_path, "control", "clean") == (0, ["No known hole in 2 packages."])


def test_a_hole_is_one_and_is_named_with_what_mends_it(tmp_path):
    assert audited(tmp_path, "control", "found") == (
        1,
        [
            "frost-gauge 2.0.1: INVENTED-0003, INVENTED-0004; fixed in 2.0.2, 2.1.0",
            "frost-gauge 2.0.1: INVENTED-0005; fixed in no version yet",
            "KNOWN HOLES: 2, of 2 packages.",
        ],
    )


@pytest.mark.parametrize(
    ("control", "answer", "why"),
    [
        (None, None, "requests.exceptions.ConnectionError: no route"),
        ("control", None, "requests.exceptions.ConnectionError: no route"),
        ("control-unknown", "clean", "what answers knows of no hole in jinja2==2.11.2, which has "),
        ("control-skipped", "clean", "what answers does not know jinja2==2.11.2, which is published"),
        ("garbled", "clean", "pip-audit ended with 1"),
        ("control", "garbled", "pip-audit ended with 1"),
        ("control", "other", "an answer of another form: TypeError("),
    ],
)
def test_no_usable_answer_is_three_and_one_line(tmp_path, control, answer, why):
    status, lines = audited(tmp_path, control, answer)
    assert status == 3
    (line,) = lines
    assert line.startswith(f"NOT AUDITED: no advisory service gave a usable answer ({why}")
    assert line.endswith(UNHEARD)


@pytest.mark.parametrize("answer", ["skipped", "short"])
def test_a_package_that_was_not_asked_about_is_no_clean_one(tmp_path, answer):
    assert audited(tmp_path, "control", answer) == (
        3,
        ["NOT WHOLLY AUDITED: not asked about: frost-gauge. On these nothing is known."],
    )


def test_a_hole_counts_whatever_else_could_not_be_asked(tmp_path):
    status, lines = audited(tmp_path, "control", "found-and-skipped")
    assert status == 1
    assert lines[0] == "alder-tools 1.4.0: INVENTED-0006; fixed in 1.4.1"
    assert lines[-1].startswith("NOT WHOLLY AUDITED: not asked about: frost-gauge.")


def test_nothing_to_ask_about_is_no_clean_answer(tmp_path):
    assert audited(tmp_path, "control", "clean", "") == (
        3,
        ["NOT WHOLLY AUDITED: not asked about: anything. On these nothing is known."],
    )


def test_the_target_runs_it():
    recipe = (ROOT / "Makefile").read_text(encoding="utf-8").split("\naudit:")[1].split("\n\n")[0]
    assert "$(RUN) scripts/audit.py $(VENV)/audit.txt" in recipe
