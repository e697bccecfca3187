"""What people do on Telegram arrives, once it is on the disk, and only then is confirmed."""

import asyncio
from datetime import UTC, datetime

import pytest
from telegram import Bot

from bot.channels.telegram import polling as telegram_polling
from bot.channels.telegram.channel import TelegramChannel
from bot.channels.telegram.updates import incoming_of
from bot.errors import ChannelDown, StoreError
from bot.messages import IncomingKind, Outgoing, ReplyButton
from tests.bot.channels.conftest import NOW, Arrivals, Make, running
from tests.doubles.bot_api import BotApi, Fault, Trouble


@pytest.fixture(autouse=True)
def hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same pauses, a hundred times shorter."""
    monkeypatch.setattr(telegram_polling, "FIRST_PAUSE", telegram_polling.FIRST_PAUSE / 100)
    monkeypatch.setattr(telegram_polling, "LONGEST_PAUSE", telegram_polling.LONGEST_PAUSE / 100)


VOICE = {"file_id": "v1", "file_unique_id": "v1", "duration": 3}
PHOTO = [{"file_id": "p1", "file_unique_id": "p1", "width": 9, "height": 9}]
STICKER = {
    "file_id": "s1",
    "file_unique_id": "s1",
    "type": "regular",
    "width": 9,
    "height": 9,
    "is_animated": False,
    "is_video": False,
}

POLL = {
    "id": "1",
    "question": "",
    "options": [{"text": "yes", "voter_count": 0}, {"text": "no", "voter_count": 0}],
    "total_voter_count": 0,
    "is_closed": False,
    "is_anonymous": True,
    "type": "regular",
    "allows_multiple_answers": False,
}


@pytest.mark.parametrize(
    ("sent", "kind", "text"),
    [
        pytest.param({"text": "Good morning"}, "text", "Good morning", id="words"),
        pytest.param({"text": "/start 7KQ2-M4"}, "text", "/start 7KQ2-M4", id="a deep link"),
        pytest.param(
            {"photo": PHOTO, "caption": "my knee"}, "text", "my knee", id="words below a photo"
        ),
        pytest.param({"photo": PHOTO}, "unreadable", "", id="a photo without words"),
        pytest.param({"voice": VOICE}, "unreadable", "", id="a voice note"),
        pytest.param({"sticker": {**STICKER, "emoji": "👍"}}, "text", "👍", id="a sticker says"),
        pytest.param({"sticker": STICKER}, "unreadable", "", id="a sticker that says nothing"),
        pytest.param(
            {"location": {"latitude": -36.8, "longitude": 174.76333}},
            "text",
            "\N{ROUND PUSHPIN} -36.80000, 174.76333",
            id="a place",
        ),
        pytest.param(
            {
                "venue": {
                    "location": {"latitude": 1.0, "longitude": 2.0},
                    "title": "Kauri Hall",
                    "address": "1 Kauri Street",
                }
            },
            "text",
            "\N{ROUND PUSHPIN} Kauri Hall, 1 Kauri Street: 1.00000, 2.00000",
            id="a place with a name",
        ),
        pytest.param(
            {"checklist": {"title": "my chest hurts", "tasks": [{"id": 1, "text": "sit down"}]}},
            "text",
            "my chest hurts\nsit down",
            id="a list of things to do",
        ),
        pytest.param(
            {"poll": {**POLL, "question": "my chest hurts"}},
            "text",
            "my chest hurts\nyes\nno",
            id="a poll",
        ),
        pytest.param(
            {"said_in_a_new_way": {"blocks": [{"text": "my chest hurts"}]}},
            "text",
            "my chest hurts",
            id="words of a kind that nobody knows yet",
        ),
        pytest.param(
            {"shown_in_a_new_way": {"length": 3}}, "unreadable", "", id="a kind that nobody knows"
        ),
        pytest.param(
            {"contact": {"phone_number": "+12025550100", "first_name": "Ada"}},
            "contact",
            "+12025550100",
            id="a phone number",
        ),
        pytest.param(
            {"contact": {"phone_number": "12025550100", "first_name": "Ada", "user_id": 501}},
            "contact",
            "+12025550100",
            id="the sender's own number, which comes without its plus",
        ),
        pytest.param(
            {"contact": {"phone_number": "2025550100", "first_name": "Tom"}},
            "contact",
            "2025550100",
            id="somebody else's number, as it stands in the address book",
        ),
    ],
)
async def test_each_kind_of_message_arrives_as_what_it_says(
    api: BotApi,
    channel: TelegramChannel,
    arrivals: Arrivals,
    sent: dict[str, object],
    kind: str,
    text: str,
) -> None:
    update_id = api.send(501, **sent)

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    [incoming] = arrivals
    assert (incoming.kind, incoming.text) == (kind, text)
    assert (incoming.channel, incoming.address) == ("telegram", "501")
    assert (incoming.update_id, incoming.received_at) == (str(update_id), NOW)


async def test_a_corrected_message_arrives_as_changed_words(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    update_id = api.chats.change(501, "chest pain")

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert [(one.kind, one.text) for one in arrivals] == [(IncomingKind.EDITED, "chest pain")]


async def test_a_tap_arrives_with_its_value_and_message_and_the_button_stops_spinning(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    api.chat(501)
    shown = await channel.send(
        "501", Outgoing("How did you sleep?", ((ReplyButton("Well", "c.1.4"),),))
    )
    update_id = api.tap(501, "Well")

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id) and all(api.chats.queries.values()))

    [incoming] = arrivals
    assert (incoming.kind, incoming.tap) == (IncomingKind.TAP, "c.1.4")
    assert incoming.message_id == shown


async def test_a_tap_too_old_to_be_answered_still_arrives(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    api.chat(501)
    await channel.send("501", Outgoing("?", ((ReplyButton("Well", "c.1.4"),),)))
    update_id = api.tap(501, "Well")
    api.chats.queries.clear()

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))
        await api.until(lambda: any(call.method == "answerCallbackQuery" for call in api.calls))

    assert [one.tap for one in arrivals] == ["c.1.4"]
    api.complaints.clear()


async def test_what_is_said_in_a_group_is_neither_kept_nor_answered(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    update_id = api.chats.in_group(501, "my chest hurts")
    api.woken()

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert arrivals == []
    assert api.sent() == []


async def test_what_nobody_said_is_confirmed_and_left_alone(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    update_id = api.send(501, delete_chat_photo=True)

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert arrivals == []


async def test_an_update_that_the_library_cannot_read_keeps_its_words_and_holds_up_nobody(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals, caplog: pytest.LogCaptureFixture
) -> None:
    # A message must have an id and a date (Bot API, "Message"); these have neither.
    chat = {"id": 501, "type": "private", "first_name": "Ada"}
    api.chats.add_update("message", {"chat": chat, "text": "my chest hurts"})
    api.chats.add_update("message", {"chat": "?"})
    last = api.say(502, "Good morning")

    async with running(channel):
        await api.until(lambda: api.confirmed(last))

    assert [(one.address, one.text) for one in arrivals] == [
        ("501", "my chest hurts"),
        ("502", "Good morning"),
    ]
    assert "chest" not in caplog.text


async def test_half_characters_arrive_in_a_form_that_can_be_stored(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    update_id = api.say(501, "my \ud83d chest\x00 hurts")

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert arrivals[0].text == "my ? chest hurts"


async def test_nothing_is_confirmed_while_the_store_fails_and_all_arrives_afterwards(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    arrivals.fault = StoreError("disk full")
    update_id = api.say(501, "my chest hurts")

    async with running(channel):
        await asyncio.sleep(0.1)
        assert not api.confirmed(update_id)
        arrivals.fault = None
        await api.until(lambda: api.confirmed(update_id))

    assert [one.text for one in arrivals] == ["my chest hurts"]


async def test_a_repeated_update_has_the_same_id(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    update_id = api.say(501, "Good morning")
    update = api.chats.waiting[0]

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))
        api.chats.repeat(update)
        second = api.say(501, "Bye")
        await api.until(lambda: api.confirmed(second))

    assert [one.text for one in arrivals] == ["Good morning", "Bye"]


@pytest.mark.parametrize(
    "trouble", [Trouble.FLOOD, Trouble.BAD_GATEWAY, Trouble.CUT_BEFORE, Trouble.CUT_AFTER]
)
async def test_trouble_in_fetching_loses_nothing(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals, trouble: Trouble
) -> None:
    api.faults.append(Fault(trouble, "getUpdates", times=2, seconds=1))
    update_id = api.say(501, "Good morning")

    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert [one.text for one in arrivals] == ["Good morning"]


async def test_a_webhook_left_over_is_taken_away_without_losing_what_waits(
    api: BotApi, channel: TelegramChannel, arrivals: Arrivals
) -> None:
    api.methods.webhook = {"url": "https://old.example/telegram"}
    update_id = api.say(501, "Good morning")

    assert await channel.webhook_in_the_way() == "https://old.example/telegram"
    async with running(channel):
        await api.until(lambda: api.confirmed(update_id))

    assert len(arrivals) == 1
    assert await channel.webhook_in_the_way() == ""


async def test_a_second_process_on_the_same_bot_stops_one_of_the_two(
    api: BotApi, make: Make
) -> None:
    first, second, stop = make(), make(), asyncio.Event()
    runs = [asyncio.create_task(one.run(stop)) for one in (first, second)]

    done, going = await asyncio.wait(runs, timeout=120, return_when=asyncio.FIRST_COMPLETED)

    assert isinstance(done.pop().exception(), ChannelDown)
    stop.set()
    await asyncio.gather(*going)


async def test_a_refused_token_stops_the_channel_and_is_not_repeated(
    api: BotApi, make: Make, caplog: pytest.LogCaptureFixture
) -> None:
    channel = make(token="999:WRONG-and-secret")

    with pytest.raises(ChannelDown) as caught:
        await channel.run(asyncio.Event())

    assert "WRONG-and-secret" not in repr(caught.value)
    assert "WRONG-and-secret" not in caplog.text


async def test_the_commands_are_offered_with_what_they_do(api: BotApi, make: Make) -> None:
    channel = make(commands=[("today", "Today's plan"), ("stop", "Leave")])

    async with running(channel):
        await api.until(lambda: bool(api.methods.commands))

    assert api.methods.commands == [
        {"command": "today", "description": "Today's plan"},
        {"command": "stop", "description": "Leave"},
    ]


async def test_the_bot_says_who_it_is(api: BotApi, channel: TelegramChannel) -> None:
    me = await channel.who()

    assert (me.username, me.name) == ("dayrung_test_bot", "Test bot")


async def test_a_service_in_doubt_leaves_the_updates_to_the_one_that_took_its_place(
    api: BotApi, make: Make, arrivals: Arrivals
) -> None:
    old, new = make(), make()
    old.gives_way = True
    async with running(old):
        await api.until(lambda: api.poll_number == 1)
        async with running(new):
            await api.until(lambda: api.poll_number == 2)
            await asyncio.sleep(0.1)
            assert api.poll_number == 2, "the old one asks no more"
            api.say(501, "Good morning")
            await api.until(lambda: bool(arrivals))


@pytest.mark.parametrize(("carries", "kind"), [("message", "text"), ("edited_message", "edited")])
def test_words_that_the_library_cannot_parse_stay_what_they_were(carries: str, kind: str) -> None:
    # Bot API, "Message": a moment is a number; this one is none.
    said = {"message_id": 5, "date": "?", "chat": {"id": 501, "type": "private"}, "text": "12"}
    bot, now = Bot("1:unused"), datetime(2026, 3, 2, tzinfo=UTC)
    incoming = incoming_of({"update_id": 7, carries: said}, bot, now)
    assert incoming is not None
    assert (incoming.kind, incoming.text) == (kind, "12")
