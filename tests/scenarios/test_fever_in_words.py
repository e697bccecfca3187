"""A fever told in words counts as one told by a button: no training that day, whatever is on."""

import pytest
from sqlmodel import select

from bot.flows.facts import Checkin
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import SessionRow, WalkRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, DayPlan, Sign
from tests.scenarios.test_something_is_wrong import alert_of, at_the_sink, on_a_walk
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import begin, tap, values

FEVER = "I have a fever of 38.6"


async def today(village: Practice) -> Checkin:
    def ask(unit: UnitOfWork) -> Checkin:
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        found = facts.checkin(me.id, me.local(facts.now).date())
        assert found is not None
        return found

    return await village.app.database.run(ask)


async def on_the_way(village: Practice) -> set[str]:
    """The states of all sessions and walks that were begun."""

    def ask(unit: UnitOfWork) -> set[str]:
        rows = [*unit.session.exec(select(SessionRow)), *unit.session.exec(select(WalkRow))]
        return {row.status for row in rows if row.started_at is not None}

    return await village.app.database.run(ask)


async def assert_rest(village: Practice) -> None:
    assert (await today(village)).day_plan == DayPlan.REST
    said = await village.says("mary", "/today")
    assert "start" not in values(village)
    assert not any("Your session today" in one for one in said)


@pytest.mark.parametrize("text", [FEVER, "my temperature is 38.9"])
async def test_after_the_checkin_the_day_is_one_of_rest(village: Practice, text: str):
    await village.at("07:00")
    await village.good_morning()
    said = await village.says("mary", text)
    assert said[0].startswith("Rest today. No training with a fever.")
    await assert_rest(village)


async def test_in_the_middle_of_the_checkin_it_counts(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these", "4")
    await village.says("mary", FEVER)
    await village.taps("mary", "4", "4", "4", "4")
    await assert_rest(village)


async def test_before_the_first_tap_it_counts_and_the_signs_are_asked(village: Practice):
    await village.at("07:00")
    await village.says("mary", FEVER)
    await village.good_morning()
    assert (await today(village)).signs_asked_at is not None
    await assert_rest(village)


@pytest.mark.parametrize("by_words", [True, False])
async def test_told_by_mistake_it_is_taken_back_by_one_answer(village: Practice, by_words: bool):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", FEVER)
    if by_words:
        await village.says("mary", "Change an answer")
    else:
        await village.taps("mary", "Change an answer")
    await tap(village, "pick=trouble")
    await village.taps("mary", "None of these")
    assert (await today(village)).day_plan == DayPlan.AS_PLANNED


async def test_a_running_session_ends_with_a_word_and_no_card_follows(village: Practice):
    await village.at("07:00")
    await begin(village)
    before = len(village.heard("mary"))
    said = await village.says("mary", FEVER)
    assert [one.partition(".")[0] for one in said] == ["Please stop your session now", "Rest today"]
    assert await on_the_way(village) == {"stopped"}
    await village.wait(60)
    assert await alert_of(village) is None
    assert len(village.heard("mary", before)) == len(said)
    await assert_rest(village)


@pytest.mark.parametrize("start", [on_a_walk, at_the_sink])
async def test_a_walk_and_a_hold_at_the_sink_end_too(village: Practice, start):
    await start(village)
    said = await village.says("mary", FEVER)
    assert said[0].startswith("Please stop your ")
    assert await on_the_way(village) == {"stopped"}
    await assert_rest(village)


async def test_a_count_of_38_that_is_asked_for_is_no_fever(village: Practice):
    """Minutes of a walk, repetitions of a set: the day goes on as it was."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/walk")
    said = await village.says("mary", "38")
    assert "On how many days" in said[-1]
    await village.says("mary", "3")
    await tap(village, "other")
    said = await village.says("mary", "39 minutes")
    assert said[-1].startswith("39 minutes. Could you talk")
    await tap(village, "talked")
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    while "done" in values(village):
        await tap(village, "done")
    await village.says("mary", "38")
    assert (await today(village)).day_plan == DayPlan.AS_PLANNED
    assert "stopped" not in await on_the_way(village)
    said = await village.says("mary", "38.6")
    assert said[-1].startswith("Rest today"), "no count, and asked for by nobody"


async def test_by_its_button_in_a_session_it_ends_the_session(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.says("mary", "check-in")
    await village.taps("mary", "Change")
    await tap(village, "pick=trouble")
    await tap(village, "trouble=ill")
    said = await tap(village, "ill_kind=fever")
    assert any(one.startswith("Please stop your session now.") for one in said)
    assert await on_the_way(village) == {"stopped"}
    await assert_rest(village)


@pytest.mark.parametrize("when", ["07:00", "06:30"])
async def test_with_a_new_joint_it_is_an_alert_at_once(village: Practice, when: str):
    """The rule of the check-in (core/readiness): it may be an infection of the joint."""
    await village.client(
        "Nell",
        replaced_joints=["knee"],
    )
    await village.at(when)
    if when == "07:00":
        await village.good_morning("nell")
    await village.says("nell", FEVER)

    def ask(unit: UnitOfWork):
        me = get_person(unit, village.ids["nell"])
        return StoreFacts(unit, me, village.clock.now(), reference()).open_alert(me.id)

    alert = await village.app.database.run(ask)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.FEVER,))
    assert FEVER in alert.words


async def test_ill_or_fever_by_a_tap_is_told_of_the_day_too(village: Practice):
    await on_a_walk(village)
    await village.taps("mary", "Something is wrong", "Ill or fever")
    await assert_rest(village)


async def test_of_somebody_else_it_changes_nothing(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my husband has a fever of 39")
    assert (await today(village)).day_plan == DayPlan.AS_PLANNED


async def test_what_was_told_before_it_waits_below_its_advice_and_takes_no_fever_back(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    asked = await village.says("mary", "I slept badly")
    assert "Shall I change it?" in asked[-1]
    said = await village.says("mary", FEVER)
    assert not any("Shall I change it?" in one for one in said)
    await village.says("mary", "yes")
    assert (await today(village)).answers["sleep"] != 4
    await assert_rest(village)


async def test_while_an_answer_is_changed_it_counts(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "check-in")
    await village.taps("mary", "Change")
    await tap(village, "pick=sleep")
    await village.says("mary", FEVER)
    await tap(village, "sleep=5")
    await assert_rest(village)
