"""What Alembic runs to get at the store."""

from __future__ import annotations

from alembic import context

from firstfrost.store.schema import META

context.configure(
    connection=context.config.attributes["connection"], target_metadata=META, render_as_batch=True
)
with context.begin_transaction():
    context.run_migrations()
