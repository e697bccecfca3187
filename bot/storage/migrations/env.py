"""How Alembic reaches the database: on the connection that the caller hands over."""

from alembic import context
from sqlmodel import SQLModel

import bot.storage.tables  # noqa: F401 - registers the tables

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=SQLModel.metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
