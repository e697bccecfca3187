"""Whatever JSON the platform sends, it is kept or set aside with its id, and confirmed."""

import json
import logging
from pathlib import Path
from typing import Any

import httpx
import pytest
from sqlmodel import select
from starlette.applications import Starlette

from bot.channels.telegram.batches import id_of, updates_one_by_one
from bot.channels.telegram.channel import TelegramChannel, Webhook
from bot.channels.telegram.request import Request
from bot.channels.telegram.webhook import PATH, SECRET_HEADER
from bot.storage import inbox
from bot.storage.tables import InboxRow
from tests.bot.channels.conftest import Arrivals, Make, running
from tests.doubles.bot_api import BotApi
from tests.doubles.bot_api_mutations import KINDS, mutations
from tests.doubles.store import store_at

MUTATIONS = 3000
SEED = 20_260_302
EVERY = 100
"""After so many spoilt updates somebody says good morning."""


async def test_no_mutation_of_an_update_stops_the_rest(
    api: BotApi, make: Make, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, logger="bot")
    store = store_at(tmp_path / "store.sqlite3")

    async def accept(batch: Any) -> None:
        await store.run(inbox.accept, batch)

    spoilt, greetings = [], []
    for place, content in enumerate(mutations(MUTATIONS, SEED)):
        spoilt.append(api.chats.add_update("unused", {}))
        api.chats.waiting[-1].pop("unused")
        api.chats.waiting[-1].update(content)
        if place % EVERY == 0:
            greetings.append(api.say(502, f"Good morning {place}"))
    async with running(make(accept=accept)):
        await api.until(lambda: api.confirmed(max(spoilt)), 120)
    api.complaints.clear()

    with store.unit() as unit:
        rows = unit.session.exec(select(InboxRow)).all()
        kept = {row.update_id: unit.encryption.decrypt(row.text_sealed) for row in rows}
    store.close()
    logged = " ".join(record.getMessage() for record in caplog.records)
    lost = [one for one in spoilt if str(one) not in kept and f"update {one} " not in logged]
    assert lost == []
    assert [kept[str(one)] for one in greetings] == [
        f"Good morning {place}" for place in range(0, MUTATIONS, EVERY)
    ]
    # Most are still somebody's words: they are kept, not thrown away with the rest.
    assert len(kept) > MUTATIONS // 4
    assert "knee" not in caplog.text


@pytest.mark.parametrize("kind", [next(iter(one)) for one in KINDS])
def test_the_unspoilt_kinds_are_updates_of_the_platform(kind: str) -> None:
    # Bot API, "Update", as the library knows it.
    from telegram import Update

    assert kind in Update.ALL_TYPES


@pytest.mark.parametrize(
    "given",
    [{}, {"update_id": None}, {"update_id": "7"}, {"update_id": True}, {"update_id": 2**60}, [], 7],
)
def test_what_has_no_id_is_known_to_have_none(given: Any) -> None:
    assert id_of(given) is None


DEEP = "[" * 5000 + "]" * 5000
LONG = "9" * 5000


@pytest.mark.parametrize("bad", [DEEP, LONG], ids=["nested without end", "a number without end"])
def test_an_update_that_cannot_be_parsed_keeps_nobody_else_back(bad: str) -> None:
    good = '{"update_id":7,"message":{"text":"a \\"]} b"}}'
    text = f'{{"ok":true,"result":[{good},{{"update_id":8,"message":{bad}}},{{"update_id":9}}]}}'

    answer = Request.parse_json_payload(text.encode())

    assert answer["result"] == [
        {"update_id": 7, "message": {"text": 'a "]} b'}},
        {"update_id": 8},
        {"update_id": 9},
    ]


def test_what_is_no_answer_with_updates_is_not_taken_for_one() -> None:
    assert updates_one_by_one('{"ok":false,"description":"[{}]"}') is None


async def test_a_batch_without_any_id_is_fetched_again_and_stops_nothing(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bot.channels.telegram import polling

    monkeypatch.setattr(polling, "LONGEST_PAUSE", polling.LONGEST_PAUSE / 1000)
    real, given = polling.PollingBot.raw_updates, [[{"message": {}}], [{"update_id": "7"}]]

    async def first_nonsense(bot: Any, offset: int | None) -> Any:
        return given.pop() if given else await real(bot, offset)

    monkeypatch.setattr(polling.PollingBot, "raw_updates", first_nonsense)
    update_id = api.say(501, "Good morning")

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert [one.text for one in arrivals] == ["Good morning"]


async def test_by_webhook_an_update_that_cannot_be_parsed_is_set_aside_and_answered(
    make: Make, arrivals: Arrivals, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, logger="bot")
    route = make(webhook=Webhook("https://ours.example", "s")).route()
    assert route is not None
    transport = httpx.ASGITransport(Starlette(routes=[route]))
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        answer = await client.post(
            PATH, content=f'{{"update_id":41,"message":{DEEP}}}', headers={SECRET_HEADER: "s"}
        )

    assert answer.status_code == 200
    assert arrivals == []
    assert "update 41 " in caplog.text


async def test_a_button_counts_only_from_the_chats_own_person(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    api.chats.tap_value(501, 12, "checkin.1.4")
    foreign = json.loads(json.dumps(api.chats.waiting[-1]["callback_query"]))
    foreign["from"]["id"] = 666
    last = api.chats.add_update("callback_query", foreign)

    async with running(channel):
        await api.until(lambda: api.confirmed(last))

    assert [one.tap for one in arrivals] == ["checkin.1.4"]
    api.complaints.clear()
