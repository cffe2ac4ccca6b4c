"""From what a visit holds to its result: read on one snapshot, judged without the store."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, select

from firstfrost.equipment.read import unit_from
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError
from firstfrost.store import blobs, traces
from firstfrost.store.batches import Kept, clashing, kept
from firstfrost.store.contents import Contents, contents
from firstfrost.store.looked import Look, entry, holding, readings_of
from firstfrost.store.records import VISIT, find
from firstfrost.store.schema import batches, files, revisions
from firstfrost.store.times import day
from firstfrost.store.units import overdue, plate_table, reads_of, unit_row
from firstfrost.trace.trace import Trace
from firstfrost.visit.as_json import as_json
from firstfrost.visit.check import check_trace
from firstfrost.visit.gather import Log, gather, marks_on
from firstfrost.visit.result import Result


@dataclass(frozen=True, kw_only=True)
class Sources:
    """All that a result is made from, free of the store."""

    n: int
    digest: str
    """Over all of it: the same sources, the same result."""
    plate: dict[str, Any]
    unit: Unit
    kept: tuple[Kept, ...]
    logs: tuple[Log, ...]
    marks_complete: bool
    overdue: tuple[str, ...] = ()
    """One sentence for each instrument whose calibration was overdue."""


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A result as JSON, and the frozen trace that it was made from."""

    told: dict[str, Any]
    trace: bytes


def visit_plate(connection: Connection, visit: Row[Any]) -> dict[str, Any]:
    """The plate that a visit is read with: a closed one's as it was then, whatever has been changed since."""
    if visit.state == "closed":
        closed = (revisions.c.visit_id == visit.id) & (revisions.c.revision == visit.revision)
        plate: dict[str, Any] = connection.execute(select(revisions.c.plate).where(closed)).scalar_one()
        return plate
    row, site = unit_row(connection, visit.unit_id)
    return plate_table(row.plate, name=row.name, site=site, reads=reads_of(connection, visit.instruments))


def visit_unit(connection: Connection, visit: Row[Any]) -> Unit:
    """The unit of a visit, read with the instruments that are used on it."""
    return unit_from(visit_plate(connection, visit), source="the plate")


def sources(connection: Connection, visit_id: str) -> Sources:
    """What a visit holds now; a closed one what it held when it was closed.

    Raises
    ------
    Missing, Deleted
        If there is no such visit.
    """
    visit = find(connection, VISIT, visit_id)
    plate = visit_plate(connection, visit)
    when = day(visit.started_s if visit.started_s is not None else visit.changed_s)
    return Sources(
        n=visit.n,
        digest=digest_of(connection, visit, plate),
        plate=plate,
        unit=unit_from(plate, source="the plate"),
        kept=tuple(kept(connection, visit_id, late=visit.state != "closed")),
        logs=tuple(
            Log(name=one.name, content=blobs.get(connection, one.sha256).content, columns=one.columns)
            for one in _logs(connection, visit_id)
        ),
        marks_complete=visit.marks_complete,
        overdue=tuple(
            f"The calibration of {one['name']} was due on {one['due_on']}: what it is stated to be worth "
            "may no longer hold."
            for one in overdue(connection, visit.instruments, when)
        ),
    )


def digest_of(connection: Connection, visit: Row[Any], plate: dict[str, Any]) -> str:
    """The sum over all that a result of a visit is made from: the same sources, the same sum."""
    whole = hashlib.sha256()
    sums = select(batches.c.sum).where(batches.c.visit_id == visit.id).order_by(batches.c.n)
    if visit.state == "closed":
        sums = sums.where(batches.c.late.is_(False))
    for part in connection.execute(sums).scalars():
        whole.update(part.encode())
    logs = [[one.sha256, one.name, one.columns] for one in _logs(connection, visit.id)]
    whole.update(json.dumps([plate, visit.marks_complete, logs], sort_keys=True).encode())
    return whole.hexdigest()


