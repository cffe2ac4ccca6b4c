"""Batches: what devices send, kept as it came, each once.

`(visit, client, sequence)` names a batch. The sum is taken over its content in one order of keys and without
`sent_s`, so that the same batch sent again is the same, and one with other content under a taken number is
told apart. Sequences may come in any order; `n` counts a visit's batches as they came to be kept.
"""

from __future__ import annotations

import hashlib
import zlib
from dataclasses import dataclass
from typing import Annotated, Final

import msgspec
from msgspec import Meta, Struct
from sqlalchemy import Connection, func, insert, select, update

from firstfrost.errors import DataError, InputError
from firstfrost.store.records import not_there
from firstfrost.store.schema import batches, clashes, visits
from firstfrost.store.store import By

Id = Annotated[str, Meta(pattern=r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$")]
Client = Annotated[str, Meta(pattern=r"^[A-Za-z0-9_-]{8,64}$")]
Sequence = Annotated[int, Meta(ge=0, le=2**53 - 1)]

UNNUMBERED: Final = 2**52
"""From here on a sequence is not counted by a device but made of what it sent: see `unnumbered`."""
LEVEL: Final = 1
"""Of zlib: a batch of a second is small, and the wait is for the disk."""


class Samples(Struct, forbid_unknown_fields=True, omit_defaults=True):
    """Rows by columns; a reading is null where missing, in memory units unless `units` names another."""

    time_s: list[float]
    channels: dict[str, list[float | None]]
    units: dict[str, str] = {}


class Typed(Struct, forbid_unknown_fields=True):
    """A reading that a person typed, as typed."""

    id: Id
    time_s: float
    channel: str
    text: Annotated[str, Meta(max_length=200)]


class Looked(Struct, forbid_unknown_fields=True):
    """A further reading for the causes, as typed: a number with its unit, or a word."""

    id: Id
    time_s: float
    name: Annotated[str, Meta(max_length=100)]
    text: Annotated[str, Meta(max_length=200)]


class MarkSent(Struct, forbid_unknown_fields=True, omit_defaults=True):
    """What a person did."""

    id: Id
    time_s: float
    act: str
    note: Annotated[str, Meta(max_length=4000)] = ""


class Withdrawn(Struct, forbid_unknown_fields=True, omit_defaults=True):
    """A typed or further reading or a mark that does not hold; it stays in the record."""

    id: Id
    time_s: float
    why: Annotated[str, Meta(max_length=4000)] = ""


class Batch(Struct, forbid_unknown_fields=True, omit_defaults=True):
    """What a device sends at a time."""

    client: Client
    sequence: Sequence
    sent_s: float | None = None
    samples: Samples | None = None
    typed: list[Typed] = []
    marks: list[MarkSent] = []
    withdrawn: list[Withdrawn] = []
    looked: list[Looked] = []
    """Left out of the sum where it is empty, so that a batch of before it is the same batch."""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What became of a batch."""

    n: int
    again: bool = False
    late: bool = False
    clash: bool = False
    """Its client and sequence were taken by other content; it was kept beside."""
    opened: bool = False
    """The visit was opened by it."""


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A batch as it is kept."""

    n: int
    received_s: float
    late: bool
    batch: Batch


_DECODER: Final = msgspec.json.Decoder(Batch)
_ENCODER: Final = msgspec.json.Encoder(order="deterministic")


def decode(raw: bytes) -> Batch:
    """Read a batch from JSON.

    Raises
    ------
    DataError
        If it is not JSON.
    InputError
        If it is not a batch.
    """
    try:
        return _DECODER.decode(raw)
    except msgspec.ValidationError as err:
        raise InputError(
            f"The batch cannot be taken: {err}. Expected client, sequence and any of samples, typed, looked, "
            "marks, withdrawn, as docs/service.md says. Correct what sends it."
        ) from err
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as err:
        raise DataError(
            f"The body is not sound JSON: {err}. Expected a batch. Correct what sends it."
        ) from err


def encode(batch: Batch) -> bytes:
    """A batch as JSON, its keys in one order."""
    return _ENCODER.encode(batch)


def sum_of(batch: Batch) -> str:
    """The sum of what a batch says."""
    return hashlib.sha256(_ENCODER.encode(msgspec.structs.replace(batch, sent_s=None))).hexdigest()


def unnumbered(batch: Batch) -> Batch:
    """A batch of a sender that does not count, its sequence made from what it says: the same again is one."""
    total = int(sum_of(msgspec.structs.replace(batch, sequence=0)), 16)
    return msgspec.structs.replace(batch, sequence=UNNUMBERED + total % UNNUMBERED)


def order_of(batch: Batch, n: int) -> int:
    """Where a batch stands among those of its client: as the client counts, else as it came."""
    return batch.sequence if batch.sequence < UNNUMBERED else n


def pack(batch: Batch) -> bytes:
    """A batch as it is kept."""
    return zlib.compress(encode(batch), LEVEL)


def unpack(body: bytes) -> Batch:
    """A batch from what is kept."""
    return _DECODER.decode(zlib.decompress(body))


def take(connection: Connection, visit_id: str, batch: Batch, by: By) -> Taken:
    """Keep a batch, once.

    Raises
    ------
    Missing, Deleted
        If there is no such visit.
    """
    visit = connection.execute(
        select(visits.c.n, visits.c.state, visits.c.started_s).where(visits.c.id == visit_id)
    ).first()
    if visit is None:
        not_there(connection, "visit", visit_id)
        raise AssertionError
    total = sum_of(batch)
    here = (
        (batches.c.visit_id == visit_id)
        & (batches.c.client == batch.client)
        & (batches.c.sequence == batch.sequence)
    )
    before = connection.execute(select(batches.c.n, batches.c.sum, batches.c.late).where(here)).first()
    if before is not None:
        if before.sum == total:
            return Taken(n=before.n, again=True, late=before.late)
        _clash(connection, visit_id, batch, total, by)
        return Taken(n=before.n, clash=True)
    n, late = visit.n + 1, visit.state == "closed"
    connection.execute(
        insert(batches).values(
            visit_id=visit_id,
            n=n,
            client=batch.client,
            sequence=batch.sequence,
            sum=total,
            received_s=by.at_s,
            late=late,
            who=by.who,
            body=pack(batch),
        )
    )
    values: dict[str, object] = {"n": n}
    opened = visit.state == "planned"
    if late:
        values["late"] = visits.c.late + 1
    if opened:
        values["state"] = "open"
        values["version"] = visits.c.version + 1
    if opened and visit.started_s is None:
        values["started_s"] = by.at_s
    connection.execute(update(visits).where(visits.c.id == visit_id).values(**values))
    return Taken(n=n, late=late, opened=opened)


def _clash(connection: Connection, visit_id: str, batch: Batch, total: str, by: By) -> None:
    key = {"visit_id": visit_id, "client": batch.client, "sequence": batch.sequence, "sum": total}
    here = [clashes.c[name] == value for name, value in key.items()]
    if connection.execute(select(clashes.c.sum).where(*here)).first() is None:
        connection.execute(insert(clashes).values(**key, received_s=by.at_s, who=by.who, body=pack(batch)))


def kept(connection: Connection, visit_id: str, *, after: int = 0, late: bool = True) -> list[Kept]:
    """A visit's batches in the order in which they came; those after number `after` only."""
    query = select(batches).where(batches.c.visit_id == visit_id, batches.c.n > after).order_by(batches.c.n)
    if not late:
        query = query.where(batches.c.late.is_(False))
    return [
        Kept(n=row.n, received_s=row.received_s, late=row.late, batch=unpack(row.body))
        for row in connection.execute(query)
    ]


def clashing(connection: Connection, visit_id: str) -> list[tuple[float, Batch]]:
    """The batches that came under a number that was taken: when, and what."""
    query = select(clashes).where(clashes.c.visit_id == visit_id).order_by(clashes.c.received_s)
    return [(row.received_s, unpack(row.body)) for row in connection.execute(query)]


def arrived(connection: Connection, visit_id: str) -> list[tuple[str, list[list[int]]]]:
    """Which sequences of each client have arrived, as closed ranges in rising order."""
    query = (
        select(batches.c.client, batches.c.sequence)
        .where(batches.c.visit_id == visit_id)
        .order_by(batches.c.client, batches.c.sequence)
    )
    out: dict[str, list[list[int]]] = {}
    for client, sequence in connection.execute(query):
        have = out.setdefault(client, [])
        if have and have[-1][1] == sequence - 1:
            have[-1][1] = sequence
        else:
            have.append([sequence, sequence])
    return list(out.items())


def count(connection: Connection, visit_id: str) -> int:
    """How many batches a visit has."""
    query = select(func.count()).select_from(batches).where(batches.c.visit_id == visit_id)
    return int(connection.execute(query).scalar_one())
