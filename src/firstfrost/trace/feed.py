"""The live feed: a growing file or standard input, sample by sample, read as `read_trace` reads the whole."""

from __future__ import annotations

import codecs
import json
from collections import deque
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from firstfrost.errors import DataError
from firstfrost.trace.columns import ColumnMap
from firstfrost.trace.frame import Frame, Table, make_frame, read_sheet
from firstfrost.trace.numbers import common_decimal
from firstfrost.trace.reader import (
    OWN_COMMENT,
    Reading,
    Setting,
    find_frame,
    join,
    read_lines,
    zone_for,
)
from firstfrost.trace.text import Sheet, cells, decode_western, guess_encoding, is_comment, is_torn
from firstfrost.trace.times import Times, instants, read_instant

_SET_BACK_ROWS = 3
"""So many rows in a row that go on from an earlier time mean that the clock was set back."""


class Sample(NamedTuple):
    """One row: its time on the trace's base, and a reading of each channel of the file, NaN where missing."""

    time_s: float
    readings: dict[str, float]


class LiveReader:
    """Reads text as it comes.

    Feed it what was read from a growing file or standard input; it gives the samples that became known. The
    last line is held back until its end arrives. Rows that come late, or twice, are kept for `reading` but
    not given as samples. Three rows in a row that go on from an earlier time mean a clock that was set back:
    they are given, moved to follow the row before. After either, `in_order` is False, and only
    `reading` has all rows in their place. A unit that cannot be right shows over many rows, so only `reading`
    refuses it: ask for one now and then.

    Parameters
    ----------
    atmosphere_pa : float
        Added to gauge pressures. [Pa]
    columns : path or ColumnMap, optional
        The map file.
    zone : str, optional
        The site's zone, for times that carry none.
    source : str
        Name for messages, and of the file in the map.

    Raises
    ------
    DataError, InputError
        As `read_trace`, as soon as what has come shows the trouble.
    """

    def __init__(
        self,
        *,
        atmosphere_pa: float,
        columns: Path | str | ColumnMap | None = None,
        zone: str | None = None,
        source: str = "standard input",
    ) -> None:
        chart = ColumnMap.from_toml(columns) if isinstance(columns, (str, Path)) else columns
        self.setting = Setting(atmosphere_pa=atmosphere_pa, columns=chart, zone=zone)
        self.source = source
        self.in_order = True
        self.epoch: int | None = None
        """The whole second since 1970 of time 0; None before the first row, and in a feed of bare seconds."""
        self._raw = b""
        self._encoding = chart.encoding if chart else None
        self._sniffed = self._encoding is not None
        self._decoder: codecs.IncrementalDecoder | None = None
        self._tail = ""
        self._ended = True
        self._lines: list[str] = []
        self._next = 0
        self._delimiter = ","
        self._header_at = 0
        self._frame: Frame | None = None
        self._frames: dict[tuple[str, ...], Frame] = {}
        self._skip_units = False
        self._decimal = chart.decimal if chart else None
        self._base: str | None = None
        self._last = -np.inf
        self._shift = 0.0
        self._clock_raw = 0.0
        self._clock_days = 0
        self._held: list[tuple[float, dict[str, float]]] = []
        self._steps: deque[float] = deque(maxlen=1001)

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels of the file, once its header is known."""
        roles = self._frame.roles if self._frame else ()
        return tuple(role.channel.name for role in roles if role.channel is not None)

    def feed(self, data: str | bytes) -> list[Sample]:
        """Take what has come, and give the samples of the lines that it completes."""
        text = self._decode(data) if isinstance(data, bytes) else data
        text = self._tail + text
        held = "\r" if text.endswith("\r") else ""
        pieces = text[: len(text) - len(held)].replace("\r\n", "\n").replace("\r", "\n").split("\n")
        self._tail = pieces.pop() + held
        self._lines += pieces
        return self._advance()

    def close(self) -> list[Sample]:
        """Take the last line as it stands; no more will come."""
        samples: list[Sample] = []
        if self._raw:
            self._encoding = self._encoding or (None if self._sniffed else guess_encoding(self._raw))
            samples = self.feed(self._to_text(self._raw, final=True))
            self._raw = b""
        if self._tail.rstrip("\r"):
            self._ended = self._tail.endswith("\r")
            self._lines.append(self._tail.rstrip("\r"))
            self._tail = ""
        return samples + self._advance(closing=True)

    def reading(self, *, refrigerant: str | None = None) -> Reading:
        """What `read_trace` gives on all lines so far.

        Raises
        ------
        DataError
            As `read_trace`.
        """
        if self._is_json():
            from firstfrost.trace.jsonlines import read_json

            sheet, units = read_json("\n".join(self._lines), source=self.source)
            frame = make_frame(
                sheet.headers, (), source=self.source, columns=self.setting.columns, field_units=units
            )
            table = read_sheet(
                frame,
                sheet,
                zone=zone_for(self.source, self.setting),
                atmosphere_pa=self.setting.atmosphere_pa,
                decimal=".",
            )
        else:
            if not any(line.strip() for line in self._lines):
                raise DataError(
                    f"{self.source} is empty. Expected a header line and readings below it. Export the log "
                    "again."
                )
            table = read_lines(
                self._lines, source=self.source, setting=self.setting, whole_last_line=self._ended
            )
        return join([table], replace(self.setting, refrigerant=refrigerant))

    # From bytes to lines

    def _decode(self, data: bytes) -> str:
        self._raw += data
        if not self._sniffed:
            if len(self._raw) < 64 and b"\n" not in self._raw[4:]:
                return ""
            self._encoding = guess_encoding(self._raw)
            self._sniffed = True
        if self._encoding is None:
            # UTF-8 or Windows-1252 is told line by line, so that no letter is cut.
            end = max(self._raw.rfind(b"\n"), self._raw.rfind(b"\r")) + 1
            whole, self._raw = self._raw[:end], self._raw[end:]
            return self._to_text(whole)
        data, self._raw = self._raw, b""
        return self._to_text(data)

    def _to_text(self, data: bytes, *, final: bool = False) -> str:
        if self._encoding is None:
            try:
                return data.decode("utf-8")
            except UnicodeDecodeError:
                return decode_western(data)
        try:
            if self._decoder is None:
                self._decoder = codecs.getincrementaldecoder(self._encoding)()
            return self._decoder.decode(data, final)
        except (LookupError, UnicodeError) as err:
            raise DataError(
                f"{self.source} is not text in {self._encoding}: {err}. Give its encoding in the map file: "
                'encoding = "cp1252".'
            ) from err

    # From lines to samples

    def _is_json(self) -> bool:
        first = next((line for line in self._lines if line.strip()), "")
        return first.lstrip("\ufeff \t")[:1] in ("{", "[")

    def _advance(self, *, closing: bool = False) -> list[Sample]:
        if self._is_json():
            return self._advance_json()
        if self._frame is None:
            if not any(not is_comment(line) for line in self._lines):
                return []
            found = find_frame(self._lines, source=self.source, columns=self.setting.columns, ended=closing)
            if found is None:
                return []
            self._header_at, self._delimiter, self._frame = found
            self._next = self._header_at + 1
            self._skip_units = self._frame.has_units_row
        new = self._lines[self._next :]
        if self._skip_units:
            while new and is_comment(new[0]):
                new.pop(0)
            if not new:
                return []
            new.pop(0)
            self._skip_units = False
        first_line = len(self._lines) - len(new) + 1
        self._next = len(self._lines)
        rows = self._rows(new)
        if not rows:
            return []
        wide = len(self._frame.headers)
        if closing and not self._ended and len(cells(self._lines[-1], self._delimiter)) < wide:
            rows = rows[:-1]
        columns: list[Any] = list(zip(*rows, strict=True)) if rows else [[] for _ in range(wide)]
        sheet = Sheet(
            source=self.source,
            headers=self._frame.headers,
            columns=columns,
            lines=range(first_line, first_line + len(rows)),
            header_line=self._header_at + 1,
            delimiter=self._delimiter,
            comments=(),
        )
        if not rows:
            return []
        if self._decimal is None:
            kept = [c for c, role in zip(columns, self._frame.roles, strict=True) if role.what == "channel"]
            self._decimal = common_decimal(kept)
        return self._take(self._frame, sheet)

    def _rows(self, lines: list[str]) -> list[list[str]]:
        assert self._frame is not None
        wide = len(self._frame.headers)
        header = self._lines[self._header_at].strip()
        units = None
        if self._frame.has_units_row:
            below = next(line for line in self._lines[self._header_at + 1 :] if not is_comment(line))
            units = below.strip()
        rows = []
        for line in lines:
            if is_comment(line) or is_torn(line) or line.strip() in (header, units):
                continue
            row = cells(line, self._delimiter)
            if len(row) > wide:
                if any(cell.strip() for cell in row[wide:]):
                    continue
                row = row[:wide]
            rows.append(row + [""] * (wide - len(row)))
        return rows

    def _advance_json(self) -> list[Sample]:
        from firstfrost.trace.jsonlines import plain_objects

        out: list[Sample] = []
        while self._next < len(self._lines):
            line = self._lines[self._next]
            self._next += 1
            if not line.strip():
                continue
            try:
                record = json.loads(line)
            except (ValueError, RecursionError) as err:
                if not self._ended and self._next == len(self._lines):
                    break
                raise DataError(
                    f"{self.source} is not JSON at line {self._next}. Expected one JSON object a line. "
                    "Export the log again."
                ) from err
            if not isinstance(record, dict) or "bn" in record or "n" in record:
                raise DataError(
                    f"{self.source}: line {self._next} is not a plain JSON object. A live feed takes CSV, "
                    "or one "
                    'object a line such as {"time": "2025-01-15T08:30:00Z", "power [W]": 2100}.'
                )
            sheet = plain_objects([record], [self._next], source=self.source)
            frame = self._frames.get(sheet.headers)
            if frame is None:
                frame = make_frame(sheet.headers, (), source=self.source, columns=self.setting.columns)
                self._frames[sheet.headers] = frame
            self._frame = frame
            self._decimal = "."
            out += self._take(frame, sheet)
        return out

    def _take(self, frame: Frame, sheet: Sheet) -> list[Sample]:
        table = self._table(frame, sheet)
        if table is None:
            return []
        times = table.times
        out: list[Sample] = []
        for i in np.flatnonzero(times.good).tolist():
            if self._base is None:
                self._start(times, i)
            if times.base != self._base:
                continue
            time_s = self._time(times, i)
            readings = {column.channel.name: float(column.values[i]) for column in table.columns}
            out += self._place(time_s, readings)
        return out

    def _table(self, frame: Frame, sheet: Sheet) -> Table | None:
        zone = zone_for(self.source, self.setting)
        pressure = self.setting.atmosphere_pa
        try:
            return read_sheet(
                frame, sheet, zone=zone, atmosphere_pa=pressure, decimal=self._decimal, strict=False
            )
        except DataError:
            if len(sheet.lines) == 1:
                raise
        # One odd row among several: take them one at a time.
        tables = []
        for i in range(len(sheet.lines)):
            one = replace(sheet, columns=[[c[i]] for c in sheet.columns], lines=[sheet.lines[i]])
            tables.append(
                read_sheet(frame, one, zone=zone, atmosphere_pa=pressure, decimal=self._decimal, strict=False)
            )
        return _stack(tables)

    def _start(self, times: Times, i: int) -> None:
        self._base = times.base
        if times.base != "instant":
            return
        self.epoch = int(times.whole[i])
        if self.setting.columns and self.source in self.setting.columns.files:
            self.epoch += int(np.floor(self.setting.columns.files[self.source].clock_offset_s))
        for line in self._lines[: self._header_at]:
            match = OWN_COMMENT.fullmatch(line.strip())
            if match and match["epoch"]:
                self.epoch = int(read_instant(match["epoch"], zone=None, where=self.source).timestamp())

    def _time(self, times: Times, i: int) -> float:
        one = Times(
            base=times.base, whole=times.whole[i : i + 1], part=times.part[i : i + 1], good=times.good
        )
        time_s = float(instants(one, self.epoch or 0)[0])
        if times.base == "clock":
            raw = time_s % 86_400.0
            if raw - self._clock_raw < -43_200.0:
                self._clock_days += 1
            self._clock_raw = raw
            time_s = raw + 86_400.0 * self._clock_days
        chart = self.setting.columns
        if chart and self.source in chart.files:
            time_s += chart.files[self.source].clock_offset_s
        return time_s

    def _place(self, raw_s: float, readings: dict[str, float]) -> list[Sample]:
        time_s = raw_s + self._shift
        if time_s > self._last:
            if np.isfinite(self._last):
                self._steps.append(time_s - self._last)
            self._held.clear()
            self._last = time_s
            return [Sample(time_s, readings)]
        self.in_order = False
        if self._held and raw_s <= self._held[-1][0]:
            self._held.clear()
        self._held.append((raw_s, readings))
        if len(self._held) < _SET_BACK_ROWS or time_s >= self._last:
            return []
        step = float(np.median(self._steps)) if self._steps else 1.0
        self._shift = self._last + step - self._held[0][0]
        moved = [Sample(raw + self._shift, values) for raw, values in self._held]
        self._held.clear()
        self._last = moved[-1].time_s
        return moved


def _stack(tables: list[Table]) -> Table:
    """Several tables of one row each as one; rows without a time take the base of the others."""
    first = next((t for t in tables if t.times.good.any()), tables[0])
    kept = [t for t in tables if t.times.base == first.times.base]
    times = Times(
        base=first.times.base,
        whole=np.concatenate([t.times.whole for t in kept]),
        part=np.concatenate([t.times.part for t in kept]),
        good=np.concatenate([t.times.good for t in kept]),
    )
    columns = [
        replace(column, values=np.concatenate([t.columns[k].values for t in kept]))
        for k, column in enumerate(first.columns)
    ]
    return replace(first, times=times, columns=columns, lines=[line for t in kept for line in t.lines])
