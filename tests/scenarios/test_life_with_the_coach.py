"""Another coach, and coming back: nobody goes out of reach, or onto an erased record."""

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person, unbind_all
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import values


async def coach_of(village: Practice) -> tuple[PersonId, bool]:
    """Mary's coach, and whether Mary counts as gone."""

    def ask(unit: UnitOfWork) -> tuple[PersonId, bool]:
        me = get_person(unit, village.ids["mary"])
        record = StoreFacts(unit, me, village.clock.now(), reference()).client(me.id)
        return record.coach_id, record.person.left

    return await village.app.database.run(ask)


async def asked_to_change(village: Practice) -> None:
    """Rua asks whether Sam may look after Mary."""
    await village.coach("Sam")
    await village.says("rua", "Mary")
    await village.taps("rua", "More", "Another coach", "Sam")


async def test_a_yes_to_a_coach_out_of_reach_changes_nothing(village: Practice):
    await asked_to_change(village)

    def lost(unit: UnitOfWork) -> None:
        unbind_all(unit, village.ids["sam"], village.clock.now())
        unit.commit()

    await village.app.database.run(lost)
    said = await village.taps("mary", "Yes")

    assert said[0].startswith("I can't reach Sam any more. So nothing changes: Rua stays your")
    assert village.last_to("rua").startswith("Mary said yes to Sam, but")
    assert await coach_of(village) == (village.ids["rua"], False)
    await village.says("mary", "crushing chest pain")
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_an_erased_record_is_not_brought_back(village: Practice):
    await village.says("mary", "my data")
    await village.taps("mary", "Leave and erase", "Yes")
    await village.taps_value("rua", f"client.{village.ids['mary']}.card")
    await village.taps("rua", "More")
    assert values(village, "rua") == ["card"]

    # Not by a button of an older screen either.
    shown = village.newest_buttons("rua")
    before = len(village.heard("mary"))
    tap = shown.outgoing.choices[0][0].value.removesuffix("card") + "bring_back"
    said = await village.taps_value("rua", tap, shown.edits or shown.platform_id)
    assert any(one.startswith("The record of") and "is erased" in one for one in said)
    assert village.heard("mary", before) == []
    assert await coach_of(village) == (village.ids["rua"], True)
