"""All prepared statements, as they are handed to the driver: by us and by SQLAlchemy itself."""

import importlib
import pkgutil
from collections.abc import Iterator
from datetime import date, datetime, timedelta, timezone
from typing import Any

import pytest
from sqlalchemy import Boolean, Connection, Date, Float, Integer, event
from sqlalchemy.types import NullType, TypeEngine

import bot.storage
from bot.storage.columns import UtcDateTime
from bot.storage.database import Database
from bot.storage.prepared import Forms, Prepared
from bot.storage.tables import CheckinRow, ClientRow, OutboxRow, PersonRow

SAMPLES: dict[type[TypeEngine[Any]], object] = {
    UtcDateTime: datetime(2026, 3, 2, 9, tzinfo=timezone(timedelta(hours=13))),
    Date: date(2026, 3, 2),
    Boolean: True,
    Float: 0.5,
    Integer: 7,
    NullType: 7,
    TypeEngine: "seven",
}
"""A value for each kind of parameter; the first kind that fits counts."""


class Handed(Exception):
    """What SQLAlchemy hands the driver, which never gets it."""


def every_statement() -> list[Prepared[Any]]:
    """All that the store has prepared, and the question by key for some tables."""
    rooms = pkgutil.walk_packages(bot.storage.__path__, "bot.storage.")
    names = [room.name for room in rooms if "migrations" not in room.name]
    kept = [one for name in names for one in vars(importlib.import_module(name)).values()]
    by_key = [Forms().by_key(kind) for kind in (PersonRow, ClientRow, CheckinRow, OutboxRow)]
    return [*dict.fromkeys(one for one in kept if isinstance(one, Prepared)), *by_key]


def with_samples(connection: Connection) -> Iterator[tuple[Prepared[Any], Any, dict[str, Any]]]:
    """Each prepared statement, the statement it was made of, and values for it."""
    for one in every_statement():
        statement: Any = one.statement(connection.dialect)
        binds = statement.compile(dialect=connection.dialect).binds
        given = {
            name: next(value for kind, value in SAMPLES.items() if isinstance(bind.type, kind))
            for name, bind in binds.items()
            if bind.required
        }
        yield one, statement, given


def handed(database: Database) -> list[tuple[str, Any]]:
    """(SQL, values) of each statement as it is prepared."""
    with database.unit() as unit:
        found = []
        for one, _, given in with_samples(unit.begin()):
            form = unit.forms.of(one, database.engine.dialect)
            found.append((form.sql, form.values(given)))
    return found


def handed_by_sqlalchemy(database: Database) -> list[tuple[str, Any]]:
    """(SQL, values) of each statement as SQLAlchemy would execute it."""

    def stop(_connection: Any, _cursor: Any, sql: str, values: Any, *_more: Any) -> None:
        raise Handed(sql, dict(values) if isinstance(values, dict) else list(values))

    found = []
    with database.unit() as unit:
        connection = unit.begin()
        event.listen(database.engine, "before_cursor_execute", stop)
        try:
            for _, statement, given in with_samples(connection):
                with pytest.raises(Handed) as caught:
                    connection.execute(statement, given)
                found.append(caught.value.args)
        finally:
            event.remove(database.engine, "before_cursor_execute", stop)
    assert len(found) > 25
    return found
