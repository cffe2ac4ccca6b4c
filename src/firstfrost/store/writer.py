"""One writer: all changes go through one thread, which commits what has come up together.

A job is a function of a connection. Each runs in a savepoint of its own, so that one that is refused takes
nothing of the others with it; its future is settled after the commit and never before, so that whatever was
answered "taken" is on the disk. Under load one commit, and one wait for the disk, carries many jobs.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from firstfrost.errors import StoreError
from firstfrost.store.engine import in_words

T = TypeVar("T")
Job = Callable[[Connection], Any]

TOGETHER: Final = 256
"""At most so many jobs in one transaction."""


class Writer:
    """Runs jobs one after the other, in the order in which they came."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._jobs: queue.SimpleQueue[tuple[Job, Future[Any]] | None] = queue.SimpleQueue()
        self._closed = False
        self._gate = threading.Lock()
        self._thread = threading.Thread(target=self._run, name="store-writer", daemon=True)
        self._thread.start()

    def submit(self, job: Callable[[Connection], T]) -> Future[T]:
        """Queue a job; the future is settled once its commit is on the disk.

        The future holds the job's own error, or a StoreError if the store could not be written to.
        """
        future: Future[T] = Future()
        with self._gate:
            if self._closed:
                raise StoreError("The store is closed. Nothing was taken. Start the service again.")
            self._jobs.put((job, future))
        return future

    def close(self) -> None:
        """Finish what was queued, and end."""
        with self._gate:
            if self._closed:
                return
            self._closed = True
            self._jobs.put(None)
        self._thread.join()

    def _run(self) -> None:
        while True:
            first = self._jobs.get()
            if first is None:
                return
            taken, last = [first], False
            while len(taken) < TOGETHER:
                try:
                    more = self._jobs.get_nowait()
                except queue.Empty:
                    break
                if more is None:
                    last = True
                    break
                taken.append(more)
            self._commit(taken)
            if last:
                return

    def _commit(self, taken: list[tuple[Job, Future[Any]]]) -> None:
        outcomes: list[tuple[Future[Any], Any, BaseException | None]] = []
        try:
            with self._engine.begin() as connection:
                for job, future in taken:
                    outcomes.append(self._one(connection, job, future))
        except BaseException as err:
            error = in_words(err, "be written to") if isinstance(err, SQLAlchemyError) else err
            for _, future in taken:
                _settle(future, None, error)
            return
        for future, value, failure in outcomes:
            _settle(future, value, failure)

    def _one(
        self, connection: Connection, job: Job, future: Future[Any]
    ) -> tuple[Future[Any], Any, BaseException | None]:
        savepoint = connection.begin_nested()
        try:
            value = job(connection)
        except DBAPIError as err:
            # A rule of the tables was broken by this job; anything else may have hit them all.
            if not isinstance(err, IntegrityError):
                raise
            savepoint.rollback()
            return future, None, in_words(err, "take this")
        except Exception as err:
            savepoint.rollback()
            return future, None, err
        savepoint.commit()
        return future, value, None


def _settle(future: Future[Any], value: Any, error: BaseException | None) -> None:
    if not future.set_running_or_notify_cancel():
        return
    if error is not None:
        future.set_exception(error)
    else:
        future.set_result(value)
