"""Messages reach Telegram within its limits, and its refusals become ours."""

import pytest

from bot.channels.telegram.channel import TelegramChannel
from bot.channels.telegram.sending import inline
from bot.errors import (
    EditGone,
    RateLimited,
    Rejected,
    Unknown,
    Unreachable,
)
from bot.messages import Outgoing, ReplyButton
from tests.bot.channels.conftest import CONTACT_LABEL, Make
from tests.doubles.bot_api import BotApi, Fault, Trouble

YES_NO = (
    (ReplyButton("Yes", "a.1.yes"), ReplyButton("No", "a.1.no")),
    (ReplyButton("Later", "a.1.later"),),
)


@pytest.fixture(autouse=True)
def opened(api: BotApi) -> None:
    api.chat(501)


async def test_a_text_arrives_with_its_rows_of_buttons(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("All right?", YES_NO))

    shown = api.chat(501).last
    assert str(shown.message_id) == message_id
    assert shown.text == "All right?"
    assert [len(row) for row in shown.markup["inline_keyboard"]] == [2, 1]
    assert shown.buttons == [("Yes", "a.1.yes"), ("No", "a.1.no"), ("Later", "a.1.later")]


@pytest.mark.parametrize("text", ["<b>bold</b>", "5 < 6 & 7 > 6", "&lt;", "*a* _b_ `c` [d](e)"])
async def test_nothing_that_people_write_is_taken_for_markup(
    api: BotApi, channel: TelegramChannel, text: str
) -> None:
    await channel.send("501", Outgoing(text))

    assert api.chat(501).texts == [text]


async def test_a_long_text_is_split_at_sentences_and_the_last_part_carries_the_buttons(
    api: BotApi, channel: TelegramChannel
) -> None:
    sentence = "Stand up slowly and hold on to the chair with both hands. "
    text = (sentence * 120).strip()

    message_id = await channel.send("501", Outgoing(text, YES_NO))

    shown = list(api.chat(501).said.values())
    assert " ".join(one.text for one in shown) == text
    assert all(one.text.endswith(".") for one in shown)
    assert [bool(one.buttons) for one in shown] == [False, True]
    assert message_id == str(shown[-1].message_id)


async def test_a_picture_is_uploaded_once_and_then_named_by_its_file_id(
    api: BotApi, channel: TelegramChannel, make: Make
) -> None:
    known: dict[str, str] = {}

    class Known:
        async def find(self, content_id: str) -> str:
            return known.get(content_id, "")

        async def keep(self, content_id: str, platform_file: str) -> None:
            known[content_id] = platform_file

    channel = make(known=Known())
    await channel.send("501", Outgoing("Chair squat", picture="squat.png"))
    await channel.send("501", Outgoing("Once more", picture="squat.png"))
    await channel.send("501", Outgoing("It moves", picture="squat.gif"))

    assert [one.media for one in api.chat(501).said.values()] == ["photo", "photo", "animation"]
    assert list(api.methods.files.values()) == [b"content of squat.png", b"content of squat.gif"]
    assert api.chat(501).texts == ["Chair squat", "Once more", "It moves"]


async def test_a_file_id_that_the_platform_has_forgotten_is_uploaded_anew(
    api: BotApi, make: Make
) -> None:
    class Known:
        stored = "still:of-another-bot"

        async def find(self, content_id: str) -> str:
            return self.stored

        async def keep(self, content_id: str, platform_file: str) -> None:
            self.stored = platform_file

    known = Known()
    await make(known=known).send("501", Outgoing("Chair squat", picture="squat.png"))

    assert api.chat(501).texts == ["Chair squat"]
    assert known.stored == "still:file-1"
    api.complaints.remove("sendPhoto: Bad Request: wrong file identifier/HTTP URL specified")


async def test_a_long_text_below_a_picture_goes_on_in_a_message_with_the_buttons(
    api: BotApi, channel: TelegramChannel
) -> None:
    text = ("Sit down slowly and look straight ahead. " * 40).strip()

    await channel.send("501", Outgoing(text, YES_NO, picture="squat.png"))

    picture, rest = api.chat(501).said.values()
    assert picture.media == "photo"
    assert f"{picture.text} {rest.text}" == text
    assert (picture.buttons, len(rest.buttons)) == ([], 3)


async def test_a_picture_that_cannot_be_made_leaves_its_words(
    api: BotApi, channel: TelegramChannel
) -> None:
    outgoing = Outgoing("Chair squat", YES_NO, picture="broken.png", picture_text="A chair.")

    await channel.send("501", outgoing)

    assert api.chat(501).texts == ["Chair squat\n\nA chair."]
    assert len(api.chat(501).last.buttons) == 3


async def test_a_document_is_handed_over_with_its_text(
    api: BotApi, channel: TelegramChannel
) -> None:
    await channel.send("501", Outgoing("Your record", document="record.json"))

    assert api.chat(501).last.media == "document"
    assert api.chat(501).texts == ["Your record"]
    assert list(api.methods.files.values()) == [b"content of record.json"]


async def test_one_s_own_number_can_be_shared_by_a_button(
    api: BotApi, channel: TelegramChannel
) -> None:
    await channel.send("501", Outgoing("What is your number?", asks_contact=True))

    [[button]] = api.chat(501).last.markup["keyboard"]
    assert button == {"text": CONTACT_LABEL, "request_contact": True}


