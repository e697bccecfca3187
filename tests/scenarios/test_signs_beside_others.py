"""A sign beside other words: a doctor's plan, more signs, abuse told of before."""

from collections.abc import Collection

import pytest
from sqlmodel import select

from bot.messages import Incoming, IncomingKind
from bot.storage.tables import AlertRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.support.practice import CHANNEL, Practice


async def chased(village: Practice) -> list[Collection[Sign]]:
    """The signs of each alert that is no mere line of the coach's list."""

    def read(unit: UnitOfWork) -> list[Collection[Sign]]:
        rows = unit.session.exec(select(AlertRow).where(AlertRow.level != AlertLevel.MENTION)).all()
        return [set(alert_told(unit.encryption, row).signs) for row in rows]

    return await village.app.database.run(read)


async def at_the_plan(village: Practice) -> None:
    await village.client("Nell", conditions=["asthma"], doctor_plan="Two puffs")
    await village.says("nell", "my data")
    await village.taps("nell", "See it", "Change something", "Health", "Doctor's own plan")


@pytest.mark.parametrize(
    "words",
    [
        "tablet twice daily. I want to die",
        "My plan is two puffs when short of breath. My lips are blue",
        "use spray if chest pain. I have chest pain and sweat",
        "take a tablet if dizzy. I fainted on Sunday",
        "take a tablet if dizzy and I fainted on Sunday",
        "take one tablet daily. my husband hits me",
    ],
)
async def test_a_sign_beside_the_doctors_plan_is_heard(village: Practice, words: str):
    await at_the_plan(village)

    await village.says("nell", words)
    await village.wait(5)

    assert await chased(village)


async def test_a_plan_that_names_signs_is_a_plan(village: Practice):
    await at_the_plan(village)

    await village.says("nell", "Two puffs when wheezy. If chest pain, one spray. Wait a minute.")
    await village.wait(5)

    assert not await chased(village)


SIX_SIGNS = (
    "I have crushing chest pain right now",
    "my face is drooping and I cannot speak properly",
    "I fell and hit my head and I am confused",
    "I can't breathe at all, I am gasping",
    "I am coughing up a lot of blood",
    "my throat is swelling after a bee sting",
)


async def test_despair_and_abuse_in_a_burst(village: Practice):
    texts = [
        *(f"hello number {place}" for place in range(16)),
        *SIX_SIGNS,
        "I want to kill myself",
        "my husband beats me and I am afraid of him",
        "I vomited a lot of blood just now",
    ]
    now = village.clock.now()
    await village.app.engine.accept(
        [
            Incoming(CHANNEL, "mary", str(9000 + place), IncomingKind.TEXT, text, "", "", now)
            for place, text in enumerate(texts)
        ]
    )
    await village.app.settle()

    (signs,) = await chased(village)
    assert {Sign.SELF_HARM, Sign.ABUSE} <= set(signs)
    assert Sign.VOMIT_BLOOD in signs, "passed over in the chat, not for the coach"
    assert any("I am glad you told me" in text for text in village.heard("mary"))


async def test_another_sign_after_abuse_has_its_advice(village: Practice):
    await village.says("mary", "my husband hits me and I am scared of him")

    fainted = await village.says("mary", "I fainted this morning")
    again = await village.says("mary", "my husband hits me")
    stroke = await village.says("mary", "my face droops and my speech is slurred right now")

    assert "111" in fainted[0]
    assert again[0] == "Thank you. I have got that.", "no more of that on the phone"
    assert "111" in stroke[0]
    assert "Note the time it began." in stroke[0]
    for text in (fainted[0], stroke[0]):
        assert not {"hit", "hits", "husband", "scared", "abuse"} & set(text.lower().split())


async def test_another_sign_after_despair_has_its_advice(village: Practice):
    await village.says("mary", "I want to end my life")
    assert "I am glad you told me." in village.last_to("mary")
    await village.wait(60)
    said = await village.says("mary", "crushing chest pain")
    assert village.last_to("mary").startswith("Stop. Call 111 now")
    assert not any("I am glad you told me." in text for text in said)
    said = await village.says("mary", "I still want to end my life")
    assert not any(text.startswith("Stop. Call") for text in said)


async def test_despair_and_a_sign_of_the_body_in_one_breath_have_both(village: Practice):
    said = await village.says("mary", "crushing chest pain and I want to end my life")
    assert any(text.startswith("Stop. Call 111 now") for text in said)
    assert village.last_to("mary").startswith("I am glad you told me.")
