"""What a key of a unit file can be: a quantity, a word, a list, what an instrument is worth, a file."""

from __future__ import annotations

from dataclasses import dataclass

from firstfrost.quantities.units import Kind


@dataclass(frozen=True, kw_only=True)
class Row:
    """One key of a unit file."""

    table: str
    key: str
    meaning: str

    @property
    def name(self) -> str:
        """As errors and defaults write it: `board.interval`."""
        return f"{self.table}.{self.key}"


@dataclass(frozen=True, kw_only=True)
class Setting(Row):
    """One quantity.

    `lowest` and `highest`, written as in the file, bound what makes sense; a value outside is refused.
    """

    kind: Kind
    lowest: str
    highest: str
    default: str | None = None
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Choice(Row):
    """A word or a name; any text will do where `words` is empty."""

    words: tuple[str, ...] = ()
    default: str | None = None
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Series(Row):
    """A list of quantities, or of bare numbers where `kind` is None."""

    kind: Kind | None
    shortest: int
    longest: int
    lowest: str = ""
    highest: str = ""


@dataclass(frozen=True, kw_only=True)
class Statement(Row):
    """What an instrument is worth, as under `[instruments]`."""

    kind: Kind
    default: str
    why: str


@dataclass(frozen=True, kw_only=True)
class File(Row):
    """Another file, from the unit file's own folder."""
