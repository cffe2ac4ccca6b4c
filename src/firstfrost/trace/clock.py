"""Rows in the order of a file to rows in the order of time: late rows, repeats, and clocks that jump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.quantities import show_time

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_MONTH_S: Final = 30 * 86_400.0
_SHOWN: Final = 3


@dataclass(frozen=True, kw_only=True)
class Ordered:
    """Rows in rising order of time.

    `rows` (k,) are the rows kept, as indices into the file's order; `time_s` (k,) their times; `values`
    (k, c) their readings, where two rows of one time are merged.
    """

    rows: Ints
    time_s: Floats
    values: Floats
    dropped: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def untouched(self) -> bool:
        """Whether the rows came in rising order, each once."""
        return not self.dropped and not self.notes


def order(time_s: Floats, values: Floats, *, source: str, lines: Sequence[int]) -> Ordered:
    """Bring the rows of one file into the order of time.

    Parameters
    ----------
    time_s : (n,) float64
        Times in the order of the file. [s]
    values : (n, c) float64
        The readings of each row.
    source : str
        File name, for messages.
    lines : (n,) sequence of int
        Line number of each row, for messages.

    Notes
    -----
    Rows that step back in time are *late* where they fill a hole in the record or stand before its start
    close by: they are sorted in. They mean a *clock set back* where they cover times that are already covered
    by other readings, or lie before the start with no join to it: then the rows keep their order, and those
    after the jump are moved on to follow one usual step after it. A forward jump stays a gap, unless it is
    longer than a month: then the clock was set, and the rows before it are moved up.
    """
    notes: list[str] = []
    dropped: list[str] = []
    time_s = time_s.copy()
    steps = np.diff(time_s)
    rising = steps[steps > 0]
    step = float(np.median(rising)) if len(rising) else 1.0
    if bool((steps < 0).any()):
        _set_back(time_s, values, step=step, source=source, lines=lines, notes=notes, dropped=dropped)
    rows = np.argsort(time_s, kind="stable")
    time_s, values = time_s[rows], values[rows]
    steps = np.diff(time_s)
    if bool((steps == 0).any()):
        rows, time_s, values = _merge(
            rows, time_s, values, source=source, lines=lines, notes=notes, dropped=dropped
        )
        steps = np.diff(time_s)
    for i in np.flatnonzero(steps > _MONTH_S)[::-1].tolist():
        time_s[: i + 1] += float(time_s[i + 1] - time_s[i]) - step
        notes.append(
            f"{source}: the clock jumps forward by {show_time(float(steps[i]))} before line "
            f"{lines[int(rows[i + 1])]}; it was taken as set then, and the earlier rows were moved up to "
            "it."
        )
    if len(time_s) >= 20:
        long = np.flatnonzero(np.diff(time_s) > max(10.0 * step, 30.0))
        for i in long[:_SHOWN].tolist():
            notes.append(
                f"{source}: no rows for {show_time(float(time_s[i + 1] - time_s[i]))} before line "
                f"{lines[int(rows[i + 1])]}: the logger paused, or its clock was put forward."
            )
        if len(long) > _SHOWN:
            notes.append(f"{source}: {len(long) - _SHOWN} more gaps of more than ten usual steps.")
    return Ordered(rows=rows, time_s=time_s, values=values, dropped=tuple(dropped), notes=tuple(notes))


def _set_back(
    time_s: Floats,
    values: Floats,
    *,
    step: float,
    source: str,
    lines: Sequence[int],
    notes: list[str],
    dropped: list[str],
) -> None:
    """Move the rows after a clock that was set back, in place; leave late rows where they are."""
    n = len(time_s)
    late = 0
    first_late = -1
    i = 1
    top = float(time_s[0])
    top_at = 0
    while i < n:
        if time_s[i] >= top:
            # Jump over the rising stretch in one go.
            falls = np.flatnonzero(np.diff(time_s[i:]) < 0)
            end = i + int(falls[0]) if len(falls) else n - 1
            top, top_at = float(time_s[end]), end
            i = end + 1
            continue
        over = np.flatnonzero(time_s[i:] > top)
        j = i + int(over[0]) if len(over) else n
        if not _is_set_back(time_s, values, i, j, step=step):
            late += j - i
            first_late = i if first_late < 0 else first_late
            i = j
            continue
        shift = top + step - float(time_s[i])
        # A forward jump of about that size, back onto the old count, is the clock being put right again.
        put_right = j < n and time_s[j] - time_s[j - 1] > max(0.5 * shift, 2.0 * step)
        end = j if put_right and time_s[j] > time_s[j - 1] + shift else n
        notes.append(
            f"{source}: the clock was set back by {show_time(shift - step)} at line {lines[i]}; the "
            f"{end - i} rows from there were moved to follow the row before."
        )
        time_s[i:end] += shift
        top = float(time_s[top_at])
    if late:
        notes.append(
            f"{source}: {late} row(s) came late and were put in their place, the first at line "
            f"{lines[first_late]}."
        )


def _is_set_back(time_s: Floats, values: Floats, i: int, j: int, *, step: float) -> bool:
    block = time_s[i:j]
    if len(block) < 3 or float((np.diff(block) > 0).mean()) < 0.9:
        return False
    earlier = np.argsort(time_s[:i], kind="stable")
    past = time_s[:i][earlier]
    place = np.clip(np.searchsorted(past, block, side="right") - 1, 0, len(past) - 1)
    before_start = block < past[0] - 0.5 * step
    if before_start.mean() > 0.5:
        # A block that ends where the record starts is an earlier part of it; another clock would not join.
        last = float(block[before_start][-1])
        return not (before_start.all() and past[0] - last <= 10.0 * step)
    after = np.clip(place + 1, 0, len(past) - 1)
    covered = ~before_start & (past[after] - past[place] <= 2.0 * step)
    if covered.mean() <= 0.5:
        return False
    same_time = past[place] == block
    if same_time.any():
        old, new = values[earlier[place[same_time]]], values[i:j][same_time]
        alike = ((old == new) | (np.isnan(old) & np.isnan(new))).all(axis=1)
        # The same rows sent twice are repeats, not another hour.
        if float(alike.mean()) > 0.5 and same_time.mean() > 0.5:
            return False
    return True


def _merge(
    rows: Ints,
    time_s: Floats,
    values: Floats,
    *,
    source: str,
    lines: Sequence[int],
    notes: list[str],
    dropped: list[str],
) -> tuple[Ints, Floats, Floats]:
    """Keep one row of each time: the first of the file, its blanks filled from the others."""
    first = np.concatenate(([True], np.diff(time_s) > 0))
    group = np.cumsum(first) - 1
    kept = values[first].copy()
    twins = differing = filled = 0
    first_differing = -1
    for k in np.flatnonzero(~first).tolist():
        have, new = kept[group[k]], values[k]
        both = np.isfinite(have) & np.isfinite(new)
        if bool((have[both] != new[both]).any()):
            differing += 1
            first_differing = int(rows[k]) if first_differing < 0 else first_differing
        elif bool((np.isnan(have) & np.isfinite(new)).any()):
            filled += 1
        else:
            twins += 1
        kept[group[k]] = np.where(np.isnan(have), new, have)
    if twins:
        dropped.append(f"{source}: {twins} row(s) that repeat another were dropped.")
    if differing:
        dropped.append(
            f"{source}: {differing} row(s) give other readings for a time that came before, the first at "
            f"line {lines[first_differing]}; the first reading of each time was kept."
        )
    if filled:
        notes.append(f"{source}: {filled} row(s) were joined with another of the same time.")
    return rows[first], time_s[first], kept
