"""JSON to cells: plain objects, one a row, and SenML (RFC 8428)."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, Final

from firstfrost.errors import DataError
from firstfrost.trace.text import Sheet, split_lines

SENML_UNITS: Final[Mapping[str, str]] = {
    # RFC 8428, section 12.1: "%" is the ratio 0 to 1 under another name ("/"), not a percentage.
    "%": "1",
    "/": "1",
    "%RH": "%RH",
    "Cel": "degC",
    "K": "K",
    "Pa": "Pa",
    "V": "V",
    "A": "A",
    "W": "W",
    "m3/s": "m3/s",
    "s": "s",
}
"""Units of the SenML registry -> units as Firstfrost writes them; others go through as they are."""
RELATIVE_BELOW: Final = 2.0**28
"""RFC 8428, section 4.5.3: times below are relative, from here on Unix time. [s]"""
_VERSION: Final = 10
_LAST_PART: Final = re.compile(r"[^/:.]+$")
_KNOWN: Final = frozenset(
    {"bn", "bt", "bu", "bv", "bs", "bver", "n", "u", "v", "vs", "vb", "vd", "s", "t", "ut"}
)


def looks_like_json(text: str) -> bool:
    """Tell whether a text file is JSON, by its first letter."""
    return text.lstrip("\ufeff \t\r\n")[:1] in ("{", "[")


def read_json(text: str, *, source: str) -> tuple[Sheet, tuple[str | None, ...]]:
    """Read JSON lines, a JSON array of objects, or SenML.

    Returns
    -------
    tuple of Sheet and tuple of str or None
        The cells, and the unit of each column where the file gives it (SenML).

    Raises
    ------
    DataError
        If it is not JSON, or not of one of these forms.
    """
    records, lines = _records(text.lstrip("\ufeff"), source=source)
    if not records:
        raise DataError(f"{source} holds no records. Expected JSON objects with a time and readings.")
    if any(_is_senml(record) for record in records[:50]):
        return _senml(records, lines, source=source)
    return plain_objects(records, lines, source=source), ()


def _records(text: str, *, source: str) -> tuple[list[dict[str, Any]], list[int]]:
    found: list[Any] = []
    lines: list[int] = []
    try:
        whole = json.loads(text)
        found = whole if isinstance(whole, list) else [whole]
        lines = list(range(1, len(found) + 1))
    except (ValueError, RecursionError) as first:
        rows = [(i, line) for i, line in enumerate(split_lines(text), start=1) if line.strip()]
        for at, (number, line) in enumerate(rows):
            try:
                one = json.loads(line)
            except (ValueError, RecursionError) as err:
                if at == len(rows) - 1 and found:
                    continue  # a last line cut off while being written
                # In an array over several lines the whole text knows the place better than the line.
                if text.startswith("[") and isinstance(first, json.JSONDecodeError):
                    number = first.lineno
                raise DataError(
                    f"{source} is not JSON at line {number}. Expected one JSON object a line, an array of "
                    "objects, or SenML. Export the log again."
                ) from err
            for record in one if isinstance(one, list) else [one]:
                found.append(record)
                lines.append(number)
    for record, number in zip(found, lines, strict=True):
        if not isinstance(record, dict):
            raise DataError(
                f"{source}: record {number} is {str(record)[:40]!r}, not a JSON object. Expected objects "
                "with a time and "
                'readings, such as {"time": "2025-01-15T08:30:00Z", "power [W]": 2100}.'
            )
    return found, lines


def _is_senml(record: dict[str, Any]) -> bool:
    return ("n" in record or "bn" in record) and not any(
        key not in _KNOWN and not key.endswith("_") for key in record
    )


def cell(value: object) -> str:
    """A JSON value as the text of a cell; numbers keep every digit."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "1" if value else "0"
    return value if isinstance(value, str) else repr(value)


