"""How Alembic reaches the database: on the connection that the caller hands over."""

from typing import Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlmodel import SQLModel
from sqlmodel.sql.sqltypes import AutoString

import bot.storage.tables  # noqa: F401 - registers the tables


def _plain_strings(kind: str, item: object, _context: AutogenContext) -> str | Literal[False]:
    """Write SQLModel's string type as SQLAlchemy's own, which outlives it."""
    return "sa.String()" if kind == "type" and isinstance(item, AutoString) else False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
    render_item=_plain_strings,
)
with context.begin_transaction():
    context.run_migrations()
