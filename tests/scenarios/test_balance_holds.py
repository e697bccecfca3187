"""Balance in the chat: begins by the test, and "harder" is answered for a hold never tried."""

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from core.dose.prescription import Prescription
from core.programme.balance import HOLDS
from core.vocabulary import Family
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import tap

ONE_LEG = {"test": "one_leg_stand", "on": "2026-02-28", "result": 28.0, "arms_used": False}
STEADY = {"falls": 0, "walking_aid": "none", "lives_alone": False, "birth_year": 1967}


def hold_of(village: Practice, who: str) -> Prescription:
    """The hold of today's plan, as the store has it."""

    def ask(unit):
        me = get_person(unit, village.ids[who])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        session = facts.session(me.id, me.local(village.clock.now()).date())
        return next(one for one in session.plan.prescriptions if one.family is Family.BALANCE)

    return village.app.database.run_now(ask)


async def opened(village: Practice, who: str) -> int:
    """The day's list; gives the place of the hold in it."""
    await village.at("07:00")
    await village.good_morning(who)
    said = await village.says(who, "/today")
    lines = [line for line in said[-1].splitlines() if line[:1].isdigit()]
    return len(lines) - 1


async def test_a_strong_one_leg_stand_begins_on_one_leg_with_fingertips(village: Practice):
    await village.client("Nell", home_tests=[ONE_LEG], session_minutes=0, **STEADY)
    await opened(village, "nell")
    hold = hold_of(village, "nell")
    assert (hold.step.rung, hold.step.dial["support"]) == ("balance_one_leg", "fingertips")
    assert hold.sets == HOLDS


async def test_harder_is_one_step_for_a_hold_never_tried_then_steady_first(village: Practice):
    await village.client("Dot", **STEADY)
    place = await opened(village, "dot")
    begun = hold_of(village, "dot")
    await tap(village, f"see={place}", "dot")
    said = await tap(village, "harder", "dot")
    assert "harder." in said[-1]
    assert hold_of(village, "dot").step.demand > begun.step.demand
    said = await tap(village, "harder", "dot")
    assert said[-1].startswith("First hold this one steady twice.")
    assert not any("too little in hand" in text for text in village.heard("dot"))


async def test_a_hold_with_free_hands_stands_in_the_list_and_at_the_sink(village: Practice):
    """Ten seconds on one leg begin heel to toe, hands free: a step without a word for the hand."""
    test = {**ONE_LEG, "result": 15.0}
    await village.client("Nell", home_tests=[test], session_minutes=0, **STEADY)
    await opened(village, "nell")
    hold = hold_of(village, "nell")
    assert "support" not in hold.step.dial
    assert "sets of" in village.last_to("nell")
