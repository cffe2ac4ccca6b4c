"""From a file's cells to typed columns: which is the time, which are channels, and in which unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import tzinfo
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError, UnitError
from firstfrost.quantities import Unit, unit
from firstfrost.trace.channels import Channel
from firstfrost.trace.columns import ColumnMap, Role, refuse_unitless, refuse_unknown, role_of, unit_for
from firstfrost.trace.numbers import common_decimal, read_numbers
from firstfrost.trace.plausible import bound, si_of
from firstfrost.trace.text import Sheet
from firstfrost.trace.times import Times, read_times, zone_of

Floats = NDArray[np.float64]

MISSING: Final = frozenset(
    {
        "ol",
        "o.l",
        "o.l.",
        "open",
        "short",
        "err",
        "error",
        "fault",
        "fail",
        "n/a",
        "na",
        "#n/a",
        "null",
        "none",
    }
    | {"nan", "inf", "-inf", "?", "-", "--", "---", "----", "-----", "over", "under", "ovr", "udr", "lost"}
    | {
        "bad",
        "invalid",
        "missing",
        "no data",
        "offline",
        "off",
        "x",
        "*",
        "**",
        "***",
        "****",
        "#value!",
        "#div/0!",
    }
    | {"overload", "over range", "under range", "disconnected", "no probe", "open circuit", "+ol", "-ol", "."}
)
"""What loggers write where a probe gives nothing."""


@dataclass(frozen=True, kw_only=True)
class Frame:
    """How the columns of one file are to be read."""

    source: str
    headers: tuple[str, ...]
    roles: tuple[Role, ...]
    units: tuple[Unit | None, ...]
    time_at: int
    date_at: int | None
    has_units_row: bool
    ignored: tuple[str, ...]
    notes: tuple[str, ...]
    columns: ColumnMap | None = None

    @property
    def time_header(self) -> str:
        """The header of the time column."""
        return self.headers[self.time_at]


@dataclass(kw_only=True)
class Column:
    """One channel of one file, in memory units, before the rows are ordered."""

    header: str
    channel: Channel
    unit: Unit
    values: Floats
    dropped: int = 0
    why: list[str] = field(default_factory=list)
    sure: bool = False
    """Whether the map file stands by the unit."""


@dataclass(kw_only=True)
class Table:
    """One file's rows, in the order of the file."""

    source: str
    times: Times
    lines: Sequence[int]
    columns: list[Column]
    ignored: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    dropped: tuple[str, ...] = ()
    comments: tuple[str, ...] = ()


def _is_unit(text: str) -> bool:
    text = text.strip().strip("[]()").strip()
    if not text:
        return True
    if len(text) > 16 or text[0].isdigit() or text[0] in "+-.,":
        return False
    try:
        unit(text)
    except UnitError:
        return False
    return True


def _units_row(first: Sequence[str], roles: Sequence[Role], time_at: int) -> bool:
    """Tell whether the row under the header gives units rather than readings."""
    clock = first[time_at].strip() if time_at < len(first) else ""
    if any(letter.isdigit() for letter in clock):
        return False
    cells = [text for text, role in zip(first, roles, strict=False) if role.what == "channel"]
    named = [text for text in cells if text.strip()]
    return bool(named) and all(_is_unit(text) for text in named)


def make_frame(
    headers: Sequence[str],
    first: Sequence[str],
    *,
    source: str,
    columns: ColumnMap | None,
    field_units: Sequence[str | None] = (),
) -> Frame:
    """Decide how each column is read.

    Parameters
    ----------
    headers : (c,) sequence of str
        As in the file.
    first : (c,) sequence of str
        The first row below them, which may hold units; empty where there is none.
    source : str
        File name, for messages.
    columns : ColumnMap or None
        The map file.
    field_units : (c,) sequence of str or None
        Units that the file keeps beside its headers (Parquet metadata, SenML).

    Raises
    ------
    DataError
        If no column gives the time, a column is not understood, or lacks a unit or has one of the wrong kind.
    """
    roles = [role_of(header, columns) for header in headers]
    notes: list[str] = []
    ignored = [header for header, role in zip(headers, roles, strict=True) if role.what == "ignore"]
    for i, header in enumerate(headers):
        if not header.strip() and roles[i].what == "unknown":
            roles[i] = Role(what="ignore")
            if i < len(first) and first[i].strip():
                notes.append(f"{source}: column {i + 1} has no name and was left out.")
                ignored.append(f"column {i + 1}")
    times = [i for i, role in enumerate(roles) if role.what == "time"]
    dates = [i for i, role in enumerate(roles) if role.what == "date"]
    if not times and dates:
        times, dates = dates, []
    if not times:
        shown = ", ".join(repr(h) for h in headers[:12]) + (", ..." if len(headers) > 12 else "")
        raise DataError(
            f"{source}: no column gives the time. Its columns are {shown}. Expected one named time, time "
            "[s] or timestamp, or a pair date and time. Say which it is in a map file (--columns "
            'MAP.toml):\n[time]\n  column = "..."'
        )
    for i in times[1:]:
        notes.append(f"{source}: {headers[i]!r} is a second time column and was left out.")
        ignored.append(headers[i])
    unknown = [header for header, role in zip(headers, roles, strict=True) if role.what == "unknown"]
    if unknown and (columns is None or columns.others is None):
        raise refuse_unknown(source, unknown)
    ignored += unknown
    if not any(role.what == "channel" for role in roles):
        raise DataError(
            f"{source}: no column gives a channel. Expected some such as suction_pressure [psig] or "
            "outdoor_coil_temp [degF] beside the time. Export the log with its readings."
        )
    has_units_row = _units_row(first, roles, times[0])
    units = _units(headers, roles, first if has_units_row else (), field_units, source=source)
    _once(headers, roles, source=source)
    if has_units_row:
        notes.append(f"{source}: the row under the header was read as units.")
        cell = first[times[0]].strip().strip("[]()")
        if roles[times[0]].unit is None and cell:
            roles[times[0]] = replace(roles[times[0]], unit=cell)
    return Frame(
        source=source,
        headers=tuple(headers),
        roles=tuple(roles),
        units=tuple(units),
        time_at=times[0],
        date_at=dates[0] if dates else None,
        has_units_row=has_units_row,
        ignored=tuple(ignored),
        notes=(*notes, *_marks_taken(headers, roles, units, source=source)),
        columns=columns,
    )


