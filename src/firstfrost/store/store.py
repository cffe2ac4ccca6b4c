"""The store as the rest sees it: open it, read from it, write to it."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

from sqlalchemy import Connection, insert, select
from sqlalchemy.exc import SQLAlchemyError

from firstfrost.errors import StoreError
from firstfrost.store.engine import in_words, make_engine, store_url
from firstfrost.store.migrate import current, migrate, newest
from firstfrost.store.schema import facts
from firstfrost.store.sole import FileLock
from firstfrost.store.writer import Writer

T = TypeVar("T")

COMMAND: Final = "command"
"""Who acts where a command on the machine itself does."""
ALONE: Final = "alone"
"""Who acts where one person works alone."""


@dataclass(frozen=True, kw_only=True)
class By:
    """Who does something, and when, by the store's clock."""

    who: str
    """An account's id, `key:` and a recorder's, `alone`, or `command`."""
    at_s: float


class Store:
    """A store that is open; who writes holds it, and a second one is refused.

    Parameters
    ----------
    where : str
        A file name for SQLite, or postgresql://user@host/name.
    clock : callable, optional
        Gives seconds since 1970.
    write : bool
        False reads alone, beside a service that runs: a backup, an export.

    Raises
    ------
    InputError
        If `where` is neither.
    StoreError
        If it cannot be opened, was made by a later version, or another holds it.
    """

    def __init__(self, where: str, *, clock: Callable[[], float] = time.time, write: bool = True) -> None:
        self.url = store_url(where)
        self.clock = clock
        self._held: FileLock | None = None
        self._write_engine = make_engine(self.url, write=True, holder=self.name)
        self._read_engine = make_engine(self.url, write=False)
        try:
            if write or not self._ready():
                if self.url.get_backend_name() == "sqlite":
                    self._held = FileLock(str(self.url.database))
                migrate(self._write_engine)
        except SQLAlchemyError as err:
            self._let_go()
            raise in_words(err, "be opened") from err
        except BaseException:
            self._let_go()
            raise
        self._writer: Writer | None = None
        if write:
            self._writer = Writer(self._write_engine)
        else:
            self._drop_hold()

    def _ready(self) -> bool:
        """Whether there is nothing left to migrate."""
        if self.url.get_backend_name() == "sqlite":
            path = Path(str(self.url.database))
            if not path.exists() or not path.stat().st_size:
                return False
        with self._read_engine.begin() as connection:
            return current(connection) == newest()

    def _drop_hold(self) -> None:
        self._write_engine.dispose()
        if self._held is not None:
            self._held.release()

    def _let_go(self) -> None:
        self._read_engine.dispose()
        self._drop_hold()

    @property
    def name(self) -> str:
        """Where it is, without a password."""
        if self.url.get_backend_name() == "sqlite":
            return str(self.url.database)
        return self.url.set(drivername="postgresql").render_as_string(hide_password=True)

    def by(self, who: str) -> By:
        """`who` does something now."""
        return By(who=who, at_s=self.clock())

    def read(self, job: Callable[[Connection], T]) -> T:
        """Run `job` on one snapshot of the store.

        Raises
        ------
        StoreError
            If the store cannot be read.
        """
        try:
            with self._read_engine.begin() as connection:
                return job(connection)
        except SQLAlchemyError as err:
            raise in_words(err, "be read") from err

    def submit(self, job: Callable[[Connection], T]) -> Future[T]:
        """Queue `job` for the one writer; the future is settled when it is on the disk.

        Raises
        ------
        StoreError
            If the store is closed, or open for reading alone.
        """
        if self._writer is None:
            raise StoreError(f"The store {self.name} is open for reading alone. Open it to write.")
        return self._writer.submit(job)

    def write(self, job: Callable[[Connection], T]) -> T:
        """Run `job` in the one writer and wait until it is on the disk.

        Raises
        ------
        StoreError
            If the store cannot be written to; and what the job raises.
        """
        return self.submit(job).result()

    def tidy(self) -> None:
        """Move SQLite's write-ahead log into the file, so that nothing that was deleted is left in it."""
        if self.url.get_backend_name() != "sqlite":
            return
        engine = make_engine(self.url, write=True)
        try:
            with engine.connect() as connection:
                raw = connection.connection
                raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        except SQLAlchemyError as err:
            raise in_words(err, "be tidied") from err
        finally:
            engine.dispose()

    def close(self) -> None:
        """Finish what was queued and let go of the database."""
        if self._writer is not None:
            self._writer.close()
        self._let_go()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def fact(connection: Connection, key: str) -> str | None:
    """What the store knows of itself under `key`."""
    return connection.execute(select(facts.c.value).where(facts.c.key == key)).scalar()


def set_fact(connection: Connection, key: str, value: str) -> str:
    """Set a fact where there is none yet, and return what it is then."""
    there = fact(connection, key)
    if there is not None:
        return there
    connection.execute(insert(facts).values(key=key, value=value))
    return value


def new_id() -> str:
    """An id for something that is made here."""
    return str(uuid.uuid4())
