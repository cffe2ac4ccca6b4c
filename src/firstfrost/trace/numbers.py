"""From the texts of cells to readings; what is not a number is missing, and counted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError

Floats = NDArray[np.float64]

_COMMA_DECIMAL: Final = re.compile(r"[+-]?(?:\d{1,3}(?:[. ']\d{3})+|\d*),\d+(?:[eE][+-]?\d+)?")
_POINT_DECIMAL: Final = re.compile(r"[+-]?(?:\d{1,3}(?:[, ']\d{3})+|\d*)\.\d*(?:[eE][+-]?\d+)?")
_GROUPED: Final = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+")
_PLAIN: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
_ON: Final = frozenset({"on", "true", "yes", "closed", "energized", "energised", "call"})
_OFF: Final = frozenset({"off", "false", "no", "open", "none", "idle"})


def read_numbers(
    texts: Sequence[str], *, decimal: str | None = None, switch: bool = False, where: str = ""
) -> tuple[Floats, dict[str, int]]:
    """Read a column of numbers.

    Parameters
    ----------
    texts : (n,) sequence of str
        As they stand in the file.
    decimal : {".", ","} or None
        The decimal mark; None tells it from the texts of this column.
    switch : bool
        Whether words such as on and off are readings too.
    where : str
        File and column, for messages.

    Returns
    -------
    tuple of (n,) float64 and dict
        The numbers, NaN where there is none; and how often each text that is neither blank nor a number came.

    Raises
    ------
    DataError
        If points and commas both stand as decimal marks in the column.
    """
    if decimal != ",":
        try:
            values = np.array(texts, dtype=np.float64)
        except (ValueError, OverflowError):
            pass
        else:
            odd = {
                "a value that is not finite": int((~np.isfinite(values)).sum())
            }  # "nan" and "inf" are texts that float() takes
            values[~np.isfinite(values)] = np.nan
            return values, {text: count for text, count in odd.items() if count}
    counts: dict[str, int] = {}
    for text in texts:
        counts[text] = counts.get(text, 0) + 1
    mark = decimal or _decimal_mark(counts, where=where)
    table: dict[str, float] = {}
    odd_texts: dict[str, int] = {}
    for text, count in counts.items():
        value = _number(text, mark, switch=switch)
        table[text] = value
        if value != value and text.strip():
            odd_texts[text.strip()] = odd_texts.get(text.strip(), 0) + count
    return np.fromiter(map(table.__getitem__, texts), dtype=np.float64, count=len(texts)), odd_texts


def _decimal_mark(texts: dict[str, int], *, where: str) -> str:
    comma = point = ""
    for text in texts:
        plain = text.strip()
        if _COMMA_DECIMAL.fullmatch(plain) and not _GROUPED.fullmatch(plain):
            comma = comma or plain
        elif _POINT_DECIMAL.fullmatch(plain):
            point = point or plain
        if comma and point:
            raise DataError(
                f"{where}: both a comma and a point stand for the decimal mark ({comma!r} and {point!r}). "
                'Expected one of them. Say which in the map file: decimal = ",".'
            )
    if comma or point:
        return "," if comma else "."
    grouped = [text.strip() for text in texts if _GROUPED.fullmatch(text.strip())]
    if not grouped:
        return "."
    if any(text.lstrip("+-").startswith("0") for text in grouped):
        return ","
    raise DataError(
        f"{where}: {grouped[0]!r} can be a number with three decimals or one above a thousand. "
        'Say which in the map file: decimal = "," for decimals, decimal = "." for thousands.'
    )


def common_decimal(columns: Sequence[Sequence[str]]) -> str | None:
    """The decimal mark that the columns of a file share; None where they show none, or both.

    Looks at the first rows only, so that a growing file is read as the whole one is.
    """
    marks: set[str] = set()
    for column in columns:
        for text in set(column[:200]):
            plain = text.strip()
            if _GROUPED.fullmatch(plain):
                if plain.lstrip("+-").startswith("0"):
                    marks.add(",")
            elif _COMMA_DECIMAL.fullmatch(plain):
                marks.add(",")
            elif _POINT_DECIMAL.fullmatch(plain):
                marks.add(".")
    return marks.pop() if len(marks) == 1 else None


def _number(text: str, mark: str, *, switch: bool) -> float:
    plain = text.strip().replace("\u2212", "-").replace("\u00a0", " ")
    if mark == ",":
        if _COMMA_DECIMAL.fullmatch(plain):
            plain = re.sub(r"[. ']", "", plain).replace(",", ".")
        elif "." in plain and not re.fullmatch(r"[+-]?\d{1,3}(?:\.\d{3})+", plain):
            # With the mark told, 2.5 among commas is no number that can be trusted.
            return float("nan")
        else:
            plain = plain.replace(".", "")
    elif "," in plain or "'" in plain or " " in plain:
        if not (_GROUPED.fullmatch(plain) or _POINT_DECIMAL.fullmatch(plain)):
            return float("nan")
        plain = re.sub(r"[, ']", "", plain)
    if _PLAIN.fullmatch(plain):
        value = float(plain)
        return value if abs(value) != float("inf") else float("nan")
    if switch:
        word = plain.casefold()
        return 1.0 if word in _ON else 0.0 if word in _OFF else float("nan")
    return float("nan")
