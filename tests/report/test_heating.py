"""What the pages say of the heating check."""

from dataclasses import replace

import pytest

from firstfrost.report import ledger_text, words
from firstfrost.report.fields import fields
from firstfrost.report.heating import answer, heating_page
from firstfrost.report.html import html_report
from firstfrost.report.numbers import Numbers
from firstfrost.report.pdf import pdf_report
from firstfrost.report.times import clock
from report import sample
from report.sample_heating import MADE, heating, limit, nothing_steady, number

NUMBERS = Numbers("us", 98_050.0)


def page(check):
    return heating_page(check, NUMBERS, clock(sample.mild_day()))


def changed(**numbers):
    base = heating()
    return replace(base, numbers=tuple(numbers.get(one.name, one) for one in base.numbers))


def test_what_was_not_measured_is_one_line():
    made = page(heating())
    assert [row.name for row in made.rows] == [one.name for one in heating().numbers if one.measured]
    assert made.unseen.count("\n") == 0
    assert "Frost left after defrost" in made.unseen
    text = ledger_text(sample.weak(), colour=False)
    assert text.count("Not measured:") == 1
    assert "unseen   Frost left" not in text


def test_heat_is_told_in_the_units_of_the_trade_and_power_in_watts():
    rows = {row.name: row for row in page(heating()).rows}
    assert rows["capacity_air_w"].number.replace("\u00a0", " ") == "17400 ± 1500 Btu/h"
    assert rows["power_w"].number.replace("\u00a0", " ") == "2600 ± 120 W"
    assert rows["airflow_m3_s"].number.replace("\u00a0", " ") == "1000 ± 60 cfm"
    assert rows["cop"].number.replace("\u00a0", " ") == "1.96 ± 0.20"


def test_a_number_beyond_its_limit_says_where_to_look_and_one_without_says_what_to_look_up():
    made = page(heating())
    rows = {row.name: row for row in made.rows}
    assert rows["subcooling_k"].remedy
    assert not rows["subcooling_k"].settle
    assert not rows["superheat_k"].settle
    assert any(text.startswith("Superheat at the compressor: Look up") for text in made.look_up)


def test_heat_that_flows_downhill_has_no_margin():
    rows = {row.name: row for row in page(heating()).rows}
    assert (rows["evaporating_approach_k"].limit, rows["evaporating_approach_k"].margin) == ("", "")


def test_a_number_and_its_ratio_count_once():
    made = page(heating())
    assert made.headline.startswith("2 FAILED; 5 within their limits")
    assert "Heating: 2 FAILED." in fields(sample.weak()).headline


def test_no_steady_heating_is_said_and_nothing_more():
    made = page(nothing_steady())
    assert (made.rows, made.window) == ((), "Heating never went on for 5 minutes at a stretch.")
    text = ledger_text(replace(sample.mild_day(), heating=nothing_steady()), colour=False)
    assert "Heating never went on for 5 minutes" in text
    assert "Not measured" not in text


ONE = limit("1", 1.0)
HEALTHY = number("capacity_ratio", "shown", 0.98, 0.08, limit("1", 0.85))
NO_FAULT = {
    "capacity_ratio": HEALTHY,
    "capacity_air_w": number("capacity_air_w", "shown", 7800.0, 600.0, limit("W", 6700.0)),
    "subcooling_k": number("subcooling_k", "shown", 7.0, 0.8, limit("K", 5.2, 8.6)),
}


def sound(**numbers):
    return changed(**{**NO_FAULT, **numbers})


@pytest.mark.parametrize(
    ("check", "said", "first", "second"),
    [
        (heating(), "No", "clearly less heat", "Out of bounds: the refrigerant circuit and the heat"),
        (sound(), "Yes", "gives the heat", "Nothing that could be checked was out of bounds"),
        (
            sound(design_coverage=number("design_coverage", "failed", 0.7, 0.1, ONE)),
            "No",
            "gives the heat",
            "Out of bounds: the heat for the coldest day.",
        ),
        (
            sound(design_coverage=number("design_coverage", "shown", 1.4, 0.1, ONE)),
            "Yes",
            "gives the heat",
            "carry the house",
        ),
        (
            sound(line_voltage_v=number("line_voltage_v", "failed", 190.0, 3.0, limit("V", 216.0))),
            "Not clear",
            "gives the heat",
            "Out of bounds: the electric supply.",
        ),
        (
            sound(capacity_ratio=number("capacity_ratio", "unseen")),
            "Not clear",
            "26600 ± 2000 Btu/h of heat",
            "out of bounds",
        ),
        (nothing_steady(), "Not tested", "not measured", "Nothing of it"),
    ],
)  # fmt: skip
def test_the_householder_gets_two_sentences(check, said, first, second):
    word, _, parts = answer(check, NUMBERS)
    assert word == said
    assert len(parts) == 2
    assert first in parts[0]
    assert second in parts[1]
    jargon = ("saturation", "psig", "subcooling", "superheat", "COP", "capacity")
    assert not [text for text in jargon if text in " ".join(parts)]


def test_a_failed_number_speaks_in_the_verdict_and_in_what_to_do():
    house = fields(sample.weak()).house
    assert house.verdict == words.VERDICTS["no"]
    assert words.HEATING_WRONG in house.todo
    assert house.answered.startswith("Six")
    assert fields(sample.mild_day()).house.answered.startswith("Five")


def test_both_layouts_hold_every_row():
    html, pdf = html_report(sample.weak()), pdf_report(sample.weak())
    import pymupdf

    with pymupdf.open(stream=pdf) as document:
        text = "".join("".join(one.get_text() for one in document).split())
    content = fields(sample.weak()).heating
    for row in content.rows:
        for said in (row.title, row.number, row.sentence, row.remedy):
            assert said.replace("'", "&#39;") in html, said
            assert "".join(said.split()) in text, said
    for said in (content.headline, content.unseen, *content.look_up):
        assert "".join(said.split()) in text
    assert len(MADE) == len(content.rows)
