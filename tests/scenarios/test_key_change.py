"""The key is changed while the service goes on, and nothing of the old one is needed after."""

from contextlib import closing
from pathlib import Path

import pytest
from cryptography.fernet import Fernet, InvalidToken
from rich.console import Console
from sqlalchemy import MetaData, create_engine
from sqlalchemy.exc import OperationalError

from bot.cli.checks import check_everything
from bot.cli.key_command import KeyCommand
from bot.errors import SettingsError
from bot.runtime.place import look_at
from bot.settings import Settings, load_key, write_keys
from bot.storage import database
from bot.storage.database import Database
from bot.storage.encryption import Encryption, key_name
from bot.storage.key_change import seal_anew
from bot.storage.key_proof import check_key
from bot.storage.unit import UnitOfWork
from tests.doubles.postgres import NEEDED, postgres
from tests.scenarios.conftest import MONDAY_EVENING
from tests.scenarios.test_invitations import invites
from tests.support.practice import Practice, practice


def settings_of(village: Practice, **more: str) -> Settings:
    given = {"database": village.database, "key": "", "telegram_token": "", **more}
    return Settings(home=village.home, **given)


def keys_of(home: Path) -> list[str]:
    return (home / "key").read_text().split()


def command(village: Practice, **more: str) -> KeyCommand:
    return KeyCommand(settings_of(village, **more), Console(quiet=True))


def opened_with(key: str, address: str) -> tuple[int, int]:
    """How many sealed texts a key opens, and how many it does not."""
    opened = closed = 0
    fernet, tables = Fernet(key), MetaData()
    engine = create_engine(address)
    with engine.connect() as connection:
        tables.reflect(connection)
        for table in tables.sorted_tables:
            sealed = [one for one in table.columns if one.name.endswith("_sealed")]
            for row in connection.execute(table.select()).mappings() if sealed else ():
                for one in filter(None, (row[column.name] for column in sealed)):
                    try:
                        fernet.decrypt(one)
                        opened += 1
                    except InvalidToken:
                        closed += 1
    engine.dispose()
    return opened, closed


