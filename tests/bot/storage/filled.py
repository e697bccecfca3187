"""A store with a row in every table, whatever the tables are."""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Date,
    DateTime,
    Float,
    Integer,
    MetaData,
    func,
    select,
)
from sqlalchemy import insert as into

from bot.storage.columns import UtcDateTime

SEALED = "_sealed"
EXAMPLES: tuple[tuple[type | tuple[type, ...], Any], ...] = (
    (Boolean, False),
    (Integer, 1),
    (Float, 1.0),
    ((DateTime, UtcDateTime), datetime(2026, 3, 2, 12, 0, tzinfo=UTC)),
    (Date, date(2026, 3, 2)),
)
"""Kind of column -> a value; any other holds text. Every id is 1: all rows are about person 1."""


def fill(
    connection: Connection,
    tables: MetaData,
    words: str = "",
    *,
    whole: bool = False,
    given: Mapping[str, Mapping[str, Any]] | None = None,
) -> None:
    """Put a row into each table that has none.

    Args:
        words: what sealed columns hold.
        whole: columns that may be empty are filled too.
        given: table -> what its columns must hold.
    """
    for table in tables.sorted_tables:
        if connection.execute(select(func.count()).select_from(table)).scalar():
            continue
        values = {
            column.name: words if column.name.endswith(SEALED) else _example(column)
            for column in table.columns
            if whole or not column.nullable or column.name.endswith(SEALED)
        }
        values |= (given or {}).get(table.name, {})
        connection.execute(into(table).values(**values))
        if connection.dialect.name == "postgresql" and "id" in table.columns:
            # A number that was given counts as used only in a file.
            name = f"pg_get_serial_sequence('{table.name}', 'id')"
            connection.exec_driver_sql(f"SELECT setval({name}, max(id)) FROM {table.name}")  # noqa: S608
    connection.commit()


def _example(column: Column[Any]) -> Any:
    return next((value for kind, value in EXAMPLES if isinstance(column.type, kind)), "1")
