"""From the times people write to seconds on one base, with the zone said and nothing guessed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from typing import Final, Literal
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import DataError, FirstfrostError, InputError
from firstfrost.quantities import to_si
from firstfrost.trace.numbers import read_numbers

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Base = Literal["instant", "seconds", "clock"]

UNIX_FROM: Final = 1.0e8
"""Bare numbers from here on are Unix time: 1e8 s is March 1973."""
_FEW_UNREADABLE: Final = 0.05
_EPOCH_DAY: Final = date(1970, 1, 1).toordinal()

_STAMP: Final = re.compile(
    r"""\s*(?:(?P<y>\d{4})([-/.]?)(?P<m>\d{1,2})\2(?P<d>\d{1,2})(?!\d)
        |(?P<a>\d{1,2})([-/.])(?P<b>\d{1,2})\6(?P<y2>\d{4}))?
        (?:\s*T?\s*(?P<H>\d{1,2}):?(?P<M>\d{2})(?::?(?P<S>\d{2})(?:[.,](?P<f>\d+))?)?
        (?:\s*(?P<half>[AaPp])\.?[Mm]\.?)?)?
        \s*(?P<off>[Zz]|UTC|GMT|[+\u2212-]\d{2}(?::?\d{2})?)?\s*""",
    re.VERBOSE,
)
_STAMP_MARK: Final = re.compile(r"[:/TZ]|\d-\d|\d\.\d+\.")
_OFFSET: Final = re.compile(r"(?:UTC|GMT)?([+\u2212-])(\d{1,2})(?::?(\d{2}))?")


class UnreadableTimes(DataError):
    """Times that cannot be read in more rows than an odd one."""


@dataclass(frozen=True, kw_only=True)
class Times:
    """The times of a file's rows.

    Row i lies at `whole[i] + part[i]` seconds: since 1970 in UTC for the base `instant`, since midnight of
    the first row for `clock`, as they stand for `seconds`. The two are kept apart so that nothing is lost
    when an epoch is taken off. `good` tells which rows have a readable time.
    """

    base: Base
    whole: Whole
    part: Floats
    good: NDArray[np.bool_]
    notes: tuple[str, ...] = ()
    dropped: tuple[str, ...] = ()


def zone_of(name: str, *, where: str) -> tzinfo:
    """The time zone that a name stands for.

    Parameters
    ----------
    name : str
        An IANA name (`America/Denver`), `UTC`, or a fixed offset (`-07:00`).
    where : str
        Where the name was given, for messages.

    Raises
    ------
    InputError
        If there is no such zone.
    """
    fixed = _OFFSET.fullmatch(name.strip())
    if fixed:
        span = timedelta(hours=int(fixed[2]), minutes=int(fixed[3] or 0))
        return timezone(-span if fixed[1] != "+" else span)
    if name.strip().upper() in ("UTC", "Z", "GMT"):
        return UTC
    try:
        return ZoneInfo(name.strip())
    except (ValueError, OSError, KeyError) as err:
        raise InputError(
            f"{where} gives the time zone {name!r}, which is not known. "
            'Expected an IANA name such as "America/Denver", "UTC", or an offset such as "-07:00".'
        ) from err


def read_times(
    texts: Sequence[str],
    *,
    source: str,
    header: str,
    lines: Sequence[int],
    unit: str | None = None,
    zone: tzinfo | None = None,
    time_format: str | None = None,
    decimal: str | None = None,
    strict: bool = True,
) -> Times:
    """Read a column of times.

    Parameters
    ----------
    texts : (n,) sequence of str
        As they stand in the file.
    source, header : str
        File and column, for messages.
    lines : (n,) sequence of int
        Line number of each row, for messages.
    unit : str or None
        Unit of bare numbers; None means seconds.
    zone : tzinfo or None
        The zone of times that carry none.
    time_format : str or None
        A format in the language of `datetime.strptime`, from the map file.
    decimal : {".", ","} or None
        The decimal mark of bare numbers.
    strict : bool
        Whether many unreadable times are refused; a live feed sees too few rows to tell.

    Raises
    ------
    DataError
        If times lack a zone, cannot be told apart (day or month first), mix times with and without an
        offset, or more than one in twenty cannot be read.
    """
    where = f"{source}, column {header!r}"
    if not strict:
        try:
            return read_times(
                texts, source=source, header=header, lines=lines, unit=unit, zone=zone,
                time_format=time_format, decimal=decimal,
            )  # fmt: skip
        except UnreadableTimes:
            n = len(texts)
            if n == 1:
                return Times(
                    base="seconds", whole=np.zeros(1, np.int64), part=np.zeros(1), good=np.zeros(1, bool)
                )
            raise
    if time_format is not None:
        return _read_formatted(texts, where=where, lines=lines, zone=zone, time_format=time_format)
    filled = [text for text in texts[:500] if text.strip()][:50]
    numeric = [text for text in filled if not _STAMP_MARK.search(text.strip())]
    if len(numeric) > 0.5 * len(filled):
        numbers, _ = read_numbers(texts, decimal=decimal, where=where)
        if np.isfinite(numbers).any():
            return _read_bare(numbers, texts, where=where, lines=lines, unit=unit)
    return _read_stamps(texts, where=where, lines=lines, zone=zone)


def _read_bare(
    numbers: Floats, texts: Sequence[str], *, where: str, lines: Sequence[int], unit: str | None
) -> Times:
    good = np.isfinite(numbers)
    dropped = _drop_unreadable(
        texts, good, where=where, lines=lines, expected="a number, as in the other rows"
    )
    top = float(np.median(np.abs(numbers[good])))
    notes: list[str] = []
    factor = 1.0 if unit is None else to_si(1.0, unit, "time", where=where)
    if unit is None:
        # Unix time comes in s, ms, us and ns; each is a thousand times the one before, and years apart.
        for power in (0, 3, 6, 9):
            if UNIX_FROM * 10.0**power <= top < UNIX_FROM * 10.0 ** (power + 3):
                factor = 10.0**-power
                break
        else:
            steps = np.abs(np.diff(numbers[good]))
            if 20_000 < top < 80_000 and len(steps) and float(np.median(steps)) < 0.01:
                raise DataError(
                    f"{where}: the times look like a spreadsheet's day numbers ({_first(texts)}). Expected "
                    "dates and times as text. Format the column as 2025-01-15 08:30:00 and save the CSV "
                    "again."
                )
    base: Base = "instant" if top * factor >= UNIX_FROM else "seconds"
    if base == "instant":
        notes.append(f"{where}: the numbers were taken as Unix time.")
    seconds = np.where(good, numbers * factor if factor >= 1.0 else numbers / round(1.0 / factor), 0.0)
    if bool((np.abs(seconds) > 4.0e9).any()):
        raise DataError(
            f"{where}: a time of {float(np.max(np.abs(seconds))):.6g} s is no time of a visit. Expected "
            "seconds, Unix time or ISO 8601. Check the column."
        )
    floor = np.floor(seconds)
    return Times(
        base=base,
        whole=floor.astype(np.int64),
        part=seconds - floor,
        good=good,
        notes=tuple(notes),
        dropped=dropped,
    )


def _read_stamps(texts: Sequence[str], *, where: str, lines: Sequence[int], zone: tzinfo | None) -> Times:
    n = len(texts)
    match = _STAMP.fullmatch
    found = [match(text) for text in texts]
    good = np.fromiter((m is not None and m["H"] is not None for m in found), dtype=bool, count=n)
    month_first = _month_first([m for m in found if m is not None and m["a"] is not None], where=where)
    whole, part = np.zeros(n, dtype=np.int64), np.zeros(n)
    naive, dated = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    days: dict[tuple[str, str, str], int | None] = {}
    for i, m in enumerate(found):
        if m is None or m["H"] is None:
            continue
        _, _, _, _, _, _, _, _, H, M, S, f, half, off = g = m.groups()
        hour, minute, second = int(H), int(M), int(S or 0)
        if half:
            hour = hour % 12 + (12 if half in "pP" else 0)
        day = 0
        if g[0] is not None or g[4] is not None:
            key = (g[0], g[2], g[3]) if g[0] else ((g[7], g[4], g[6]) if month_first else (g[7], g[6], g[4]))
            if key not in days:
                days[key] = _day(*key)
            known = days[key]
            day, dated[i] = known or 0, known is not None
            good[i] = known is not None
        if hour > 24 or minute > 59 or second > 60:
            good[i] = False
            continue
        whole[i] = day * 86_400 + hour * 3600 + minute * 60 + second
        if f:
            part[i] = float("0." + f)
        if off is None:
            naive[i] = True
        elif off not in "Zz" and off not in ("UTC", "GMT"):
            whole[i] -= _offset_s(off)
    dropped = _drop_unreadable(
        texts, good, where=where, lines=lines, expected="a time such as 2025-01-15T08:30:00-07:00, or seconds"
    )
    dated &= good
    naive &= good
    if not dated.any():
        return _clock(whole, part, good, where=where, dropped=dropped)
    if not bool(dated[good].all()):
        i = int(np.flatnonzero(good & ~dated)[0])
        raise DataError(
            f"{where}: some times have a date and some have none, the first without at line {lines[i]}: "
            f"{texts[i]!r}. Expected one way of writing times in a file. Export the log again."
        )
    if naive.any() and not bool(naive[good].all()):
        i = int(np.flatnonzero(naive != naive[np.flatnonzero(good)[0]])[0])
        raise DataError(
            f"{where}: some times carry an offset from UTC and some do not, the first that differs at line "
            f"{lines[i]}: {texts[i]!r}. Expected one or the other in a file. Export the log again."
        )
    notes: tuple[str, ...] = ()
    if naive.any():
        whole, notes = from_local(whole, part, good, zone=zone, where=where, first=_first(texts))
    return Times(base="instant", whole=whole, part=part, good=good, notes=notes, dropped=dropped)


def _read_formatted(
    texts: Sequence[str], *, where: str, lines: Sequence[int], zone: tzinfo | None, time_format: str
) -> Times:
    n = len(texts)
    whole, part, good = np.zeros(n, dtype=np.int64), np.zeros(n), np.ones(n, dtype=bool)
    naive = False
    for i, text in enumerate(texts):
        try:
            stamp = datetime.strptime(text.strip(), time_format)
        except (ValueError, re.error):
            good[i] = False
            continue
        naive = stamp.tzinfo is None
        if naive:
            stamp = stamp.replace(tzinfo=UTC)
        span = stamp - datetime(1970, 1, 1, tzinfo=UTC)
        whole[i] = span.days * 86_400 + span.seconds
        part[i] = span.microseconds / 1e6
    dropped = _drop_unreadable(
        texts, good, where=where, lines=lines, expected=f"times in the map file's format {time_format!r}"
    )
    if "%d" not in time_format and "%j" not in time_format and "%c" not in time_format:
        return _clock(whole % 86_400, part, good, where=where, dropped=dropped)
    notes: tuple[str, ...] = ()
    if naive:
        whole, notes = from_local(whole, part, good, zone=zone, where=where, first=_first(texts))
    return Times(base="instant", whole=whole, part=part, good=good, notes=notes, dropped=dropped)


def _month_first(found: list[re.Match[str]], *, where: str) -> bool:
    """Tell whether dates such as 1/2/2025 give the month first, from a day above 12 anywhere among them."""
    pairs = {(m["a"], m["b"]) for m in found}
    first = any(int(a) > 12 for a, _ in pairs)
    second = any(int(b) > 12 for _, b in pairs)
    if first == second and pairs:
        raise DataError(
            f"{where}: dates such as {found[0][0].strip()!r} can be read with the day or the month first. "
            f"Say which under [time] in the map file: format = {_format_of(found[0], '%d', '%m')!r} for the "
            f"day first, format = {_format_of(found[0], '%m', '%d')!r} for the month first."
        )
    return second


def _format_of(m: re.Match[str], first: str, second: str) -> str:
    clock = "" if m["H"] is None else (" %I" if m["half"] else " %H") + ":%M"
    seconds = "" if m["S"] is None else ":%S" + (".%f" if m["f"] else "")
    return f"{first}{m[6]}{second}{m[6]}%Y{clock}{seconds}{' %p' if m['half'] else ''}"


def _day(year: str, month: str, day: str) -> int | None:
    try:
        return date(int(year), int(month), int(day)).toordinal() - _EPOCH_DAY
    except ValueError:
        return None


def _offset_s(text: str) -> int:
    digits = text[1:].replace(":", "")
    span = int(digits[:2]) * 3600 + int(digits[2:] or 0) * 60
    return span if text[0] == "+" else -span


def _first(texts: Sequence[str]) -> str:
    return repr(next((text.strip() for text in texts if text.strip()), "")[:40])


def _drop_unreadable(
    texts: Sequence[str], good: NDArray[np.bool_], *, where: str, lines: Sequence[int], expected: str
) -> tuple[str, ...]:
    bad = np.flatnonzero(~good)
    if not len(bad):
        return ()
    i = int(bad[0])
    text = texts[i].strip()[:40]
    if len(bad) > max(1.0, _FEW_UNREADABLE * len(texts)) or len(bad) == len(texts):
        raise UnreadableTimes(
            f"{where}: the time at line {lines[i]} cannot be read: {text!r} ({len(bad)} of {len(texts)} "
            f"rows). Expected {expected}. Correct the rows, or give the format under [time] in the map "
            "file."
        )
    said = f"{len(bad)} row(s) without a readable time were dropped, the first at line {lines[i]}: {text!r}."
    return (f"{where}: {said}",)


def _clock(
    whole: Whole, part: Floats, good: NDArray[np.bool_], *, where: str, dropped: tuple[str, ...]
) -> Times:
    """Clock times without a date: seconds since midnight, rolling over into the next day."""
    rows = np.flatnonzero(good)
    rolls = np.zeros(len(whole), dtype=np.int64)
    rolls[rows[1:]] = np.diff(whole[rows]) < -43_200
    days = np.cumsum(rolls)
    over = f", with midnight passed {int(days[-1])} time(s)" if len(days) and days[-1] else ""
    return Times(
        base="clock",
        whole=whole + 86_400 * days,
        part=part,
        good=good,
        notes=(f"{where}: clock times without a date were taken as seconds since midnight{over}.",),
        dropped=dropped,
    )


def from_local(
    whole: Whole, part: Floats, good: NDArray[np.bool_], *, zone: tzinfo | None, where: str, first: str
) -> tuple[Whole, tuple[str, ...]]:
    """Turn local times (n,) into UTC, with notes on hours that come twice.

    Raises
    ------
    DataError
        If no zone is given, or times do not exist in it.
    """
    if zone is None:
        raise DataError(
            f"{where}: the times ({first}) carry no time zone. Expected an offset such as -07:00, or "
            'a named zone. Give zone = "America/Denver" (the site\'s own) under [site] in the unit file, or '
            "under [time] in the map file."
        )
    return _localize(whole, part, good, zone=zone, where=where)


def _utc_offsets(quarters: Whole, zone: tzinfo, fold: int) -> Whole:
    """Offsets from UTC [s] of local quarter-hours counted from 1970, (k,)."""
    start = datetime(1970, 1, 1)
    found = np.empty(len(quarters), dtype=np.int64)
    for i, quarter in enumerate(quarters.tolist()):
        local = (start + timedelta(minutes=15 * quarter)).replace(tzinfo=zone, fold=fold)
        span = local.utcoffset()
        found[i] = 0 if span is None else span.days * 86_400 + span.seconds
    return found


def _localize(
    whole: Whole, part: Floats, good: NDArray[np.bool_], *, zone: tzinfo, where: str
) -> tuple[Whole, tuple[str, ...]]:
    """Turn local times into UTC; an hour that comes twice is told apart by the order of the rows."""
    rows = np.flatnonzero(good)
    local = whole[rows]
    # Clocks change on a quarter-hour, so that one look-up does for all times within one.
    quarters, place = np.unique(local // 900, return_inverse=True)
    try:
        first, second = (_utc_offsets(quarters, zone, fold)[place] for fold in (0, 1))
    except (OverflowError, ValueError) as err:
        raise DataError(f"{where}: a date lies outside the calendar. Correct the rows.") from err
    notes: list[str] = []
    # The offset falls in an hour that comes twice, and rises over an hour that does not exist.
    never = second > first
    if never.any():
        i = int(np.flatnonzero(never)[0])
        stamp = datetime(1970, 1, 1) + timedelta(seconds=int(local[i]))
        hours, rest = divmod(abs(int(first[i])), 3600)
        kept = f"{'-' if first[i] < 0 else '+'}{hours:02d}:{rest // 60:02d}"
        raise DataError(
            f"{where}: {int(never.sum())} time(s), the first {stamp}, do not exist in the zone {zone}: its "
            "clocks go forward then. The logger does not follow daylight saving time; give the fixed "
            "offset that it "
            f'keeps under [time] in the map file: zone = "{kept}".'
        )
    twice = second < first
    utc = local - first
    if twice.any():
        edges = np.flatnonzero(np.diff(np.concatenate(([0], twice.astype(np.int8), [0]))))
        for a, b in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
            span = int(first[a] - second[a])
            back = np.diff(local[a:b]) <= -span // 3
            if back.any():
                cut = a + 1 + int(np.flatnonzero(back)[0])
                utc[cut:b] += span
                said = "the rows after the clock went back were taken as the second pass"
            else:
                before = int(utc[a] - utc[a - 1]) if a else None
                after = int(local[b] - first[b] - utc[b - 1]) if b < len(local) else None
                later = (before is not None and before < 0) or (
                    after is not None and after >= span and (before is None or before >= after - span)
                )
                if later:
                    utc[a:b] += span
                known = before is not None or after is not None
                said = f"they were taken as the {'second' if later else 'first'} pass" + (
                    ", which the rows before and after bear out" if known else "; nothing in the file tells"
                )
            notes.append(f"{where}: {b - a} time(s) lie in the hour that comes twice in {zone}; {said}.")
    out = whole.copy()
    out[rows] = utc
    return out, tuple(notes)


def instants(found: Times, epoch: int) -> Floats:
    """Seconds since `epoch` (a whole second since 1970), (n,)."""
    return (found.whole - epoch).astype(np.float64) + found.part


def read_instant(text: str, *, zone: tzinfo | None, where: str) -> datetime:
    """Read one ISO 8601 time as a UTC instant.

    Raises
    ------
    DataError
        As `read_times`.
    """
    try:
        found = read_times([text], source=where, header="time", lines=[1], zone=zone)
    except FirstfrostError as err:
        raise DataError(
            f"{where} is {text!r}, not a time. Expected one such as 2025-01-15T08:30:00-07:00."
        ) from err
    if found.base != "instant":
        raise DataError(
            f"{where} is {text!r}, a time without a date. Expected one such as 2025-01-15T08:30:00Z."
        )
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=int(found.whole[0]) + float(found.part[0]))
