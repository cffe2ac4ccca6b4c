"""Taking an export in: all of it or nothing, and nothing that is here is changed.

What was deleted here on request is not brought back by an export that is older than that.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

import msgspec
from sqlalchemy import Connection, Table, func, insert, select

from firstfrost.errors import DataError, InputError
from firstfrost.store import audit as audit_log
from firstfrost.store import blobs as blob_store
from firstfrost.store.batches import Batch, pack, sum_of
from firstfrost.store.export import FORMAT, FORMAT_VERSION, RECORDS, SECRET, SENT
from firstfrost.store.schema import accounts, audit, batches, clashes, deleted, sites, units, visits
from firstfrost.store.store import By


def import_(
    connection: Connection, source: Path | IO[bytes], by: By, *, limit: int | None = None
) -> dict[str, Any]:
    """Take an export in; what the store has already stays as it is.

    Parameters
    ----------
    connection : Connection
        Of the writer: all comes in, or nothing.
    source : path or binary file
        The zip.
    by : By
        Who imports.
    limit : int, optional
        The most that it may unpack to. [bytes]

    Returns
    -------
    dict
        `taken` and `here_before`, counts of each kind; `differing`, records that the store has otherwise.

    Raises
    ------
    DataError
        If it is no export, or damaged.
    InputError
        If it is of a later format.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            return _import(connection, _Archive(archive, limit), by)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError) as err:
        raise DataError(
            f"The export is no sound zip: {err}. Expected one of firstfrost. Copy it again."
        ) from err
    except (KeyError, TypeError, ValueError, msgspec.MsgspecError, UnicodeDecodeError) as err:
        raise DataError(
            f"The export is damaged: {type(err).__name__}: {err}. Expected one as it was written. "
            "Copy it again."
        ) from err


class _Archive:
    """The files of an export, each read when it is wanted and held to its sum."""

    def __init__(self, archive: zipfile.ZipFile, limit: int | None) -> None:
        self._archive = archive
        whole = sum(one.file_size for one in archive.infolist())
        if limit is not None and whole > limit:
            raise InputError(
                f"The export unpacks to {whole} bytes. Expected at most {limit}. Import it on the machine "
                "itself, with firstfrost store import."
            )
        try:
            about = json.loads(archive.read("manifest.json"))
        except KeyError as err:
            raise DataError(
                "The zip holds no export of firstfrost: manifest.json is not there. Give another file."
            ) from err
        if not isinstance(about, dict) or about.get("format") != FORMAT:
            raise DataError(
                "The zip holds no export of firstfrost. Expected one as it was written. Give another."
            )
        if about["format_version"] > FORMAT_VERSION:
            raise InputError(
                f"The export is of format {about['format_version']}, and this version knows up to "
                f"{FORMAT_VERSION}. Expected the same or older. Use a newer Firstfrost."
            )
        self._sums: dict[str, str] = about["files"]
        self.media: dict[str, str] = about["media"]

    @property
    def names(self) -> list[str]:
        return list(self._sums)

    def read(self, name: str) -> bytes:
        """A file's bytes; none where the export has no such file."""
        if name not in self._sums:
            return b""
        try:
            raw = self._archive.read(name)
        except KeyError as err:
            raise DataError(f"The export lacks {name}. Expected it whole. Copy it again.") from err
        if hashlib.sha256(raw).hexdigest() != self._sums[name]:
            raise DataError(
                f"{name} in the export does not add up to its sum. Expected it whole. Copy it again."
            )
        return raw


def _import(connection: Connection, archive: _Archive, by: By) -> dict[str, Any]:
    out: dict[str, Any] = {"taken": {}, "here_before": {}, "differing": []}
    for name in archive.names:
        if name.startswith("blobs/"):
            key = name.removeprefix("blobs/").partition(".")[0]
            if blob_store.put(connection, archive.read(name), archive.media[key]) != key:
                raise ValueError(f"{name} does not add up to its name")
    skipped = set(connection.execute(select(deleted.c.id)).scalars())
    for table in RECORDS:
        if table is audit:
            continue
        for record in _lines(archive.read(f"records/{table.name}.jsonl")):
            _take(connection, table, record, out, skipped)
        if table is visits:
            _take_sent(connection, archive, out, skipped)
    _take_audit(connection, archive, out)
    audit_log.note(connection, by, "import", "store", "", taken=out["taken"])
    blob_store.sweep(connection)
    return out


