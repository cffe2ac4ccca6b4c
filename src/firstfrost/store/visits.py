"""Visits: planned, open, closed; their logs, attachments, revisions, reports and signatures."""

from __future__ import annotations

import gzip
import json
from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import Connection, Row, func, insert, select, update

import firstfrost
from firstfrost.errors import Changed, InputError, Missing, WrongState
from firstfrost.quantities.convert import parse
from firstfrost.store import audit, blobs, traces
from firstfrost.store.conflicts import conflict_counts
from firstfrost.store.history import summary
from firstfrost.store.judging import Judged, Sources, digest_of, visit_plate
from firstfrost.store.records import UNIT, VISIT, bump, find, public, put
from firstfrost.store.schema import (
    attachments,
    batches,
    clashes,
    files,
    instruments,
    reports,
    revisions,
    signatures,
    visits,
)
from firstfrost.store.schema import (
    blobs as blob_table,
)
from firstfrost.store.store import By, new_id
from firstfrost.store.times import day, stamp
from firstfrost.store.units import attached, overdue, plate_unit, read_as, unit_row

RESULT_MEDIA: Final = "application/gzip"
"""Of a result: JSON, compressed."""


def put_visit(connection: Connection, visit_id: str, version: int, fields: Mapping[str, Any], by: By) -> bool:
    """Create or change a visit; one with a start is open.

    Raises
    ------
    InputError
        If the weather cannot be read, or an instrument is not known.
    WrongState
        If it is closed, or its unit is to be another after readings came.
    RecordError
        As `records.put`.
    """
    find(connection, UNIT, fields["unit_id"])
    for name, kind in (("outdoor", "temperature"), ("humidity", "humidity"), ("indoor", "temperature")):
        if fields[name] is not None:
            parse(fields[name], kind, name)  # type: ignore[arg-type]
    known = set(
        connection.execute(
            select(instruments.c.id).where(instruments.c.id.in_(fields["instruments"]))
        ).scalars()
    )
    strange = [one for one in fields["instruments"] if one not in known]
    if strange:
        raise InputError(
            f"instruments names {strange[0]}, which is not in the store. Expected ids of "
            "instruments. Add it first."
        )
    row = connection.execute(select(visits).where(visits.c.id == visit_id)).first()
    if row is not None and row.unit_id != fields["unit_id"] and row.n:
        raise WrongState(
            "The visit has readings of one unit, and is to be of another. Expected readings to stay with "
            "their unit. Start a visit for the other unit.",
            current=public(VISIT, row),
        )
    if row is not None and row.state == "closed":
        same = all(getattr(row, name) == fields[name] for name in VISIT.fields)
        if not same:
            raise WrongState(
                "The visit is closed. Expected an open one for a change. Reopen it, and say why.",
                current=public(VISIT, row),
            )
        return False
    state = "planned" if fields["started_s"] is None else "open"
    first = {"state": state, "revision": 0, "n": 0, "late": 0}
    changed = put(connection, VISIT, visit_id, version, fields, by, first=first)
    if changed and row is not None and row.state == "planned" and state == "open":
        connection.execute(update(visits).where(visits.c.id == visit_id).values(state="open"))
    return changed


def visit_view(connection: Connection, visit_id: str) -> dict[str, Any]:
    """A visit as callers see it, with its unit and all that hangs on it."""
    row = find(connection, VISIT, visit_id)
    unit, site = unit_row(connection, row.unit_id)
    when = day(row.started_s if row.started_s is not None else row.changed_s)
    clash_count = connection.execute(
        select(func.count()).select_from(clashes).where(clashes.c.visit_id == visit_id)
    ).scalar_one()
    return {
        **_short(row, conflict_counts(connection, [row])),
        "unit": {
            **public(UNIT, unit),
            "site_name": site.name if site else None,
            "read": read_as(plate_unit(unit.plate, name=unit.name, site=site)),
        },
        "instruments_overdue": overdue(connection, row.instruments, when),
        "files": file_list(connection, visit_id),
        "attachments": attached(connection, visit_id=visit_id),
        "reports": report_list(connection, visit_id),
        "revisions": revision_list(connection, visit_id),
        "signatures": _signatures(connection, visit_id),
        "sequence_conflicts": clash_count,
    }


def _short(row: Row[Any], conflicts: Mapping[str, int]) -> dict[str, Any]:
    return {
        **public(VISIT, row),
        "state": row.state,
        "revision": row.revision or None,
        "n": row.n,
        "late": row.late,
        "conflicts": conflicts[row.id],
    }


