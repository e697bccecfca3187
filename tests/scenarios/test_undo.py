"""A set or a walk told by mistake is taken back for five minutes; a pain or a sign stays."""

import json

from bot.flows.client.own_data import EXPORT
from bot.letters.period import period_of
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from bot.trial.acts import CODE
from core.dose.history import Ended
from tests.scenarios.test_session_walks import record
from tests.support.facts import reference
from tests.support.joining import PLAIN, answers_form, question_of, taps_code
from tests.support.practice import Practice
from tests.support.sessions import begin, labels, tap, values


def belief(village: Practice) -> tuple[list[float], list[float]]:
    """All that is believed of Mary's strength and habits, with its uncertainty."""

    def ask(unit: UnitOfWork) -> tuple[list[float], list[float]]:
        me = get_person(unit, village.ids["mary"])
        known = StoreFacts(unit, me, village.clock.now(), reference()).capacity(me.id)
        return known.mean.tolist(), known.spread.tolist()

    return village.app.database.run_now(ask)


async def test_a_set_is_taken_back_and_told_anew(village: Practice):
    await village.at("07:00")
    await begin(village)
    first = village.last_to("mary")
    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[4])
    back = await tap(village, "back")
    assert back[-1] == first, "a count that was tapped by mistake"
    await tap(village, planned[4])
    await tap(village, "left=0")
    assert len(record(village, "mary")[0].sets) == 1

    said = await village.says("mary", "oops")
    assert said[-1] == first
    assert record(village, "mary")[0].sets == ()
    await tap(village, planned[2])
    await tap(village, "left=3")
    (kept,) = record(village, "mary")[0].sets
    assert kept.left == 3

    second = village.last_to("mary").partition("\n\n")[2]
    believed, fewest = belief(village), next(v for v in values(village) if v.startswith("did="))
    await tap(village, fewest)
    await tap(village, "ended=could_not")
    assert belief(village) != believed
    said = await tap(village, "undo")
    assert second in said[-1]
    assert (belief(village), record(village, "mary")[0].sets) == (believed, (kept,))
    await tap(village, fewest)
    await tap(village, "ended=told_to_stop")
    await tap(village, "left=3")
    assert record(village, "mary")[0].sets[1].ended is Ended.TOLD_TO_STOP


async def test_the_coach_takes_a_watched_set_back_by_a_tap(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    believed, plan = belief(village), record(village, "mary")[1]
    await village.says("rua", "/clients")
    await tap(village, next(v for v in values(village, "rua") if v.startswith("open~")), "rua")
    await tap(village, "watched", "rua")
    await tap(village, f"family~{plan.prescriptions[0].family}", "rua")
    await tap(village, "amount~12", "rua")
    said = await tap(village, "left~5", "rua")
    assert "12, 5 or more left, as you saw it." in said[0]
    assert belief(village) != believed
    assert record(village, "mary")[1] != plan
    assert village.last_to("mary").startswith("Your plan for today is new.")

    undo, shown = next(
        (choice.value, one)
        for one in reversed(village.channel.sent)
        if one.address == "rua"
        for row in one.outgoing.choices
        for choice in row
        if choice.value.endswith(".undo")
    )
    said = await village.taps_value("rua", undo, shown.edits or shown.platform_id)
    assert said[0].startswith("Taken back.")
    assert (belief(village), record(village, "mary")[1]) == (believed, plan)
    await tap(village, "cancel", "rua")
    assert record(village, "mary")[0].watched == ()


async def test_after_five_minutes_or_with_a_pain_told_it_stays(village: Practice):
    await village.at("07:00")
    await begin(village)
    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "left=3")
    await village.wait(6)
    said = await village.says("mary", "undo")
    assert "It stays as it is." in said[0]

    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "it_hurt")
    await tap(village, "where=knee")
    await tap(village, "pain=6")
    await tap(village, "left=3")
    assert "undo" not in values(village)
    await village.says("mary", "undo")
    assert len(record(village, "mary")[0].sets) == 2


async def minutes_walked(village: Practice) -> int:
    def ask(unit: UnitOfWork) -> int:
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        return sum(walk.minutes for walk in facts.walks(me.id, 7))

    return await village.app.database.run(ask)


