"""A feature as it was seen."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One feature of a visit: a number with its standard uncertainty, or a word."""

    value: float | str
    u: float = 0.0
    typed: bool = False
    """A person typed it in: it was no channel of the record."""
