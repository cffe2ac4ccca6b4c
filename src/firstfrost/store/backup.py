"""Backup to one file and back, whatever database is in use.

The file is a SQLite store: each table copied row by row from one snapshot. So a backup of PostgreSQL opens in
SQLite, a shop moves from one to the other by backup and restore, and what reads one reads both.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Table, func, insert, select, text
from sqlalchemy.exc import SQLAlchemyError

from firstfrost.errors import InputError, StoreError
from firstfrost.store.engine import in_words, make_engine, store_url
from firstfrost.store.migrate import current, migrate, newest
from firstfrost.store.schema import RECORDS, audit, sessions
from firstfrost.store.store import Store

CHUNK: Final = 200
"""Rows at a time."""
MAGIC: Final = b"SQLite format 3\0"


def backup(store: Store, path: Path) -> dict[str, int]:
    """Write a backup and return how many rows of each table it holds; sessions are left out.

    The file appears under its name only when it is whole and on the disk.

    Raises
    ------
    InputError
        If the file is there already, or cannot be written.
    StoreError
        If the store cannot be read.
    """
    if path.exists():
        raise InputError(f"{path} is there already. Expected a new file for a backup. Give another name.")
    part = path.with_name(path.name + ".part")
    with suppress(FileNotFoundError):
        part.unlink()
    engine = make_engine(store_url(str(part)), write=True)
    try:
        migrate(engine)
        with engine.begin() as there:
            counts = store.read(lambda here: _copy_all(here, there))
        with engine.connect() as connection:
            raw = connection.connection
            # One file: no log beside it.
            raw.execute("PRAGMA journal_mode = DELETE")
    except (SQLAlchemyError, OSError) as err:
        engine.dispose()
        _away(part)
        raise InputError(
            f"The backup cannot be written to {path}: {err}. Expected a disk with room. Choose another place."
        ) from err
    except BaseException:
        engine.dispose()
        _away(part)
        raise
    engine.dispose()
    with part.open("rb+") as written:
        os.fsync(written.fileno())
    part.replace(path)
    return counts


def restore(path: Path, store: Store) -> dict[str, int]:
    """Fill an empty store from a backup and return how many rows of each table came.

    Raises
    ------
    InputError
        If the file is no backup, or the store is not empty.
    StoreError
        If the backup is of a later version, or the store cannot be written to.
    """
    if not _is_sqlite(path):
        raise InputError(
            f"{path} is no backup. Expected a file that firstfrost store backup has written. Give that file."
        )
    source = make_engine(store_url(str(path)), write=False)
    try:
        with source.begin() as there:
            at = current(there)
            if at != newest():
                raise StoreError(
                    f"{path} is at {at!r}, and this version works with {newest()!r}. Expected the same. "
                    "Open it once with firstfrost serve --store, which brings an older one up to date."
                )
            return store.write(lambda here: _fill(there, here))
    except SQLAlchemyError as err:
        raise in_words(err, "be restored") from err
    finally:
        source.dispose()


def _fill(there: Connection, here: Connection) -> dict[str, int]:
    for table in RECORDS:
        if here.execute(select(func.count()).select_from(table)).scalar_one():
            raise InputError(
                f"The store is not empty: there is something in {table.name}. Expected an empty one to "
                "restore into. Give a new file or database."
            )
    counts = _copy_all(there, here)
    if here.dialect.name == "postgresql":
        # The counter goes on after the last number that was copied.
        here.execute(
            text("SELECT setval(pg_get_serial_sequence('audit', 'n'), :last)"),
            {"last": max(1, here.execute(select(func.max(audit.c.n))).scalar() or 1)},
        )
    return counts


def _copy_all(here: Connection, there: Connection) -> dict[str, int]:
    return {table.name: _copy(here, there, table) for table in RECORDS if table is not sessions}


def _copy(here: Connection, there: Connection, table: Table) -> int:
    count = 0
    query = select(table).order_by(*table.primary_key.columns)
    for rows in here.execution_options(yield_per=CHUNK).execute(query).mappings().partitions(CHUNK):
        there.execute(insert(table), [dict(row) for row in rows])
        count += len(rows)
    return count


def _is_sqlite(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False


def _away(path: Path) -> None:
    for name in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        with suppress(FileNotFoundError):
            name.unlink()
