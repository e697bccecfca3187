"""Voice, photos, stickers and the like at open questions, as Telegram sends them (Bot API 9)."""

from dataclasses import replace
from typing import Any

import pytest
from telegram import Bot

from bot.channels.telegram.updates import incoming_of
from bot.trial.acts import CODE
from tests.support.practice import CHANNEL, Practice
from tests.support.sessions import begin, tap, values

AROUND = {
    "message_id": 5,
    "date": 1780000000,
    "chat": {"id": 7, "type": "private", "first_name": "Mary"},
    "from": {"id": 7, "is_bot": False, "first_name": "Mary"},
}
FILE = {"file_id": "a", "file_unique_id": "b"}
STICKER = {**FILE, "type": "regular", "width": 1, "height": 1}
STICKER |= {"is_animated": False, "is_video": False}
UNREADABLE: dict[str, dict[str, Any]] = {
    "voice": {"voice": {**FILE, "duration": 3}},
    "photo": {"photo": [{**FILE, "width": 1, "height": 1}]},
    "sticker": {"sticker": STICKER},
    "video note": {"video_note": {**FILE, "length": 1, "duration": 3}},
    "video": {"video": {**FILE, "width": 1, "height": 1, "duration": 3}},
    "audio": {"audio": {**FILE, "duration": 3}},
    "file": {"document": FILE},
}
PLACE = {"location": {"latitude": -36.1, "longitude": 175.2}}
CONTACT = {"contact": {"phone_number": "+64215550177", "first_name": "Ann"}}
THUMB = {"sticker": {**STICKER, "emoji": "\N{THUMBS UP SIGN}"}}


class Phone:
    """A phone that sends what is no text."""

    def __init__(self, village: Practice, who: str) -> None:
        self.village, self.who, self.sent = village, who, 9000

    async def sends(self, part: dict[str, Any]) -> tuple[list[str], list[str]]:
        """Gives what this phone and the coach's then hear."""
        self.sent += 1
        now = self.village.clock.now()
        raw = {"update_id": self.sent, "message": {**AROUND, **part}}
        arrived = incoming_of(raw, Bot("1:x"), now)
        assert arrived is not None
        mine, hers = len(self.village.heard(self.who)), len(self.village.heard("rua"))
        arrived = replace(arrived, channel=CHANNEL, address=self.who, received_at=now)
        await self.village.app.engine.accept([arrived])
        await self.village.app.settle()
        return self.village.heard(self.who, mine), self.village.heard("rua", hers)


async def _at(village: Practice, question: str) -> str:
    """Bring somebody to an open question; gives whose phone it is."""
    if question == "joining":
        await village.says("rua", "/invite")
        found = CODE.search("\n".join(await village.says("rua", "Ada")))
        assert found is not None
        await village.says("ada", found.group())
        return "ada"
    await village.at("07:00")
    if question == "checkin":
        return "mary"
    await village.good_morning()
    if question == "walk":
        await village.says("mary", "walk")
    elif question == "settings":
        await village.says("mary", "/settings")
    elif question == "data":
        await village.says("mary", "/mydata")
    else:
        await village.says("mary", "/today")
        await village.taps("mary", "Start", "I am ready")
        while "done" in values(village, "mary"):
            await village.wait(3)
            await tap(village, "done")
        await tap(village, next(v for v in values(village) if v.startswith("did=")))
    return "mary"


QUESTIONS = ("joining", "checkin", "left", "walk", "data", "settings")


@pytest.mark.parametrize("question", QUESTIONS)
async def test_at_every_open_question_it_is_said_what_works_and_the_coach_hears(
    village: Practice, question: str
):
    who = await _at(village, question)
    asked = village.last_to(who)
    shown = [c.value for row in village.newest_buttons(who).outgoing.choices for c in row]
    phone = Phone(village, who)
    for kind, part in UNREADABLE.items():
        said, told = await phone.sends(part)
        assert "Please type it in a few words." in said[0], (kind, said)
        assert "call 1" in said[0] or "112" in said[0], (kind, said)
        if who == "mary":
            assert "cannot open" in told[0], (kind, told)
        assert asked.endswith(said[-1]) or question == "data", (kind, said)
        await village.wait(1)
    now = [c.value for row in village.newest_buttons(who).outgoing.choices for c in row]
    # The question stands as it stood: nothing was taken for an answer.
    assert [v.rpartition(".")[2] for v in now] == [v.rpartition(".")[2] for v in shown]


async def test_a_place_reaches_the_coach_and_a_number_may_be_sent_on(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these")
    asked = village.last_to("mary")
    phone = Phone(village, "mary")
    said, told = await phone.sends(PLACE)
    assert "Please type in a few words" in said[0]
    assert "111" in said[0]
    assert "-36.10000, 175.20000" in told[0]
    assert said[-1] == asked

    said, _ = await phone.sends(CONTACT)
    assert said[-1] == asked
    offered = [c.label for s in village.channel.sent for row in s.outgoing.choices for c in row]
    assert "Send it to my coach" in offered

    said, told = await phone.sends(THUMB)
    assert "only read words and taps" in said[0]
    assert (said[-1], told) == (asked, [])


async def test_a_voice_note_in_a_session_ends_nothing(village: Practice):
    await village.at("07:00")
    await begin(village)
    await Phone(village, "mary").sends(UNREADABLE["voice"])
    planned = [value for value in values(village) if value.startswith("did=")]
    said = await tap(village, planned[2])
    assert "How many more" in said[-1]


@pytest.mark.parametrize("asked", ["/invite", "/settings", "/clients", ""])
async def test_a_coach_reads_what_works_and_what_was_asked_waits(village: Practice, asked: str):
    if asked:
        await village.says("rua", asked)
    phone = Phone(village, "rua")
    for kind, part in UNREADABLE.items():
        said, _ = await phone.sends(part)
        assert said == [
            "Sorry, I cannot open voice notes or pictures. Please type it in a few words."
        ], (kind, said)
        await village.wait(1)
    if asked == "/invite":
        assert "An invitation for Zebulonia" in (await village.says("rua", "Zebulonia"))[-1]
