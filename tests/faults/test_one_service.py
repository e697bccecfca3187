"""A second service keeps out of the way, says so, and takes over when the first has ended."""

from pathlib import Path

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.bot_api import BotApi
from tests.doubles.postgres import NEEDED, postgres
from tests.doubles.serve_process import Service
from tests.doubles.store import KEY
from tests.doubles.telegram_practice import make_practice

STRANGER = 4001


async def test_a_second_service_on_the_same_folder_says_so_and_ends(tmp_path: Path) -> None:
    make_practice(tmp_path, clients=0)
    async with BotApi() as api, Service(tmp_path, api.address) as first:
        await api.until(lambda: bool(api.methods.commands), 40)
        before = len(first.log)
        async with Service(tmp_path, api.address) as second:
            assert await second.ended() == 2
        said = first.log[before:].strip().splitlines()

        assert said == [
            f"Another dayrung serve is running on {tmp_path}. Stop it first, then start again."
        ]
        # The first one works on, and after a crash of it the folder is free.
        api.say(STRANGER, "Good morning")
        await api.until(lambda: bool(api.chat(STRANGER).said), 20)
        await first.kill()
        async with Service(tmp_path, api.address):
            api.say(STRANGER, "Good evening")
            await api.until(lambda: len(api.chat(STRANGER).said) == 2, 40)


@NEEDED
async def test_a_second_service_on_one_postgresql_waits_and_takes_over_after_a_crash(
    tmp_path: Path,
) -> None:
    homes = [tmp_path / "one", tmp_path / "two"]
    for home in homes:
        home.mkdir()
    with postgres() as address:
        made = Database(address, Encryption(KEY))
        made.migrate()
        made.close()
        async with (
            BotApi() as api,
            Service(homes[0], api.address, DAYRUNG_DATABASE=address) as first,
        ):
            await api.until(lambda: bool(api.methods.commands), 40)
            async with Service(homes[1], api.address, DAYRUNG_DATABASE=address) as second:
                await second.until_it_says("waits")
                api.say(STRANGER, "Good morning")
                await api.until(lambda: bool(api.chat(STRANGER).said), 20)
                assert "running" not in second.log

                await first.kill()
                api.say(STRANGER, "Good evening")
                await api.until(lambda: len(api.chat(STRANGER).said) == 2, 40)
                assert await second.stop() == 0
                assert api.complaints == []
