"""Deleting a customer's data on request: all of it, with a count, and nothing left but ids.

What remains is the id of each thing, so that a device that was offline learns that it may forget, and the
audit trail without what it said about them. SQLite overwrites what is deleted (`secure_delete`), and the
write-ahead log is emptied afterwards; backups and exports that were made before hold it still, which the
shop has to see to.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sqlalchemy import ColumnElement, Connection, Table, delete, insert, select, update

from firstfrost.errors import InputError
from firstfrost.store import audit, blobs
from firstfrost.store.records import SITE, UNIT, VISIT, find
from firstfrost.store.schema import (
    attachments,
    batches,
    clashes,
    deleted,
    files,
    reports,
    revisions,
    signatures,
    sites,
    units,
    visits,
)
from firstfrost.store.schema import (
    audit as audit_table,
)
from firstfrost.store.store import By

_OF_VISIT: Final = (signatures, reports, revisions, batches, clashes, files)
"""Tables whose rows belong to one visit, in an order in which they can go; then the attachments."""


@dataclass(frozen=True, kw_only=True)
class Erased:
    """What was deleted: how many rows of each table, and which visits."""

    counts: dict[str, int]
    visits: list[str]


def erase_site(connection: Connection, site_id: str, confirm: str, by: By) -> Erased:
    """Delete a site, its units and their visits; return how many of each kind.

    Raises
    ------
    InputError
        If `confirm` is not its name.
    Missing, Deleted
        If there is none such.
    """
    _confirm("site", find(connection, SITE, site_id).name, confirm)
    done = Erased(counts={}, visits=[])
    for unit_id in connection.execute(select(units.c.id).where(units.c.site_id == site_id)).scalars().all():
        _unit(connection, unit_id, by, done)
    _gone(connection, sites, site_id, "site", by, done)
    return _end(connection, done, "site", site_id, by)


def erase_unit(connection: Connection, unit_id: str, confirm: str, by: By) -> Erased:
    """Delete a unit and its visits; as `erase_site`."""
    _confirm("unit", find(connection, UNIT, unit_id).name, confirm)
    done = Erased(counts={}, visits=[])
    _unit(connection, unit_id, by, done)
    return _end(connection, done, "unit", unit_id, by)


def erase_visit(connection: Connection, visit_id: str, by: By) -> Erased:
    """Delete a visit; as `erase_site`."""
    find(connection, VISIT, visit_id)
    done = Erased(counts={}, visits=[])
    _visit(connection, visit_id, by, done)
    return _end(connection, done, "visit", visit_id, by)


def _confirm(thing: str, name: str, confirm: str) -> None:
    if " ".join(confirm.split()) != " ".join(name.split()):
        raise InputError(
            f"confirm is {confirm!r}, not the name of the {thing}. Expected its name, so that nothing is "
            "deleted by mistake. Write the name as it stands."
        )


def _unit(connection: Connection, unit_id: str, by: By, done: Erased) -> None:
    for visit_id in (
        connection.execute(select(visits.c.id).where(visits.c.unit_id == unit_id)).scalars().all()
    ):
        _visit(connection, visit_id, by, done)
    _rows(connection, attachments, attachments.c.unit_id == unit_id, done)
    _gone(connection, units, unit_id, "unit", by, done)


def _visit(connection: Connection, visit_id: str, by: By, done: Erased) -> None:
    for table in _OF_VISIT:
        _rows(connection, table, table.c.visit_id == visit_id, done)
    _rows(connection, attachments, attachments.c.visit_id == visit_id, done)
    _gone(connection, visits, visit_id, "visit", by, done)
    done.visits.append(visit_id)


def _rows(connection: Connection, table: Table, where: ColumnElement[bool], done: Erased) -> None:
    found = connection.execute(delete(table).where(where)).rowcount
    if found:
        done.counts[table.name] = done.counts.get(table.name, 0) + found


def _gone(connection: Connection, table: Table, record_id: str, thing: str, by: By, done: Erased) -> None:
    _rows(connection, table, table.c.id == record_id, done)
    connection.execute(insert(deleted).values(id=record_id, thing=thing, at_s=by.at_s))
    # That something was done stays; what it was about does not.
    connection.execute(update(audit_table).where(audit_table.c.thing_id == record_id).values(detail={}))


def _end(connection: Connection, done: Erased, thing: str, record_id: str, by: By) -> Erased:
    blobs.sweep(connection)
    audit.note(connection, by, "delete", thing, record_id, **done.counts)
    return done