def visit_list(
    connection: Connection,
    *,
    unit_id: str | None = None,
    state: str | None = None,
    from_s: float | None = None,
    to_s: float | None = None,
) -> list[dict[str, Any]]:
    """Visits, the latest first; planned ones, which have no start, before them."""
    query = select(visits)
    if unit_id is not None:
        query = query.where(visits.c.unit_id == unit_id)
    if state is not None:
        query = query.where(visits.c.state == state)
    if from_s is not None:
        query = query.where(visits.c.started_s >= from_s)
    if to_s is not None:
        query = query.where(visits.c.started_s < to_s)
    order = (visits.c.started_s.desc().nulls_first(), visits.c.planned_on, visits.c.id)
    rows = connection.execute(query.order_by(*order)).all()
    conflicts = conflict_counts(connection, rows)
    return [_short(row, conflicts) for row in rows]


def put_file(
    connection: Connection,
    visit_id: str,
    file_id: str,
    *,
    name: str,
    content: bytes,
    problem: str | None,
    by: By,
) -> bool:
    """Keep a log as it came, once; set aside where it cannot be read. Tell whether it is new.

    Raises
    ------
    Changed
        If the id was taken by other content.
    WrongState
        If the visit is closed.
    """
    visit = find(connection, VISIT, visit_id)
    before = connection.execute(select(files).where(files.c.id == file_id)).first()
    if before is not None:
        if before.visit_id == visit_id and before.sha256 == blobs.sum_of(content):
            return False
        raise Changed(f"The file {file_id} came before with other content. Expected a new id. Give it one.")
    if visit.state == "closed":
        raise WrongState("The visit is closed. Expected an open one for a log. Reopen it, and say why.")
    key = blobs.put(connection, content, "application/octet-stream")
    connection.execute(
        insert(files).values(
            id=file_id,
            visit_id=visit_id,
            name=name,
            sha256=key,
            received_s=by.at_s,
            aside=problem is not None,
            columns=None,
            problem=problem,
            who=by.who,
        )
    )
    started = {} if visit.started_s is not None else {"started_s": by.at_s}
    bump(connection, visit_id, by, state="open", **started)
    audit.note(connection, by, "add log", "visit", visit_id, file=file_id, name=name)
    return True


def file_row(connection: Connection, visit_id: str, file_id: str) -> Row[Any]:
    """A log of a visit.

    Raises
    ------
    Missing
        If the visit has none such.
    """
    find(connection, VISIT, visit_id)
    row = connection.execute(select(files).where(files.c.id == file_id, files.c.visit_id == visit_id)).first()
    if row is None:
        raise Missing(f"The visit has no file {file_id}. Expected one of its files. Look at the visit.")
    return row


def use_file(
    connection: Connection,
    visit_id: str,
    file_id: str,
    *,
    aside: bool,
    columns: str | None,
    problem: str | None,
    by: By,
) -> None:
    """Say whether a log counts, and what its headers mean.

    Raises
    ------
    Missing
        If the visit has none such.
    WrongState
        If the visit is closed.
    """
    row = file_row(connection, visit_id, file_id)
    if find(connection, VISIT, visit_id).state == "closed":
        raise WrongState("The visit is closed. Expected an open one for a change. Reopen it, and say why.")
    connection.execute(
        update(files).where(files.c.id == file_id).values(aside=aside, columns=columns, problem=problem)
    )
    bump(connection, visit_id, by)
    was = {"aside": row.aside, "columns": row.columns}
    audit.note(connection, by, "use log", "visit", visit_id, file=file_id, aside=aside, was=was)


def file_list(connection: Connection, visit_id: str) -> list[dict[str, Any]]:
    """The logs of a visit as callers see them."""
    query = (
        select(files, blob_table.c.size)
        .join(blob_table, blob_table.c.sha256 == files.c.sha256)
        .where(files.c.visit_id == visit_id)
        .order_by(files.c.received_s, files.c.id)
    )
    names = ("id", "name", "size", "sha256", "received_s", "aside", "columns", "problem")
    return [{name: getattr(row, name) for name in names} for row in connection.execute(query)]


