"""The rows of the heating check as a table: whole, and safe in what they say."""

import re

import pytest

from firstfrost.heating.rows import NAMES, ROWS
from firstfrost.trace.channels import CHANNELS


def test_names_are_unique_and_ratios_are_rows():
    assert len(set(NAMES)) == len(ROWS)
    assert {row.held_by for row in ROWS if row.held_by} <= set(NAMES)


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_each_row_says_what_it_is_why_and_where_from(row):
    for text in (row.title, row.method, row.limit, row.source, row.why, row.open, row.settle):
        assert text.strip()
    assert {name for need in row.needs for name in need} <= set(CHANNELS)
    for text in (*row.says.values(), row.open, row.settle, row.why):
        assert text.endswith(".")


FORBIDDEN = re.compile(
    r"\b(add (some )?(refrigerant|charge)|vent\b|purge|bleed|top (it )?up|bypass|jumper|open the circuit)",
    re.IGNORECASE,
)


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_no_sentence_tells_anyone_to_open_vent_add_or_defeat(row):
    for text in (*row.says.values(), row.open, row.settle, row.look_up, row.remedy, row.why):
        assert not FORBIDDEN.search(text), text
        assert not re.search(r"(?<!Never )\bbridge\b", text), text
