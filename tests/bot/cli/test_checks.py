"""``dayrung check``: a sentence for each thing that is right, doubtful or wrong, and no secret."""

from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from cryptography.fernet import Fernet

from bot.cli.checks import Finding, check_everything
from bot.clock import SystemClock
from bot.flows.changes import MakeInvitation
from bot.settings import Settings
from bot.storage import people
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.people import Address
from bot.storage.tables import CoachRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.doubles.bot_api import TOKEN, USERNAME, BotApi
from tests.doubles.store import KEY, store_at

SECRET = TOKEN.partition(":")[2]
WRONG_TOKEN = "999999:WRONG-token-of-nobody"


@pytest.fixture
async def api() -> AsyncIterator[BotApi]:
    async with BotApi() as double:
        yield double


def _settings(home: Path, **more: Any) -> Settings:
    return Settings(_env_file=None, **{"home": home, "key": KEY.decode(), "database": "", **more})


def _store(home: Path) -> Database:
    return store_at(home / "dayrung.sqlite3")


def _texts(found: Sequence[Finding], level: str) -> list[str]:
    return [finding.text for finding in found if finding.level == level]


async def test_a_token_that_works_names_the_bot_and_nothing_is_wrong(api: BotApi, tmp_path: Path):
    found = await check_everything(
        _settings(tmp_path, telegram_token=TOKEN, telegram_api=api.address)
    )

    assert f"The token works: the bot is @{USERNAME} (Test bot)." in _texts(found, "ok")
    assert _texts(found, "bad") == []
    assert SECRET not in repr(found)
    # It only asks: nothing is fetched, set or sent.
    assert {call.method for call in api.calls} == {"getMe", "getWebhookInfo"}


async def test_a_wrong_token_is_wrong_and_not_repeated(api: BotApi, tmp_path: Path):
    found = await check_everything(
        _settings(tmp_path, telegram_token=WRONG_TOKEN, telegram_api=api.address)
    )

    assert _texts(found, "bad") == ["Telegram refuses the token (DAYRUNG_TELEGRAM_TOKEN)."]
    assert "WRONG-token" not in repr(found)


@pytest.mark.parametrize(
    "address", ["http://127.0.0.1:9", "127.0.0.1:9", "http://[::1", "http://no-such-host.invalid"]
)
async def test_a_server_that_cannot_be_reached_is_named(tmp_path: Path, address: str):
    found = await check_everything(_settings(tmp_path, telegram_token=TOKEN, telegram_api=address))

    assert _texts(found, "bad") == [f"Telegram cannot be reached at {address}."]
    assert SECRET not in repr(found)


async def test_a_webhook_of_somebody_else_stands_in_the_way_and_only_its_host_is_shown(
    api: BotApi, tmp_path: Path
):
    api.methods.webhook = {"url": f"https://old.example/hook/{TOKEN}"}

    found = await check_everything(
        _settings(tmp_path, telegram_token=TOKEN, telegram_api=api.address)
    )

    assert (
        "A webhook (old.example) stands in the way; the next start of dayrung serve takes it away."
        in _texts(found, "warn")
    )
    assert SECRET not in repr(found)


async def test_our_own_webhook_does_not_stand_in_the_way(api: BotApi, tmp_path: Path):
    api.methods.webhook = {"url": "https://ours.example/telegram"}

    found = await check_everything(
        _settings(
            tmp_path,
            telegram_token=TOKEN,
            telegram_api=api.address,
            telegram_webhook="https://ours.example/",
            telegram_secret="s",
        )
    )

    assert not any("A webhook (" in finding.text for finding in found)


async def test_a_wrong_key_is_noticed_when_nobody_is_in_the_store_yet(tmp_path: Path):
    _store(tmp_path).close()

    found = await check_everything(_settings(tmp_path, key=Fernet.generate_key().decode()))

    [wrong] = _texts(found, "bad")
    assert wrong.startswith("The key is not the one that the records were sealed with.")
    assert wrong.endswith(".")


async def test_a_lost_key_file_is_noticed_before_a_new_key_seals_anything(tmp_path: Path):
    first = Database(f"sqlite:///{tmp_path / 'dayrung.sqlite3'}", Encryption(Fernet.generate_key()))
    first.migrate()
    first.close()

    found = await check_everything(_settings(tmp_path, key=""))

    assert any("sealed with" in text for text in _texts(found, "bad"))


async def test_a_wrong_key_is_noticed_from_an_invitation_in_an_older_store(tmp_path: Path):
    store = _store(tmp_path)

    def invite(unit: UnitOfWork) -> None:
        applying = Applying(unit, PersonId(0), SystemClock().now(), str)
        apply_all(applying, [MakeInvitation("ABCD-2345", Role.COACH, "Rua")])
        unit.commit()

    store.run_now(invite)
    store.close()

    found = await check_everything(_settings(tmp_path, key=Fernet.generate_key().decode()))

    assert len(_texts(found, "bad")) == 1


async def test_a_coach_whom_no_alert_can_reach_is_wrong(tmp_path: Path):
    store = _store(tmp_path)
    now = SystemClock().now()

    def add(unit: UnitOfWork) -> None:
        for name in ("Rua", "Kiri"):
            coach = people.add_person(unit, Role.COACH, name, now)
            unit.session.add(CoachRow(person_id=coach))
            people.bind(unit, coach, Address("telegram", name), now)
        people.mark_blocked(unit, Address("telegram", "Kiri"), now)
        unit.commit()

    store.run_now(add)
    store.close()

    found = await check_everything(_settings(tmp_path))

    assert _texts(found, "bad") == ["Coach Kiri cannot be reached: no open chat."]
    assert "Coach Rua has no back-up coach for alerts." in _texts(found, "warn")
