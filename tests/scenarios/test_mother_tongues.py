"""Who writes in the mother tongue reads the number and "call" in it, beside the English."""

import pytest

from bot.reference.red_flags import load_tongues
from tests.support.practice import Practice
from tests.support.talk import words


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("me duele mucho el pecho", "Llame ahora al 111."),
        ("Ich kriege keine Luft", "Rufen Sie jetzt 111 an."),
        ("我胸口很痛", "请马上拨打 111。"),
        ("kei te tino mamae taku uma", "Waea atu ki 111 ināianei."),
        ("साँस नहीं आ रही", "अभी 111 पर फ़ोन करें।"),
    ],
)
async def test_an_emergency_is_answered_with_the_number_in_that_language(
    village: Practice, text: str, line: str
):
    said = await village.says("mary", text)

    assert said[0].splitlines()[:2] == ["Stop. Call 111 now.", line]
    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert text in village.last_to("rua")


async def test_a_call_for_help_is_asked_about_with_the_number_in_that_language(village: Practice):
    said = await village.says("mary", "au secours")

    assert said[0].startswith("Is this happening now?")
    assert "Si c'est grave, appelez vite le 111." in said[0]
    await village.at("18:03")
    heard = village.heard("mary")
    assert any("appelez vite le 111" in text or "Appelez le 111" in text for text in heard[1:])


async def test_a_stranger_is_told_the_number_too(village: Practice):
    said = await village.says("nobody", "no puedo respirar")

    assert "Llame ahora al 112." in said[0]


def test_every_language_that_is_heard_has_its_lines():
    for tongue in load_tongues():
        for kind in ("call", "ask"):
            assert "(number)" in words().word("mother_tongues", tongue.code, kind)
