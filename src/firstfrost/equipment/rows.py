"""What a key of a unit file can be: a quantity, a word, a list of quantities or numbers, a file."""

from __future__ import annotations

from dataclasses import dataclass

from firstfrost.quantities.units import Kind


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One quantity of a unit file.

    `lowest` and `highest`, written as in the file, bound what makes sense; a value outside is refused.
    """

    table: str
    key: str
    kind: Kind
    meaning: str
    lowest: str
    highest: str
    default: str | None = None
    why: str = ""

    @property
    def name(self) -> str:
        """As errors and defaults write it: `board.interval`."""
        return f"{self.table}.{self.key}"


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One setting of a unit file that is a word or a name; any text will do where `words` is empty."""

    table: str
    key: str
    meaning: str
    words: tuple[str, ...] = ()
    default: str | None = None
    why: str = ""

    @property
    def name(self) -> str:
        """As errors and defaults write it: `board.kind`."""
        return f"{self.table}.{self.key}"


@dataclass(frozen=True, kw_only=True)
class Series:
    """One setting of a unit file that is a list: of quantities, or of bare numbers where `kind` is None."""

    table: str
    key: str
    meaning: str
    kind: Kind | None
    shortest: int
    longest: int
    lowest: str = ""
    highest: str = ""

    @property
    def name(self) -> str:
        """As errors write it: `backup.stages`."""
        return f"{self.table}.{self.key}"


@dataclass(frozen=True, kw_only=True)
class Statement:
    """One setting of a unit file that says what an instrument is worth, as under `[instruments]`."""

    table: str
    key: str
    kind: Kind
    meaning: str
    default: str
    why: str

    @property
    def name(self) -> str:
        """As errors and defaults write it: `airflow.measured_accuracy`."""
        return f"{self.table}.{self.key}"


@dataclass(frozen=True, kw_only=True)
class File:
    """One setting of a unit file that names another file, from the unit file's own folder."""

    table: str
    key: str
    meaning: str

    @property
    def name(self) -> str:
        """As errors write it: `maker.performance`."""
        return f"{self.table}.{self.key}"


Row = Setting | Choice | Series | Statement | File
