"""Alembic's door: run on the connection that server.store.migrate hands in, in its transaction."""

from alembic import context
from sqlmodel import SQLModel

import server.store.tables  # noqa: F401 - fills the metadata

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
