"""The kinds of column that the tables are made of."""

import logging
from datetime import UTC, datetime
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Column, DateTime, Dialect, String, Text
from sqlalchemy.types import TypeDecorator

from bot.errors import Unopened
from bot.storage.encryption import Encryption

NOBODYS = ""
"""The address of a chat that no key opens, as of a damaged row: nothing can be sent there, and all
other rows can be read."""

log = logging.getLogger(__name__)

_ENCRYPTIONS: WeakKeyDictionary[Dialect, Encryption] = WeakKeyDictionary()
"""Each database has a dialect of its own, and a key."""


def seal_with(encryption: Encryption, dialect: Dialect) -> None:
    """Seal chats with this key in the database to which the dialect belongs."""
    _ENCRYPTIONS[dialect] = encryption


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment: stored in UTC, read back aware on every database."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse naive times; store UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a naive time reached the database")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, _dialect: Dialect) -> datetime | None:
        """Aware, in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)

    def result_processor(self, dialect: Dialect, coltype: object) -> Any:
        """The same, of SQLite's text in one step: every row that is read has several moments."""
        if dialect.name != "sqlite":
            return super().result_processor(dialect, coltype)
        return _moment_of


def _moment_of(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text).replace(tzinfo=UTC)


class ChatAddress(TypeDecorator[str]):
    """A chat's address: sealed, and found by its sealed form."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """Seal it."""
        return None if value is None else _ENCRYPTIONS[dialect].seal_chat(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> str | None:
        """Open it."""
        if value is None:
            return None
        try:
            return _ENCRYPTIONS[dialect].open_chat(value)
        except Unopened:
            log.error("the address of a chat cannot be opened: it is damaged, or of another key")
            return NOBODYS


def chat(*, index: bool = False) -> Column[str]:
    """A column of addresses of chats."""
    return Column(ChatAddress(), nullable=False, index=index)


def moment(*, nullable: bool = True, index: bool = False) -> Column[datetime]:
    """A column of aware moments."""
    return Column(UtcDateTime(), nullable=nullable, index=index)


def text() -> Column[str]:
    """A column of text of any length."""
    return Column(Text, nullable=False, default="")
