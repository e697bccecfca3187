"""An alert's life over the platform's own API: asked, answered twice, seen, more words, lifted."""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.doubles.bot_api import BotApi
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY = FIRST_CLIENT_CHAT
DOUBT = "my chest felt odd for a moment"


@pytest.fixture
async def service(api: BotApi, tmp_path: Path) -> AsyncIterator[Service]:
    chats = make_practice(tmp_path, clients=1)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    async with Service(tmp_path, api.address) as running:
        await api.until(lambda: bool(api.methods.commands))
        yield running


def _said(api: BotApi, chat: int, part: str) -> int:
    return sum(part in text for text in api.chat(chat).texts)


async def _hears(api: BotApi, chat: int, part: str, times: int = 1) -> None:
    await api.until(lambda: _said(api, chat, part) >= times)


async def test_an_alert_lives_from_the_doubt_to_the_lifted_hold(
    api: BotApi, service: Service
) -> None:
    api.say(MARY, DOUBT)
    await _hears(api, MARY, "Is this happening now?")
    assert DOUBT in api.chat(MARY).last.text

    for _ in range(2):
        api.tap(MARY, "Yes, now")
    await _hears(api, MARY, "Call 111 now")
    await _hears(api, COACH_CHAT, "EMERGENCY")
    assert DOUBT in api.chat(COACH_CHAT).last.text

    api.tap(COACH_CHAT, "I have seen this")
    await _hears(api, MARY, "has seen your message")
    assert _said(api, COACH_CHAT, "EMERGENCY") == 1
    assert _said(api, MARY, "Stop. Call 111 now.") == 1

    api.say(MARY, "12 Rata Street, Ohope, the back door is open")
    await _hears(api, COACH_CHAT, "12 Rata Street")
    await _hears(api, MARY, "I have sent that to")

    api.say(MARY, "give me today's exercises")
    await _hears(api, MARY, "paused")

    api.tap(COACH_CHAT, "End the pause")
    await _hears(api, COACH_CHAT, "is paused since")
    api.say(COACH_CHAT, "he feels fine now")
    api.say(MARY, "today")
    await _hears(api, MARY, "paused", 2)
    assert _said(api, MARY, "you may train again") == 0