def plain_objects(records: list[dict[str, Any]], lines: list[int], *, source: str) -> Sheet:
    """Cells of objects whose keys are headers."""
    headers = list(dict.fromkeys(key for record in records for key in record))
    for record, number in zip(records, lines, strict=True):
        for key, value in record.items():
            if isinstance(value, (dict, list)):
                raise DataError(
                    f"{source}: record {number} holds "
                    f"{'an object' if isinstance(value, dict) else 'an array'} under {key!r}. Expected one "
                    "number or text a key. Flatten the records first."
                )
    return Sheet(
        source=source,
        headers=tuple(headers),
        columns=[[cell(record.get(header)) for record in records] for header in headers],
        lines=lines,
        header_line=1,
        delimiter=",",
        comments=(),
    )


def _number(record: dict[str, Any], key: str, *, source: str, number: int) -> float:
    value = record.get(key, 0.0)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise DataError(f"{source}: SenML record {number} has {key} = {value!r}. Expected a number.")
    try:
        return float(value)
    except OverflowError as err:
        raise DataError(f"{source}: SenML record {number} has {key} too large for a number.") from err


def _senml(
    records: list[dict[str, Any]], lines: list[int], *, source: str
) -> tuple[Sheet, tuple[str | None, ...]]:
    base_name, base_unit = "", None
    base_time = base_value = 0.0
    units: dict[str, str | None] = {}
    rows: dict[float, dict[str, str]] = {}
    again: list[tuple[float, dict[str, str]]] = []
    relative = absolute = False
    for record, number in zip(records, lines, strict=True):
        odd = next((key for key in record if key.endswith("_")), None)
        if odd is not None or _number(record, "bver", source=source, number=number) > _VERSION:
            raise DataError(
                f"{source}: SenML record {number} has {odd or 'bver'!r}, which this version cannot read. "
                f"Expected SenML version {_VERSION} (RFC 8428). Export it so."
            )
        base_name = str(record.get("bn", base_name))
        base_unit = record.get("bu", base_unit)
        if "bt" in record:
            base_time = _number(record, "bt", source=source, number=number)
        if "bv" in record:
            base_value = _number(record, "bv", source=source, number=number)
        if "n" not in record and not any(key in record for key in ("v", "vs", "vb")):
            continue
        full = base_name + str(record.get("n", ""))
        part = str(record.get("n", "")) or full
        match = _LAST_PART.search(part)
        name = match[0] if match else part
        unit_text = record.get("u", base_unit)
        time_s = base_time + _number(record, "t", source=source, number=number)
        relative |= time_s < RELATIVE_BELOW
        absolute |= time_s >= RELATIVE_BELOW
        if "v" in record or ("vs" not in record and "vb" not in record):
            if "v" not in record:
                continue
            value = cell(_number(record, "v", source=source, number=number) + base_value)
        else:
            value = cell(record["vs"] if "vs" in record else record["vb"])
        said = SENML_UNITS.get(str(unit_text), str(unit_text)) if unit_text is not None else None
        if units.setdefault(name, said) is None:
            units[name] = said
        if said is not None and units[name] != said:
            raise DataError(
                f"{source}: SenML record {number} gives {name!r} in {said!r}, and it was in {units[name]!r} "
                "before. Expected one unit a name."
            )
        row = rows.setdefault(time_s, {})
        if name in row:
            again.append((time_s, {name: value}))
        else:
            row[name] = value
    if not rows:
        raise DataError(f"{source} holds no SenML readings. Expected records with n, t and v.")
    if relative and absolute:
        raise DataError(
            f"{source}: some SenML times are relative (below 2**28 s) and some are Unix time. Expected one "
            "or the other."
        )
    every = [*rows.items(), *again]
    names = list(units)
    sheet = Sheet(
        source=source,
        headers=("time", *names),
        columns=[[repr(t) for t, _ in every], *([row.get(name, "") for _, row in every] for name in names)],
        lines=range(1, len(every) + 1),
        header_line=1,
        delimiter=",",
        comments=(),
        notes=(f"{source} was read as SenML.",)
        + (
            (f"{source}: SenML times below 2**28 s are relative; they were taken as bare seconds.",)
            if relative
            else ()
        ),
    )
    return sheet, ("s", *(units[name] for name in names))