def put_attachment(
    connection: Connection,
    attachment_id: str,
    *,
    visit_id: str | None,
    unit_id: str | None,
    name: str,
    media: str,
    content: bytes,
    by: By,
) -> bool:
    """Attach a picture or paper to a visit or a unit, once; tell whether it is new.

    Raises
    ------
    Changed
        If the id was taken by other content.
    """
    if visit_id is not None:
        find(connection, VISIT, visit_id)
    if unit_id is not None:
        find(connection, UNIT, unit_id)
    before = connection.execute(select(attachments).where(attachments.c.id == attachment_id)).first()
    if before is not None:
        here = (before.visit_id, before.unit_id, before.sha256)
        if here == (visit_id, unit_id, blobs.sum_of(content)):
            return False
        raise Changed(
            f"The attachment {attachment_id} came before with other content. Expected a new id. Give it one."
        )
    key = blobs.put(connection, content, media)
    connection.execute(
        insert(attachments).values(
            id=attachment_id,
            visit_id=visit_id,
            unit_id=unit_id,
            name=name,
            sha256=key,
            received_s=by.at_s,
            who=by.who,
        )
    )
    thing, thing_id = ("visit", visit_id) if visit_id is not None else ("unit", unit_id)
    audit.note(connection, by, "attach", thing, thing_id or "", attachment=attachment_id, name=name)
    return True


def attachment(connection: Connection, attachment_id: str) -> tuple[Row[Any], blobs.Blob]:
    """An attachment and its bytes.

    Raises
    ------
    Missing
        If there is none such.
    """
    row = connection.execute(select(attachments).where(attachments.c.id == attachment_id)).first()
    if row is None:
        raise Missing(
            f"There is no attachment {attachment_id}. Expected one of a visit or a unit. Look there."
        )
    return row, blobs.get(connection, row.sha256)


def close(connection: Connection, visit_id: str, source: Sources, judged: Judged, by: By) -> int | None:
    """Close a visit with what was judged; its revision's number, or None if its sources have changed since.

    Raises
    ------
    WrongState
        If it is closed already.
    """
    visit = find(connection, VISIT, visit_id)
    if visit.state == "closed":
        raise WrongState("The visit is closed already. Expected an open one. Nothing is to be done.")
    now = digest_of(connection, visit, visit_plate(connection, visit))
    if visit.n != source.n or now != source.digest:
        return None
    number: int = visit.revision + 1
    trace_key = blobs.put(connection, judged.trace, traces.MEDIA)
    result_key = blobs.put(connection, pack_result(judged.told), RESULT_MEDIA)
    connection.execute(
        insert(revisions).values(
            visit_id=visit_id,
            revision=number,
            made_s=by.at_s,
            who=by.who,
            n=visit.n,
            digest=source.digest,
            made_by=firstfrost.__version__,
            trace_sha256=trace_key,
            result_sha256=result_key,
            plate=source.plate,
            summary=summary(judged.told),
        )
    )
    bump(connection, visit_id, by, state="closed", revision=number)
    audit.note(connection, by, "close", "visit", visit_id, revision=number)
    return number


def pack_result(result: Mapping[str, Any]) -> bytes:
    """A result as it is kept."""
    return gzip.compress(json.dumps(result, allow_nan=False, ensure_ascii=False).encode(), 6, mtime=0)


def unpack_result(content: bytes) -> dict[str, Any]:
    """A result from what is kept."""
    out: dict[str, Any] = json.loads(gzip.decompress(content))
    return out


def set_marks_complete(connection: Connection, visit_id: str, complete: bool, by: By) -> None:
    """Say whether the marks of a visit are all that was done."""
    visit = find(connection, VISIT, visit_id)
    if visit.marks_complete != complete and visit.state != "closed":
        bump(connection, visit_id, by, marks_complete=complete)
        audit.note(connection, by, "change", "visit", visit_id, was={"marks_complete": visit.marks_complete})


def reopen(connection: Connection, visit_id: str, why: str, by: By) -> None:
    """Open a closed visit again; what came after its closing counts from now on.

    Raises
    ------
    WrongState
        If it is not closed.
    """
    if find(connection, VISIT, visit_id).state != "closed":
        raise WrongState("The visit is not closed. Expected a closed one. Nothing is to be done.")
    connection.execute(
        update(batches).where(batches.c.visit_id == visit_id, batches.c.late.is_(True)).values(late=False)
    )
    bump(connection, visit_id, by, state="open", late=0)
    audit.note(connection, by, "reopen", "visit", visit_id, why=why)


def revision_row(connection: Connection, visit_id: str, number: int) -> Row[Any]:
    """A visit as it was closed.

    Raises
    ------
    Missing
        If it has no such revision.
    """
    row = connection.execute(
        select(revisions).where(revisions.c.visit_id == visit_id, revisions.c.revision == number)
    ).first()
    if row is None:
        raise Missing(
            f"The visit has no revision {number}. Expected one of those that closing it made. Look "
            "at the visit."
        )
    return row


