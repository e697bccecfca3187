"""``dayrung check``: a sentence for each thing that is right, doubtful or wrong, and no secret."""

import socket
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
    _store(tmp_path).close()
    found = await check_everything(
        _settings(tmp_path, telegram_token=TOKEN, telegram_api=api.address)
    )

    assert f"The token works: the bot is @{USERNAME} (Test bot)." in _texts(found, "ok")
    assert _texts(found, "bad") == []
    assert SECRET not in repr(found)
    # It only asks: nothing is fetched, set or sent.
    assert {call.method for call in api.calls} == {"getMe", "getWebhookInfo"}


async def test_a_wrong_token_is_wrong_and_not_repeated(api: BotApi, tmp_path: Path):
    _store(tmp_path).close()
    found = await check_everything(
        _settings(tmp_path, telegram_token=WRONG_TOKEN, telegram_api=api.address)
    )

    assert _texts(found, "bad") == ["Telegram refuses the token (DAYRUNG_TELEGRAM_TOKEN)."]
    assert "WRONG-token" not in repr(found)


@pytest.mark.parametrize(
    "address", ["http://127.0.0.1:9", "127.0.0.1:9", "http://[::1", "http://no-such-host.invalid"]
)
async def test_a_server_that_cannot_be_reached_is_named(tmp_path: Path, address: str):
    _store(tmp_path).close()
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


async def test_a_lost_key_file_is_noticed_and_no_new_one_is_made(tmp_path: Path):
    first = Database(f"sqlite:///{tmp_path / 'dayrung.sqlite3'}", Encryption(Fernet.generate_key()))
    first.migrate()
    first.close()

    found = await check_everything(_settings(tmp_path, key=""))

    [wrong] = _texts(found, "bad")
    assert wrong.startswith("There is a store (")
    assert "without its key" in wrong
    assert not (tmp_path / "key").exists()


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
    assert "Coach Rua has no stand-in for alerts." in _texts(found, "warn")


async def test_a_key_that_others_can_read_is_doubtful(tmp_path: Path):
    key = tmp_path / "key"
    key.write_bytes(KEY)
    for mode in (0o600, 0o644, 0o640):
        key.chmod(mode)
        warned = await _said(tmp_path, "warn", key="")
        said = f"{key} can be read by others on this machine: chmod 600 {key}."
        assert (said in warned) is (mode != 0o600)


async def _said(home: Path, level: str, **settings: Any) -> list[str]:
    _store(home).close()
    return _texts(await check_everything(_settings(home, port=0, **settings)), level)


async def test_a_setting_that_is_none_is_named_and_the_one_that_is_meant(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DAYRUNG_TELEGRM_TOKEN", SECRET)
    (tmp_path / ".env").write_text("# DAYRUNG_NO=1\nexport DAYRUNG_SECOND_ROUTE=x\n", "utf-8")

    warned = await _said(tmp_path, "warn")

    assert "There is no setting DAYRUNG_TELEGRM_TOKEN. Is DAYRUNG_TELEGRAM_TOKEN meant?" in warned
    assert "There is no setting DAYRUNG_SECOND_ROUTE. Is DAYRUNG_SECOND_ROAD meant?" in warned
    assert not any("DAYRUNG_NO" in text or SECRET in text for text in warned)


async def test_a_taken_port_and_a_host_of_another_machine_are_wrong(tmp_path: Path):
    _store(tmp_path).close()
    with socket.create_server(("127.0.0.1", 0)) as other:
        # Something that takes connections and never answers.
        port = other.getsockname()[1]
        found = await check_everything(_settings(tmp_path, port=port))
    assert any(
        text.startswith(f"Port {port} (DAYRUNG_PORT) is taken") for text in _texts(found, "bad")
    )

    for host in ("192.0.2.1", "no-such-host.invalid", "a b", "[::1", "x" * 70):
        [wrong] = await _said(tmp_path, "bad", host=host)
        assert wrong.endswith("is no address of this machine that can be listened on.")


@pytest.mark.parametrize(
    ("address", "secret", "wrong"),
    [
        ("https://ours.example", "a-secret_of-ours", None),
        ("https://ours.example:8443/bot", "s", None),
        ("http://ours.example", "s", "is no https address"),
        ("https://[::1", "s", "is no https address"),
        ("https://", "s", "is no https address"),
        ("ours.example", "s", "is no https address"),
        ("https://ours.example:99999", "s", "is no https address"),
        ("https://evil.com@127.0.0.1", "s", "without a name or a query"),
        ("https://ours.example:9000", "s", "the ports 443, 80, 88, 8443 only"),
        ("https://ours.example", "two words", "letters, digits, _ and - only"),
        ("https://ours.example", "", "letters, digits, _ and - only"),
    ],
)
async def test_a_webhook_that_the_platform_would_not_take_is_wrong(
    tmp_path: Path, address: str, secret: str, wrong: str | None
):
    # Ports and signs are the Bot API's own (setWebhook).
    said = await _said(tmp_path, "bad", telegram_webhook=address, telegram_secret=secret)

    assert said == [] if wrong is None else wrong in said[0]


async def test_the_outside_monitor_is_reached_and_not_called(api: BotApi, tmp_path: Path):
    assert "The outside monitor can be reached." in await _said(
        tmp_path, "ok", heartbeat=f"{api.address}/ping"
    )
    assert api.complaints == []
    for address in ("ping", "ftp://x", "http://[::1", "http://127.0.0.1:9/x", "http://x.invalid"):
        [wrong] = await _said(tmp_path, "bad", heartbeat=address)
        assert "DAYRUNG_HEARTBEAT" in wrong


async def test_a_pace_that_the_platform_does_not_allow_is_doubtful(tmp_path: Path):
    warned = await _said(tmp_path, "warn", sends_per_second=31, seconds_between_sends=0.5)

    assert sum("Telegram takes" in text for text in warned) == 2
