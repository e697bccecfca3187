"""A wrong key is noticed at the first start with it, even when nobody is in the store yet."""

from pathlib import Path

import pytest
from alembic import command
from cryptography.fernet import Fernet
from sqlalchemy import MetaData
from sqlmodel import select

from bot.errors import SettingsError
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.key_proof import check_key
from bot.storage.tables import KeyProofRow
from bot.storage.unit import UnitOfWork
from tests.bot.storage.conftest import NOON
from tests.bot.storage.upgrades import config_for
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


PERSON = {"role": "coach", "country": "", "zone": "UTC", "language": "en", "created_at": NOON}
INVITATION = {"code_hash": "x", "role": "coach", "made_at": NOON, "expires_at": NOON}


@pytest.mark.parametrize(("table", "values"), [("person", PERSON), ("invitation", INVITATION)])
def test_a_store_older_than_the_proof_is_judged_by_what_it_holds(
    tmp_path: Path, table: str, values: dict[str, object]
):
    file = tmp_path / "old.sqlite3"
    file.touch()
    old = Database(f"sqlite:///{file}", Encryption(KEY))
    with old.engine.connect() as connection:
        command.upgrade(config_for(connection), "0001")
        then = MetaData()
        then.reflect(connection)
        sealed = Encryption(KEY).encrypt("Rua")
        connection.execute(then.tables[table].insert().values(**values, name_sealed=sealed))
        connection.commit()
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