def _lines(raw: bytes) -> Iterator[dict[str, Any]]:
    for line in raw.decode().split("\n"):
        if line:
            yield json.loads(line)


def _count(counts: dict[str, int], name: str) -> None:
    counts[name] = counts.get(name, 0) + 1


def _take(
    connection: Connection, table: Table, record: dict[str, Any], out: dict[str, Any], skipped: set[str]
) -> None:
    names = {column.name for column in table.columns}
    if record.keys() != names:
        raise ValueError(f"{table.name} has the keys {sorted(record)}")
    key = [column == record[column.name] for column in table.primary_key.columns]
    row = connection.execute(select(table).where(*key)).mappings().first()
    hidden = SECRET.get(table.name, {})
    if row is not None:
        _count(out["here_before"], table.name)
        if {**row, **hidden} != record:
            out["differing"].append({"kind": table.name, "id": str(record.get("id") or record["visit_id"])})
        return
    links = ("id", "visit_id", "unit_id", "site_id")
    if table is not deleted and any(record.get(name) in skipped for name in links if record.get(name)):
        # Deleted here on request, or part of what was: an old export must not bring it back.
        if record.get("id"):
            skipped.add(record["id"])
        return
    if table is accounts and _name_taken(connection, record["folded"]):
        _count(out["here_before"], table.name)
        return
    if table is deleted and _is_here(connection, record["id"]):
        out["differing"].append({"kind": "deleted", "id": record["id"]})
        return
    connection.execute(insert(table).values(**record))
    _count(out["taken"], table.name)


def _name_taken(connection: Connection, folded: str) -> bool:
    return connection.execute(select(accounts.c.id).where(accounts.c.folded == folded)).first() is not None


def _is_here(connection: Connection, record_id: str) -> bool:
    queries = (select(table.c.id).where(table.c.id == record_id) for table in (sites, units, visits))
    return any(connection.execute(query).first() is not None for query in queries)


def _take_sent(connection: Connection, archive: _Archive, out: dict[str, Any], skipped: set[str]) -> None:
    for table in SENT:
        for name in archive.names:
            folder, _, rest = name.partition("/")
            visit_id = rest.removesuffix(".jsonl")
            if folder != table.name or visit_id in skipped:
                continue
            for record in _lines(archive.read(name)):
                batch = msgspec.convert(record.pop("batch"), Batch)
                if sum_of(batch) != record["sum"]:
                    raise ValueError(f"{name}: batch {batch.sequence} of {batch.client} does not add up")
                _one_sent(connection, table, visit_id, record, batch, out)


def _one_sent(
    connection: Connection,
    table: Table,
    visit_id: str,
    record: dict[str, Any],
    batch: Batch,
    out: dict[str, Any],
) -> None:
    here = [
        table.c.visit_id == visit_id,
        table.c.client == record["client"],
        table.c.sequence == record["sequence"],
    ]
    if table is clashes:
        here.append(table.c.sum == record["sum"])
    found = connection.execute(select(table.c.sum).where(*here)).scalar()
    if found is not None:
        _count(out["here_before"], table.name)
        if found != record["sum"]:
            out["differing"].append({"kind": table.name, "id": visit_id})
        return
    if table is batches:
        taken = connection.execute(
            select(func.max(batches.c.n)).where(batches.c.visit_id == visit_id)
        ).scalar()
        at_n = connection.execute(
            select(batches.c.n).where(batches.c.visit_id == visit_id, batches.c.n == record["n"])
        ).first()
        if at_n is not None:
            record["n"] = (taken or 0) + 1
        if record["n"] > (taken or 0):
            connection.execute(
                visits.update().where(visits.c.id == visit_id, visits.c.n < record["n"]).values(n=record["n"])
            )
    connection.execute(insert(table).values(visit_id=visit_id, body=pack(batch), **record))
    _count(out["taken"], table.name)


def _take_audit(connection: Connection, archive: _Archive, out: dict[str, Any]) -> None:
    """Append what was done elsewhere, under new numbers; entries that are here word for word stay once."""
    fields = ("at_s", "who", "act", "thing", "thing_id")
    there = {tuple(row) for row in connection.execute(select(*(audit.c[name] for name in fields)))}
    for record in _lines(archive.read("records/audit.jsonl")):
        if tuple(record[name] for name in fields) in there:
            _count(out["here_before"], "audit")
            continue
        record.pop("n")
        connection.execute(insert(audit).values(**record))
        _count(out["taken"], "audit")
