"""What a visit's batches say: readings, typed ones, further ones, marks, and what cannot be read or agreed.

A batch is kept as it came; units are converted here each time, so that a plate that is set right later (its
altitude, say) sets its gauge pressures right as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from firstfrost.causes.readings import Stated
from firstfrost.errors import FirstfrostError, nearest
from firstfrost.quantities.convert import parse, to_si
from firstfrost.store.batches import Batch, Kept, Looked, MarkSent, Typed, order_of
from firstfrost.store.looked import Look, disputed, understand
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS
from firstfrost.visit.gather import Act, Feed, rows_of

EARLIEST_S: Final = 946_684_800.0
LATEST_S: Final = 4_102_444_800.0
"""2000 and 2100: a time outside is no time of a visit."""
TYPED: Final = "typed readings"
"""The name of their feed."""
Entry: TypeAlias = Typed | Looked | MarkSent


@dataclass(frozen=True, kw_only=True)
class Problem:
    """What of a batch cannot be read; it is kept all the same."""

    where: str
    message: str


@dataclass(kw_only=True)
class Read:
    """One batch in memory units.

    `values` has one entry a typed reading, NaN where it cannot be read; `looked` one a further reading, None
    where it cannot.
    """

    time_s: list[float] = field(default_factory=list)
    channels: dict[str, list[float]] = field(default_factory=dict)
    values: list[float] = field(default_factory=list)
    looked: list[Stated | None] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read(batch: Batch, atmosphere_pa: float) -> Read:
    """Read a batch: its units converted, and what cannot be read told.

    Parameters
    ----------
    batch : Batch
        As it was sent.
    atmosphere_pa : float
        Ambient pressure at the site, added to gauge pressures. [Pa]
    """
    out = Read()
    _samples(batch, atmosphere_pa, out)
    for i, typed in enumerate(batch.typed):
        out.values.append(_typed(typed, atmosphere_pa, f"typed[{i}]", out.problems))
    for i, one in enumerate(batch.looked):
        out.looked.append(_looked(one, f"looked[{i}]", out.problems))
    for i, mark in enumerate(batch.marks):
        if mark.act not in ACTS:
            _note(out, f"marks[{i}].act", f"{mark.act!r} is not an act. {nearest(mark.act, ACTS)}")
        _check_time(mark.time_s, f"marks[{i}].time_s", out.problems)
    return out


def _note(out: Read, where: str, message: str) -> None:
    out.problems.append(Problem(where=where, message=message))


def _in_range(time_s: float) -> bool:
    return EARLIEST_S <= time_s <= LATEST_S


def _check_time(time_s: float, where: str, problems: list[Problem]) -> bool:
    if _in_range(time_s):
        return True
    problems.append(
        Problem(
            where=where,
            message=f"{time_s:g} is no time of a visit. Expected seconds since 1970, as in 1795600000.0. "
            "Check the device's clock and unit of time.",
        )
    )
    return False


def _samples(batch: Batch, atmosphere_pa: float, out: Read) -> None:
    samples = batch.samples
    if samples is None:
        return
    rows = len(samples.time_s)
    good = [i for i, t in enumerate(samples.time_s) if _in_range(t)]
    if len(good) < rows:
        bad = next(i for i, t in enumerate(samples.time_s) if not _in_range(t))
        _check_time(samples.time_s[bad], f"samples.time_s[{bad}]", out.problems)
    out.time_s = samples.time_s if len(good) == rows else [samples.time_s[i] for i in good]
    for name in samples.units:
        if name not in samples.channels:
            _note(out, f"samples.units.{name}", f"{name} is not among the channels of this batch.")
    for name, readings in samples.channels.items():
        where = f"samples.channels.{name}"
        channel = CHANNELS.get(name)
        if channel is None:
            _note(out, where, f"{name!r} is not a channel. {nearest(name, CHANNELS)}")
            continue
        if len(readings) != rows:
            _note(
                out, where, f"{len(readings)} readings for {rows} times. Expected one a time, null for none."
            )
            continue
        values = [math.nan if v is None else v for v in readings]
        if len(good) < rows:
            values = [values[i] for i in good]
        text = samples.units.get(name)
        if text is not None:
            try:
                kind: Any = "pressure" if channel.kind == "pressure" else channel.kind
                if kind != "switch":
                    values = [to_si(v, text, kind, atmosphere_pa=atmosphere_pa, where=where) for v in values]
            except FirstfrostError as err:
                _note(out, f"samples.units.{name}", str(err))
                continue
        out.channels[name] = values


def _typed(typed: Typed, atmosphere_pa: float, where: str, problems: list[Problem]) -> float:
    good = _check_time(typed.time_s, f"{where}.time_s", problems)
    channel = CHANNELS.get(typed.channel)
    if channel is None:
        message = f"{typed.channel!r} is not a channel. {nearest(typed.channel, CHANNELS)}"
        problems.append(Problem(where=f"{where}.channel", message=message))
        return math.nan
    try:
        if channel.kind == "switch":
            value = {"on": 1.0, "off": 0.0, "1": 1.0, "0": 0.0}.get(typed.text.strip().casefold(), math.nan)
            if math.isnan(value):
                raise FirstfrostError(f"{typed.text!r} is neither on nor off. Write one of the two.")
        else:
            value = parse(
                typed.text, channel.kind, channel.name, atmosphere_pa=atmosphere_pa, unmarked="gauge"
            )
    except FirstfrostError as err:
        problems.append(Problem(where=f"{where}.text", message=str(err)))
        return math.nan
    if not channel.lowest <= value <= channel.highest:
        message = (
            f"{typed.text!r} is outside what a probe of the {channel.title} can read. Check it, and its unit."
        )
        problems.append(Problem(where=f"{where}.text", message=message))
        return math.nan
    return value if good else math.nan


def _looked(one: Looked, where: str, problems: list[Problem]) -> Stated | None:
    good = _check_time(one.time_s, f"{where}.time_s", problems)
    try:
        said = understand(one)
    except FirstfrostError as err:
        problems.append(Problem(where=f"{where}.text", message=str(err)))
        return None
    return said if good else None


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """Two different things under one name or time: one is used, both are shown."""

    kind: str
    """`value`, `entry`, `sequence`: the first to arrive is used; `looked`: the latest by its time."""
    client: str
    other: str
    """Whose is used."""
    time_s: float
    channel: str = ""
    """Of a further reading, its name."""
    values: tuple[Any, ...] = ()


@dataclass(kw_only=True)
class Contents:
    """All that the batches of a visit say."""

    feeds: list[Feed] = field(default_factory=list)
    acts: list[Act] = field(default_factory=list)
    typed: list[dict[str, Any]] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    marks: list[dict[str, Any]] = field(default_factory=list)
    samples: list[dict[str, Any]] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    problems: list[dict[str, Any]] = field(default_factory=list)


def contents(kept: Sequence[Kept], atmosphere_pa: float) -> Contents:
    """Read a visit's batches.

    Parameters
    ----------
    kept : sequence of Kept
        In the order in which they came.
    atmosphere_pa : float
        As for `read`.
    """
    out = Contents()
    gone = {one.id: one for item in kept for one in item.batch.withdrawn}
    reads = [(item, read(item.batch, atmosphere_pa)) for item in kept]
    entries: dict[str, tuple[str, Entry]] = {}
    values: dict[tuple[str, float], tuple[float, str]] = {}
    typed_rows: list[tuple[float, str, float]] = []
    for item, got in reads:
        batch, client = item.batch, item.batch.client
        out.problems += [
            {"n": item.n, "client": client, "where": p.where, "message": p.message} for p in got.problems
        ]
        for typed, value in zip(batch.typed, got.values, strict=True):
            if _again(typed, client, entries, out.conflicts):
                continue
            off = typed.id in gone
            out.typed.append(_typed_entry(item.n, client, typed, value, withdrawn=off))
            if not off and value == value and _first(typed.channel, typed.time_s, value, client, values, out):
                typed_rows.append((typed.time_s, typed.channel, value))
        for i, (look, said) in enumerate(zip(batch.looked, got.looked, strict=True)):
            if not _again(look, client, entries, out.conflicts):
                off, at = look.id in gone, f"looked[{i}]"
                out.looks.append(Look(n=item.n, client=client, at=at, sent=look, said=said, withdrawn=off))
        for mark in batch.marks:
            if _again(mark, client, entries, out.conflicts):
                continue
            off = mark.id in gone
            out.marks.append(_mark_entry(item.n, client, mark, withdrawn=off))
            if not off and mark.act in ACTS and _in_range(mark.time_s):
                out.acts.append(Act(at_s=mark.time_s, act=mark.act, note=mark.note))
    for used, other in disputed(out.looks):
        told = (used.sent.text, other.sent.text)
        out.conflicts.append(
            Conflict(
                kind="looked",
                client=other.client,
                other=used.client,
                time_s=other.sent.time_s,
                channel=other.sent.name,
                values=told,
            )
        )
    _clashes(out, _feeds(reads, out))
    if typed_rows:
        # What was typed for one time is one row.
        rows: dict[float, dict[str, list[float]]] = {}
        for time_s, name, value in sorted(typed_rows):
            rows.setdefault(time_s, {})[name] = [value]
        out.feeds.append(rows_of([([time_s], row) for time_s, row in rows.items()], name=TYPED))
    return out


def _typed_entry(n: int, client: str, typed: Typed, value: float, *, withdrawn: bool) -> dict[str, Any]:
    channel = CHANNELS.get(typed.channel)
    return {
        "n": n,
        "client": client,
        "id": typed.id,
        "time_s": typed.time_s,
        "channel": typed.channel,
        "text": typed.text,
        "value": value if value == value else None,
        "unit": channel.unit if channel else None,
        "withdrawn": withdrawn,
    }


def _mark_entry(n: int, client: str, mark: MarkSent, *, withdrawn: bool) -> dict[str, Any]:
    return {
        "n": n,
        "client": client,
        "id": mark.id,
        "time_s": mark.time_s,
        "act": mark.act,
        "note": mark.note,
        "withdrawn": withdrawn,
    }


def _again(
    entry: Entry,
    client: str,
    entries: dict[str, tuple[str, Entry]],
    conflicts: list[Conflict],
) -> bool:
    """Tell whether an entry of this id has come before; with other content, that is a conflict."""
    first = entries.setdefault(entry.id, (client, entry))
    if first[1] is entry:
        return False
    if first[1] != entry:
        told = [one.act if isinstance(one, MarkSent) else one.text for one in (first[1], entry)]
        conflicts.append(
            Conflict(kind="entry", client=client, other=first[0], time_s=entry.time_s, values=tuple(told))
        )
    return True


def _first(
    channel: str,
    time_s: float,
    value: float,
    client: str,
    values: dict[tuple[str, float], tuple[float, str]],
    out: Contents,
) -> bool:
    """Tell whether this is the first value of a channel at a time; another one later is a conflict."""
    there = values.setdefault((channel, time_s), (value, client))
    if there == (value, client):
        return True
    if there[0] != value:
        out.conflicts.append(
            Conflict(
                kind="value",
                client=client,
                other=there[1],
                time_s=time_s,
                channel=channel,
                values=(there[0], value),
            )
        )
    return False


def _feeds(reads: Iterable[tuple[Kept, Read]], out: Contents) -> list[NDArray[np.int64]]:
    """One feed a client, its batches in the client's own order; with which batch each row came."""
    by_client: dict[str, list[tuple[Kept, Read]]] = {}
    arrived: list[NDArray[np.int64]] = []
    for item, got in reads:
        if got.time_s and got.channels:
            by_client.setdefault(item.batch.client, []).append((item, got))
    for client, mine in by_client.items():
        mine.sort(key=lambda pair: order_of(pair[0].batch, pair[0].n))
        feed = rows_of([(got.time_s, got.channels) for _, got in mine], name=client)
        arrived.append(np.repeat([item.n for item, _ in mine], [len(got.time_s) for _, got in mine]))
        out.feeds.append(feed)
        out.samples.append(
            {
                "client": client,
                "time_s": feed.time_s.tolist(),
                "channels": {
                    name: [v if v == v else None for v in column.tolist()]
                    for name, column in feed.columns.items()
                },
            }
        )
    return arrived


