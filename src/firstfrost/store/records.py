"""What sites, units, instruments and visits share: an id from outside, a version, and no lost change.

A change carries the version that it was made from. Where the store has another one by now, and other content,
the change is refused with the store's record, and nobody's work is overwritten unseen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Row, Table, insert, select, update

from firstfrost.errors import Changed, Deleted, Missing
from firstfrost.store import audit
from firstfrost.store.schema import deleted, instruments, sites, units, visits
from firstfrost.store.store import By


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of record: its table, its name in words, and the fields that a caller sets."""

    table: Table
    name: str
    fields: tuple[str, ...]


SITE: Final = Kind(
    table=sites, name="site", fields=("name", "address", "contact", "note", "altitude", "zone")
)
UNIT: Final = Kind(
    table=units, name="unit", fields=("site_id", "name", "serial", "practice", "note", "plate")
)
INSTRUMENT: Final = Kind(
    table=instruments,
    name="instrument",
    fields=("name", "serial", "reads", "calibrated_on", "due_on", "retired", "note"),
)
VISIT: Final = Kind(
    table=visits,
    name="visit",
    fields=(
        "unit_id",
        "planned_on",
        "started_s",
        "technician",
        "purpose",
        "note",
        "instruments",
        "outdoor",
        "humidity",
        "indoor",
        "marks_complete",
    ),
)


def find(connection: Connection, kind: Kind, record_id: str) -> Row[Any]:
    """The row of a record.

    Raises
    ------
    Deleted, Missing
        If it was deleted on request, or never was.
    """
    row = connection.execute(select(kind.table).where(kind.table.c.id == record_id)).first()
    if row is None:
        not_there(connection, kind.name, record_id)
        raise AssertionError
    return row


def not_there(connection: Connection, name: str, record_id: str) -> None:
    """Raise what fits: it was deleted on request, or never was."""
    if connection.execute(select(deleted.c.id).where(deleted.c.id == record_id)).first():
        raise Deleted(
            f"The {name} {record_id} was deleted on request. Nothing of it is kept. Let go of what "
            "you hold of it."
        )
    raise Missing(
        f"There is no {name} {record_id}. Expected the id of one in the store. Look it up in the list."
    )


def public(kind: Kind, row: Row[Any]) -> dict[str, Any]:
    """A row as callers see it."""
    return {"id": row.id, "version": row.version, **{name: getattr(row, name) for name in kind.fields}}


def put(
    connection: Connection,
    kind: Kind,
    record_id: str,
    version: int,
    fields: Mapping[str, Any],
    by: By,
    *,
    first: Mapping[str, Any] | None = None,
) -> bool:
    """Create or change a record; tell whether anything changed.

    `version` is that which the change was made from, and 0 creates; `fields` has all of `kind.fields`;
    `first` has the further columns of a record that is new.

    Raises
    ------
    Changed
        If the store has another version with other content.
    Deleted, Missing
        If it was deleted, or a version is given of what never was.
    """
    row = connection.execute(select(kind.table).where(kind.table.c.id == record_id)).first()
    if row is None:
        if version != 0 or connection.execute(select(deleted.c.id).where(deleted.c.id == record_id)).first():
            not_there(connection, kind.name, record_id)
        connection.execute(
            insert(kind.table).values(id=record_id, version=1, changed_s=by.at_s, **fields, **(first or {}))
        )
        audit.note(connection, by, "create", kind.name, record_id)
        return True
    was = {name: getattr(row, name) for name in kind.fields}
    changed = {name: was[name] for name in kind.fields if was[name] != fields[name]}
    if not changed:
        return False
    if row.version != version:
        raise Changed(
            f"The {kind.name} was changed meanwhile: it is at version {row.version}, and this change was "
            f"made from version {version}. Expected a change of the newest. Look at what it is now, and "
            "decide.",
            current=public(kind, row),
        )
    connection.execute(
        update(kind.table)
        .where(kind.table.c.id == record_id)
        .values(version=version + 1, changed_s=by.at_s, **fields)
    )
    audit.note(connection, by, "change", kind.name, record_id, version=version + 1, was=changed)
    return True


def bump(connection: Connection, visit_id: str, by: By, **values: Any) -> None:
    """Change columns of a visit that no caller sets, and count its version up."""
    connection.execute(
        update(visits)
        .where(visits.c.id == visit_id)
        .values(version=visits.c.version + 1, changed_s=by.at_s, **values)
    )
