"""Run the scripts within the transaction of the connection that opens the book."""

from __future__ import annotations

from alembic import context

from slabwright.book.opening import VERSION_TABLE
from slabwright.book.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
