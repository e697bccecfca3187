"""One service at a time on a folder and on a database, and what becomes of who loses it."""

from pathlib import Path

from sqlalchemy import text

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.server.single_instance import SingleInstance
from tests.doubles.bot_api import BotApi
from tests.doubles.keys import KEY
from tests.doubles.postgres import NEEDED, postgres
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import make_practice

STRANGER = 4001


async def test_a_second_service_on_the_same_folder_says_so_and_ends(tmp_path: Path) -> None:
    make_practice(tmp_path, clients=0)
    async with BotApi() as api, Service(tmp_path, api.address) as first:
        await api.until(lambda: bool(api.methods.commands))
        before = len(first.log)
        async with Service(tmp_path, api.address) as second:
            assert await second.ended() == 2
        said = first.log[before:].strip().splitlines()

        assert said == [
            f"Another dayrung serve is running on {tmp_path}. Stop it first, then start again."
        ]
        # The first one works on, and after a crash of it the folder is free.
        api.say(STRANGER, "Good morning")
        await api.until(lambda: bool(api.chat(STRANGER).said))
        await first.kill()
        async with Service(tmp_path, api.address):
            api.say(STRANGER, "Good evening")
            await api.until(lambda: len(api.chat(STRANGER).said) == 2)


@NEEDED
async def test_a_service_whose_database_another_has_taken_waits_and_begins_anew(
    tmp_path: Path,
) -> None:
    home = tmp_path / "one"
    home.mkdir()
    with postgres(migrated=True) as address:
        store = Database(address, Encryption(KEY))
        other = SingleInstance(tmp_path / "other", store)
        async with (
            BotApi() as api,
            Service(home, api.address, DAYRUNG_DATABASE=address) as service,
        ):
            await service.until_it_says("Dayrung is running")
            _end_the_holder(store)
            while not other.lock_database():
                _end_the_holder(store)
            await service.until_it_says("waits, and takes over")

            api.say(STRANGER, "Good morning")
            other.release()
            await api.until(lambda: bool(api.chat(STRANGER).said))
            assert await service.stop() == 0
            assert api.complaints == []
        store.close()


def _end_the_holder(store: Database) -> None:
    """End the connection that holds the database, as when the network breaks."""
    ended = (
        "SELECT pg_terminate_backend(pid, 5000) FROM pg_locks WHERE locktype = 'advisory' "
        "AND database = (SELECT oid FROM pg_database WHERE datname = current_database())"
    )
    with store.engine.begin() as connection:
        connection.execute(text(ended))
