import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from firstfrost.proofs.finding import BEST_FIRST
from firstfrost.report import ledger_text
from firstfrost.report.terminal import headline, wants_colour
from firstfrost.report.words import SIGNS, TITLES
from report import sample

GOLDEN = Path(__file__).parent / "golden"
MADE = {name: make() for name, make in {**sample.VARIANTS, "hostile": sample.hostile}.items()}
ESCAPES = re.compile("\x1b\\[[0-9;]*m")


@pytest.mark.parametrize("name", sample.VARIANTS)
@pytest.mark.parametrize("system", ["us", "si"])
def test_the_layout_is_the_one_agreed_on(name, system):
    """Golden files; look at a changed page before replacing its file."""
    expected = (GOLDEN / f"{name}.{system}.txt").read_text(encoding="utf-8")
    assert ledger_text(MADE[name], colour=False, system=system) + "\n" == expected


@pytest.mark.parametrize("name", [*MADE, "long_day"])
@pytest.mark.parametrize("system", ["us", "si"])
def test_no_line_is_wider_than_80(name, system):
    result = sample.long_day() if name == "long_day" else MADE[name]
    long_word = replace(result, unit=replace(result.unit, name="x" * 300), warnings=("y" * 300, "a/b" * 90))
    for one in (result, long_word):
        for plain in (False, True):
            text = ledger_text(one, colour=False, system=system, plain=plain)
            assert max(len(line) for line in text.split("\n")) <= 80


def test_colour_adds_nothing_but_colour():
    for result in MADE.values():
        coloured = ledger_text(result, colour=True)
        assert "\x1b[" in coloured
        assert ESCAPES.sub("", coloured) == ledger_text(result, colour=False)
    assert "\x1b" not in ledger_text(MADE["failed"], colour=False)


def test_each_function_has_one_line_with_its_word_and_sign():
    for result in MADE.values():
        lines = ledger_text(result, colour=False).split("\n")
        for finding in result.findings:
            start = f" {SIGNS[finding.standing]} {finding.standing:8} {TITLES[finding.function]}"
            assert len([line for line in lines if line.startswith(start)]) == 1


def test_plain_keeps_to_ascii_and_keeps_the_signs_apart():
    text = ledger_text(MADE["failed"], colour=False, plain=True)
    assert text.isascii()
    rows = [
        line
        for line in text.split("\n")
        if re.match(r" \S (shown|prompted|doubtful|bypassed|unseen|failed) ", line)
    ]
    assert len(rows) == 13
    assert len({row[1] for row in rows}) == len({row.split()[1] for row in rows})
    assert "135.0 +- 1.6 F" in text


def test_no_text_of_a_file_can_reach_the_terminal_as_a_control_code():
    wicked = "\x1b[2J\x1b]0;owned\x07\r\n\u202ename\x9b31m"
    base = MADE["mild_day"]
    result = replace(
        base,
        unit=replace(base.unit, name=wicked),
        warnings=(wicked,),
        findings=(replace(base.findings[2], settle=wicked), *base.findings[1:]),
    )
    text = ledger_text(result, colour=False)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", text)
    assert "owned" in text


def test_the_headline_counts():
    assert headline(MADE["mild_day"]) == "9 of 13 shown; 1 prompted, 1 doubtful, 2 not seen, none failed."
    assert headline(MADE["failed"]) == (
        "3 of 13 FAILED; 5 shown, 1 prompted, 1 doubtful, 1 bypassed, 2 not seen."
    )
    assert headline(MADE["empty"]) == "None of 13 shown; 13 not seen, none failed."
    everything = replace(
        MADE["mild_day"],
        findings=tuple(replace(item, standing="shown") for item in MADE["mild_day"].findings),
    )
    assert headline(everything) == "13 of 13 shown; none failed."
    assert BEST_FIRST[0] == "shown"


def test_what_would_settle_it_is_said_for_all_that_is_not_shown():
    result = MADE["mild_day"]
    text = " ".join(ledger_text(result, colour=False).split())
    for finding in result.findings:
        if finding.standing == "doubtful":
            assert f"{TITLES[finding.function]}: {finding.evidence[0].what} {finding.settle}" in text
        elif finding.standing != "shown":
            assert f"{TITLES[finding.function]}: {finding.settle}" in text
    for finding in MADE["failed"].findings:
        if finding.standing == "failed":
            assert finding.remedy in " ".join(ledger_text(MADE["failed"], colour=False).split())


def test_cautions_and_defaults_are_always_there():
    for result in MADE.values():
        text = " ".join(ledger_text(result, colour=False).split())
        for caution in result.cautions:
            assert caution.text in text
        for default in result.unit.defaults:
            if not default.setting.startswith("instruments."):
                assert f"{default.setting} = {default.value}" in text
    assert "the accuracy of: outdoor coil temperature (the report has the values)" in " ".join(
        ledger_text(MADE["mild_day"], colour=False).split()
    )


def test_colour_is_wanted_only_on_a_terminal_that_did_not_refuse(monkeypatch):
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert wants_colour()
    monkeypatch.setenv("NO_COLOR", "1")
    assert not wants_colour()
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not wants_colour()
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: False, raising=False)
    assert not wants_colour()


def test_the_ledger_needs_none_of_the_slow_packages():
    code = (
        "import sys, firstfrost.report, firstfrost.visit.as_json; "
        "slow = {'matplotlib', 'typst', 'jinja2', 'pint', 'scipy', 'pyarrow', 'numba', 'CoolProp'}; "
        "print(sorted(slow & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": ":".join(sys.path)},
    )
    assert done.stdout.strip() == "[]"
