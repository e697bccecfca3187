"""Statements compiled to SQL once and executed through the driver itself.

What a turn asks is nearly always the same two dozen statements. SQLAlchemy writes them, converts
their values and owns the transaction; but its way from a statement to rows costs five to ten times
what the database needs to answer. The statements of every turn skip that way.
"""

from collections import namedtuple
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar, cast

from sqlalchemy import Connection, Dialect, Executable, Table, bindparam, inspect, select
from sqlalchemy.exc import DBAPIError, NoResultFound, StatementError
from sqlmodel import Session

from bot.storage.encryption import Encryption

Row = TypeVar("Row")

Convert = Callable[[Any], Any] | None


class Transaction(Protocol):
    """An open transaction (see :class:`bot.storage.unit.UnitOfWork`)."""

    @property
    def session(self) -> Session:
        """The session; it may hold changes that are not flushed yet."""
        ...

    @property
    def connection(self) -> Connection | None:
        """The connection of the transaction; None while it has not begun."""
        ...

    def begin(self) -> Connection:
        """Begin the transaction; gives its connection."""
        ...

    @property
    def encryption(self) -> Encryption:
        """The key of the database."""
        ...

    @property
    def forms(self) -> "Forms":
        """What has been prepared for the database."""
        ...


@dataclass(frozen=True, slots=True)
class _Form:
    """A statement in one database's SQL.

    Attributes:
        places: the parameters in order: name and conversion.
        constants: values of parameters that the statement itself fixes.
        row: makes a row of a result's values.
        columns: the result columns.
        converts: known with the first answer; then its one item is the place and conversion of each
            column that needs one.
    """

    sql: str
    by_place: bool
    places: Sequence[tuple[str, Convert]]
    constants: Mapping[str, Any]
    row: Callable[..., Any]
    columns: Sequence[Any]
    converts: list[Sequence[tuple[int, Callable[[Any], Any]]]]

    def values(self, given: Mapping[str, Any]) -> Sequence[Any] | Mapping[str, Any]:
        known = {**self.constants, **given}
        if self.by_place:
            return [
                known[name] if convert is None else convert(known[name])
                for name, convert in self.places
            ]
        return {
            name: known[name] if convert is None else convert(known[name])
            for name, convert in self.places
        }

    def read(self, answered: Sequence[Any]) -> Any:
        values = list(answered)
        for place, convert in self.converts[0]:
            values[place] = convert(values[place])
        return self.row(*values)


class Prepared(Generic[Row]):
    """One statement; its parameters are named by ``bindparam``.

    ``Row`` is the mapped class whose columns are asked for: what comes back has its attributes, but
    is an immutable value that no session tracks. Pending changes of the session are flushed first.
    """

    def __init__(self, statement: Executable | Mapping[str, Callable[[], Executable]]) -> None:
        """``statement``: for all databases, or what makes each one's by the name of its dialect."""
        self._statement = statement

    def all(self, unit: Transaction, **given: Any) -> list[Row]:
        """All rows.

        Raises:
            StatementError: the database refuses, or a value is missing or does not fit.
        """
        form, found = self._ask(unit, given, _all)
        return [cast("Row", form.read(answered)) for answered in found]

    def first(self, unit: Transaction, **given: Any) -> Row | None:
        """The first row, or None when there is none.

        Raises:
            StatementError: the database refuses, or a value is missing or does not fit.
        """
        form, found = self._ask(unit, given, _first)
        return None if found is None else cast("Row", form.read(found))

    def one(self, unit: Transaction, **given: Any) -> Row:
        """The row that must be there.

        Raises:
            StatementError: the database refuses, or a value is missing or does not fit.
            NoResultFound: there is none.
        """
        row = self.first(unit, **given)
        if row is None:
            raise NoResultFound("no such row")
        return row

    def run(self, unit: Transaction, **given: Any) -> int:
        """Make the change; gives how many rows it touched.

        Raises:
            StatementError: the database refuses, or a value is missing or does not fit.
        """
        _, touched = self._ask(unit, given, _touched)
        return int(touched)

    def _ask(
        self, unit: Transaction, given: Mapping[str, Any], fetch: Callable[[Any], Any]
    ) -> tuple[_Form, Any]:
        unit.session.flush()
        connection = unit.connection or unit.begin()
        dialect = connection.dialect
        form = unit.forms.of(self, dialect)
        try:
            values = form.values(given)
        except (KeyError, TypeError, ValueError) as error:
            raise StatementError(type(error).__name__, form.sql, None, error) from error
        cursor = connection.connection.cursor()
        driver = dialect.loaded_dbapi.Error
        try:
            cursor.execute(form.sql, values)
            if not form.converts and cursor.description:
                # At once, for another thread may do the same just now.
                form.converts[:] = [_converts(form, dialect, cursor.description)]
            # A database that streams its answer may fail at any row.
            return form, fetch(cursor)
        except driver as error:
            # Without the values, which may hold people's data.
            raise DBAPIError.instance(form.sql, None, error, driver, dialect=dialect) from error
        finally:
            cursor.close()

    def compile(self, dialect: Dialect) -> _Form:
        """The statement in the SQL of ``dialect``."""
        return _form(self.statement(dialect), dialect)

    def statement(self, dialect: Dialect) -> Executable:
        """The statement as it was given for ``dialect``."""
        if isinstance(self._statement, Mapping):
            return self._statement[dialect.name]()
        return self._statement


