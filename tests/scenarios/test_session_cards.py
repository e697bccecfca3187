"""The card of a movement and what its buttons show."""

import re
from io import BytesIO

import pytest
from PIL import Image

from tests.support.practice import Practice


async def _at_first_card(village: Practice, *, running: bool) -> None:
    await village.at("07:00")
    await village.good_morning()
    if running:
        await village.says("mary", "/today")
        await village.taps("mary", "Start", "I am ready")
        while any(c.label == "Done" for c in _labels(village)):
            await village.taps("mary", "Done")
        return
    await village.says("mary", "/today")
    await village.taps_value("mary", _value_of_first_movement(village))


@pytest.mark.parametrize("running", [False, True], ids=["looking at it", "in the session"])
async def test_see_it_move_sends_a_moving_picture_and_the_card_still_answers(
    village: Practice, running: bool
):
    await _at_first_card(village, running=running)
    await village.taps("mary", "More", "See it move")

    shown = village.channel.sent[-1].outgoing
    assert shown.picture
    content, name = village.app.contents.load(shown.picture)
    assert name.endswith(".gif")
    with Image.open(BytesIO(content)) as picture:
        assert picture.format == "GIF"
        assert picture.n_frames > 2

    # The buttons of the card are still the newest ones, and they still work.
    said = await village.taps("mary", "Easier")
    assert "Do:" in said[-1]


@pytest.mark.parametrize("place", ["nothing open", "list open", "card open"])
async def test_an_easier_squat_asked_for_in_own_words_is_there_at_once(
    village: Practice, place: str
):
    await village.at("07:00")
    await village.good_morning()
    if place != "nothing open":
        await village.says("mary", "/today")
    if place == "card open":
        await village.taps_value("mary", _value_of_first_movement(village))

    said = await village.says("mary", "can I have an easier squat please")

    assert re.match(r"This is (a little |a good deal )?easier", said[-1])
    # The squat comes first; its easier form may have another name.
    assert re.search(r"^1 of \d", said[-1], re.MULTILINE)


async def test_a_wish_for_a_movement_to_come_is_kept_and_the_open_card_stays(village: Practice):
    await _at_first_card(village, running=True)

    said = await village.says("mary", "the push ups are too hard")

    assert "later today" in said[0]
    assert "easier" in said[0]
    assert "1 of" in said[-1]


def _labels(village: Practice):
    return [c for row in village.newest_buttons("mary").outgoing.choices for c in row]


def _value_of_first_movement(village: Practice) -> str:
    return next(c.value for c in _labels(village) if "see=" in c.value)