async def test_the_number_button_stands_beside_other_buttons(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("Number?", YES_NO, asks_contact=True))

    asked, offer = api.chat(501).said.values()
    assert message_id == str(asked.message_id)
    assert len(asked.buttons) == 3
    assert offer.markup["keyboard"][0][0]["request_contact"] is True


@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param(Outgoing("Q", YES_NO), Outgoing("A", YES_NO), id="words to words"),
        pytest.param(
            Outgoing("Q", picture="1.png"), Outgoing("A", YES_NO, picture="2.png"), id="pictures"
        ),
        pytest.param(Outgoing("Q"), Outgoing("A", picture="2.png"), id="a picture joins words"),
        pytest.param(
            Outgoing("Q", picture="1.png"), Outgoing("A", picture="2.gif"), id="still to moving"
        ),
    ],
)
async def test_a_message_is_changed_in_place(
    api: BotApi, channel: TelegramChannel, before: Outgoing, after: Outgoing
) -> None:
    message_id = await channel.send("501", before)

    assert await channel.edit("501", message_id, after) == message_id

    [shown] = api.chat(501).said.values()
    assert shown.text == "A"
    assert len(shown.buttons) == sum(len(row) for row in after.choices)


async def test_a_picture_cannot_become_words_in_place_so_its_buttons_go_and_it_is_said_anew(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("Q", YES_NO, picture="1.png"))

    with pytest.raises(EditGone):
        await channel.edit("501", message_id, Outgoing("A"))

    # Nothing was asked that the platform must refuse: the double notes each refusal.
    assert api.complaints == []
    assert api.chat(501).last.buttons == []


async def test_so_it_is_with_a_picture_of_an_earlier_start(
    api: BotApi, channel: TelegramChannel, make: Make
) -> None:
    message_id = await make().send("501", Outgoing("Q", YES_NO, picture="1.png"))

    with pytest.raises(EditGone):
        await channel.edit("501", message_id, Outgoing("A"))

    assert api.chat(501).last.buttons == []
    api.complaints.remove("editMessageText: Bad Request: there is no text in the message to edit")


async def test_so_it_is_with_a_picture_that_was_changed_in_place(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("Q", YES_NO, picture="1.png"))
    await channel.edit("501", message_id, Outgoing("Q", YES_NO, picture="2.gif"))

    with pytest.raises(EditGone):
        await channel.edit("501", message_id, Outgoing("A"))

    assert api.complaints == []


async def test_a_change_too_long_for_one_message_is_said_anew(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("Q", YES_NO))

    with pytest.raises(EditGone):
        await channel.edit("501", message_id, Outgoing("A word. " * 600))


async def test_a_change_of_a_message_that_is_gone_is_said_anew(
    api: BotApi, channel: TelegramChannel
) -> None:
    with pytest.raises(EditGone):
        await channel.edit("501", "9999", Outgoing("A"))

    api.complaints.clear()


async def test_a_change_that_changes_nothing_counts_as_done(
    api: BotApi, channel: TelegramChannel
) -> None:
    message_id = await channel.send("501", Outgoing("Q", YES_NO))

    assert await channel.edit("501", message_id, Outgoing("Q", YES_NO)) == message_id


async def test_a_blocked_chat_and_an_unknown_one_are_unreachable(
    api: BotApi, channel: TelegramChannel
) -> None:
    api.chat(502).blocked = True

    for address in ("502", "999"):
        with pytest.raises(Unreachable):
            await channel.send(address, Outgoing("Hello"))

    api.complaints.clear()


async def test_a_flood_names_how_long_to_wait(api: BotApi, channel: TelegramChannel) -> None:
    api.faults.append(Fault(Trouble.FLOOD, seconds=7))

    with pytest.raises(RateLimited) as caught:
        await channel.send("501", Outgoing("Hello"))

    assert caught.value.wait.total_seconds() == 7


@pytest.mark.parametrize("trouble", [Trouble.BAD_GATEWAY, Trouble.CUT_BEFORE, Trouble.CUT_AFTER])
async def test_broken_connections_leave_it_open_whether_it_arrived(
    api: BotApi, channel: TelegramChannel, trouble: Trouble
) -> None:
    api.faults.append(Fault(trouble))

    with pytest.raises(Unknown):
        await channel.send("501", Outgoing("Hello"))


@pytest.mark.parametrize(
    "outgoing",
    [
        pytest.param(Outgoing(""), id="no words"),
        pytest.param(Outgoing("?", ((ReplyButton("Yes", "x" * 65),),)), id="65 bytes in a button"),
    ],
)
async def test_what_the_platform_never_takes_is_rejected(
    api: BotApi, channel: TelegramChannel, outgoing: Outgoing
) -> None:
    with pytest.raises(Rejected):
        await channel.send("501", outgoing)

    api.complaints.clear()


async def test_an_address_of_another_channel_is_rejected(channel: TelegramChannel) -> None:
    with pytest.raises(Rejected):
        await channel.send("phone-ada", Outgoing("Hello"))


def test_a_button_that_copies_sends_nothing_back() -> None:
    """Bot API 7.11: ``copy_text`` in place of ``callback_data``."""
    markup = inline(Outgoing("A", ((ReplyButton("Copy", "copy_link", "https://x.test/a"),),)))
    assert markup is not None
    [[button]] = markup.to_dict()["inline_keyboard"]
    assert button == {"text": "Copy", "copy_text": {"text": "https://x.test/a"}}
