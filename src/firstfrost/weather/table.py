"""Hours of weather from a plain CSV: time, temperature, and where known humidity, dew point and pressure.

Headers name what a column is and its unit in brackets: `time`, `temperature [degF]`, `humidity [%]`, `dew
point [degF]`, `pressure [hPa]`. Times are ISO 8601 (`2024-01-15 06:00`); the value holds at that time. Rows
may lie any time apart; they are brought to even hours by the mean of each hour, and an hour without a row is
a gap.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from firstfrost.errors import DataError, UnitError
from firstfrost.quantities.convert import to_si
from firstfrost.quantities.units import Kind
from firstfrost.refrigerants.curves import Floats
from firstfrost.weather.hours import BEFORE, Hours

_HEADER: Final = re.compile(r"\s*(?P<name>.*?)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?\s*")
_NAMES: Final[dict[str, tuple[str, ...]]] = {
    "time": ("time", "datetime", "timestamp", "date"),
    "temperature": ("temperature", "temp", "outdoor temperature", "outdoor air temp", "dry bulb", "t out"),
    "humidity": ("humidity", "relative humidity", "rh", "outdoor humidity"),
    "dew point": ("dew point", "dewpoint", "frost point"),
    "pressure": ("pressure", "station pressure", "barometer"),
}
_KINDS: Final[dict[str, Kind]] = {
    "temperature": "temperature",
    "humidity": "humidity",
    "dew point": "temperature",
    "pressure": "pressure_absolute",
}
_BOUNDS: Final = {
    "temperature": (-60.0, 55.0),
    "humidity": (0.0, 1.1),
    "dew point": (-80.0, 40.0),
    "pressure": (45000.0, 110000.0),
}
_EMPTY: Final = {"", "na", "n/a", "nan", "null", "-", "--", "m"}
EXAMPLE: Final = "time,temperature [degF],humidity [%]"


def hours_of(rows: list[list[str]], source: str, *, altitude_m: float = 0.0) -> Hours:
    """Hours of a file's rows.

    Raises
    ------
    DataError
        A column is missing or has no unit, a value cannot be read or cannot be in its unit; with the line.
    """
    columns = _columns(rows[0], source)
    body = [(line, row) for line, row in enumerate(rows[1:], 2) if any(cell.strip() for cell in row)]
    if not body:
        raise DataError(f"{source} has a header and no rows. Expected one row for each hour.")
    at, _ = columns["time"]
    times = [_time(row, at, line, source) for line, row in body]
    values = {
        name: _values(body, index, unit, name, source)
        for name, (index, unit) in columns.items()
        if name != "time"
    }
    return _even(times, values, [line for line, _ in body], source, altitude_m)


def _columns(header: list[str], source: str) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for index, cell in enumerate(header):
        match = _HEADER.fullmatch(cell.strip().lstrip("\ufeff"))
        if match is None:
            continue
        plain = re.sub(r"[\s_-]+", " ", match["name"]).strip().lower()
        for name, spellings in _NAMES.items():
            if plain in spellings and name not in found:
                found[name] = index, (match["unit"] or "").strip()
    for name in ("time", "temperature"):
        if name not in found:
            raise DataError(
                f"{source}, line 1 has no column for {name}: {', '.join(header)!r}. Expected a "
                "header such as "
                f'"{EXAMPLE}", or an EPW or TMY3 file.'
            )
    for name, (_, unit) in found.items():
        if name in ("temperature", "dew point", "pressure") and not unit:
            raise DataError(
                f"{source}, line 1: the column {name} has no unit. Write it in brackets, such as "
                f'"{name} [{"hPa" if name == "pressure" else "degF"}]".'
            )
    return found


def _time(row: list[str], at: int, line: int, source: str) -> datetime:
    text = row[at].strip() if at < len(row) else ""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as err:
        raise DataError(
            f"{source}, line {line}: the time is {text!r}. Expected one such as 2024-01-15 06:00."
        ) from err
    # The season goes by the station's own standard time; an offset is the station's.
    return moment.replace(tzinfo=None)


def _values(body: list[tuple[int, list[str]]], at: int, unit: str, name: str, source: str) -> Floats:
    raw = np.full(len(body), np.nan)
    for n, (line, row) in enumerate(body):
        text = row[at].strip() if at < len(row) else ""
        if text.lower() in _EMPTY:
            continue
        try:
            raw[n] = float(text)
        except ValueError as err:
            raise DataError(
                f"{source}, line {line}: the {name} is {text!r}. Expected a number, or nothing "
                "where it is not "
                "known."
            ) from err
    if name == "humidity" and not unit:
        unit = "%" if np.nanmax(raw, initial=0.0) > 1.5 else "1"
    try:
        values = np.asarray(to_si(raw, unit, _KINDS[name], where=f"{source}, line 1: the column {name}"))
    except UnitError as err:
        raise DataError(str(err)) from err
    low, high = _BOUNDS[name]
    wrong = np.flatnonzero((values < low) | (values > high))
    if len(wrong):
        line = body[int(wrong[0])][0]
        raise DataError(
            f"{source}, line {line}: the {name} is {raw[wrong[0]]:g} {unit}, and {len(wrong)} rows "
            "in all cannot "
            f"be outdoor air in that unit. Check the unit in the header"
            + (f': "{name} [degF]"?' if _kind_of(name) and values[wrong[0]] > high else ".")
        )
    return values


def _kind_of(name: str) -> bool:
    return _KINDS[name] == "temperature"


def _even(
    times: list[datetime], values: dict[str, Floats], lines: list[int], source: str, altitude_m: float
) -> Hours:
    """Bring rows to even hours; an hour holds what lies within half an hour of it."""
    order = sorted(range(len(times)), key=times.__getitem__)
    notes = []
    if order != list(range(len(times))):
        notes.append("Rows are not in the order of time, and are sorted.")
    first = _round_hour(times[order[0]])
    slots = np.array([round((_round_hour(t) - first).total_seconds() / 3600.0) for t in times])
    count = int(slots.max()) + 1
    if count < 24 or count > 30 * 366 * 24:
        raise DataError(
            f"{source} spans {count} hours, from {times[order[0]]} to {times[order[-1]]}. Expected "
            "a day to some "
            "years. Check the times."
        )
    if len(times) > 8 * count:
        notes.append("Rows lie closer than an hour, and each hour takes their mean.")
    made = {name: _means(slots, column, count) for name, column in values.items()}
    moments = []
    for hour in range(count):
        moment = first + timedelta(hours=hour)
        moments.append(((BEFORE[moment.month - 1] + moment.day - 1) * 24 + moment.hour) * 3600.0)
    nothing = np.full(count, np.nan)
    line_of = np.full(count, lines[0], dtype=int)
    line_of[slots] = lines
    return Hours(
        source=source,
        place="",
        altitude_m=altitude_m,
        step_s=3600.0,
        moments_s=np.array(moments),
        lines=tuple(line_of.tolist()),
        dry_c=made["temperature"],
        dew_c=made.get("dew point", nothing),
        humidity=made.get("humidity", nothing),
        pressure_pa=made.get("pressure", nothing),
        notes=tuple(notes),
    )


def _round_hour(moment: datetime) -> datetime:
    return (moment + timedelta(minutes=30)).replace(minute=0, second=0, microsecond=0)


def _means(slots: Floats, column: Floats, count: int) -> Floats:
    good = np.isfinite(column)
    total = np.bincount(slots[good].astype(int), weights=column[good], minlength=count)
    number = np.bincount(slots[good].astype(int), minlength=count)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(number > 0, total / np.maximum(number, 1), np.nan))
