"""Bytes under their sum: the same content is kept once, and what has a sum is never changed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from sqlalchemy import Connection, delete, insert, select

from firstfrost.errors import StoreError
from firstfrost.store.schema import attachments, blobs, files, reports, revisions

HOLDERS = (
    files.c.sha256,
    attachments.c.sha256,
    revisions.c.trace_sha256,
    revisions.c.result_sha256,
    reports.c.sha256,
)
"""Each column that points to a blob."""


@dataclass(frozen=True, kw_only=True)
class Blob:
    """Bytes, and what they are."""

    sha256: str
    media: str
    content: bytes


def sum_of(content: bytes) -> str:
    """SHA-256 in hex."""
    return hashlib.sha256(content).hexdigest()


def put(connection: Connection, content: bytes, media: str) -> str:
    """Keep bytes and return their sum."""
    key = sum_of(content)
    if not connection.execute(select(blobs.c.sha256).where(blobs.c.sha256 == key)).first():
        connection.execute(insert(blobs).values(sha256=key, media=media, size=len(content), content=content))
    return key


def get(connection: Connection, key: str) -> Blob:
    """The bytes of a sum.

    Raises
    ------
    StoreError
        If they do not add up to it any more.
    """
    row = connection.execute(select(blobs).where(blobs.c.sha256 == key)).one()
    content = bytes(row.content)
    if sum_of(content) != key:
        raise StoreError(
            f"The content kept under {key[:12]}... does not add up to its sum: the store is damaged. "
            "Restore it from the last backup."
        )
    return Blob(sha256=key, media=row.media, content=content)


def sweep(connection: Connection) -> int:
    """Delete what nothing points to any more, and return how many."""
    orphans = delete(blobs)
    for column in HOLDERS:
        orphans = orphans.where(~select(column).where(column == blobs.c.sha256).exists())
    return connection.execute(orphans).rowcount
