"""Reading the files of one visit onto one time base."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError
from firstfrost.quantities import show_time
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.clock import Ordered, order
from firstfrost.trace.columns import ColumnMap, FileMap, known
from firstfrost.trace.frame import Column, Frame, Table, make_frame, read_sheet
from firstfrost.trace.gauge import as_absolute
from firstfrost.trace.plausible import Origin, check_physics, default_mark
from firstfrost.trace.receipt import ColumnRead, Receipt
from firstfrost.trace.text import Sheet, cells, cut, decode, find_header, is_comment, split_lines
from firstfrost.trace.times import instants, read_instant, zone_of
from firstfrost.trace.trace import Trace

Floats = NDArray[np.float64]

OWN_COMMENT: Final = re.compile(
    r"#\s*firstfrost trace(?:; epoch (?P<epoch>\S+?Z))?(?:; zone (?P<zone>\S+))?\s*"
)
"""The comment that `write_csv` puts above its header, so that a trace comes back as it was."""
_ARCHIVES: Final = (
    (b"PK\x03\x04", "a spreadsheet or zip archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"%PDF", "a PDF"),
)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A trace, and what was taken from its files."""

    trace: Trace
    receipt: Receipt


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What a reader has to be told beside the files."""

    atmosphere_pa: float
    columns: ColumnMap | None = None
    zone: str | None = None
    refrigerant: str | None = None


def read_trace(
    paths: Sequence[Path | str],
    *,
    atmosphere_pa: float,
    columns: Path | str | ColumnMap | None = None,
    zone: str | None = None,
    refrigerant: str | None = None,
) -> Reading:
    """Read the files of one visit.

    Parameters
    ----------
    paths : sequence of path
        CSV, Parquet, JSON lines or SenML. Several are joined on one time base.
    atmosphere_pa : float
        Ambient pressure at the site, added once to gauge pressures. [Pa]
    columns : path or ColumnMap, optional
        The map file.
    zone : str, optional
        The site's zone, for times that carry none.
    refrigerant : str, optional
        Lets wrong units be found from saturation, and gauge told from absolute where headers do not say.

    Returns
    -------
    Reading
        The trace in memory units, NaN where missing; and the receipt.

    Raises
    ------
    DataError
        If a file cannot be used.
    InputError
        If a path, the map file or the zone cannot be used.
    """
    chart = ColumnMap.from_toml(columns) if isinstance(columns, (str, Path)) else columns
    setting = Setting(atmosphere_pa=atmosphere_pa, columns=chart, zone=zone, refrigerant=refrigerant)
    if not paths:
        raise DataError("No file to read. Expected at least one log, as CSV, Parquet or JSON.")
    return join([read_file(Path(path), setting) for path in paths], setting)


def read_file(path: Path, setting: Setting) -> Table:
    """Read one file into a table, its rows in the order of the file.

    Raises
    ------
    DataError, InputError
        If it cannot be used.
    """
    source = path.name
    raw = read_bytes(path, "CSV, Parquet or JSON")
    columns = setting.columns
    zone = zone_for(source, setting)
    if raw[:4] == b"PAR1":
        from firstfrost.trace.parquet import read_parquet, times_of

        sheet, units, stamps = read_parquet(path, source=source)
        frame = make_frame(sheet.headers, (), source=source, columns=columns, field_units=units)
        at, times = frame.time_at, None
        if at in stamps:
            times = times_of(*stamps[at], zone=zone, source=source, header=frame.time_header)
        elif isinstance(sheet.columns[at], np.ndarray):
            sheet.columns[at] = [repr(float(t)) if t == t else "" for t in sheet.columns[at]]
        return read_sheet(frame, sheet, zone=zone, atmosphere_pa=setting.atmosphere_pa, times=times)
    for magic, what in _ARCHIVES:
        if raw.startswith(magic):
            raise DataError(
                f"{source} is {what}, not a log. Expected CSV, Parquet or JSON. Save or unpack it as CSV."
            )
    text, note = decode(raw, source=source, encoding=columns.encoding if columns else None)
    from firstfrost.trace.jsonlines import looks_like_json, read_json

    if looks_like_json(text):
        sheet, units = read_json(text, source=source)
        frame = make_frame(sheet.headers, (), source=source, columns=columns, field_units=units)
        table = read_sheet(frame, sheet, zone=zone, atmosphere_pa=setting.atmosphere_pa, decimal=".")
    else:
        table = read_lines(
            split_lines(text), source=source, setting=setting, whole_last_line=text.endswith(("\n", "\r"))
        )
    return replace(table, notes=(note, *table.notes)) if note else table


def read_bytes(path: Path, expected: str) -> bytes:
    """The bytes of a file, or an error that says why not.

    Raises
    ------
    DataError
        If it is not there, is a directory, or may not be read.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError as err:
        raise DataError(f"{path} does not exist. Expected a file with {expected}. Check the path.") from err
    except IsADirectoryError as err:
        raise DataError(
            f"{path} is a directory. Expected a file with {expected}. Name the files in it."
        ) from err
    except PermissionError as err:
        raise DataError(
            f"{path} may not be read. Expected a file with {expected}. Change its permissions."
        ) from err
    except (OSError, ValueError) as err:
        raise DataError(f"{str(path)!r} cannot be read: {err}. Expected a file with {expected}.") from err


