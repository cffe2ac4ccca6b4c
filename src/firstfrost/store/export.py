"""Everything in open formats: a zip of JSON lines, Parquet, CSV and the files as they came; and the way back.

    manifest.json            format, version, and the sum of each file
    records/<table>.jsonl    every record, one JSON object a line, whole: what an import reads
    blobs/<sum>.<ending>     traces (Parquet), logs, attachments, reports, results, under their sum
    batches/<visit>.jsonl    what devices sent, as it was sent
    tables/<name>.csv        sites, units, instruments, visits, and what was typed for the causes (looked),
                             for a spreadsheet; an import does not read them

No password, session or key is in it. A cell of a CSV that a spreadsheet would run as a formula gets an
apostrophe in front (OWASP, "CSV Injection"); the JSON lines, which need none, are the record.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO, Any, Final

from sqlalchemy import Connection, Table, select

import firstfrost
from firstfrost.store import blobs as blob_store
from firstfrost.store.batches import Batch, encode, unpack
from firstfrost.store.schema import (
    accounts,
    attachments,
    audit,
    batches,
    blobs,
    clashes,
    deleted,
    files,
    instruments,
    reports,
    revisions,
    signatures,
    sites,
    units,
    visits,
)

FORMAT: Final = "firstfrost-export"
FORMAT_VERSION: Final = 1

RECORDS: Final = (
    accounts, sites, units, instruments, visits, files,
    attachments, revisions, reports, signatures, audit, deleted,
)  # fmt: skip
"""Tables that are exported record by record, each after those that it points to."""
SHEETS: Final = (sites, units, instruments, visits)
LOOKED: Final = ("visit_id", "time_s", "client", "name", "text", "withdrawn", "why", "id")
"""The columns of what was typed for the causes."""
SENT: Final = (batches, clashes)
"""Tables whose bodies are what a device sent."""
SECRET: Final = {"accounts": {"password": None, "active": False}}
"""What stands in place of secrets: nobody signs in with an imported account until a lead sets it up."""
ENDINGS: Final = {
    "application/vnd.apache.parquet": "parquet",
    "application/gzip": "json.gz",
    "application/pdf": "pdf",
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
}


def guarded(cell: object) -> str:
    """A cell that a spreadsheet will not run: text that starts as a formula does gets an apostrophe."""
    text = "" if cell is None else cell if isinstance(cell, str) else json.dumps(cell, ensure_ascii=False)
    if isinstance(cell, str) and text.lstrip(" \u00a0\u3000")[:1] in tuple("=+-@\t\r\n＝＋－＠"):
        return "'" + text
    return text


def export(connection: Connection, target: Path | IO[bytes]) -> dict[str, int]:
    """Write everything into a zip and return how many of each kind it holds."""
    sums: dict[str, str] = {}
    counts: dict[str, int] = {}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:

        def put(name: str, parts: Iterator[bytes]) -> None:
            total = hashlib.sha256()
            with archive.open(name, "w", force_zip64=True) as out:
                for part in parts:
                    total.update(part)
                    out.write(part)
            sums[name] = total.hexdigest()

        for table in RECORDS:
            put(f"records/{table.name}.jsonl", _counted(_records(connection, table), counts, table.name))
        ids = connection.execute(select(visits.c.id).order_by(visits.c.id)).scalars().all()
        looked: list[list[object]] = []
        for visit_id in ids:
            sent: list[Batch] = []
            for table in SENT:
                rows = _counted(_sent(connection, table, visit_id, sent), counts, table.name)
                first = next(rows, None)
                if first is not None:
                    put(f"{table.name}/{visit_id}.jsonl", _chain(first, rows))
            looked += _looked(visit_id, sent)
        for key in connection.execute(select(blobs.c.sha256).order_by(blobs.c.sha256)).scalars().all():
            blob = blob_store.get(connection, key)
            counts["blobs"] = counts.get("blobs", 0) + 1
            name = f"blobs/{key}.{ENDINGS.get(blob.media, 'bin')}"
            put(name, iter((blob.content,)))
        media = {row.sha256: row.media for row in connection.execute(select(blobs.c.sha256, blobs.c.media))}
        for table in SHEETS:
            put(f"tables/{table.name}.csv", _sheet(connection, table))
        put("tables/looked.csv", _csv(LOOKED, looked))
        about = {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "made_by": firstfrost.__version__,
            "files": sums,
            "media": media,
        }
        archive.writestr("manifest.json", json.dumps(about, indent=1))
    return counts


def _counted(parts: Iterator[bytes], counts: dict[str, int], name: str) -> Iterator[bytes]:
    for part in parts:
        counts[name] = counts.get(name, 0) + 1
        yield part


def _chain(first: bytes, rest: Iterator[bytes]) -> Iterator[bytes]:
    yield first
    yield from rest


def _line(content: Mapping[str, Any]) -> bytes:
    return (json.dumps(content, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _records(connection: Connection, table: Table) -> Iterator[bytes]:
    hidden = SECRET.get(table.name, {})
    for row in connection.execute(select(table).order_by(*table.primary_key.columns)).mappings():
        yield _line({**row, **hidden})


def _sent(connection: Connection, table: Table, visit_id: str, seen: list[Batch]) -> Iterator[bytes]:
    """The lines of a visit; batches with further readings, or that withdraw something, go to `seen`, too."""
    query = select(table).where(table.c.visit_id == visit_id).order_by(*table.primary_key.columns)
    for row in connection.execute(query).mappings():
        about = {key: value for key, value in row.items() if key not in ("body", "visit_id")}
        batch = unpack(row["body"])
        if table is batches and (batch.looked or batch.withdrawn):
            seen.append(batch)
        yield _line({**about, "batch": json.loads(encode(batch))})


def _looked(visit_id: str, sent: list[Batch]) -> Iterator[list[object]]:
    gone = {one.id: one.why for batch in sent for one in batch.withdrawn}
    for batch in sent:
        for one in batch.looked:
            off = one.id in gone
            yield [visit_id, one.time_s, batch.client, one.name, one.text, off, gone.get(one.id, ""), one.id]


def _sheet(connection: Connection, table: Table) -> Iterator[bytes]:
    rows = connection.execute(select(table).order_by(*table.primary_key.columns))
    return _csv([column.name for column in table.columns], rows)


def _csv(head: Sequence[str], rows: Iterable[Iterable[object]]) -> Iterator[bytes]:
    def line(cells: list[str]) -> bytes:
        text = io.StringIO()
        csv.writer(text).writerow(cells)
        return text.getvalue().encode()

    yield "\ufeff".encode()
    yield line(list(head))
    for row in rows:
        yield line([guarded(cell) for cell in row])
