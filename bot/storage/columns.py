"""The kinds of column that the tables are made of."""

from datetime import UTC, datetime

from sqlalchemy import Column, DateTime, Dialect, Text
from sqlalchemy.types import TypeDecorator


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


def moment(*, nullable: bool = True, index: bool = False) -> Column[datetime]:
    """A column of aware moments."""
    return Column(UtcDateTime(), nullable=nullable, index=index)


def text() -> Column[str]:
    """A column of text of any length."""
    return Column(Text, nullable=False, default="")
