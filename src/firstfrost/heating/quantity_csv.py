"""A maker's table or a log in CSV, each column with its unit in the header, in SI."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstfrost.equipment.plates import HeldTable, TableFile
from firstfrost.errors import DataError, UnitError, nearest
from firstfrost.quantities.convert import expected, to_si
from firstfrost.quantities.units import WORDS, Kind
from firstfrost.trace.columns import plain, split_unit
from firstfrost.trace.text import cells, decode, guess_delimiter, is_comment, split_lines

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column that a file may have; a word where `kind` is None."""

    name: str
    kind: Kind | None
    needed: bool = True


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A file as columns in SI."""

    source: str
    lines: tuple[int, ...]
    """Line of each row in the file, from 1."""
    numbers: Mapping[str, Floats]
    """By column, (n,) each; NaN where a cell of a column that may be missing is empty."""
    words: Mapping[str, tuple[str, ...]]

    def has(self, name: str) -> bool:
        """Tell whether the file has a column."""
        return name in self.numbers or name in self.words


def read_sheet(path: TableFile | str, columns: Sequence[Column]) -> Sheet:
    """Read a CSV file.

    Parameters
    ----------
    path : Path, str or HeldTable
        A file, or its text where the unit file holds it.
        Comma, semicolon, tab or bar between the cells; lines that begin with `#` are left out.
    columns : sequence of Column
        Those that are understood.

    Raises
    ------
    DataError
        For the first mistake, with its row and column.
    """
    if isinstance(path, HeldTable):
        return sheet_from(path.text.removeprefix("\ufeff"), columns, source=path.name)
    name = Path(path).name
    try:
        raw = Path(path).read_bytes()
    except OSError as err:
        raise DataError(
            f"{name} cannot be read: {err.strerror or err}. Expected a CSV file. Check its name and place."
        ) from err
    text, _ = decode(raw, source=name)
    return sheet_from(text, columns, source=name)


def sheet_from(text: str, columns: Sequence[Column], *, source: str) -> Sheet:
    """The columns of a CSV text; see `read_sheet`."""
    lines = [(number, line) for number, line in enumerate(split_lines(text), start=1) if not is_comment(line)]
    if len(lines) < 2:
        raise DataError(
            f"{source} holds no rows. Expected a header line such as {_example(columns)!r}, "
            "and rows below it."
        )
    delimiter = guess_delimiter(lines[0][1], lines[1][1])
    headers = [header.strip() for header in cells(lines[0][1], delimiter)]
    found = [_column(header, columns, source, lines[0][0]) for header in headers]
    names = [column.name for column, _ in found]
    for twice in {name for name in names if names.count(name) > 1}:
        raise DataError(f"{source} has the column {twice} twice. Expected it once. Leave one out.")
    for column in columns:
        if column.needed and column.name not in names:
            raise DataError(
                f"{source} has no column {column.name}. Its header has {', '.join(headers)}. "
                f"Expected a header such as {_example(columns)!r}."
            )
    rows = [_row(number, line, delimiter, headers, source) for number, line in lines[1:]]
    numbers: dict[str, Floats] = {}
    words: dict[str, tuple[str, ...]] = {}
    for place, (column, unit_text) in enumerate(found):
        texts = [row[place] for row in rows]
        if column.kind is None:
            words[column.name] = tuple(text.strip() for text in texts)
            continue
        values = np.array(
            [
                _number(text, column, delimiter, f"{source}, row {number}, column {headers[place]!r}")
                for (number, _), text in zip(lines[1:], texts, strict=True)
            ]
        )
        numbers[column.name] = to_si(values, unit_text, column.kind, where=f"{source}, {headers[place]!r}")
    return Sheet(source=source, lines=tuple(number for number, _ in lines[1:]), numbers=numbers, words=words)


def _example(columns: Sequence[Column]) -> str:
    parts = [
        column.name if column.kind is None else f"{column.name} [{WORDS[column.kind][1].split(' ', 1)[1]}]"
        for column in columns
        if column.needed
    ]
    return ",".join(parts)


def _column(header: str, columns: Sequence[Column], source: str, line: int) -> tuple[Column, str]:
    called, unit_text = split_unit(header)
    column = next((column for column in columns if plain(column.name) == plain(called)), None)
    if column is None:
        raise DataError(
            f"{source}, row {line}: the column {header!r} is not understood. "
            f"{nearest(plain(called), [column.name for column in columns])}"
        )
    if column.kind is None:
        return column, ""
    if unit_text is None:
        raise DataError(
            f"{source}, row {line}: the column {header!r} has no unit. {expected(column.kind)} "
            f"Write it in brackets: {_example([column])!r}."
        )
    try:
        to_si(0.0, unit_text, column.kind, where=f"{source}, row {line}, column {header!r}")
    except UnitError as err:
        raise DataError(str(err)) from err
    return column, unit_text


def _row(number: int, line: str, delimiter: str, headers: list[str], source: str) -> list[str]:
    row = cells(line, delimiter)
    if len(row) != len(headers):
        raise DataError(
            f"{source}, row {number} has {len(row)} cells, and the header has {len(headers)}. "
            "Expected one for each column. Put in what is missing, or quote a cell that holds a comma."
        )
    return row


def _number(text: str, column: Column, delimiter: str, where: str) -> float:
    bare = text.strip().replace("−", "-")
    if not bare:
        if column.needed:
            raise DataError(f"{where} is empty. Expected a number. Fill it in, or leave the row out.")
        return math.nan
    if delimiter != ",":
        bare = bare.replace(",", ".")
    try:
        value = float(bare)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise DataError(
            f"{where} is {text.strip()!r}. Expected a bare number, in the unit of the header. "
            "Correct that cell."
        )
    return value
