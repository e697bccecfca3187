"""A sign beside other words: a doctor's plan, more signs, abuse told of before."""

from collections.abc import Collection

import pytest
from sqlmodel import select

from bot.storage.tables import AlertRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.support.practice import Practice


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
