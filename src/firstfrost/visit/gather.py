"""What came to a visit from several sides, put on one time base: feeds, typed readings, logs, acts."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path, PurePath

import numpy as np

from firstfrost.equipment.unit import Unit
from firstfrost.errors import FirstfrostError, InputError
from firstfrost.quantities.units import unit as unit_of
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.columns import ColumnMap, FileMap
from firstfrost.trace.frame import Column, Table
from firstfrost.trace.marks import Mark, Marks
from firstfrost.trace.reader import Reading, Setting, join, read_file
from firstfrost.trace.receipt import Receipt
from firstfrost.trace.times import Times
from firstfrost.trace.trace import Floats, Trace


@dataclass(frozen=True, kw_only=True)
class Feed:
    """Rows of one recorder in the order in which it made them.

    time_s : (n,) seconds since 1970; columns : channel -> (n,), memory units, NaN where missing
    """

    name: str
    time_s: Floats
    columns: Mapping[str, Floats]


@dataclass(frozen=True, kw_only=True)
class Log:
    """A log file as it came, with the map for its headers where it needs one."""

    name: str
    content: bytes
    columns: str | None = None


@dataclass(frozen=True, kw_only=True)
class Act:
    """What a person did, at seconds since 1970."""

    at_s: float
    act: str
    note: str = ""


def gather(feeds: Sequence[Feed], logs: Sequence[Log], unit: Unit) -> Reading:
    """Join all readings of a visit on one time base, as the files of several recorders are joined.

    Raises
    ------
    DataError, InputError
        If a log cannot be read, or cannot be joined with the others.
    """
    tables = [_table(feed) for feed in feeds if len(feed.time_s)]
    maps: dict[str, FileMap] = {}
    for log in logs:
        table, files = read_log(log, unit)
        tables.append(table)
        maps.update(files)
    if not tables:
        return Reading(trace=Trace(time_s=np.empty(0), columns={}, zone=unit.site.zone), receipt=Receipt())
    return join(tables, replace(_setting(unit), columns=ColumnMap(files=maps) if maps else None))


def try_log(log: Log, unit: Unit) -> str | None:
    """Tell why a log cannot be used by itself; None if it can."""
    try:
        gather((), (log,), unit)
    except FirstfrostError as err:
        return str(err)
    return None


def marks_on(trace: Trace, acts: Sequence[Act], *, complete: bool) -> Marks | None:
    """Acts as marks on the base of a trace; None where there are none and that is not known to be all.

    Raises
    ------
    InputError
        If the trace gives bare seconds, so that there is no telling when the acts were.
    """
    if not acts:
        return () if complete else None
    if trace.epoch is None and len(trace):
        raise InputError(
            "The logs give bare seconds and the marks give dates, so that they cannot be put together. "
            "Expected logs that say when they were made. Give the start of each in its map: "
            '[files."log.csv"] start = "2025-01-15T08:30:00-07:00"'
        )
    zero = 0.0 if trace.epoch is None else trace.epoch.timestamp()
    marks = (Mark(time_s=one.at_s - zero, act=one.act, note=one.note) for one in acts)
    return tuple(sorted(marks, key=lambda mark: mark.time_s))


def instant(at_s: float) -> datetime:
    """The UTC instant of seconds since 1970."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=at_s)


def _setting(unit: Unit) -> Setting:
    return Setting(atmosphere_pa=unit.site.atmosphere_pa, zone=unit.site.zone, refrigerant=unit.refrigerant)


def _table(feed: Feed) -> Table:
    """A feed as the reader gives a file: what no probe can read is taken out and counted."""
    columns = []
    for name, values in feed.columns.items():
        channel = CHANNELS[name]
        with np.errstate(invalid="ignore"):
            out = (values < channel.lowest) | (values > channel.highest)
        outside = int(out.sum())
        columns.append(
            Column(
                header=name,
                channel=channel,
                unit=unit_of("Pa(a)" if channel.kind == "pressure" else channel.unit),
                values=np.where(out, np.nan, values),
                dropped=outside,
                why=[f"{outside} outside what a probe can read"] if outside else [],
                # A feed states its units; whether they can be right is asked of logs with their headers.
                sure=True,
            )
        )
    whole = np.floor(feed.time_s)
    times = Times(
        base="instant",
        whole=whole.astype(np.int64),
        part=feed.time_s - whole,
        good=np.ones(len(whole), dtype=bool),
    )
    return Table(source=feed.name, times=times, lines=range(1, len(whole) + 1), columns=columns)


def read_log(log: Log, unit: Unit) -> tuple[Table, Mapping[str, FileMap]]:
    """One log as the reader gives it, and what its map says of files.

    Raises
    ------
    DataError, InputError
        If it cannot be read.
    """
    # The name is the user's: only its last part is one of a file, and hardly anything of that is sure to be.
    plain = PurePath(log.name.replace("\\", "/")).name.replace("\0", "")
    name = "".join(c if c.isalnum() or c in " ._-()" else "_" for c in plain)[-80:].lstrip(".") or "log"
    with tempfile.TemporaryDirectory(prefix="firstfrost-") as folder:
        path = Path(folder, "log", name)
        path.parent.mkdir()
        path.write_bytes(log.content)
        chart = None
        if log.columns is not None:
            map_path = Path(folder, "map.toml")
            map_path.write_text(log.columns, encoding="utf-8")
            chart = ColumnMap.from_toml(map_path)
        table = read_file(path, replace(_setting(unit), columns=chart))
    files = dict(chart.files) if chart else {}
    if name != log.name and log.name in files:
        files[name] = files.pop(log.name)
    return table, files


def rows_of(samples: Sequence[tuple[Sequence[float], Mapping[str, Sequence[float]]]], *, name: str) -> Feed:
    """One feed from blocks of rows, each with the channels that it has.

    samples : blocks of (times, channel -> readings of the same length), in order
    """
    total = sum(len(times) for times, _ in samples)
    time_s = np.empty(total)
    columns: dict[str, Floats] = {}
    at = 0
    for times, channels in samples:
        end = at + len(times)
        time_s[at:end] = times
        for channel, readings in channels.items():
            column = columns.get(channel)
            if column is None:
                column = columns[channel] = np.full(total, math.nan)
            column[at:end] = readings
        at = end
    return Feed(name=name, time_s=time_s, columns=columns)
