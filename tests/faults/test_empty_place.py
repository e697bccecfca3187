"""A place without its store or the key to it is no fresh start: nobody becomes a stranger for good.

Known clients get advice for their warning signs, nothing is confirmed, so that the platform brings
it again, and work begins as soon as store and key are both there.
"""

from pathlib import Path

import httpx
import pytest
from cryptography.fernet import Fernet

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.bot_api import BotApi
from tests.doubles.free_port import free_port
from tests.doubles.postgres import NEEDED, own_server
from tests.doubles.serve_process import Service
from tests.doubles.store import KEY
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY = FIRST_CLIENT_CHAT
SIGN = "crushing chest pain"


def _left_by_the_service(home: Path) -> set[str]:
    """Files in the data folder, but for the locks of services and the test's own log.

    The folder is the user's home as well, where libraries keep hidden folders.
    """
    names = {path.name for path in home.iterdir() if not path.name.startswith(".")}
    return {name for name in names if not name.endswith(".serving")} - {"service.log"}


async def _health(port: str) -> int:
    async with httpx.AsyncClient() as monitor:
        return (await monitor.get(f"http://127.0.0.1:{port}/health")).status_code


SENTENCES = {
    "neither": "There is no store and no key",
    "store": "without its key",
    "key": "There is a key but no store",
    "another key": "The key is not the one that the records were sealed with",
}


@pytest.mark.parametrize("there", SENTENCES)
async def test_signs_get_advice_nothing_is_confirmed_and_nothing_is_made(
    api: BotApi, tmp_path: Path, there: str
) -> None:
    port = str(free_port())
    api.chat(MARY)
    if there in ("store", "another key"):
        make_practice(tmp_path, clients=1)
    if there == "key":
        (tmp_path / "key").write_bytes(KEY)
    if there == "another key":
        (tmp_path / "key").write_bytes(Fernet.generate_key())
    before = _left_by_the_service(tmp_path)
    async with Service(tmp_path, api.address, DAYRUNG_KEY="", DAYRUNG_PORT=port) as service:
        sign = api.say(MARY, SIGN)
        await api.until(lambda: bool(api.chat(MARY).said))

        assert "emergency number" in api.chat(MARY).texts[0]
        assert await _health(port) == 503
        # They are fetched again and again, and a new sign among them is answered.
        another = api.say(MARY, "I cannot breathe")
        await api.until(lambda: len(api.chat(MARY).said) == 2)
        assert not api.confirmed(sign)
        assert not api.confirmed(another)
        assert await service.stop() == 0

    assert _left_by_the_service(tmp_path) == before
    # One sentence says what is wrong, and nobody is called a stranger.
    [said] = [line for line in service.log.splitlines() if "CRITICAL" in line]
    assert SENTENCES[there] in said
    assert "Dayrung is running" not in service.log
    assert "Traceback" not in service.log
    assert not any("invitation" in text for text in api.chat(MARY).texts)


@pytest.mark.parametrize("way", ["a file", "a command"])
async def test_what_waits_is_worked_off_when_the_key_is_back(
    api: BotApi, tmp_path: Path, way: str
) -> None:
    make_practice(tmp_path, clients=1)
    for chat in (MARY, COACH_CHAT):
        api.chat(chat)
    command = f"cat {tmp_path / 'key'}" if way == "a command" else ""
    async with Service(
        tmp_path, api.address, DAYRUNG_KEY="", DAYRUNG_KEY_COMMAND=command
    ) as service:
        sign = api.say(MARY, SIGN)
        await api.until(lambda: bool(api.chat(MARY).said))
        assert not api.chat(COACH_CHAT).said

        (tmp_path / "key").write_bytes(KEY)

        await api.until(lambda: any(one.buttons for one in api.chat(COACH_CHAT).said.values()))
        await api.until(lambda: api.confirmed(sign))
        assert await service.stop() == 0
    assert "Dayrung is running" in service.log
    assert SIGN in api.chat(COACH_CHAT).texts[-1]


@NEEDED
async def test_a_server_that_is_down_at_the_start_is_waited_for_with_advice(
    api: BotApi, tmp_path: Path
) -> None:
    for chat in (MARY, COACH_CHAT):
        api.chat(chat)
    port = str(free_port())
    with own_server() as server:
        address = server.over_network("practice")
        server.do("CREATE DATABASE practice")
        made = Database(address, Encryption(KEY))
        made.migrate()
        made.close()
        make_practice(tmp_path, clients=1, address=address)
        server.stop()
        (tmp_path / "key").write_bytes(KEY)
        async with Service(
            tmp_path, api.address, DAYRUNG_KEY="", DAYRUNG_PORT=port, DAYRUNG_DATABASE=address
        ) as service:
            sign = api.say(MARY, SIGN)
            await api.until(lambda: bool(api.chat(MARY).said))
            assert await _health(port) == 503
            assert not api.confirmed(sign)

            server.start()

            await api.until(
                lambda: any(one.buttons for one in api.chat(COACH_CHAT).said.values()), 40
            )
            await api.until(lambda: api.confirmed(sign))
            assert await service.stop() == 0
        assert "does not answer, or lets nobody in" in service.log
        assert "Traceback" not in service.log
        assert SIGN in api.chat(COACH_CHAT).texts[-1]
