"""A phone number that somebody types is right, or known to be doubtful, and can be dialled.

Invented numbers: Ofcom's ranges for drama (London 020 7946 0000 to 0999; mobile 07700 900000 to
900999, which is given to nobody).
"""

import re

import pytest

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice

CODE = re.compile(r"\b[A-Z2-9]{4}-[A-Z2-9]{4}\b")
BAD = "0207 946 012"
"""One digit is missing."""

IN_FULL = "+44207946012"
"""The same with its country."""


@pytest.fixture
async def asked_for_her_number(village: Practice) -> Practice:
    """Nan in Britain joins a coach in New Zealand and has come to her phone number."""
    await village.says("rua", "/invite")
    found = CODE.search(" ".join(await village.says("rua", "Nan")))
    assert found is not None
    await village.says("nan", found.group())
    await village.taps("nan", "Yes, I agree")
    await village.says("nan", "United Kingdom")
    await village.taps("nan", "Yes", "Nan")
    assert "your phone number" in village.last_to("nan")
    village.ids["nan"] = max(village.ids.values()) + 1
    return village


async def kept(village: Practice) -> str:
    """Nan's number as the record has it."""

    def read(unit: UnitOfWork) -> str:
        nan = get_person(unit, village.ids["nan"])
        return (
            StoreFacts(unit, nan, village.clock.now(), village.app.loaded.reference)
            .client(nan.id)
            .phone
        )

    return await village.app.database.run(read)


async def test_a_number_is_kept_in_the_form_that_all_countries_read(
    asked_for_her_number: Practice,
):
    village = asked_for_her_number
    await village.says("nan", "my number is 020 7946 0123")

    assert await kept(village) == "+442079460123"
    assert "street" in village.last_to("nan"), "the next question"


async def test_a_doubtful_number_is_asked_once_more_and_is_known_meanwhile(
    asked_for_her_number: Practice,
):
    village = asked_for_her_number
    said = await village.says("nan", BAD)

    assert "I don't think this number works: 0207946012." in said[0]
    assert await kept(village) == "0207946012"

    await village.says("nan", "020 7946 0123")

    assert await kept(village) == "+442079460123"


@pytest.mark.parametrize("how", ["the button", "it really is this", "yes", BAD])
async def test_a_doubtful_number_is_kept_when_it_is_insisted_upon(
    asked_for_her_number: Practice, how: str
):
    village = asked_for_her_number
    await village.says("nan", BAD)
    if how == "the button":
        said = await village.taps("nan", "Yes, it is right")
    else:
        said = await village.says("nan", how)

    assert "I don't think" not in said[0]
    assert await kept(village) == IN_FULL


async def test_the_coach_is_asked_again_too_and_her_word_counts(village: Practice):
    await village.client("Nan", country="GB", zone="Europe/London", phone="+442079460123")
    await village.says("rua", "/clients")
    await village.taps("rua", "(?) Nan")

    assert "Phone: +44 20 7946 0123" in village.last_to("rua")
    await village.taps("rua", "Answers", "Person", "Phone")
    assert "Now: +44 20 7946 0123" in village.last_to("rua")

    said = await village.says("rua", BAD)
    assert "I don't think this number works" in said[0]
    assert await kept(village) == "+442079460123", "not before she insists"

    await village.taps("rua", "Yes, it is right")
    assert await kept(village) == IN_FULL


async def test_the_alert_of_a_client_abroad_can_be_dialled_and_that_of_one_nearby_too(
    village: Practice,
):
    await village.client(
        "Nan",
        country="GB",
        zone="Europe/London",
        phone="+442079460123",
        contact_phone="07700900123",
    )
    await village.says("nan", "my chest feels tight")

    assert "Phone: +44 20 7946 0123\n" in village.last_to("rua")
    assert "Contact: Tom +44 7700 900123" in village.last_to("rua")

    await village.says("mary", "my chest feels tight")

    assert "Phone: 021 555 0101\n" in village.last_to("rua")
