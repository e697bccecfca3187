"""How far a client has come, in words and pictures."""

import re
from io import BytesIO
from zoneinfo import ZoneInfo

from PIL import Image

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from tests.support.facts import reference
from tests.support.loaded import loaded
from tests.support.practice import NEW_ZEALAND, Practice
from tests.support.sessions import tap, values, whole_session

HERE = ZoneInfo(NEW_ZEALAND)


GAINS = (
    (8, "a little more than"),
    (25, "a bit more than"),
    (45, "a good deal more than"),
    (80, "half as much again as"),
    (130, "about twice as much as"),
)
"""A client is told of a gain in words up to that many percent; the coach reads the percent."""


def said_of(percent: int) -> str:
    return next((said for under, said in GAINS if percent < under), "more than twice as much as")


def picture_of(village: Practice) -> Image.Image:
    content, _ = village.app.contents.load(village.channel.sent[-1].outgoing.picture)
    return Image.open(BytesIO(content))


async def done_today(village: Practice) -> set[str]:
    """The names of the families of the newest day with sets."""

    def read(unit: UnitOfWork) -> set[str]:
        me = get_person(unit, village.ids["mary"])
        history = StoreFacts(unit, me, village.clock.now(), reference()).history(me.id)
        day = history.days_trained()[-1]
        return {
            loaded().words.word("names", "family", one.family.value).lower()
            for one in history.sets_on(day)
        }

    return await village.app.database.run(read)


async def test_there_is_nothing_to_show_at_the_start(village: Practice):
    said = await village.says("mary", "/progress")
    assert said[-1].startswith("You are at the start.")
    assert not village.channel.sent[-1].outgoing.picture


async def test_each_movement_is_shown_as_it_was_and_as_it_is(village: Practice):
    for _ in range(5):
        ended = await whole_session(village, left=5)
        named = re.search(r"^(\w[\w ]*): you can do ", ended[-1], re.M)
        assert named is None or named[1].lower() in await done_today(village), (
            "only what was done today"
        )
        await village.wait(30 * 60)
    said = await village.says("mary", "/progress")

    assert "You have trained on 5 days" in said[-1]
    assert "Squat: you can do " in said[-1]
    assert "more than on 3 March" in said[-1]
    with picture_of(village) as climb:
        assert climb.width == 720
    shown = [one for one in values(village) if one.startswith("see=")]
    mine = re.findall(
        r"^(\w[\w ]*): you can do (.+ more than|.+ as much as|.+ again as) on", said[-1], re.M
    )
    await village.says("rua", "Mary")
    hers = (await village.taps("rua", "How it climbs"))[-1]
    gained = {
        part.partition(":")[0]: int(found[1])
        for part in re.split(r"\n(?=\S)", hers)
        if (found := re.search(r"\+(\d+) percent since", part))
    }
    assert all(said_of(gained[family]) == more for family, more in mine), "the same gain"
    assert mine
    assert len(shown) > 1

    said = await tap(village, shown[-1])
    assert "On top: your first day, " in said[-1]
    assert "Below: now, " in said[-1]
    with picture_of(village) as pair:
        assert pair.height > 0.8 * pair.width, "two strips, one above the other"
    said = await tap(village, shown[0])
    assert "On top: your first day, " in said[-1], "the buttons stay good"

    await village.at("17:01", days=(6 - village.clock.now().astimezone(HERE).weekday()) % 7)
    words = [text for text in village.heard("mary") if text.startswith("Your week, Mary:")]
    assert "• You trained on 3 days." in words[0]
    week = words[-1]
    assert "• You trained on 2 days." in week
    assert "more than on " in week
    assert "On top is your first day. Below is now." in week
    shown = next(one for one in reversed(village.channel.sent) if one.outgoing.text == week)
    assert shown.outgoing.picture

    await village.at("12:00", days=45)
    said = await village.says("mary", "/progress")
    assert "before your break, and that comes back" in said[-1], "a falling line says why"
