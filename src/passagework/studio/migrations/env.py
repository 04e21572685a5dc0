"""Runs migrations on the connection that `passagework.studio.upgrade` hands in, in one transaction.

A crash in the middle leaves the database as it was: SQLite, too, takes back what was done to tables.
"""

from __future__ import annotations

from alembic import context

from passagework.studio.tables import TABLES

metadata = next(iter(TABLES.values())).metadata

if context.is_offline_mode():
    context.configure(
        dialect_name=context.config.attributes["dialect_name"],
        target_metadata=metadata,
        literal_binds=True,
    )
else:
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )

with context.begin_transaction():
    context.run_migrations()
