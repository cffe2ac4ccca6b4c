"""The text of an SVG holds still when a layout's last digit does not."""

import re

import pytest
from matplotlib.figure import Figure

from firstfrost.report.svg import svg_text


def drawn(left: float) -> str:
    figure = Figure(figsize=(4.0, 3.0))
    figure.add_axes((left, 0.2, 0.6, 0.6)).plot([0.0, 1.0], [0.0, 1.0])
    return svg_text(figure)


def test_the_last_digit_of_a_layout_changes_nothing():
    assert drawn(0.2) == drawn(0.2 + 1e-13)


@pytest.mark.parametrize("left", [0.21, 0.25])
def test_another_layout_has_another_clip(left):
    def clips(text: str) -> list[str]:
        return re.findall(r'clipPath id="(\w+)"', text)

    assert clips(drawn(left)) != clips(drawn(0.2))


def test_every_clip_that_is_used_is_in_the_text():
    text = drawn(0.2)
    used = set(re.findall(r"url\(#(\w+)\)", text))
    assert used
    assert used == set(re.findall(r'clipPath id="(\w+)"', text))


def test_neither_a_date_nor_a_maker_is_in_it():
    text = drawn(0.2)
    assert text.startswith("<svg")
    assert "metadata" not in text
    assert "<!--" not in text
