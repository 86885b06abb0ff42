"""Run by Alembic, on the connection that `server.store.migrate` hands over."""

from __future__ import annotations

from alembic import context

from server.store.schema import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
