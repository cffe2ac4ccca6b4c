"""Bringing a store's tables to what this version needs."""

from __future__ import annotations

from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, Engine

from firstfrost.errors import StoreError

SCRIPTS: Final = "firstfrost.store:migrations"


def _config(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", SCRIPTS)
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config


def newest() -> str:
    """The name of the last migration."""
    head = ScriptDirectory.from_config(_config()).get_current_head()
    assert head is not None
    return head


def current(connection: Connection) -> str | None:
    """The migration that a store is at; None for one without tables."""
    return MigrationContext.configure(connection).get_current_revision()


def migrate(engine: Engine) -> bool:
    """Bring the tables up to date, in one transaction; tell whether there was anything to do.

    Raises
    ------
    StoreError
        If the store was made by a later version.
    """
    with engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            # Two services that start at once: the second waits, and finds nothing left to do.
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(715517)")
        before = current(connection)
        if before == newest():
            return False
        try:
            command.upgrade(_config(connection), "head")
        except CommandError as err:
            raise StoreError(
                f"The store is at {before!r}, which this version of Firstfrost does not know. Expected at "
                f"most {newest()!r}. Use the newer version that the store was last opened with."
            ) from err
    return True
