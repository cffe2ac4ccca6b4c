"""Engines: SQLite with a write-ahead log, or PostgreSQL, and their errors in our words.

SQLite: `synchronous = FULL`, so that a commit is on the disk when it returns, also in WAL mode; each write
begins with `BEGIN IMMEDIATE`, so that a transaction never finds half-way that another writes; readers never
wait for the writer. `secure_delete` overwrites what a customer has asked to be deleted.
(https://sqlite.org/wal.html, https://sqlite.org/pragma.html)
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError

from firstfrost.errors import InputError, StoreError
from firstfrost.store.sole import hold_session

BUSY_MS: Final = 10_000
"""How long a second program's write is waited for. [ms]"""
READERS: Final = 12
CONNECT_S: Final = 5


def store_url(text: str) -> URL:
    """The URL of a store, from a path or a URL.

    Raises
    ------
    InputError
        If it is neither SQLite's nor PostgreSQL's.
    """
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser()))
    try:
        url = make_url(text)
    except ArgumentError as err:
        raise InputError(f"The store {text!r} is not a URL. {_EXPECTED}") from err
    kind = url.get_backend_name()
    if kind == "sqlite":
        return url.set(drivername="sqlite")
    if kind in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    raise InputError(f"The store {url.render_as_string(hide_password=True)!r} is of kind {kind}. {_EXPECTED}")


_EXPECTED: Final = (
    "Expected a file name for SQLite, such as shop.db, or postgresql://user@host/name. Give one of these."
)


def make_engine(url: URL, *, write: bool, holder: str = "") -> Engine:
    """An engine for the one writer, or for readers.

    Parameters
    ----------
    url : URL
        Of the store.
    write : bool
        Whether it writes.
    holder : str
        The store's name: each connection that is made to PostgreSQL then holds it, or is refused.

    Raises
    ------
    InputError
        If PostgreSQL's driver is not installed, or the folder of a SQLite file is not there.
    """
    if url.get_backend_name() == "sqlite":
        return _sqlite(url, write=write)
    try:
        engine = create_engine(
            url,
            pool_size=1 if write else READERS,
            max_overflow=0,
            pool_pre_ping=True,
            connect_args={"connect_timeout": CONNECT_S},
            isolation_level="READ COMMITTED" if write else "REPEATABLE READ",
        )
    except ModuleNotFoundError as err:
        raise InputError(
            "PostgreSQL needs psycopg, which is not installed. Expected it for a postgresql:// store. "
            "Install firstfrost[serve], or give a file name for SQLite."
        ) from err
    if holder:

        @event.listens_for(engine, "connect")
        def _hold(raw: Any, _: Any) -> None:
            hold_session(raw, holder)

    return engine


def _sqlite(url: URL, *, write: bool) -> Engine:
    folder = Path(url.database or "").absolute().parent
    if not url.database or url.database == ":memory:":
        raise InputError("A store in memory keeps nothing. Expected a file name, such as shop.db. Give one.")
    if not folder.is_dir():
        raise InputError(
            f"The store {url.database} has no folder {folder}. Expected one that exists. Make it, or choose "
            "another."
        )
    if write:
        _make_private(Path(url.database))
    engine = create_engine(
        url,
        pool_size=1 if write else READERS,
        max_overflow=0,
        connect_args={"timeout": BUSY_MS / 1e3, "check_same_thread": False},
    )

    @event.listens_for(engine, "connect")
    def _connect(raw: Any, _: Any) -> None:
        # The driver would begin transactions by itself, and late.
        raw.isolation_level = None
        cursor = raw.cursor()
        cursor.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
        cursor.execute("PRAGMA foreign_keys = ON")
        if write:
            cursor.execute("PRAGMA journal_mode = WAL")
            cursor.execute("PRAGMA synchronous = FULL")
            cursor.execute("PRAGMA secure_delete = ON")
        else:
            cursor.execute("PRAGMA query_only = ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def _make_private(path: Path) -> None:
    """Make the file, if it is not there, so that nobody else on the machine reads it; its logs follow it."""
    with suppress(OSError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))


def in_words(err: SQLAlchemyError, what: str) -> StoreError:
    """The store's error for one of the database's: what happened and what to do, nothing of its SQL."""
    plain = str(err.orig if isinstance(err, DBAPIError) and err.orig is not None else err).strip()
    first = plain.splitlines()[0] if plain else type(err).__name__
    lower = first.casefold()
    if "full" in lower or "no space" in lower or "53100" in lower:
        advice = "Nothing was taken. Make room on the disk of the store; then send it again."
    elif "locked" in lower or "busy" in lower:
        advice = "Another program holds the store. End it, or wait; nothing was taken, send it again."
    elif "readonly" in lower or "read-only" in lower or "permission" in lower:
        advice = "The store may not be written to. Change its owner or its permissions."
    elif "malformed" in lower or "not a database" in lower:
        advice = "The file is damaged or is no store. Restore it from the last backup."
    else:
        advice = "Nothing was taken. See that the database runs and can be reached; then send it again."
    return StoreError(f"The store cannot {what}: {first}. {advice}")