def _logs(connection: Connection, visit_id: str) -> list[Row[Any]]:
    query = (
        select(files)
        .where(files.c.visit_id == visit_id, files.c.aside.is_(False))
        .order_by(files.c.received_s, files.c.id)
    )
    return list(connection.execute(query))


def judge(source: Sources) -> Judged:
    """Judge a visit from its sources; as `result_of`."""
    result, content = result_of(source)
    return Judged(told=as_json(result), trace=content)


def result_of(source: Sources) -> tuple[Result, bytes]:
    """The result of a visit, and the frozen trace that it was made from.

    Raises
    ------
    DataError, InputError
        If its logs cannot be read or joined, or there is nothing to judge.
    """
    said = contents(source.kept, source.unit.site.atmosphere_pa)
    reading = gather(said.feeds, source.logs, source.unit)
    if not len(reading.trace):
        raise InputError(
            "The visit holds no reading yet. Expected readings from a recorder, typed ones, or a log. "
            "Add some; then it can be judged."
        )
    content, trace = traces.freeze(reading.trace)
    marks = marks_on(trace, said.acts, complete=source.marks_complete)
    typed, left = readings_of(said.looks, source.unit)
    notes = (*source.overdue, *_notes(said, left))
    result = check_trace(trace, source.unit, marks, reading.receipt, notes=notes, readings=typed)
    return result, content


def trace_of(source: Sources) -> Trace:
    """The readings of a visit on one time base."""
    said = contents(source.kept, source.unit.site.atmosphere_pa)
    return gather(said.feeds, source.logs, source.unit).trace


def _notes(said: Contents, left: Sequence[tuple[Look, str]]) -> tuple[str, ...]:
    notes = []
    looked = sorted({one.channel for one in said.conflicts if one.kind == "looked"})
    others = sum(one.kind != "looked" for one in said.conflicts)
    if others:
        notes.append(
            f"Two devices disagree in {others} place(s); what arrived first was used. "
            "Look at the conflicts of the visit."
        )
    if looked:
        notes.append(
            f"Two devices disagree on what was typed for the causes ({', '.join(looked)}); the latest was "
            "used. Withdraw what is wrong."
        )
    notes += [f"Not used for the causes: {why}" for _, why in left]
    if said.problems:
        first = said.problems[0]["message"]
        notes.append(f"{len(said.problems)} entries of batches could not be read, the first: {first}")
    return tuple(notes)


def readings(connection: Connection, visit_id: str, after: int = 0) -> dict[str, Any]:
    """All that a visit's batches say, or those after number `after`; and every conflict.

    Raises
    ------
    Missing, Deleted
        If there is no such visit.
    """
    visit = find(connection, VISIT, visit_id)
    unit = visit_unit(connection, visit)
    atmosphere_pa = unit.site.atmosphere_pa
    items = kept(connection, visit_id)
    whole = contents(items, atmosphere_pa)
    told = whole if not after else contents([one for one in items if one.n > after], atmosphere_pa)
    gone = {one.id for item in items for one in item.batch.withdrawn}
    _, left = readings_of(whole.looks, unit)
    unused = [
        {"n": one.n, "client": one.client, "where": f"{one.at}.text", "message": why}
        for one, why in left
        if one.n > after
    ]
    counted = {one.sent.id for one in holding(whole.looks)} - {one.sent.id for one, _ in left}
    conflicts = [dataclasses.asdict(one) for one in whole.conflicts]
    conflicts += [
        {"kind": "sequence", "client": batch.client, "sequence": batch.sequence, "time_s": received_s}
        for received_s, batch in clashing(connection, visit_id)
    ]
    return {
        "n": visit.n,
        "samples": told.samples,
        "typed": [{**one, "withdrawn": one["id"] in gone} for one in told.typed],
        "looked": [
            {**entry(one, counts=one.sent.id in counted), "withdrawn": one.sent.id in gone}
            for one in told.looks
        ],
        "marks": [{**one, "withdrawn": one["id"] in gone} for one in told.marks],
        "conflicts": conflicts,
        "problems": [*told.problems, *unused],
    }
