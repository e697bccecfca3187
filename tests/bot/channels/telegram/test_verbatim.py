"""What people type arrives letter by letter, everywhere: no parse mode is used at all.

Escaping would do as well until the day one place forgets it: then the platform refuses the whole
message, and with it perhaps an alert. The double reads HTML as the platform does where a request
asks for it, so a parse mode without escaping fails here, and so does escaping without one.
"""

from pathlib import Path

import pytest

from bot.channels.telegram.channel import TelegramChannel
from bot.messages import Outgoing, ReplyButton
from bot.storage import people
from bot.storage.tables import PersonRow
from bot.storage.unit import UnitOfWork
from tests.doubles.bot_api import BotApi
from tests.doubles.running_app import running_app
from tests.doubles.telegram_practice import (
    COACH_CHAT,
    FIRST_CLIENT_CHAT,
    make_practice,
    open_store,
)

TYPED = '<b>&"'
ODD = [
    TYPED,
    "</b>",
    "<script>",
    "&lt;b&gt;",
    "*a* _b_ `c` [d](e)",
    "a < b && b > c",
    "\\ %s {{ x }}",
]
BUTTON = ((ReplyButton(TYPED, "a.1.yes"),),)

MARY = FIRST_CLIENT_CHAT


@pytest.fixture(autouse=True)
def opened(api: BotApi) -> None:
    api.chat(501)


@pytest.mark.parametrize("text", ODD)
@pytest.mark.parametrize(
    "carrier",
    [
        pytest.param({}, id="a message"),
        pytest.param({"picture": "squat.png"}, id="below a picture"),
        pytest.param({"picture": "squat.gif"}, id="below a moving picture"),
        pytest.param({"document": "record.json"}, id="below a document"),
        pytest.param({"picture": "broken.png", "picture_text": TYPED}, id="beside no picture"),
    ],
)
async def test_in_what_is_sent(
    api: BotApi, channel: TelegramChannel, text: str, carrier: dict[str, str]
) -> None:
    await channel.send("501", Outgoing(text, BUTTON, **carrier))

    [shown] = api.chat(501).said.values()
    assert shown.text == "\n\n".join([text, *filter(None, [carrier.get("picture_text")])])
    assert shown.buttons == [(TYPED, "a.1.yes")]


@pytest.mark.parametrize("text", ODD)
@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param({}, {}, id="words"),
        pytest.param({"picture": "1.png"}, {"picture": "2.png"}, id="a caption"),
        pytest.param({}, {"picture": "2.gif"}, id="words that become a caption"),
    ],
)
async def test_in_what_is_changed(
    api: BotApi,
    channel: TelegramChannel,
    text: str,
    before: dict[str, str],
    after: dict[str, str],
) -> None:
    message_id = await channel.send("501", Outgoing("Before", **before))
    await channel.edit("501", message_id, Outgoing(text, BUTTON, **after))

    [shown] = api.chat(501).said.values()
    assert shown.text == text
    assert shown.buttons == [(TYPED, "a.1.yes")]


async def test_no_request_asks_for_a_parse_mode(api: BotApi, channel: TelegramChannel) -> None:
    first = await channel.send("501", Outgoing(TYPED))
    second = await channel.send("501", Outgoing(TYPED, picture="1.png"))
    await channel.send("501", Outgoing(TYPED, document="record.json"))
    await channel.edit("501", first, Outgoing(TYPED + "!"))
    await channel.edit("501", second, Outgoing(TYPED, picture="2.png"))

    assert len(api.calls) == 5
    assert not any("parse_mode" in str(call.parameters) for call in api.calls)


async def test_a_name_arrives_as_it_was_typed_from_end_to_end(api: BotApi, tmp_path: Path) -> None:
    make_practice(tmp_path, clients=1)
    store = open_store(tmp_path)

    def rename(unit: UnitOfWork) -> None:
        [mary] = people.speakers(unit, "telegram", str(MARY))
        unit.session.get_one(PersonRow, mary.id).name_sealed = unit.encryption.encrypt(TYPED)
        unit.commit()

    store.run_now(rename)
    store.close()
    for chat in (MARY, COACH_CHAT):
        api.chat(chat)

    async with running_app(tmp_path, api, slow_after=60.0):
        api.say(MARY, f"my chest hurts {TYPED}")
        await api.until(lambda: bool(api.chat(COACH_CHAT).said))
        [alert] = api.chat(COACH_CHAT).texts
        assert alert.splitlines()[0].endswith(TYPED)
        assert f"my chest hurts {TYPED}" in alert

        api.say(COACH_CHAT, "/clients")
        await api.until(lambda: any(TYPED in label for label in _labels(api)))


def _labels(api: BotApi) -> list[str]:
    return [label for shown in api.chat(COACH_CHAT).said.values() for label, _ in shown.buttons]