async def a_morning(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")


async def the_change(village: Practice) -> None:
    """Everything that a practice goes through with a change of its key."""
    code = await invites(village)
    (old,) = keys_of(village.home)
    await a_morning(village)
    await village.says("mary", "my chest feels tight")

    command(village).change(village.clock.now())

    new, still = keys_of(village.home)
    assert still == old
    address = village.app.database.address
    assert opened_with(new, address)[1] == 0
    # The service that runs all the while has the new key, and goes on.
    await village.taps("rua", "I have seen")
    await village.says("mary", "I am still here")
    assert "I am still here" in "\n".join(village.heard("rua"))
    assert opened_with(new, address)[1] == 0
    with pytest.raises(SettingsError, match="next start of the service"):
        command(village).forget(village.clock.now())

    await village.restart()
    village.app.database.renew_chats()
    await village.says("mary", "/menu")
    with pytest.raises(SettingsError, match="an invitation from before is good until"):
        command(village).forget(village.clock.now())
    await village.says("nell", code)
    assert "Rua" in " ".join(village.heard("nell")), "a code of before is good"
    command(village).forget(village.clock.now())

    assert keys_of(village.home) == [new]
    await village.restart()
    village.app.database.renew_chats()
    before = len(village.heard("rua"))
    await village.says("mary", "is anybody there")
    assert len(village.heard("rua")) > before, "Mary's chat is known"
    sentence = f"It was key {key_name(new.encode())}"
    with (
        closing(Database(address, Encryption(old.encode()))) as stolen,
        pytest.raises(SettingsError, match=sentence),
    ):
        stolen.run_now(check_key)


async def test_the_key_is_changed_while_the_service_goes_on(village: Practice):
    await the_change(village)


@NEEDED
async def test_the_key_is_changed_on_postgresql(tmp_path: Path):
    with postgres() as address:
        async with practice(tmp_path, MONDAY_EVENING, database=address) as village:
            await village.coach("Rua")
            await village.client("Mary")
            await the_change(village)


async def test_a_change_that_was_stopped_goes_on_with_the_same_key(village: Practice):
    await a_morning(village)
    calls = 0

    class Stopped(Exception):
        pass

    def stops(_rows: int) -> None:
        nonlocal calls
        calls += 1
        if calls == 3:
            raise Stopped

    (old,) = keys_of(village.home)
    write_keys(village.home / "key", [Fernet.generate_key().decode(), old])
    with pytest.raises(Stopped):
        seal_anew(village.app.database.run_now, stops)
    half = opened_with(keys_of(village.home)[0], village.app.database.address)
    assert half[0] > 0
    assert half[1] > 0
    await village.says("mary", "hello")
    new = keys_of(village.home)[0]
    # Either key alone leaves words that nobody can read: no start goes on with it.
    for alone in (new, old):
        place = look_at(settings_of(village, key=alone))
        assert place.missing.startswith("The key is not the one that the records were sealed with")
    assert look_at(settings_of(village)).missing == ""

    command(village).change(village.clock.now())

    assert keys_of(village.home)[0] == new
    assert opened_with(new, village.app.database.address)[1] == 0


async def test_chats_are_renewed_all_at_once_or_not_at_all(village: Practice, monkeypatch):
    command(village).change(village.clock.now())
    await village.restart()
    database = village.app.database
    name = database.encryption.chats_sealed_with
    assert name != database.encryption.name

    def dies(_unit: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("bot.storage.unit.UnitOfWork.commit", dies)
    with pytest.raises(KeyboardInterrupt):
        database.renew_chats()
    monkeypatch.undo()

    assert database.encryption.chats_sealed_with == name
    await village.says("mary", "/menu")
    assert "code" not in village.last_to("mary"), "Mary is no stranger"
    database.renew_chats()
    await village.says("mary", "/menu")
    assert "code" not in village.last_to("mary")


async def test_check_proves_the_key_and_never_shows_it(village: Practice):
    (old,) = keys_of(village.home)
    name = key_name(old.encode())
    said = "\n".join(one.text for one in await check_everything(settings_of(village)))
    assert f"The key {name} fits the store." in said
    assert old not in said

    command(village).change(village.clock.now())
    said = "\n".join(one.text for one in await check_everything(settings_of(village)))
    assert "An older key is kept: chats are sealed with the newest key at the next start" in said
    other = Fernet.generate_key().decode()
    said = "\n".join(one.text for one in await check_everything(settings_of(village, key=other)))
    assert "The key is not the one that the records were sealed with." in said
    assert f"this is key {key_name(other.encode())}" in said
    assert not any(key in said for key in (*keys_of(village.home), other))


async def test_a_key_in_a_setting_is_changed_with_both_in_it(village: Practice):
    (old,) = keys_of(village.home)
    with pytest.raises(SettingsError, match="Put a new key before the one you have"):
        command(village, key=old).change(village.clock.now())

    new = Fernet.generate_key().decode()
    command(village, key=f"{new},{old}").change(village.clock.now())

    assert opened_with(new, village.app.database.address)[1] == 0
    assert keys_of(village.home) == [old], "no file of keys is touched"


def test_a_key_comes_from_a_command_or_a_credential(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    key = Fernet.generate_key()
    vault = tmp_path / "vault"
    vault.write_bytes(key + b"\n")

    def home(name: str, **more: str) -> Settings:
        return Settings(home=tmp_path / name, key="", telegram_token="", **more)

    assert load_key(home("a", key_command=f"cat {vault}")) == (key, False)
    assert load_key(home("b", key_path=str(vault))) == (key, False)
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(tmp_path))
    vault.rename(tmp_path / "dayrung.key")
    assert load_key(home("c")) == (key, False)
    assert not any((tmp_path / name / "key").exists() for name in "abc")
    for broken in ("false", "no-such-program-of-anybody", "echo secret-of-the-vault"):
        with pytest.raises(SettingsError, match="DAYRUNG_KEY_COMMAND") as caught:
            load_key(home("d", key_command=broken))
        assert "secret-of-the-vault" not in str(caught.value)
    assert home("e").followed_key_file == tmp_path / "dayrung.key"


def missing_with(village: Practice, *keys: str) -> str:
    """What a start with these keys alone says."""
    return look_at(settings_of(village, key=",".join(keys))).missing


@pytest.mark.parametrize("restarted", [False, True], ids=["followed", "restarted"])
async def test_a_new_key_seals_nothing_before_the_older_one_is_known_to_be_too_little(
    village: Practice, restarted: bool
):
    """The change was killed when the new key stood in the file, and the old file came back."""
    (old,) = keys_of(village.home)
    await a_morning(village)
    new = Fernet.generate_key().decode()
    write_keys(village.home / "key", [new, old])
    if restarted:
        await village.restart()
    address = village.app.database.address

    def without_the_new_one() -> str:
        opened, closed = opened_with(old, address)
        assert opened
        return "" if closed == 0 else missing_with(village, old)

    assert without_the_new_one() == "" or "The key is not the one" in without_the_new_one()
    await village.says("mary", "my chest feels tight and it goes to my arm")

    assert opened_with(new, address)[0] > 0, "it seals by now"
    assert "The key is not the one" in without_the_new_one()
    assert missing_with(village, new, old) == ""
    command(village).change(village.clock.now())
    assert opened_with(new, address)[1] == 0


async def test_a_command_that_looks_changes_no_proof(village: Practice):
    """Whoever mistypes a new key finds out before anything needs it."""
    (old,) = keys_of(village.home)
    with closing(Database(village.app.database.address, Encryption(old.encode()))) as before:
        before.run_now(check_key)
    mistyped = Fernet.generate_key().decode()

    assert missing_with(village, mistyped, old) == ""

    assert missing_with(village, old) == ""
    assert missing_with(village, Fernet.generate_key().decode(), old) == ""


async def test_work_that_lasts_does_not_fail_with_the_proof(village: Practice, monkeypatch):
    """The disk fills between the two: what was said is kept, with the key that is proven."""
    (old,) = keys_of(village.home)

    def full(_unit: UnitOfWork) -> None:
        raise OperationalError("", None, Exception("disk full"))

    monkeypatch.setattr(database, "prove_newest", full)
    write_keys(village.home / "key", [Fernet.generate_key().decode(), old])

    said = await village.says("mary", "my chest feels tight and it goes to my arm")

    assert any("EMERGENCY: Mary" in one for one in said)
    assert village.app.database.encryption.newest_waits
    assert opened_with(old, village.app.database.address)[1] == 0
    assert missing_with(village, old) == ""