async def test_a_walk_is_taken_back_for_five_minutes(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "I walked for 30 minutes")
    await tap(village, "talked")
    assert await minutes_walked(village) == 30
    said = await village.taps("mary", "Undo")
    assert said[0].startswith("Taken back.")
    assert await minutes_walked(village) == 0
    # The file of one's own data does not call it done, and a letter has no such day.
    await village.says("mary", "my data")
    await village.taps("mary", "A copy of my data")
    content, _ = village.app.contents.load(f"{EXPORT}-{village.ids['mary']}")
    assert [walk["status"] for walk in json.loads(content)["walk"]] == ["undone"]
    with village.app.database.unit() as unit:
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        assert period_of(facts, facts.client(me.id), 28).walks == []

    await village.says("mary", "I walked for 20 minutes")
    await tap(village, "talked")
    await village.wait(6)
    said = await village.says("mary", "oops")
    assert "nothing to take back" in said[0]
    assert await minutes_walked(village) == 20


async def test_a_sign_told_by_mistake_is_a_line_for_the_coach_and_lifts_nothing(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "I fainted this morning")
    before = len(village.heard("rua"))
    said = await village.says("mary", "undo")
    assert any("I cannot take the alert back." in one for one in said)
    await village.wait(10)
    heard = "".join(village.heard("rua", before))
    assert "undo" in heard or "that was a mistake" in heard
    assert "EMERGENCY" in heard, "it is chased on"
    assert not any("Your session today" in one for one in await village.says("mary", "/today"))


async def test_hours_later_undo_still_only_adds_a_line(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "I fainted this morning")
    await village.wait(90)
    before = len(village.heard("rua"))
    said = await village.says("mary", "oops")
    assert any("I cannot take the alert back." in one for one in said)
    assert "that was a mistake" in "".join(village.heard("rua", before))


async def test_a_watched_set_on_hold_says_nothing_of_a_new_plan(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    plan = record(village, "mary")[1]
    await village.says("mary", "crushing chest pain")
    before = village.heard("mary")
    await village.says("rua", "/clients")
    await tap(village, next(v for v in values(village, "rua") if v.startswith("open~")), "rua")
    for value in ("watched", f"family~{plan.prescriptions[0].family}", "amount~12"):
        await tap(village, value, "rua")
    said = await tap(village, "left~5", "rua")
    assert "12, 5 or more left, as you saw it." in said[0]
    assert len(record(village, "mary")[0].watched) == 1
    assert village.heard("mary") == before


async def test_ticks_of_joining_are_changed_while_they_stand_and_taken_back_after(
    village: Practice,
):
    await village.says("rua", "/invite")
    code = CODE.search("\n".join(await village.says("rua", "Ada")))
    assert code is not None
    await village.says("ada", code.group())
    while question_of(village, "ada") != "conditions_heart":
        await answers_form(village, "ada", PLAIN, {})
    await taps_code(village, "ada", "conditions_heart~angina")
    await taps_code(village, "ada", "conditions_heart~pressure")
    await village.wait(4)
    await taps_code(village, "ada", "conditions_heart~angina")
    shown = labels(village, "ada")
    assert [one for one in shown if one.startswith("\N{HEAVY CHECK MARK}")] == [
        "\N{HEAVY CHECK MARK} High blood pressure"
    ]
    # What ends the list carries another sign than what is ticked.
    assert "Done \N{BLACK RIGHT-POINTING TRIANGLE}" in shown
    await taps_code(village, "ada", "conditions_heart~done")
    await village.wait(4)
    assert question_of(village, "ada") == "conditions_other"

    said = await village.says("ada", "Oops, that was wrong")
    assert "Ticked: High blood pressure." in said[-1]
    await taps_code(village, "ada", "conditions_heart~pressure")
    assert "Ticked" not in village.newest_buttons("ada").outgoing.text
    await taps_code(village, "ada", "conditions_heart~none")
    await village.says("ada", "i made a mistake")
    assert question_of(village, "ada") == "conditions_heart"


async def test_an_answer_of_the_check_in_is_taken_back_by_a_word(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these")
    asked = village.last_to("mary")
    await village.taps("mary", "1")
    said = await village.says("mary", "oops")
    assert said[-1] == asked
    await village.taps("mary", "4")
    said = await village.says("mary", "change an answer")
    assert said[-1] == asked
