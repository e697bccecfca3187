"""One transaction: all of it lasts, or nothing."""

import threading
from pathlib import Path

import pytest
from sqlmodel import select

from bot.errors import StoreError
from bot.storage import people
from bot.storage.database import Database
from bot.storage.tables import AddressRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.bot.storage.conftest import NOON
from tests.doubles.store import store_at


def names(database: Database) -> list[str]:
    def work(unit: UnitOfWork) -> list[str]:
        rows = unit.session.exec(select(PersonRow).order_by(PersonRow.id)).all()
        return [unit.encryption.decrypt(row.name_sealed) for row in rows]

    return database.run_now(work)


def add(unit: UnitOfWork, name: str) -> PersonId:
    return people.add_person(unit, Role.COACH, name, NOON)


def test_leaving_without_commit_rolls_back(store: Database):
    with store.unit() as unit:
        add(unit, "Rua")

    assert names(store) == []


def test_an_error_rolls_back(store: Database):
    def work(unit: UnitOfWork) -> None:
        add(unit, "Rua")
        raise KeyError

    with pytest.raises(KeyError):
        store.run_now(work)

    assert names(store) == []


def test_what_was_committed_before_an_error_lasts(store: Database):
    def work(unit: UnitOfWork) -> None:
        add(unit, "Rua")
        unit.commit()
        add(unit, "Ana")
        raise KeyError

    with pytest.raises(KeyError):
        store.run_now(work)

    assert names(store) == ["Rua"]


def test_rolling_back_takes_what_a_savepoint_held_too(store: Database):
    # With the driver's own way of beginning, a released savepoint would have lasted.
    with store.unit() as unit:
        with unit.session.begin_nested():
            add(unit, "Rua")
        add(unit, "Ana")

    assert names(store) == []


def test_an_error_of_the_database_becomes_our_own_without_the_words_in_it(store: Database):
    def work(unit: UnitOfWork) -> None:
        row = AddressRow(
            channel="page", address="secret place", person_id=99, bound_at=NOON, used_at=NOON
        )
        unit.session.add(row)
        unit.commit()

    with pytest.raises(StoreError, match=r"FOREIGN KEY|ForeignKeyViolation") as caught:
        store.run_now(work)

    assert "secret place" not in str(caught.value)
    # A server adds the values that it refused.
    assert "99" not in str(caught.value)


def test_two_threads_that_read_and_then_write_wait_for_each_other(tmp_path: Path):
    stores = [store_at(tmp_path / "store.sqlite3") for _ in range(2)]
    start = threading.Barrier(2)
    failures: list[Exception] = []

    def many(database: Database, who: str) -> None:
        def work(unit: UnitOfWork, number: int) -> None:
            # Reading first is what a conversation does; without the write lock from the start the
            # later of two writers would be refused at once.
            unit.session.exec(select(PersonRow)).all()
            add(unit, f"{who} {number}")
            unit.commit()

        start.wait()
        try:
            for number in range(25):
                database.run_now(work, number)
        except StoreError as error:
            failures.append(error)

    threads = [
        threading.Thread(target=many, args=(store, who))
        for store, who in zip(stores, ("Rua", "Ana"), strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert failures == []
    assert sorted(names(stores[0])) == sorted(
        f"{who} {number}" for who in ("Rua", "Ana") for number in range(25)
    )
    for store in stores:
        store.close()


@pytest.mark.parametrize("store", ["sqlite"], indirect=True)
async def test_work_from_the_loop_is_done_on_the_one_store_thread(store: Database):
    used = {await store.run(lambda _unit: threading.current_thread().name) for _ in range(3)}

    assert used == {"store_0"}
