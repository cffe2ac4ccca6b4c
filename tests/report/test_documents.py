import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pymupdf
import pytest

from firstfrost.equipment.unit import Default
from firstfrost.errors import InputError
from firstfrost.report import write_report
from firstfrost.report.fields import fields
from firstfrost.report.html import html_report
from firstfrost.report.pdf import pdf_report
from firstfrost.report.words import TITLES
from report import sample

MADE = {name: make() for name, make in {**sample.VARIANTS, "hostile": sample.hostile}.items()}
SYSTEM = {name: "si" if name == "r407c" else "us" for name in MADE}
HTML = {name: html_report(result, SYSTEM[name]) for name, result in MADE.items()}
PDF = {name: pdf_report(result, SYSTEM[name]) for name, result in MADE.items()}


class Page(HTMLParser):
    """Collects tags, attributes and text."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.words = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def _words(pdf):
    with pymupdf.open(stream=pdf) as document:
        return [" ".join(page.get_text().split()) for page in document]


@pytest.mark.parametrize("name", MADE)
def test_the_page_stands_alone(name):
    page = Page(HTML[name])
    assert not {"script", "link", "iframe", "img", "object", "embed", "base", "form"} & set(page.tags)
    for tag, attribute, value in page.attributes:
        assert not attribute.startswith("on"), (tag, attribute)
        if attribute in ("src", "href", "xlink:href", "action", "data"):
            assert value.startswith("#"), value
    style = re.search(r"<style>(.*?)</style>", HTML[name], re.DOTALL)[1]
    assert "url(" not in style
    assert "@import" not in style
    assert "default-src 'none'" in HTML[name]


@pytest.mark.parametrize("name", MADE)
def test_ids_are_unique_and_what_is_pointed_at_is_there(name):
    page = Page(HTML[name])
    ids = [value for _, attribute, value in page.attributes if attribute == "id"]
    assert len(ids) == len(set(ids))
    for _, attribute, value in page.attributes:
        if attribute in ("href", "xlink:href"):
            assert value[1:] in ids
        if attribute == "aria-labelledby":
            assert value in ids
    pointed = set(re.findall(r"url\(#([^)]+)\)", HTML[name]))
    assert pointed <= set(ids)
    images = [i for i, item in enumerate(page.attributes) if item[1:] == ("role", "img")]
    assert all(page.attributes[i + 1][1] == "aria-label" and page.attributes[i + 1][2] for i in images)


def test_free_text_is_text_in_html():
    page = Page(HTML["hostile"])
    assert page.tags.count("title") == 1
    assert page.text.count(" ".join(sample.HOSTILE.split())) >= 8
    assert "{{ 7*7 }}" in page.text
    assert "<script" not in HTML["hostile"]


def test_free_text_is_text_in_pdf():
    text = "".join("".join(_words(PDF["hostile"])).split())
    assert text.count("".join(sample.HOSTILE.split())) >= 7
    with pymupdf.open(stream=PDF["hostile"]) as document:
        assert document.metadata["title"] == f"Defrost check: {sample.HOSTILE}"


@pytest.mark.parametrize(
    "wicked", ['"', "\\", '#image("x")', '")) #panic("x', "\u0000\u0007", "𝄞 ☃ 漢字", " "]
)
def test_no_name_breaks_a_layout(wicked):
    base = MADE["empty"]
    result = replace(base, unit=replace(base.unit, name=wicked))
    assert pdf_report(result).startswith(b"%PDF")
    assert "\u0000" not in html_report(result)


@pytest.mark.parametrize("name", MADE)
def test_both_layouts_say_all_that_the_fields_say(name):
    content = fields(MADE[name], SYSTEM[name])
    html = Page(HTML[name]).text.replace("\u00a0", " ")
    pdf = "".join("".join(_words(PDF[name])).split())
    said = [content.headline, content.house.verdict, content.house.why, content.house.safety, content.made_by]
    said += [*content.house.tested, *content.house.found, *content.house.todo, *content.cautions]
    said += [*content.warnings, *content.dropped, *content.notes]
    for answer in content.house.answers:
        said += [answer.question, answer.answer, *answer.parts]
    for row in content.rows:
        said += [row.title, row.sentence, row.number, row.limit, row.margin, row.settle, row.remedy]
        for occasion in row.occasions:
            said += [occasion.what, *(value for _, value in occasion.facts)]
    for setting in content.settings:
        said += [setting.name, setting.value, setting.source]
    for line in content.instruments:
        said += [line.channel, line.accuracy]
    for mark in content.marks:
        said += [mark.when, mark.act, mark.note]
    for defrost in content.defrosts:
        said += [
            defrost.when,
            defrost.length,
            defrost.peak,
            defrost.margin,
            defrost.pressure,
            defrost.ended_by,
        ]
    for text in filter(None, said):
        assert " ".join(text.replace("\u00a0", " ").split()) in html, text
        assert "".join(text.split()) in pdf, text


@pytest.mark.parametrize("name", MADE)
def test_the_householder_has_one_page_of_their_own(name):
    pages = _words(PDF[name])
    assert "What was tested" in pages[0]
    assert "What to do next" in pages[0]
    assert "come before anything on this page" in pages[0]
    assert "The ledger" in pages[1]
    jargon = ("saturation", "psig", "reversing valve", "termination", "subcooling", "superheat", "jumper")
    first = " ".join(
        [*fields(MADE[name]).house.todo, *fields(MADE[name]).house.tested, *_questions(name)]
    ).lower()
    assert not [word for word in jargon if word in first]


def _questions(name):
    for answer in fields(MADE[name]).house.answers:
        yield from (answer.question, answer.answer, *answer.parts)


@pytest.mark.parametrize("name", PDF)
def test_nothing_leaves_the_paper_and_no_page_is_all_but_empty(name):
    with pymupdf.open(stream=PDF[name]) as document:
        assert len(document) <= 8
        for page in document:
            expected = (595.3, 841.9) if name == "r407c" else (612.0, 792.0)
            assert (page.rect.width, page.rect.height) == pytest.approx(expected, abs=0.5)
            for block in page.get_text("blocks"):
                assert block[0] >= 50
                assert block[2] <= page.rect.width - 50
            assert len(page.get_text().split()) > 25


def test_pdf_has_alternative_text_and_tags():
    raw = PDF["mild_day"]
    with pymupdf.open(stream=raw) as document:
        assert document.xref_get_key(document.pdf_catalog(), "MarkInfo")[1] != "null"
        assert document.xref_get_key(document.pdf_catalog(), "Lang")[1] == "en"
        alts = [document.xref_get_key(xref, "Alt") for xref in range(1, document.xref_length())]
        assert len([alt for kind, alt in alts if kind == "string" and alt]) == 3
        fonts = {font[3].split("+")[-1] for page in document for font in page.get_fonts()}
    assert fonts
    assert all(font.startswith("Libertinus") for font in fonts), fonts


def test_the_same_result_gives_the_same_bytes():
    assert pdf_report(MADE["mild_day"]) == PDF["mild_day"]
    assert html_report(MADE["mild_day"]) == HTML["mild_day"]
    with pymupdf.open(stream=PDF["mild_day"]) as document:
        assert document.metadata["creationDate"].startswith("D:20251014")


def test_a_record_that_starts_between_two_seconds_has_a_pdf():
    between = replace(MADE["mild_day"].trace, epoch=sample.EPOCH.replace(microsecond=250_000))
    assert pdf_report(replace(MADE["mild_day"], trace=between)).startswith(b"%PDF")


def test_signs_that_matter_are_in_the_font():
    text = " ".join(_words(PDF["failed"]))
    assert "\ufffd" not in text
    assert "135.0 ± 1.6 °F" in text.replace("\u00a0", " ")
    for title in TITLES.values():
        assert title in text


def test_the_ending_tells_the_kind(tmp_path):
    write_report(MADE["empty"], tmp_path / "a.HTML")
    write_report(MADE["empty"], str(tmp_path / "a.pdf"), system="si")
    assert (tmp_path / "a.HTML").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")


def test_another_ending_is_refused():
    expected = (
        "The report 'visit.docx' ends in '.docx'. Expected a name that ends in .html or .pdf. "
        "Give it one of these endings."
    )
    with pytest.raises(InputError, match=f"^{re.escape(expected)}$"):
        write_report(MADE["empty"], "visit.docx")
    with pytest.raises(InputError, match=r"^The report 'visit' ends in 'nothing'\. "):
        write_report(MADE["empty"], "visit")


def test_a_place_that_is_not_there_is_told(tmp_path):
    path = str(tmp_path / "none" / "a.html")
    expected = (
        f"The report cannot be written to {path!r}: No such file or directory. "
        "Expected a folder that exists and can be written to. Choose another place."
    )
    with pytest.raises(InputError, match=f"^{re.escape(expected)}$"):
        write_report(MADE["empty"], path)


def test_a_call_for_heat_is_no_instrument_whose_accuracy_somebody_gave():
    base = MADE["mild_day"]
    trace = replace(
        base.trace, columns={**base.trace.columns, "heating_call": np.ones(len(base.trace.time_s))}
    )
    default = Default(
        setting="instruments.heating_call", value="0 %", why="on or off has no error of its own"
    )
    unit = replace(base.unit, defaults=(*base.unit.defaults, default))
    content = fields(replace(base, trace=trace, unit=unit))
    assert "call for heat" not in [line.channel for line in content.instruments]
    assert [line.channel for line in content.instruments] == [
        line.channel for line in fields(base).instruments
    ]
