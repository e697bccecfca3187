"""A wrong key is noticed at the first start with it, even when nobody is in the store yet."""

from collections.abc import Callable
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from cryptography.fernet import Fernet
from sqlalchemy import text
from sqlmodel import select

from bot.errors import SettingsError
from bot.flows.changes import MakeInvitation
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import MIGRATIONS, Database
from bot.storage.encryption import Encryption
from bot.storage.key_proof import check_key
from bot.storage.tables import KeyProofRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.bot.storage.conftest import NOON
from tests.doubles.store import KEY

SENTENCE = "^The key is not the one that the records were sealed with[.] Set DAYRUNG_KEY"


def _with_another_key(store: Database) -> Database:
    return Database(store.address, Encryption(Fernet.generate_key()))


def _with_the_same_key(store: Database) -> Database:
    return Database(store.address, Encryption(KEY))


def test_a_store_in_which_nobody_is_refuses_another_key(store: Database):
    other = _with_another_key(store)

    with pytest.raises(SettingsError, match=SENTENCE):
        other.migrate()

    other.close()


def test_the_same_key_is_taken_again_and_again(store: Database):
    same = _with_the_same_key(store)

    same.migrate()
    same.migrate()

    same.run_now(check_key)
    same.close()


def _somebody(unit: UnitOfWork) -> None:
    """A person as the first version kept one."""
    unit.session.execute(
        text(
            "INSERT INTO person (role, name_sealed, country, zone, language, created_at)"
            " VALUES ('coach', :name, '', 'UTC', 'en', :at)"
        ),
        {"name": unit.encryption.encrypt("Rua"), "at": NOON.isoformat(" ")},
    )


def _only_an_invitation(unit: UnitOfWork) -> None:
    applying = Applying(unit, PersonId(0), NOON, lambda code: code)
    apply_all(applying, [MakeInvitation("ABCD-2345", Role.COACH, "Rua")])


@pytest.mark.parametrize("what", [_somebody, _only_an_invitation])
def test_a_store_older_than_the_proof_is_judged_by_what_it_holds(
    tmp_path: Path, what: Callable[[UnitOfWork], None]
):
    file = tmp_path / "old.sqlite3"
    file.touch()
    old = Database(f"sqlite:///{file}", Encryption(KEY))
    with old.engine.connect() as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.set_main_option("path_separator", "os")
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.commit()

    def fill(unit: UnitOfWork) -> None:
        what(unit)
        unit.commit()

    old.run_now(fill)
    other = _with_another_key(old)

    with pytest.raises(SettingsError, match=SENTENCE):
        other.migrate()
    # The wrong key has left no proof of itself behind.
    old.migrate()
    old.run_now(check_key)
    other.close()
    old.close()


def test_the_proof_is_sealed_and_there_is_one(store: Database):
    def look(unit: UnitOfWork) -> list[str]:
        return [row.word_sealed for row in unit.session.exec(select(KeyProofRow))]

    store.migrate()

    [sealed] = store.run_now(look)
    assert Encryption(KEY).decrypt(sealed) == "Dayrung"