def zone_for(source: str, setting: Setting) -> tzinfo | None:
    """The zone of times in a file that carry none.

    Raises
    ------
    InputError
        If its name is not known.
    """
    name = _zone_name(source, setting)
    return zone_of(name, where=_zone_from(source, setting)) if name else None


def _zone_name(source: str, setting: Setting) -> str | None:
    columns = setting.columns
    entry = columns.files.get(source) if columns else None
    return (entry.zone if entry else None) or (columns.zone if columns else None) or setting.zone


def _zone_from(source: str, setting: Setting) -> str:
    columns = setting.columns
    if columns is not None and (columns.zone or (source in columns.files and columns.files[source].zone)):
        return f"The map file {columns.source}"
    return "[site] zone"


def find_frame(
    lines: Sequence[str], *, source: str, columns: ColumnMap | None, ended: bool
) -> tuple[int, str, Frame] | None:
    """The frame of a CSV from its first lines, or None where more are needed to tell.

    Raises
    ------
    DataError
        If the header cannot be used, or the file has ended without one.
    """
    found = find_header(
        lines, known=lambda cell: known(cell, columns), delimiter=columns.delimiter if columns else None
    )
    if found is None:
        if not ended:
            return None
        raise DataError(
            f"{source} holds only comments. Expected a header line and readings below it. Export the log "
            "again."
        )
    at, delimiter, sure = found
    below = next((line for line in lines[at + 1 :] if not is_comment(line)), None)
    if not ended and (not sure or below is None):
        return None
    headers = tuple(cell.strip() for cell in cells(lines[at], delimiter))
    first = cells(below, delimiter) if below is not None else []
    return at, delimiter, make_frame(headers, first, source=source, columns=columns)


def read_lines(lines: Sequence[str], *, source: str, setting: Setting, whole_last_line: bool = True) -> Table:
    """Read the lines of a CSV into a table.

    Raises
    ------
    DataError
        If it cannot be used.
    """
    columns = setting.columns
    found = find_frame(lines, source=source, columns=columns, ended=True)
    assert found is not None
    at, delimiter, frame = found
    sheet = cut(lines, header_at=at, delimiter=delimiter, source=source, whole_last_line=whole_last_line)
    if frame.has_units_row:
        sheet = without_units_row(sheet)
    if not len(sheet.lines):
        raise DataError(
            f"{source} has a header but no rows. Expected readings below line {at + 1}. Export the log again."
        )
    zone = zone_for(source, setting)
    return read_sheet(
        frame,
        sheet,
        zone=zone,
        atmosphere_pa=setting.atmosphere_pa,
        decimal=columns.decimal if columns else None,
    )


def without_units_row(sheet: Sheet) -> Sheet:
    """The sheet without its first row, and without repeats of it further down."""
    units = tuple(column[0] for column in sheet.columns)
    alike = [i for i, text in enumerate(sheet.columns[0]) if text == units[0]]
    again = {i for i in alike if all(c[i] == u for c, u in zip(sheet.columns, units, strict=True))}
    keep = [i for i in range(len(sheet.lines)) if i not in again]
    return replace(
        sheet,
        columns=[[column[i] for i in keep] for column in sheet.columns],
        lines=[sheet.lines[i] for i in keep],
    )


@dataclass(kw_only=True)
class _Placed:
    """One file's rows on the common base."""

    table: Table
    ordered: Ordered


def _own_comment(table: Table) -> tuple[int | None, str | None]:
    for line in table.comments:
        match = OWN_COMMENT.fullmatch(line.strip())
        if match:
            epoch = read_instant(match["epoch"], zone=None, where=table.source) if match["epoch"] else None
            return (int(epoch.timestamp()) if epoch else None), match["zone"]
    return None, None


