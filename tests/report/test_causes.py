"""The causes on paper and screen: one line for a sound machine, else the ranking and the next reading."""

import pytest
from bench.course import shipped_run

from firstfrost.causes.acts import ACT
from firstfrost.causes.readings import read_readings
from firstfrost.report.causes import odds
from firstfrost.report.fields import fields
from firstfrost.report.html import html_report
from firstfrost.report.terminal import ledger_text
from firstfrost.visit.check import check_trace


def result(name, *readings, **more):
    done = shipped_run(name)
    unit = done.played.scenario.unit
    typed = read_readings(readings, unit)
    return check_trace(done.record.trace, unit, done.record.marks, readings=typed, **more)


def test_a_sound_machine_gets_one_line():
    text = ledger_text(result("02-first-frost"), colour=False, system="us")
    block = text.split("\nCauses\n")[1].split("\n\n")[0]
    assert len(block.splitlines()) == 1
    assert "No cause stands out" in block


def test_it_can_be_asked_for():
    page = fields(result("02-first-frost", ask_causes=True)).causes
    assert page.rows[0].title == "no fault"
    assert "model choice" in page.basis


@pytest.mark.parametrize("system", ["us", "si"])
def test_a_fault_is_told_with_its_evidence_and_what_to_read_next(system):
    done = result("27-dirty-filter")
    page = fields(done, system).causes
    first = page.rows[0]
    assert first.title == "filter blocked"
    assert "prior" in first.odds
    assert "than a sound machine" in first.odds
    assert first.speaks_for
    assert first.remedy
    cautions = {act.caution for act in ACT.values()}
    assert page.nexts
    assert all(item.caution in cautions and "min; danger:" in item.worth for item in page.nexts)
    text = ledger_text(done, colour=False, system=system)
    assert "filter blocked" in text
    assert "Next reading:" in text
    assert any(" ".join(item.caution.split()) in " ".join(text.split()) for item in page.nexts)
    shown = html_report(done, system)
    assert "filter blocked" in shown
    assert "The next reading" in shown


def test_causes_that_look_alike_are_told_with_what_parts_them():
    page = fields(result("27-dirty-filter", "filter_look = clean")).causes
    assert "look alike" in page.headline
    assert page.apart.startswith("To tell them apart: pressure drop of filter and indoor coil")


def test_what_was_typed_is_said():
    page = fields(result("27-dirty-filter", "filter_look = dirty")).causes
    assert page.typed == "Typed in: filter_look = dirty"
    assert any("(typed in)" in line for line in page.rows[0].speaks_for)


def test_odds_in_words():
    assert odds(0.0) == "explains the readings as a sound machine does"
    assert odds(2.302585) == "explains the readings 10 times better than a sound machine"
    assert odds(-0.6931) == "explains the readings 2.0 times worse than a sound machine"
    assert "over a million" in odds(30.0)
