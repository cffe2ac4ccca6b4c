"""Reading marks: what a person did to the machine, on the time base of its trace."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np

from firstfrost.errors import DataError
from firstfrost.trace.columns import plain, split_unit
from firstfrost.trace.frame import time_words
from firstfrost.trace.marks import ACTS, Mark, Marks
from firstfrost.trace.reader import read_bytes
from firstfrost.trace.text import cut, decode, guess_delimiter, is_comment, split_lines
from firstfrost.trace.times import Times, instants, read_times, zone_of
from firstfrost.trace.trace import Floats, Trace

_TIME: Final = frozenset({"time", "timestamp", "when", "t"})
_ACT: Final = frozenset({"act", "action", "mark", "what"})
_NOTE: Final = frozenset({"note", "notes", "comment", "remark"})


@dataclass(frozen=True, kw_only=True)
class MarksReading:
    """Marks in rising order of time, and notes for the receipt."""

    marks: Marks
    notes: tuple[str, ...] = ()


def read_marks(path: Path | str, *, trace: Trace, zone: str | None = None) -> MarksReading:
    """Read a marks file; one without rows says that nothing was touched.

    Parameters
    ----------
    path : path
        CSV with the columns `time`, `act`, and optionally `note`.
    trace : Trace
        The record that the marks belong to.
    zone : str, optional
        The zone of times that carry none; by default the trace's.

    Raises
    ------
    DataError
        If an act or a time cannot be read, or the times cannot be put on the trace's base.
    """
    path = Path(path)
    source = path.name
    raw = read_bytes(path, "marks as CSV: time,act,note")
    if not raw.strip():
        return MarksReading(marks=(), notes=(f"{source} is empty: nothing was touched.",))
    text, note = decode(raw, source=source)
    lines = split_lines(text)
    at = next((i for i, line in enumerate(lines) if not is_comment(line)), None)
    if at is None:
        return MarksReading(marks=(), notes=(f"{source} holds no marks: nothing was touched.",))
    below = next((line for line in lines[at + 1 :] if not is_comment(line)), "")
    sheet = cut(lines, header_at=at, delimiter=guess_delimiter(lines[at], below), source=source)
    names = [plain(split_unit(header)[0]) for header in sheet.headers]
    time_at, act_at = (next((i for i, n in enumerate(names) if n in some), None) for some in (_TIME, _ACT))
    if time_at is None or act_at is None:
        lacking = "time" if time_at is None else "act"
        raise DataError(
            f"{source}: no column is named {lacking}. Expected the columns time,act,note in line {at + 1}, "
            f"and met {', '.join(map(repr, sheet.headers[:8]))}. Correct the header."
        )
    note_at = next((i for i, n in enumerate(names) if n in _NOTE), None)
    notes = [*([note] if note else []), *sheet.notes]
    if not len(sheet.lines):
        return MarksReading(marks=(), notes=(*notes, f"{source} holds no marks: nothing was touched."))
    acts = [
        _act(text, source=source, line=line)
        for text, line in zip(sheet.columns[act_at], sheet.lines, strict=True)
    ]
    times = _times(list(sheet.columns[time_at]), sheet.headers[time_at], sheet.lines, source, trace, zone)
    time_s = _on_base(times, trace, source=source, zone=zone, notes=notes)
    remarks = sheet.columns[note_at] if note_at is not None else [""] * len(acts)
    marks = [
        Mark(time_s=float(t), act=act, note=remark.strip())
        for t, act, remark in zip(time_s, acts, remarks, strict=True)
    ]
    if bool((np.diff(time_s) < 0).any()):
        notes.append(f"{source}: the marks are not in order of time and were sorted.")
    marks.sort(key=lambda mark: mark.time_s)
    outside = (
        [m for m in marks if not trace.time_s[0] <= m.time_s <= trace.time_s[-1]] if len(trace) else marks
    )
    if outside:
        notes.append(
            f"{source}: {len(outside)} of {len(marks)} marks lie outside the record, the first "
            f"{outside[0].act!r} at {_shown(outside[0].time_s, trace)}; they were kept."
        )
    return MarksReading(marks=tuple(marks), notes=tuple(notes))


def _act(text: str, *, source: str, line: int) -> str:
    act = "-".join(text.strip().casefold().replace("_", " ").replace("-", " ").split())
    if act in ACTS:
        return act
    near = difflib.get_close_matches(act, ACTS, n=1, cutoff=0.5)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    raise DataError(
        f"{source}: line {line} has the act {text.strip()!r}, which is not known.{hint} Expected one of: "
        f"{', '.join(ACTS)}."
    )


def _times(
    texts: list[str], header: str, lines: Sequence[int], source: str, trace: Trace, zone: str | None
) -> Times:
    name = zone or trace.zone
    unit_text, zone_text = time_words(split_unit(header)[1])
    where_zone = zone_of(name, where="[site] zone") if name else None
    if zone_text is not None:
        where_zone = zone_of(zone_text, where=f"{source}, column {header!r},")
    numbers = list(lines)
    times = read_times(texts, source=source, header=header, lines=numbers, unit=unit_text, zone=where_zone)
    if not times.good.all():
        i = int(np.flatnonzero(~times.good)[0])
        raise DataError(
            f"{source}: the time at line {numbers[i]} cannot be read: {texts[i].strip()!r}. Expected "
            "seconds, or a time such as 2025-01-15T08:30:00-07:00, as in the trace. Correct the row."
        )
    return times


def _on_base(times: Times, trace: Trace, *, source: str, zone: str | None, notes: list[str]) -> Floats:
    if times.base == "instant":
        if trace.epoch is None:
            raise DataError(
                f"{source} gives dates, and the trace gives bare seconds or clock times. Expected marks on "
                "the trace's own base. Write their times as the trace does."
            )
        return instants(times, int(trace.epoch.timestamp()))
    if trace.epoch is None:
        return instants(times, 0)
    name = zone or trace.zone
    if times.base == "clock" and name is not None:
        site = zone_of(name, where="[site] zone")
        first = trace.epoch + timedelta(seconds=float(trace.time_s[0]) if len(trace) else 0.0)
        midnight = first.astimezone(site).replace(hour=0, minute=0, second=0, microsecond=0)
        notes.append(
            f"{source}: clock times were taken on {midnight:%Y-%m-%d} in {name}, the day the record starts."
        )
        out = []
        for clock in instants(times, 0).tolist():
            day, rest = divmod(clock, 86_400.0)
            local = (midnight.replace(tzinfo=None) + timedelta(days=day, seconds=rest)).replace(tzinfo=site)
            if (local.astimezone(UTC) - first).total_seconds() < -43_200:
                local = local + timedelta(days=1)
            out.append((local.astimezone(UTC) - trace.epoch).total_seconds())
        return np.array(out)
    raise DataError(
        f"{source} gives {'clock times' if times.base == 'clock' else 'bare seconds'}, and the trace gives "
        "dates. Expected marks on the trace's own base. Write their times such as "
        "2025-01-15T08:30:00-07:00."
    )


def _shown(time_s: float, trace: Trace) -> str:
    instant: datetime | None = trace.instant(time_s)
    return f"{time_s:g} s" if instant is None else f"{instant:%Y-%m-%dT%H:%M:%SZ}"