def _epoch(tables: list[Table], maps: list[FileMap]) -> int | None:
    """The common whole second of time 0, or None where all files give bare seconds."""
    firsts: list[int] = []
    bare: list[str] = []
    for table, entry in zip(tables, maps, strict=True):
        good = np.flatnonzero(table.times.good)
        first = float(table.times.whole[good[0]]) + entry.clock_offset_s
        if table.times.base == "instant":
            firsts.append(int(np.floor(first)))
        elif entry.start is not None:
            start = read_instant(entry.start, zone=None, where=f"The start of {table.source} in the map file")
            firsts.append(int(np.floor(start.timestamp())))
        else:
            bare.append(table.source)
    if firsts and bare:
        dated = next(t.source for t in tables if t.source not in bare)
        raise DataError(
            f"{dated} gives dates and {bare[0]} gives bare seconds or clock times, so that they cannot be "
            "joined. Say "
            f'when {bare[0]} starts in the map file:\n[files."{bare[0]}"]\n  start = '
            '"2025-01-15T08:30:00-07:00"'
        )
    if not bare and {table.times.base for table in tables} >= {"clock", "seconds"}:
        return min(firsts) if firsts else None
    if bare and len({table.times.base for table in tables}) > 1:
        raise DataError(
            f"{tables[0].source} and {tables[1].source} count time from different starts (midnight and the "
            "first row), "
            f'so that they cannot be joined. Say when each starts in the map file:\n[files."{bare[0]}"]\n'
            '  start = "2025-01-15T08:30:00-07:00"'
        )
    return min(firsts) if firsts else None


def _place(table: Table, entry: FileMap, epoch: int | None) -> _Placed:
    good = table.times.good
    if epoch is not None and table.times.base != "instant":
        assert entry.start is not None
        start = read_instant(entry.start, zone=None, where=f"The start of {table.source} in the map file")
        zero = float(table.times.whole[np.flatnonzero(good)[0]]) if table.times.base == "clock" else 0.0
        time_s = instants(table.times, 0) - zero + (start.timestamp() - epoch)
    else:
        time_s = instants(table.times, epoch or 0)
    if entry.clock_offset_s:
        time_s = time_s + entry.clock_offset_s
    values = np.column_stack([column.values for column in table.columns])
    lines: Sequence[int] = table.lines
    if not good.all():
        time_s, values = time_s[good], values[good]
        lines = [lines[i] for i in np.flatnonzero(good).tolist()]
    return _Placed(table=table, ordered=order(time_s, values, source=table.source, lines=lines))


def join(tables: list[Table], setting: Setting) -> Reading:
    """Join the files of a visit on one time base.

    The file with the most rows gives the base; a reading of another goes to the nearest row of it within half
    a usual step, else it makes a row of its own. Nothing is interpolated.

    Raises
    ------
    DataError
        If the files cannot be joined, or their units cannot be right.
    """
    charts = setting.columns.files if setting.columns else {}
    maps = [charts.get(table.source, FileMap()) for table in tables]
    epoch = _epoch(tables, maps)
    own = [_own_comment(table) for table in tables]
    own_zone = next((zone for _, zone in own if zone), None)
    if epoch is not None and own[0][0] is not None:
        epoch = own[0][0]
    placed = [_place(table, entry, epoch) for table, entry in zip(tables, maps, strict=True)]
    notes = [
        f"{table.source}: {'+' if entry.clock_offset_s > 0 else '-'}{show_time(abs(entry.clock_offset_s))} "
        "was added to its clock."
        for table, entry in zip(tables, maps, strict=True)
        if entry.clock_offset_s
    ]
    unused = set(charts) - {table.source for table in tables}
    notes += [f"The map file names {name!r}, which is none of the files read." for name in sorted(unused)]
    time_s, columns, origins, joined = _joined(placed)
    notes += joined
    if len(tables) > 1 and epoch is None:
        notes.append("The files give bare seconds; their zeros were taken as the same instant.")
    dew_c = None
    if setting.refrigerant is not None:
        from firstfrost.refrigerants import refrigerant

        dew_c = refrigerant(setting.refrigerant).dew_temps_c
        unmarked = {
            name
            for name, origin in origins.items()
            if CHANNELS[name].kind == "pressure"
            and origin.unit.gauge is None
            and default_mark(origin.unit) == "gauge"
        }
        columns, why = as_absolute(columns, unmarked, atmosphere_pa=setting.atmosphere_pa, dew_c=dew_c)
        if why:
            placed = [replace(p, table=_without_marks_notes(p.table)) for p in placed]
            notes.append(
                f"The headers of {', '.join(sorted(unmarked))} say neither gauge nor absolute, and only "
                f"absolute "
                f"fits: {why}. They were taken as absolute. Write kPa gauge or kPa absolute, and the "
                f"like, to say it."
            )
    notes += check_physics(columns, origins, atmosphere_pa=setting.atmosphere_pa, dew_c=dew_c)
    trace = Trace(
        time_s=time_s,
        columns={name: columns[name] for name in CHANNELS if name in columns},
        epoch=None if epoch is None else datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=epoch),
        zone=setting.zone or (setting.columns.zone if setting.columns else None) or own_zone,
    )
    return Reading(trace=trace, receipt=_receipt(placed, notes))


