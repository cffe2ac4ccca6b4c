"""Who made a visit and who signed it, in both layouts."""

import base64
import re
from datetime import UTC, datetime

import pymupdf

from firstfrost.report.html import html_report
from firstfrost.report.pdf import pdf_report
from firstfrost.report.people import People, Signature
from report import sample

RESULT = sample.mild_day()


def drawn():
    """A small picture of ink on paper, as PNG."""
    picture = pymupdf.Pixmap(pymupdf.csRGB, pymupdf.IRect(0, 0, 60, 30), False)
    picture.clear_with(255)
    picture.set_rect(pymupdf.IRect(10, 12, 50, 16), (16, 32, 43))
    return picture.tobytes("png")


PEOPLE = People(
    technician="A. Field",
    purpose="Before winter",
    note="Fan guard loose. <b>#strong[x]</b>",
    signatures=(
        Signature(
            name="A. Field",
            role="technician",
            signed_at=datetime(2025, 10, 14, 16, 5, tzinfo=UTC),
            drawing=drawn(),
        ),
        Signature(
            name="<i>C. Owner</i>", role="customer", signed_at=datetime(2025, 10, 14, 16, 6, tzinfo=UTC)
        ),
    ),
)


def test_the_pdf_names_and_shows_who_signed():
    with pymupdf.open(stream=pdf_report(RESULT, "us", people=PEOPLE)) as paper:
        text = re.sub(r"\s+", " ", "".join(page.get_text() for page in paper))
        pictures = sum(len(page.get_images()) for page in paper)
    assert "Visit by A. Field: Before winter" in text
    assert "Fan guard loose. <b>#strong[x]</b>" in text
    # 16:05 in UTC is 10:05 at the site.
    assert "Signed by A. Field, technician, 14 October 2025 10:05" in text
    assert "Signed by <i>C. Owner</i>, customer" in text
    assert pictures == 1


def test_the_page_names_and_shows_who_signed():
    page = html_report(RESULT, "us", people=PEOPLE)
    assert "Visit by A. Field: Before winter" in page
    assert "&lt;i&gt;C. Owner&lt;/i&gt;" in page
    assert f'src="data:image/png;base64,{base64.b64encode(drawn()).decode()}"' in page
    assert page.count("<img") == 1


def test_what_is_no_picture_is_not_put_in():
    one = Signature(
        name="A", role="technician", signed_at=datetime(2025, 1, 1, tzinfo=UTC), drawing=b"<svg/>"
    )
    assert "<img" not in html_report(RESULT, "us", people=People(signatures=(one,)))


def test_a_broken_drawing_costs_no_report():
    one = Signature(
        name="A. Field", role="technician", signed_at=datetime(2025, 1, 1, tzinfo=UTC), drawing=drawn()[:60]
    )
    with pymupdf.open(stream=pdf_report(RESULT, "us", people=People(signatures=(one,)))) as paper:
        text = re.sub(r"\s+", " ", "".join(page.get_text() for page in paper))
    assert "Signed by A. Field, technician" in text
    assert "(the drawing cannot be read)" in text


def test_without_people_nothing_is_said_of_them():
    assert "Signed" not in html_report(RESULT)
    assert html_report(RESULT, "us", people=People()) == html_report(RESULT)