def revision_result(connection: Connection, visit_id: str, number: int) -> tuple[Row[Any], dict[str, Any]]:
    """A revision and its result as it was made then."""
    row = revision_row(connection, visit_id, number)
    return row, unpack_result(blobs.get(connection, row.result_sha256).content)


def revision_list(connection: Connection, visit_id: str) -> list[dict[str, Any]]:
    """The revisions of a visit as callers see them."""
    query = select(revisions).where(revisions.c.visit_id == visit_id).order_by(revisions.c.revision)
    return [
        {
            "revision": row.revision,
            "made_at": stamp(row.made_s),
            "version": row.made_by,
            "n": row.n,
            "trace_sha256": row.trace_sha256,
        }
        for row in connection.execute(query)
    ]


def sign(
    connection: Connection, visit_id: str, *, name: str, role: str, attachment_id: str | None, by: By
) -> None:
    """Sign the last revision of a closed visit.

    Raises
    ------
    WrongState
        If it is not closed.
    Missing
        If the visit has no such attachment.
    """
    visit = find(connection, VISIT, visit_id)
    if visit.state != "closed":
        raise WrongState("The visit is not closed. Expected a closed one to sign. Close it first.")
    if attachment_id is not None and attachment(connection, attachment_id)[0].visit_id != visit_id:
        raise Missing(
            f"The visit has no attachment {attachment_id}. Expected the drawn signature. Send it first."
        )
    row = revision_row(connection, visit_id, visit.revision)
    connection.execute(
        insert(signatures).values(
            id=new_id(),
            visit_id=visit_id,
            revision=visit.revision,
            name=name,
            role=role,
            attachment_id=attachment_id,
            result_sha256=row.result_sha256,
            signed_s=by.at_s,
            who=by.who,
        )
    )
    bump(connection, visit_id, by)
    audit.note(connection, by, "sign", "visit", visit_id, revision=visit.revision, role=role)


def _signatures(connection: Connection, visit_id: str) -> list[dict[str, Any]]:
    query = select(signatures).where(signatures.c.visit_id == visit_id).order_by(signatures.c.signed_s)
    return [
        {
            "name": row.name,
            "role": row.role,
            "revision": row.revision,
            "signed_at": stamp(row.signed_s),
            "attachment_id": row.attachment_id,
            "result_sha256": row.result_sha256,
        }
        for row in connection.execute(query)
    ]


def keep_report(
    connection: Connection,
    visit_id: str,
    *,
    revision: int | None,
    ending: str,
    system: str,
    content: bytes,
    by: By,
) -> dict[str, Any]:
    """Keep a report as it was made, for good."""
    find(connection, VISIT, visit_id)
    report_id = new_id()
    media = "application/pdf" if ending == "pdf" else "text/html; charset=utf-8"
    connection.execute(
        insert(reports).values(
            id=report_id,
            visit_id=visit_id,
            revision=revision,
            format=ending,
            system=system,
            made_by=firstfrost.__version__,
            made_s=by.at_s,
            who=by.who,
            sha256=blobs.put(connection, content, media),
        )
    )
    audit.note(connection, by, "report", "visit", visit_id, report=report_id, format=ending)
    return next(one for one in report_list(connection, visit_id) if one["id"] == report_id)


def report_list(connection: Connection, visit_id: str) -> list[dict[str, Any]]:
    """The reports of a visit as callers see them."""
    query = (
        select(reports, blob_table.c.size)
        .join(blob_table, blob_table.c.sha256 == reports.c.sha256)
        .where(reports.c.visit_id == visit_id)
        .order_by(reports.c.made_s, reports.c.id)
    )
    return [
        {
            "id": row.id,
            "format": row.format,
            "units": row.system,
            "revision": row.revision,
            "version": row.made_by,
            "made_at": stamp(row.made_s),
            "sha256": row.sha256,
            "size": row.size,
        }
        for row in connection.execute(query)
    ]


def report(connection: Connection, visit_id: str, report_id: str) -> tuple[Row[Any], blobs.Blob]:
    """A report and its bytes as they were made.

    Raises
    ------
    Missing
        If the visit has none such.
    """
    find(connection, VISIT, visit_id)
    row = connection.execute(
        select(reports).where(reports.c.id == report_id, reports.c.visit_id == visit_id)
    ).first()
    if row is None:
        raise Missing(f"The visit has no report {report_id}. Expected one of its reports. Look at the visit.")
    return row, blobs.get(connection, row.sha256)
