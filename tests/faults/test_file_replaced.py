"""The store's file is moved, deleted or replaced under the running program: nothing that is
confirmed may go into a file that nobody finds again."""

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlmodel import select

from bot.delivery import lifeline
from bot.errors import StoreAway
from bot.storage import inbox
from bot.storage.same_file import FileState
from bot.storage.tables import AlertRow, InboxRow
from tests.bot.storage.test_inbox import arrival
from tests.doubles.bot_api import BotApi
from tests.doubles.running_app import running_app, told
from tests.doubles.store import store_at
from tests.doubles.telegram_practice import (
    COACH_CHAT,
    FIRST_CLIENT_CHAT,
    make_practice,
    open_store,
)

MARY = FIRST_CLIENT_CHAT


def _moved(file: Path) -> None:
    file.rename(file.with_name("moved"))


def _replaced(file: Path) -> None:
    other = file.with_name("older")
    store_at(other).close()
    other.replace(file)


def _without_log(file: Path) -> None:
    file.with_name(file.name + "-wal").unlink()


@pytest.mark.parametrize(
    ("harm", "state"),
    [
        pytest.param(_moved, FileState.GONE, id="moved away"),
        pytest.param(_replaced, FileState.OTHER, id="another in its place"),
        pytest.param(_without_log, FileState.OTHER, id="its log deleted"),
    ],
)
def test_nothing_is_taken_into_a_file_that_is_another(
    tmp_path: Path, harm: Callable[[Path], None], state: FileState
) -> None:
    file = tmp_path / "store.sqlite3"
    store = store_at(file)
    store.run_now(inbox.accept, [arrival(1)])
    assert store.file_state is FileState.SAME

    harm(file)

    assert store.file_state is state
    with pytest.raises(StoreAway):
        store.run_now(inbox.accept, [arrival(2)])
    store.close()


async def test_a_sign_is_answered_told_and_kept_when_the_file_was_replaced(
    api: BotApi, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lifeline, "REPLAY_EVERY", 0.2)
    chats = make_practice(tmp_path, clients=1)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    file = tmp_path / "dayrung.sqlite3"
    older = file.read_bytes()
    async with running_app(tmp_path, api) as running:
        await api.until(lambda: bool(api.methods.commands))
        await running.app.lifeline.refresh()
        file.with_name("older").write_bytes(older)
        file.with_name("older").replace(file)

        sign = api.say(MARY, "my chest hurts and it goes to my arm")
        await api.until(lambda: told(api, MARY, "Call 111 now"))
        await api.until(lambda: told(api, COACH_CHAT, "my chest hurts"))
        await api.until(lambda: api.confirmed(sign))

    # What was confirmed is there for the next start, on the store that stands there now.
    assert (tmp_path / "spool").exists()
    async with running_app(tmp_path, api) as running:
        await api.until(lambda: told(api, COACH_CHAT, "EMERGENCY"))
        await running.app.settle()
    store = open_store(tmp_path)
    assert len(store.run_now(lambda unit: unit.session.exec(select(InboxRow)).all())) == 1
    assert len(store.run_now(lambda unit: unit.session.exec(select(AlertRow)).all())) == 1
    store.close()
