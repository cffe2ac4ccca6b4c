"""Text that came from a file or a person, made fit to show."""

from __future__ import annotations

import re
from typing import Final

_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]+")


_UNNAMED: Final = "heat pump"
"""What a unit is called whose file gives no name."""


def unit_name(name: str) -> str:
    """The unit's name as a heading."""
    shown = clean(name)
    return shown.capitalize() if shown == _UNNAMED else shown or "Unit without a name"


def clean(text: str) -> str:
    """`text` without control characters, so that no file can write escape codes to a terminal."""
    return _CONTROL.sub(" ", text).strip()
