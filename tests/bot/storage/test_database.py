"""The database itself: kept safe against power cuts, brought up by migrations, sealed."""

from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from cryptography.fernet import Fernet
from sqlalchemy import inspect
from sqlmodel import SQLModel

from bot.errors import StoreError
from bot.storage import people
from bot.storage.columns import ChatAddress
from bot.storage.database import MIGRATIONS, Database
from bot.storage.encryption import Encryption
from bot.storage.tables import PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import Role
from tests.bot.storage.conftest import NOON
from tests.bot.storage.open_columns import LOOKED_UP, OPEN
from tests.bot.storage.upgrades import (
    answers_in_the_open_are_sealed_and_read_as_before,
    nobody_has_seen_an_open_alert_since_it_was_raised,
    signs_of_open_alerts_count_from_when_they_were_last_told,
)
from tests.doubles.store import KEY


@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        pytest.param("journal_mode", "wal", id="readers do not wait for the writer"),
        pytest.param("synchronous", 2, id="FULL: what was acknowledged is on the disk"),
        pytest.param("foreign_keys", 1, id="no row points at nothing"),
    ],
)
@pytest.mark.parametrize("store", ["sqlite"], indirect=True)
def test_sqlite_is_set_up_on_every_connection(store: Database, pragma: str, value: object):
    for _ in range(2):
        with store.engine.connect() as connection:
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_an_empty_database_is_brought_up_and_then_is_current(tmp_path: Path):
    database = Database(f"sqlite:///{tmp_path / 'new.sqlite3'}", Encryption(KEY))
    assert not database.is_current()

    database.migrate()

    assert database.is_current()
    database.migrate()
    assert database.is_current()
    database.close()


def test_the_migrations_lead_to_the_very_tables_of_the_code(store: Database):
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, SQLModel.metadata) == []


def test_the_tables_can_be_taken_down_and_brought_up_again(store: Database):
    with store.engine.connect() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.set_main_option("path_separator", "os")
        config.attributes["connection"] = connection
        config.attributes["encryption"] = store.encryption
        command.downgrade(config, "base")
        connection.commit()
        assert set(inspect(connection).get_table_names()) <= {"alembic_version"}
    assert not store.is_current()

    store.migrate()

    assert store.is_current()


def test_answers_of_before_are_sealed_and_read_as_before(store: Database):
    answers_in_the_open_are_sealed_and_read_as_before(store)


def test_records_kept_before_know_when_a_sign_was_last_told(store: Database):
    signs_of_open_alerts_count_from_when_they_were_last_told(store)


def test_records_kept_before_know_since_when_nobody_has_seen_an_alert(store: Database):
    nobody_has_seen_an_open_alert_since_it_was_raised(store)


def test_every_column_is_sealed_or_named_with_why_it_is_open():
    found = {
        table.name: {column.name for column in table.columns if not column.name.endswith("_sealed")}
        for table in SQLModel.metadata.tables.values()
    }

    assert found == {table: set(columns) for table, columns in OPEN.items()}


def test_what_is_open_of_a_chat_is_sealed_for_looking_up():
    looked_up = {
        f"{table.name}.{column.name}"
        for table in SQLModel.metadata.tables.values()
        for column in table.columns
        if isinstance(column.type, ChatAddress)
    }
    said = {
        f"{table}.{name}"
        for table, columns in OPEN.items()
        for name, why in columns.items()
        if why == LOOKED_UP
    }

    assert looked_up == said


def _name_of_the_first(unit: UnitOfWork) -> str:
    return unit.encryption.decrypt(unit.session.get_one(PersonRow, 1).name_sealed)


def test_a_wrong_key_is_said_in_one_sentence(store: Database):
    def add(unit: UnitOfWork) -> None:
        people.add_person(unit, Role.COACH, "Rua", NOON)
        unit.commit()

    store.run_now(add)
    other = Database(store.address, Encryption(Fernet.generate_key()))

    with pytest.raises(StoreError) as caught:
        other.run_now(_name_of_the_first)

    assert str(caught.value) == "the records were sealed with another key (DAYRUNG_KEY)"
    other.close()


def test_a_store_of_a_newer_program_is_left_alone_and_said_so(store: Database):
    with store.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")

    for ask in (store.migrate, store.is_current):
        with pytest.raises(StoreError, match=r"^the database belongs to a newer Dayrung; "):
            ask()


def test_a_place_that_cannot_be_opened_is_said_without_the_statement(tmp_path: Path):
    database = Database(f"sqlite:///{tmp_path / 'no' / 'such' / 'x.sqlite3'}", Encryption(KEY))

    with pytest.raises(StoreError, match="unable to open database file") as caught:
        database.migrate()

    assert "SELECT" not in str(caught.value)
    database.close()
