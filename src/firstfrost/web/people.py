"""The people of a visit, as a report names them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from firstfrost.report.people import People, Signature
from firstfrost.store import visits


def people_of(connection: Connection, told: dict[str, Any], revision: int | None) -> People:
    """Who made the visit, their note, and who signed this revision of it."""
    return People(
        technician=told["technician"] or "",
        purpose=told["purpose"] or "",
        note=told["note"] or "",
        signatures=tuple(
            Signature(
                name=row["name"],
                role=row["role"],
                signed_at=datetime.fromisoformat(row["signed_at"]),
                drawing=_drawing(connection, row["attachment_id"]),
            )
            for row in told["signatures"]
            if row["revision"] == revision
        ),
    )


def _drawing(connection: Connection, attachment_id: str | None) -> bytes | None:
    return None if attachment_id is None else visits.attachment(connection, attachment_id)[1].content