def _once(headers: Sequence[str], roles: Sequence[Role], *, source: str) -> None:
    seen: dict[str, str] = {}
    for header, role in zip(headers, roles, strict=True):
        if role.channel is None:
            continue
        name = role.channel.name
        if name in seen:
            raise DataError(
                f"{source}: columns {seen[name]!r} and {header!r} both give {name}. Expected one column a "
                "channel. "
                f'Leave one out in a map file (--columns MAP.toml):\n[columns]\n  "{header}" = "ignore"'
            )
        seen[name] = header


def _units(
    headers: Sequence[str],
    roles: Sequence[Role],
    row: Sequence[str],
    beside: Sequence[str | None],
    *,
    source: str,
) -> list[Unit | None]:
    units: list[Unit | None] = []
    unitless: list[tuple[str, Channel]] = []
    for i, (header, role) in enumerate(zip(headers, roles, strict=True)):
        if role.channel is None:
            units.append(None)
            continue
        below = row[i].strip().strip("[]()").strip() if i < len(row) else ""
        text = role.unit or (beside[i] if i < len(beside) else None) or below
        if (
            role.unit
            and below
            and unit_for(role.channel, role.unit, source=source, header=header)
            != unit_for(role.channel, below, source=source, header=header)
        ):
            raise DataError(
                f"{source}: column {header!r} is in {role.unit!r} by its header and in {below!r} by the row "
                "of units. Expected one unit. Say which in a map file (--columns MAP.toml), and take the "
                "row out:\n"
                f'[columns]\n  "{header}" = "{role.channel.name} [{below}]"'
            )
        if not text and role.channel.kind == "switch":
            text = "1"
        if not text:
            unitless.append((header, role.channel))
            units.append(None)
        else:
            units.append(unit_for(role.channel, text, source=source, header=header))
    if unitless:
        raise refuse_unitless(source, unitless)
    return units


def _marks_taken(
    headers: Sequence[str], roles: Sequence[Role], units: Sequence[Unit | None], *, source: str
) -> list[str]:
    notes = []
    for header, role, found in zip(headers, roles, units, strict=True):
        if (
            found is None
            or role.channel is None
            or role.channel.kind != "pressure"
            or found.gauge is not None
        ):
            continue
        taken = "absolute" if found.name == "Pa" else "gauge"
        notes.append(
            f"{source}: column {header!r} says neither gauge nor absolute; {found.name} was taken as "
            f"{taken}. Write {found.name} gauge or {found.name} absolute to say it."
        )
    return notes


def time_words(text: str | None) -> tuple[str | None, str | None]:
    """Split what stands in brackets after `time` into a unit and a zone."""
    if text is None:
        return None, None
    try:
        if "time" in unit(text).kinds:
            return text, None
    except UnitError:
        pass
    return None, text


