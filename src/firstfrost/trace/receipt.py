"""What was read, what was dropped, and why: part of every result."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True)
class ColumnRead:
    """How one column of a file became a channel."""

    source: str
    """File name."""
    header: str
    channel: str
    unit: str
    readings: int
    """How many sound readings it gave."""
    dropped: int = 0
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """What a reader took from its files.

    `dropped` and `notes` are sentences for the user: each says what, where and how many.
    """

    files: tuple[str, ...] = ()
    rows: int = 0
    columns: tuple[ColumnRead, ...] = ()
    ignored: tuple[str, ...] = ()
    """Headers that no channel stands for and the map told to leave out."""
    dropped: tuple[str, ...] = field(default=())
    notes: tuple[str, ...] = field(default=())
