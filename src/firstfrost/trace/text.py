"""From the bytes of a text file to rows of cells, with the line number of each."""

from __future__ import annotations

import codecs
import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from firstfrost.errors import DataError

_BOMS: Final = (
    # The longer mark first: UTF-32 little endian starts with the mark of UTF-16.
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_COMMENTS: Final = ("#", "%", "//", "!", '"#')
_DELIMITERS: Final = ("\t", ";", "|", ",")
_LOOK: Final = 60
"""How many lines of preamble may stand above a header."""
_ODD_ROWS: Final = 0.05
"""Above this share of rows with too many cells, the file's layout is not what it seems."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A text file as cells.

    `columns` holds one list of cells per header; `lines` the line number of each row, from 1.
    """

    source: str
    headers: tuple[str, ...]
    columns: list[Sequence[str]]
    lines: Sequence[int]
    header_line: int
    delimiter: str
    comments: tuple[str, ...]
    dropped: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def guess_encoding(raw: bytes) -> str | None:
    """Name the encoding that the first bytes show, or None where they show none."""
    for mark, name in _BOMS:
        if raw.startswith(mark):
            return name
    head = raw[:4000]
    half = len(head) // 2
    if half >= 4:
        even, odd = head[0::2].count(0), head[1::2].count(0)
        if odd > 0.3 * half and even < 0.05 * half:
            return "utf-16-le"
        if even > 0.3 * half and odd < 0.05 * half:
            return "utf-16-be"
    return None


def decode(raw: bytes, *, source: str, encoding: str | None = None) -> tuple[str, str]:
    """Turn the bytes of a text file into text.

    Parameters
    ----------
    raw : bytes
        The whole file.
    source : str
        Its name, for messages.
    encoding : str or None
        As the map file gives it; None looks at the bytes.

    Returns
    -------
    tuple of str
        The text, and a note on the encoding (empty for UTF-8).

    Raises
    ------
    DataError
        If the file is empty, is not text, or is not in the encoding told.
    """
    if not raw.strip():
        raise DataError(
            f"{source} is empty. Expected a header line and readings below it. Export the log again."
        )
    told = encoding or guess_encoding(raw)
    if told is not None:
        try:
            text = raw.decode(told)
        except LookupError as err:
            raise DataError(
                f"The map file gives the encoding {told!r} for {source}, which is not known. "
                'Expected a name such as "utf-8", "cp1252" or "utf-16".'
            ) from err
        except UnicodeError as err:
            raise DataError(
                f"{source} is not text in {told}, as byte {getattr(err, 'start', 0)} shows. Export the log "
                "again as CSV in UTF-8, or give its "
                'encoding in the map file: encoding = "cp1252".'
            ) from err
        _check_text(text, source=source)
        return text.lstrip("\ufeff"), "" if told.startswith("utf-8") else f"{source} was read as {told}."
    try:
        text, note = raw.decode("utf-8"), ""
    except UnicodeDecodeError:
        note = f"{source} is not UTF-8 and was read as Windows-1252."
        text = decode_western(raw)
    _check_text(text, source=source)
    return text, note


def decode_western(raw: bytes) -> str:
    """Decode Windows-1252, with the five bytes it leaves free taken as Latin-1."""
    try:
        return raw.decode("cp1252")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _check_text(text: str, *, source: str) -> None:
    head = text[:20000]
    odd = sum(1 for c in head if (c < " " and c not in "\t\r\n\f\v") or "\x7f" <= c <= "\x9f" or c == "�")
    if odd > 0.01 * len(head) or "\0" in text:
        raise DataError(
            f"{source} is not text: it holds bytes that no CSV file has. Expected CSV, Parquet or JSON. "
            "Export the log again as CSV."
        )


def split_lines(text: str) -> list[str]:
    """Split at line ends of any kind, and only there; a last line without an end is a line too."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines and not lines[-1]:
        lines.pop()
    return lines


def is_comment(line: str) -> bool:
    """Tell whether a line is blank or a comment."""
    return not line or line.isspace() or line.lstrip().startswith(_COMMENTS)


def is_torn(line: str) -> bool:
    """Tell whether a quotation mark is left open in a line, so that its cells cannot be told."""
    return line.count('"') % 2 == 1


def cells(line: str, delimiter: str) -> list[str]:
    """Cut one line into cells."""
    try:
        rows = list(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
    except csv.Error:
        return [line]
    return rows[0] if rows else []


def guess_delimiter(header: str, below: str) -> str:
    """Choose the delimiter that cuts the header and the line below it into the most cells alike."""
    best, best_score = ",", 0
    for delimiter in _DELIMITERS:
        wide = len(cells(header, delimiter))
        # A comma inside a header ("Suction Pressure, psig") or inside a number (12,5) must not win over
        # a delimiter that both lines share.
        same = 2 if below and len(cells(below, delimiter)) == wide else 1
        if wide > 1 and wide * same > best_score:
            best, best_score = delimiter, wide * same
            if same == 2 and delimiter != ",":
                break
    return best


def find_header(
    lines: Sequence[str], *, known: Callable[[str], str | None], delimiter: str | None
) -> tuple[int, str, bool] | None:
    """Find the header line.

    Parameters
    ----------
    lines : sequence of str
        The file's lines, or as many as have come so far.
    known : callable
        Gives "time" or "channel" for a header cell that is understood, else None.
    delimiter : str or None
        As the map file gives it.

    Returns
    -------
    tuple of int, str, bool or None
        Index of the line, the delimiter, and whether the line names both a time and a channel (or the
        search has ended), so that more lines would not change the answer. None where all is comment.
    """
    first: tuple[int, str] | None = None
    timed: tuple[int, str] | None = None
    seen = 0
    for i, line in enumerate(lines):
        if is_comment(line):
            continue
        below = next((x for x in lines[i + 1 : i + 10] if not is_comment(x)), "")
        mark = delimiter or guess_delimiter(line, below)
        kinds = [known(cell) for cell in cells(line, mark)]
        if "time" in kinds and "channel" in kinds:
            return i, mark, True
        first = first or (i, mark)
        if "time" in kinds and timed is None:
            timed = (i, mark)
        seen += 1
        if seen >= _LOOK:
            break
    chosen = timed or first
    return None if chosen is None else (*chosen, seen >= _LOOK)


def cut(
    lines: Sequence[str], *, header_at: int, delimiter: str, source: str, whole_last_line: bool = True
) -> Sheet:
    """Cut the lines below the header into columns.

    A line that repeats the header (a logger that started again) and comments are left out. A row with fewer
    cells than the header has blanks at its end; one with more is dropped. A last line that is short and has
    no line end was cut off while being written, and is dropped.

    Raises
    ------
    DataError
        If more than one row in twenty has more cells than the header, or a line is too long to be one.
    """
    headers = tuple(cell.strip() for cell in cells(lines[header_at], delimiter))
    wide = len(headers)
    header_text = lines[header_at].strip()
    body, numbers = [], []
    repeats = comments_below = 0
    for number, line in enumerate(lines[header_at + 1 :], start=header_at + 2):
        if is_comment(line):
            comments_below += bool(line.strip())
        elif line.strip() == header_text:
            repeats += 1
        else:
            body.append(line)
            numbers.append(number)
    dropped: list[str] = []
    torn = [i for i, line in enumerate(body) if is_torn(line)]
    if torn:
        dropped.append(
            f"{source}: {len(torn)} row(s) with an open quotation mark were dropped, the first at line "
            f"{numbers[torn[0]]}."
        )
        for i in reversed(torn):
            del body[i], numbers[i]
    rows = _rows(body, delimiter=delimiter, source=source, lines=numbers)
    notes: list[str] = []
    if repeats:
        notes.append(f"{source}: the header comes {repeats + 1} times; the logger was started again.")
    if comments_below:
        notes.append(f"{source}: {comments_below} comment line(s) between the readings were left out.")
    if rows and not whole_last_line and len(rows[-1]) < wide:
        dropped.append(f"{source}: the last row (line {numbers[-1]}) is cut off and was dropped.")
        rows.pop()
        numbers.pop()
    rows, numbers = _even(rows, numbers, wide=wide, source=source, dropped=dropped)
    columns: list[Sequence[str]] = list(zip(*rows, strict=True)) if rows else [() for _ in headers]
    return Sheet(
        source=source,
        headers=headers,
        columns=columns,
        lines=numbers,
        header_line=header_at + 1,
        delimiter=delimiter,
        comments=tuple(line for line in lines[:header_at] if is_comment(line)),
        dropped=tuple(dropped),
        notes=tuple(notes),
    )


def _rows(body: list[str], *, delimiter: str, source: str, lines: list[int]) -> list[list[str]]:
    try:
        rows = list(csv.reader(body, delimiter=delimiter, skipinitialspace=True))
        if len(rows) != len(body):
            # A quotation mark in the middle of a cell can still join lines.
            rows = [next(csv.reader([line], delimiter=delimiter, skipinitialspace=True)) for line in body]
    except csv.Error as err:
        longest = max(range(len(body)), key=lambda i: len(body[i]))
        raise DataError(
            f"{source}: line {lines[longest]} is {len(body[longest]):,} characters long and cannot be a row "
            "of readings. Export the log again as CSV with one row a line."
        ) from err
    return rows


def _even(
    rows: list[list[str]], numbers: list[int], *, wide: int, source: str, dropped: list[str]
) -> tuple[list[list[str]], list[int]]:
    """Give each row as many cells as the header."""
    if all(width == wide for width in set(map(len, rows))):
        return rows, numbers
    kept, kept_numbers, odd = [], [], []
    for row, number in zip(rows, numbers, strict=True):
        if len(row) > wide:
            if any(cell.strip() for cell in row[wide:]):
                odd.append(number)
                continue
            row = row[:wide]
        kept.append(row + [""] * (wide - len(row)) if len(row) < wide else row)
        kept_numbers.append(number)
    if len(odd) > _ODD_ROWS * len(rows):
        raise DataError(
            f"{source}: {len(odd)} of {len(rows)} rows have more cells than the {wide} of the header, the "
            f"first at line {odd[0]}. If a comma is the decimal mark, export with semicolons between the "
            "cells; "
            'if another mark is between them, give it in the map file: delimiter = ";".'
        )
    if odd:
        dropped.append(
            f"{source}: {len(odd)} row(s) with more cells than the header were dropped, the first at line "
            f"{odd[0]}."
        )
    return kept, kept_numbers
