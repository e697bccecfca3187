"""Statements asked through the driver give what the mapped classes give."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import (
    bindparam,
    case,
    func,
    literal_column,
    update,
)
from sqlalchemy.exc import IntegrityError, NoResultFound, StatementError
from sqlmodel import select

from bot.errors import StoreError
from bot.messages import Kind, Outgoing
from bot.storage import outbox, people
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.prepared import Prepared, find, get, insert_new
from bot.storage.tables import CheckinRow, ClientRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.bot.storage.conftest import NOON
from tests.bot.storage.prepared_forms import handed, handed_by_sqlalchemy
from tests.doubles.store import store_at

BY_ROLE: Prepared[PersonRow] = Prepared(
    select(PersonRow).where(PersonRow.role == bindparam("role")).order_by(PersonRow.id)
)
LEAVE: Prepared[PersonRow] = Prepared(
    update(PersonRow.metadata.tables["person"])
    .where(PersonRow.metadata.tables["person"].c.role == bindparam("of_role"))
    .values(left_at=bindparam("now"), zone="UTC")
)


@pytest.fixture
def two(store: Database) -> list[PersonId]:
    """Two coaches."""

    def add(unit: UnitOfWork) -> list[PersonId]:
        made = [people.add_person(unit, Role.COACH, name, NOON) for name in ("Rua", "Ana")]
        unit.commit()
        return made

    return store.run_now(add)


def test_rows_hold_what_mapped_rows_hold_with_moments_aware(store: Database, two: list[PersonId]):
    def work(unit: UnitOfWork) -> None:
        mapped = unit.session.exec(select(PersonRow).order_by(PersonRow.id)).all()
        plain = BY_ROLE.all(unit, role=Role.COACH)

        assert [row.id for row in plain] == two
        for row, same in zip(plain, mapped, strict=True):
            names = PersonRow.model_fields
            assert {n: getattr(row, n) for n in names} == {n: getattr(same, n) for n in names}
        assert plain[0].created_at == NOON
        assert plain[0].created_at.tzinfo is not None

    store.run_now(work)


def test_dates_and_nothing_come_back_as_they_went_in(store: Database, two: list[PersonId]):
    def work(unit: UnitOfWork) -> None:
        unit.session.add(ClientRow(person_id=two[0], coach_id=two[1]))
        unit.session.add(CheckinRow(client_id=two[0], on_date=date(2026, 3, 2), started_at=NOON))
        [row] = Prepared[CheckinRow](select(CheckinRow)).all(unit)
        assert (row.on_date, row.started_at, row.finished_at) == (date(2026, 3, 2), NOON, None)

    store.run_now(work)


def test_what_the_session_holds_back_is_written_first(store: Database):
    def work(unit: UnitOfWork) -> None:
        unit.session.add(PersonRow(role=Role.COACH, created_at=NOON))
        assert len(BY_ROLE.all(unit, role=Role.COACH)) == 1
        assert BY_ROLE.first(unit, role=Role.CLIENT) is None

    store.run_now(work)


def test_a_row_is_a_value_that_cannot_be_changed(store: Database, two: list[PersonId]):
    def work(unit: UnitOfWork) -> None:
        row = get(unit, PersonRow, two[0])
        with pytest.raises(AttributeError):
            row.zone = "Pacific/Auckland"

    store.run_now(work)


def test_a_change_tells_how_many_rows_it_touched_and_goes_with_its_transaction(
    store: Database, two: list[PersonId]
):
    with store.unit() as unit:
        assert LEAVE.run(unit, of_role=Role.COACH, now=NOON + timedelta(days=1)) == 2
        assert LEAVE.run(unit, of_role=Role.CLIENT, now=NOON) == 0
        assert get(unit, PersonRow, two[0]).left_at == NOON + timedelta(days=1)

    with store.unit() as unit:
        assert get(unit, PersonRow, two[0]).left_at is None


def test_a_commit_in_between_begins_a_new_transaction(store: Database, two: list[PersonId]):
    with store.unit() as unit:
        LEAVE.run(unit, of_role=Role.COACH, now=NOON)
        unit.commit()
        LEAVE.run(unit, of_role=Role.COACH, now=NOON + timedelta(days=1))

    with store.unit() as unit:
        assert get(unit, PersonRow, two[0]).left_at == NOON


def test_a_row_that_is_missing(store: Database):
    with store.unit() as unit:
        assert find(unit, PersonRow, 99) is None
        with pytest.raises(NoResultFound):
            get(unit, PersonRow, 99)


def test_a_refusal_of_the_database_is_ours_without_the_words_in_it(store: Database):
    def enqueue(unit: UnitOfWork) -> None:
        outbox.enqueue(
            unit,
            dedupe_key="a",
            at=Address("page", "secret place"),
            person_id=PersonId(99),
            kind=Kind.REPLY,
            outgoing=Outgoing("secret words"),
            now=NOON,
        )
        unit.commit()

    with pytest.raises(StoreError, match=r"FOREIGN KEY|ForeignKeyViolation") as caught:
        store.run_now(enqueue)

    assert "secret" not in str(caught.value)
    assert isinstance(caught.value.__cause__, IntegrityError)
    assert "secret" not in str(caught.value.__cause__)


def test_a_failure_at_a_later_row_is_ours_too(store: Database, two: list[PersonId]):
    # SQLite works out each row when it is fetched: the second one overflows.
    number = case(
        (PersonRow.id == two[1], func.abs(literal_column("-9223372036854775808"))), else_=1
    )
    failing: Prepared[PersonRow] = Prepared(
        select(number.label("number")).select_from(PersonRow).order_by(PersonRow.id)
    )

    with pytest.raises(StoreError, match=r"overflow|OutOfRange"):
        store.run_now(failing.all)


def test_a_row_that_is_there_already_is_not_put_in_again(store: Database):
    columns = (
        "forgets",
        "dedupe_key",
        "channel",
        "address",
        "kind",
        "payload_sealed",
        "created_at",
        "due_at",
    )
    more = ("status", "attempts", "platform_id", "last_error")
    put = insert_new(OutboxRow.metadata.tables["outbox"], (*columns, *more), unique=("dedupe_key",))
    given = dict.fromkeys((*columns, *more), "") | {"kind": 1, "attempts": 0, "dedupe_key": "k"}
    given |= {"forgets": False}
    given |= {"created_at": NOON, "due_at": NOON}

    with store.unit() as unit:
        first, again = put.first(unit, **given), put.first(unit, **given)
        assert first is not None
        assert again is None
        assert len(unit.session.exec(select(OutboxRow)).all()) == 1


def test_a_value_that_was_not_handed_in_is_a_fault_at_once(store: Database):
    with store.unit() as unit, pytest.raises(StatementError):
        BY_ROLE.all(unit)


def test_each_statement_hands_the_driver_what_sqlalchemy_itself_would(store: Database):
    assert handed(store) == handed_by_sqlalchemy(store)


def test_what_is_prepared_belongs_to_its_database(store: Database, tmp_path: Path):
    other = store_at(tmp_path / "other.sqlite3")
    with store.unit() as unit, other.unit() as elsewhere:
        mine = unit.forms.of(BY_ROLE, unit.begin().dialect)
        assert unit.forms.of(BY_ROLE, unit.begin().dialect) is mine
        assert elsewhere.forms.of(BY_ROLE, elsewhere.begin().dialect) is not mine
    with store.unit() as unit:
        assert unit.forms.of(BY_ROLE, unit.begin().dialect) is mine
    other.close()
