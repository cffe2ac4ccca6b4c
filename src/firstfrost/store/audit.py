"""Who did what, and when: written in the transaction that does it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from firstfrost.store.schema import accounts, audit, keys
from firstfrost.store.store import By
from firstfrost.store.times import stamp


def note(connection: Connection, by: By, act: str, thing: str, thing_id: str, **detail: Any) -> None:
    """Write down one act."""
    connection.execute(
        insert(audit).values(at_s=by.at_s, who=by.who, act=act, thing=thing, thing_id=thing_id, detail=detail)
    )


def entries(connection: Connection, *, before: int | None = None, limit: int = 100) -> list[dict[str, Any]]:
    """The newest entries first, those below number `before` only if that is given."""
    query = select(audit).order_by(audit.c.n.desc()).limit(limit)
    if before is not None:
        query = query.where(audit.c.n < before)
    names = names_of(connection)
    return [
        {
            "n": row.n,
            "at": stamp(row.at_s),
            "who": names.get(row.who, row.who),
            "act": row.act,
            "thing": row.thing,
            "thing_id": row.thing_id,
            "detail": row.detail,
        }
        for row in connection.execute(query)
    ]


def names_of(connection: Connection) -> dict[str, str]:
    """The name of everyone who acts, by what `By.who` holds."""
    people = {row.id: row.name for row in connection.execute(select(accounts.c.id, accounts.c.name))}
    recorders = {
        f"key:{row.id}": f"recorder {row.name}" for row in connection.execute(select(keys.c.id, keys.c.name))
    }
    return {"alone": "this machine", "command": "a command on the machine", **people, **recorders}