def _without_marks_notes(table: Table) -> Table:
    """The table without its notes of pressures taken as gauge."""
    return replace(table, notes=tuple(n for n in table.notes if "says neither gauge nor absolute" not in n))


def _joined(placed: list[_Placed]) -> tuple[Floats, dict[str, Floats], dict[str, Origin], list[str]]:
    base = max(placed, key=lambda p: len(p.ordered.time_s))
    base_s = base.ordered.time_s
    notes: list[str] = []
    moved_to: list[Floats] = []
    files = [base, *(p for p in placed if p is not base)]
    for one in files:
        near, far, moved = _nearest(base_s, one.ordered.time_s)
        moved_to.append(np.where(far, one.ordered.time_s, base_s[near]))
        if moved > 0:
            notes.append(
                f"{one.table.source}: its readings were moved by at most {moved:.3g} s onto the times of "
                f"{base.table.source}."
            )
    time_s = np.unique(np.concatenate(moved_to)) if len(files) > 1 else base_s
    columns: dict[str, Floats] = {}
    origins: dict[str, Origin] = {}
    mixed: set[str] = set()
    for one, times in zip(files, moved_to, strict=True):
        place = np.searchsorted(time_s, times)
        for k, column in enumerate(one.table.columns):
            name, values = column.channel.name, one.ordered.values[:, k]
            target = columns.setdefault(name, np.full(len(time_s), np.nan))
            free = np.isnan(target[place])
            clash = int((~free & np.isfinite(values) & (target[place] != values)).sum())
            if clash:
                notes.append(
                    f"{one.table.source}: {clash} reading(s) of {name} differ from those of another file at "
                    f"the same time; those of {origins[name].source} were kept."
                )
            target[place[free]] = values[free]
            origin = Origin(
                source=one.table.source,
                header=column.header,
                unit=column.unit,
                sure=column.sure,
            )
            if name in origins and origins[name].unit != column.unit:
                mixed.add(name)
            origins.setdefault(name, origin)
    return time_s, columns, {n: o for n, o in origins.items() if n not in mixed}, notes


def _nearest(base: Floats, times: Floats) -> tuple[NDArray[np.intp], NDArray[np.bool_], float]:
    """The row of `base` (n,) nearest to each of `times` (k,), which are too far from it, the largest move."""
    step = float(np.median(np.diff(base))) if len(base) > 1 else 0.0
    place = np.clip(np.searchsorted(base, times), 0, len(base) - 1)
    before = np.clip(place - 1, 0, len(base) - 1)
    place = np.where(np.abs(base[before] - times) < np.abs(base[place] - times), before, place)
    away = np.abs(base[place] - times)
    far = away > 0.5 * step
    # Of two readings that fall on one row the nearer stays; the other keeps its own time.
    ranked = np.lexsort((away, place))
    again = np.concatenate(([False], np.diff(place[ranked]) == 0))
    far[ranked[again]] = True
    return place, far, float(away[~far].max()) if (~far).any() else 0.0


def _receipt(placed: list[_Placed], notes: list[str]) -> Receipt:
    reads: list[ColumnRead] = []
    dropped: list[str] = []
    said: list[str] = []
    for one in placed:
        table = one.table
        said += [*table.notes, *one.ordered.notes]
        dropped += [*table.dropped, *one.ordered.dropped]
        for k, column in enumerate(table.columns):
            dropped += _dropped(column, table, said)
            reads.append(
                ColumnRead(
                    source=table.source,
                    header=column.header,
                    channel=column.channel.name,
                    unit=column.unit.name,
                    readings=int(np.isfinite(one.ordered.values[:, k]).sum()),
                    dropped=column.dropped,
                    why="; ".join(column.why),
                )
            )
    return Receipt(
        files=tuple(one.table.source for one in placed),
        rows=sum(len(one.table.times.good) for one in placed),
        columns=tuple(reads),
        ignored=tuple(header for one in placed for header in one.table.ignored),
        dropped=tuple(dropped),
        notes=tuple([*said, *notes]),
    )


def _dropped(column: Column, table: Table, said: list[str]) -> list[str]:
    if not np.isfinite(column.values).any():
        return [
            f"{table.source}: column {column.header!r} holds no reading at all ({'; '.join(column.why)})."
        ]
    if not column.dropped:
        return []
    rows = len(column.values)
    last = int(np.flatnonzero(np.isfinite(column.values))[-1])
    if rows - 1 - last > max(10, 0.02 * rows):
        said.append(
            f"{table.source}: {column.channel.name} stops at line {table.lines[last]} and does not come "
            "back; its probe came off or failed."
        )
    why = "; ".join(column.why)
    return [f"{table.source}: column {column.header!r} lacks {column.dropped} of {rows} readings: {why}."]