def read_sheet(
    frame: Frame,
    sheet: Sheet,
    *,
    zone: tzinfo | None,
    atmosphere_pa: float,
    decimal: str | None = None,
    times: Times | None = None,
    strict: bool = True,
) -> Table:
    """Turn the cells of a file into times and readings.

    Parameters
    ----------
    frame : Frame
        How to read each column.
    sheet : Sheet
        The cells, without the row of units.
    zone : tzinfo or None
        The zone of times that carry none.
    atmosphere_pa : float
        Added to gauge pressures. [Pa]
    decimal : {".", ","} or None
        The decimal mark, where it is known.
    times : Times or None
        Where the file gives them ready (Parquet).
    strict : bool
        Whether to refuse columns that hold no numbers or a wrong unit; a live feed sees too little for it.

    Raises
    ------
    DataError
        If times or readings cannot be used.
    """
    channel_at = [i for i, role in enumerate(frame.roles) if role.what == "channel"]
    texts_at = [i for i in channel_at if not isinstance(sheet.columns[i], np.ndarray)]
    if decimal is None:
        decimal = common_decimal([sheet.columns[i] for i in texts_at])
    if times is None:
        times = _times(frame, sheet, zone=zone, decimal=decimal, strict=strict)
    columns = []
    for i in channel_at:
        channel, found = frame.roles[i].channel, frame.units[i]
        assert channel is not None
        assert found is not None
        columns.append(
            _column(
                sheet.columns[i],
                frame.headers[i],
                channel,
                found,
                source=frame.source,
                decimal=decimal,
                atmosphere_pa=atmosphere_pa,
                strict=strict,
                sure=frame.columns is not None and frame.headers[i] in frame.columns.sure,
            )
        )
    if strict and columns and not any(np.isfinite(column.values).any() for column in columns):
        raise DataError(
            f"{frame.source}: none of its {len(columns)} channels holds a single usable reading in "
            f"{len(times.good)} rows. Expected numbers. Check the probes, and export the log again."
        )
    return Table(
        source=frame.source,
        times=times,
        lines=sheet.lines,
        columns=columns,
        ignored=frame.ignored,
        notes=(*sheet.notes, *frame.notes, *times.notes),
        dropped=(*sheet.dropped, *times.dropped),
        comments=sheet.comments,
    )


def _times(frame: Frame, sheet: Sheet, *, zone: tzinfo | None, decimal: str | None, strict: bool) -> Times:
    header = frame.time_header
    texts = sheet.columns[frame.time_at]
    if frame.date_at is not None:
        days = sheet.columns[frame.date_at]
        texts = [f"{day.strip()} {clock.strip()}" for day, clock in zip(days, texts, strict=True)]
        header = f"{frame.headers[frame.date_at]} {header}"
    unit_text, zone_text = time_words(frame.roles[frame.time_at].unit)
    if zone_text is not None and zone_text.casefold() not in ("local", "local time"):
        zone = zone_of(zone_text, where=f"{frame.source}, column {header!r},")
    elif zone_text is None and "utc" in header.casefold():
        zone = zone_of("UTC", where=header)
    return read_times(
        texts,
        source=frame.source,
        header=header,
        lines=sheet.lines,
        unit=unit_text,
        zone=zone,
        time_format=frame.columns.time_format if frame.columns else None,
        decimal=decimal,
        strict=strict,
    )


def _column(
    cells: Sequence[str] | Floats,
    header: str,
    channel: Channel,
    found: Unit,
    *,
    source: str,
    decimal: str | None,
    atmosphere_pa: float,
    strict: bool,
    sure: bool,
) -> Column:
    where = f"{source}, column {header!r}"
    why: list[str] = []
    odd: dict[str, int] = {}
    if isinstance(cells, np.ndarray):
        raw, blank = cells.astype(np.float64), int(np.isnan(cells).sum())
        raw = np.where(np.isfinite(raw), raw, np.nan)
    else:
        raw, odd = read_numbers(cells, decimal=decimal, switch=channel.kind == "switch", where=where)
        blank = int(np.isnan(raw).sum()) - sum(odd.values())
    if strict:
        _check_texts(odd, len(raw) - blank, where=where, channel=channel)
        if channel.kind == "switch" and "voltage" not in found.kinds and bool((raw > 1.5).any()):
            raise DataError(
                f"{where}: {channel.name} reads up to {np.nanmax(raw):g}, and a switch is 0 or 1. If it is "
                "the "
                f'voltage of the call, say so in a map file (--columns MAP.toml):\n[columns]\n  "{header}" '
                f'= "{channel.name} [V]"'
            )
    values = si_of(raw, found, channel, atmosphere_pa=atmosphere_pa)
    if strict:
        values, outside = bound(
            values, channel, found, source=source, header=header, atmosphere_pa=atmosphere_pa, sure=sure
        )
    else:
        with np.errstate(invalid="ignore"):
            out = (values < channel.lowest) | (values > channel.highest)
        values, outside = np.where(out, np.nan, values), int(out.sum())
    if odd:
        most = sorted(odd.items(), key=lambda item: -item[1])[:3]
        why.append(f"{sum(odd.values())} not a number ({', '.join(f'{text!r}' for text, _ in most)})")
    if blank:
        why.append(f"{blank} blank")
    if outside:
        why.append(f"{outside} outside what a probe can read")
    return Column(
        header=header,
        channel=channel,
        unit=found,
        values=values,
        dropped=blank + sum(odd.values()) + outside,
        why=why,
        sure=sure,
    )


def _check_texts(odd: dict[str, int], filled: int, *, where: str, channel: Channel) -> None:
    strange = {text: n for text, n in odd.items() if text.casefold().strip() not in MISSING}
    count = sum(strange.values())
    if count > 0.5 * filled:
        text = max(strange, key=lambda key: strange[key])
        raise DataError(
            f"{where}: {count} of {filled} cells hold no number, such as {text[:40]!r}. Expected plain "
            f"numbers for {channel.name}, with the unit in the header. Export numbers, or leave the column "
            "out in a map file "
            '(--columns MAP.toml) with "ignore".'
        )