def _converts(
    form: _Form, dialect: Dialect, description: Sequence[Any]
) -> list[tuple[int, Callable[[Any], Any]]]:
    found = [
        column.type.dialect_impl(dialect).result_processor(dialect, described[1])
        for column, described in zip(form.columns, description, strict=True)
    ]
    return [(place, convert) for place, convert in enumerate(found) if convert is not None]


def _all(cursor: Any) -> Any:
    return cursor.fetchall()


def _first(cursor: Any) -> Any:
    return cursor.fetchone()


def _touched(cursor: Any) -> Any:
    return cursor.rowcount


def insert_new(table: Table, columns: Sequence[str], *, unique: Sequence[str]) -> Prepared[Any]:
    """Put a row in, unless one with the same ``unique`` columns is there; gives its ``id``."""
    values: dict[str, Any] = {name: bindparam(name) for name in columns}

    def put(kind: Any) -> Executable:
        statement = kind(table).values(values).on_conflict_do_nothing(index_elements=list(unique))
        return cast("Executable", statement.returning(table.c.id))

    def sqlite() -> Executable:
        from sqlalchemy.dialects.sqlite import insert

        return put(insert)

    def postgresql() -> Executable:
        # Loads long, and most stores are a file.
        from sqlalchemy.dialects.postgresql import insert

        return put(insert)

    return Prepared({"sqlite": sqlite, "postgresql": postgresql})


class Forms:
    """The statements of one database in its SQL, each put into it when it is first asked."""

    def __init__(self) -> None:
        """Nothing is prepared yet."""
        self._forms: dict[Prepared[Any], _Form] = {}
        self._by_key: dict[type[Any], Prepared[Any]] = {}

    def of(self, prepared: Prepared[Any], dialect: Dialect) -> _Form:
        """The form of a statement; ``dialect`` is always that of the one database."""
        form = self._forms.get(prepared)
        if form is None:
            form = self._forms[prepared] = prepared.compile(dialect)
        return form

    def by_key(self, kind: type[Row]) -> Prepared[Row]:
        """The question for the row of a mapped class whose primary key is ``key``."""
        if kind not in self._by_key:
            (key,) = inspect(kind).primary_key
            self._by_key[kind] = Prepared(select(kind).where(key == bindparam("key")))
        return self._by_key[kind]


def find(unit: Transaction, kind: type[Row], key: int) -> Row | None:
    """A row, to be read only; None when there is none."""
    return unit.forms.by_key(kind).first(unit, key=key)


def get(unit: Transaction, kind: type[Row], key: int) -> Row:
    """A row that must be there, to be read only.

    Raises:
        NoResultFound: there is none.
    """
    return unit.forms.by_key(kind).one(unit, key=key)


def _form(statement: Any, dialect: Dialect) -> _Form:
    compiled: Any = statement.compile(dialect=dialect)
    # The processor of a value is its type's own affair, as SQLAlchemy's guide to types says.
    converts = {
        name: bind.type.dialect_impl(dialect).bind_processor(dialect)
        for name, bind in compiled.binds.items()
    }
    names = compiled.positiontup if compiled.positional else compiled.params
    columns = list(statement.exported_columns)
    return _Form(
        sql=compiled.string,
        by_place=compiled.positional,
        places=[(name, converts[name]) for name in names],
        constants={
            name: value
            for name, value in compiled.params.items()
            if not compiled.binds[name].required
        },
        row=namedtuple("row", [column.key for column in columns]),
        columns=columns,
        converts=[],
    )