def _clashes(out: Contents, arrived: list[NDArray[np.int64]]) -> None:
    """Where two clients differ in one channel at the very same time: the one that came later is left out."""
    gone: list[tuple[Feed, str, int]] = []
    for i, one in enumerate(out.feeds):
        for j, other in enumerate(out.feeds[:i]):
            shared = one.columns.keys() & other.columns.keys()
            if not shared:
                continue
            times, mine, theirs = np.intersect1d(one.time_s, other.time_s, return_indices=True)
            for name in sorted(shared):
                a, b = other.columns[name][theirs], one.columns[name][mine]
                for k in np.flatnonzero(np.isfinite(a) & np.isfinite(b) & (a != b)).tolist():
                    mine_later = bool(arrived[i][mine[k]] > arrived[j][theirs[k]])
                    late, early = (one, other) if mine_later else (other, one)
                    values = (float(a[k]), float(b[k])) if mine_later else (float(b[k]), float(a[k]))
                    out.conflicts.append(
                        Conflict(
                            kind="value",
                            client=late.name,
                            other=early.name,
                            time_s=float(times[k]),
                            channel=name,
                            values=values,
                        )
                    )
                    gone.append((late, name, int(mine[k] if mine_later else theirs[k])))
    for feed, name, row in gone:
        # The columns are our own: what was sent is kept in its batch, and was listed before.
        feed.columns[name][row] = math.nan
