"""One service to one store: who writes to it holds it, and who comes second is told so.

The live views of one service do not see what another takes, and a restore or an import under a running
service pulls the ground from under it. So whoever writes holds the store for as long as it is open: a lock of
the operating system on a file beside SQLite's, an advisory lock of the session that writes in PostgreSQL.
Both end with the process, however it ends (https://man7.org/linux/man-pages/man2/flock.2.html,
https://www.postgresql.org/docs/13/explicit-locking.html#ADVISORY-LOCKS).
"""

from __future__ import annotations

import os
import time
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from firstfrost.errors import StoreError

FILE_WAIT_S: Final = 1.0
SESSION_WAIT_S: Final = 5.0
"""So long the one before may take to let go, as after a restart; a database takes a moment to notice. [s]"""
STEP_S: Final = 0.05
ENDING: Final = "-lock"
_BYTE: Final = 1 << 30
"""Where Windows locks: bytes that are locked cannot be read there, and the first ones say who holds it."""
SESSION_LOCK: Final = 715_518
"""The advisory lock's number in the database."""
KEEPALIVE: Final = (
    ("tcp_keepalives_idle", 20),
    ("tcp_keepalives_interval", 10),
    ("tcp_keepalives_count", 3),
)
"""So that the lock of a service whose machine is gone is freed within a minute. [s; the last a count]"""


def _taken(where: str, who: str) -> StoreError:
    return StoreError(
        f"The store {where} is in use by another Firstfrost{who}. Expected one service to one store. Use the "
        "pages of the one that runs, or end it; a backup and an export can be made while it runs."
    )


class FileLock:
    """The lock on a SQLite store, beside its file.

    Parameters
    ----------
    database : str
        The store's file.

    Raises
    ------
    StoreError
        If another process, or another part of this one, holds it.
    """

    def __init__(self, database: str) -> None:
        # One file under two names is one store.
        real = os.path.realpath(database)
        path = Path(real + ENDING)
        try:
            self._file: int | None = os.open(
                path, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o600
            )
        except OSError as err:
            raise StoreError(
                f"The store {database} cannot be held: {path}: {err.strerror or err}. Expected a folder that "
                "may be written to. Change its owner or its permissions."
            ) from err
        until = time.monotonic() + FILE_WAIT_S
        while not self._try(database):
            if time.monotonic() > until:
                who = os.pread(self._file, 20, 0) if hasattr(os, "pread") else os.read(self._file, 20)
                os.close(self._file)
                number = who.decode("ascii", "replace").strip()
                raise _taken(database, f" (process {number})" if number.isdigit() else "")
            time.sleep(STEP_S)
        os.ftruncate(self._file, 0)
        os.write(self._file, f"{os.getpid()}\n".encode())

    def _try(self, database: str) -> bool:
        assert self._file is not None
        try:
            return _lock(self._file)
        except OSError as err:
            os.close(self._file)
            raise StoreError(
                f"The store {database} cannot be locked: {err.strerror or err}. Expected a disk of this "
                "machine: SQLite is not safe on others. Put it on one, or use PostgreSQL."
            ) from err

    def release(self) -> None:
        """Let go. The file stays: taken away, two could each hold one of that name."""
        if self._file is None:
            return
        with suppress(OSError):
            os.ftruncate(self._file, 0)
        with suppress(OSError):
            _unlock(self._file)
        os.close(self._file)
        self._file = None


def _lock(file: int) -> bool:
    """Take the lock if it is free."""
    try:
        import fcntl
    except ModuleNotFoundError:
        return _lock_windows(file)
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _unlock(file: int) -> None:
    """Let go before the file is closed, where the system else takes its time over it: that is Windows."""
    try:
        import fcntl  # noqa: F401
    except ModuleNotFoundError:
        _on_windows(file, "LK_UNLCK")


def _lock_windows(file: int) -> bool:
    try:
        _on_windows(file, "LK_NBLCK")
    except OSError:
        return False
    return True


def _on_windows(file: int, what: str) -> None:
    # msvcrt has these on Windows alone: https://docs.python.org/3/library/msvcrt.html
    import msvcrt

    calls: Any = msvcrt
    os.lseek(file, _BYTE, os.SEEK_SET)
    try:
        calls.locking(file, getattr(calls, what), 1)
    finally:
        os.lseek(file, 0, os.SEEK_SET)


_HOLDER: Final = """
SELECT host(a.client_addr), to_char(a.backend_start, 'YYYY-MM-DD HH24:MI')
FROM pg_locks l JOIN pg_stat_activity a ON a.pid = l.pid
WHERE l.locktype = 'advisory' AND l.classid = 0 AND l.objid = %s AND l.granted
AND l.database = (SELECT oid FROM pg_database WHERE datname = current_database())
"""


def hold_session(raw: Any, where: str) -> None:
    """Take the lock of a PostgreSQL store for as long as a connection lives, or close it.

    Parameters
    ----------
    raw : psycopg.Connection
        The one that writes, just made.
    where : str
        The store, for the error.

    Raises
    ------
    StoreError
        If another session holds it.
    """
    until = time.monotonic() + SESSION_WAIT_S
    try:
        for setting, value in KEEPALIVE:
            raw.execute(f"SET {setting} = {value}")
        while not raw.execute("SELECT pg_try_advisory_lock(%s)", (SESSION_LOCK,)).fetchone()[0]:
            if time.monotonic() > until:
                row = raw.execute(_HOLDER, (SESSION_LOCK,)).fetchone()
                who = "" if row is None else f" (from {row[0] or 'this machine'}, since {row[1]})"
                raise _taken(where, who)
            raw.rollback()
            time.sleep(STEP_S)
        raw.commit()
    except BaseException:
        raw.close()
        raise
