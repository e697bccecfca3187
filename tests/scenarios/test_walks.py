"""Walks through the chat: planned and watched like a session, told afterwards, typed, on hold."""

from datetime import timedelta

import pytest
from sqlmodel import select

from bot.storage.tables import AlertRow, WalkRow
from bot.storage.told import walk_done
from bot.storage.unit import UnitOfWork
from core.programme.walking import Talk, WalkDone
from tests.scenarios.test_session_walks import assert_plain
from tests.support.practice import Practice
from tests.support.sessions import begin, labels, tap, values


async def walks(village: Practice) -> list[tuple[str, WalkDone]]:
    """Status and content of all walks in the store."""

    def ask(unit: UnitOfWork) -> list[tuple[str, WalkDone]]:
        rows = unit.session.exec(select(WalkRow)).all()
        return [(row.status, walk_done(unit.encryption, row)) for row in rows]

    return await village.app.database.run(ask)


async def alerts(village: Practice) -> int:
    return await village.app.database.run(
        lambda unit: len(unit.session.exec(select(AlertRow)).all())
    )


async def planned(village: Practice, minutes: int = 20, days: int = 3) -> list[str]:
    """The morning, and the first plan of a client who walks so much now."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/walk")
    await village.says("mary", str(minutes))
    return await village.says("mary", str(days))


async def started(village: Practice, minutes: int = 20) -> None:
    await planned(village, minutes)
    await tap(village, "start")
    await tap(village, "ready")


async def test_a_walk_is_planned_from_what_is_done_now_and_logged_by_one_tap(village: Practice):
    said = await planned(village)
    assert "a walk of 20 minutes" in said[-1]
    assert "This week: 0 of 60 minutes." in said[-1]
    assert "I walked 20 minutes, could talk" in labels(village)

    said = await tap(village, "talked")
    assert said == ["Written down: 20 minutes.\nThis week: 20 of 60 minutes."]
    [(status, walk)] = await walks(village)
    assert (status, walk.minutes, walk.talk, walk.steers) == ("done", 20, Talk.SENTENCES, True)


async def test_another_steady_activity_is_planned_watched_and_written_down_by_its_name(
    village: Practice,
):
    """Named once, it stands in place of walks: planned, logged by tap and typed, in the load."""
    await village.client("Ines", falls=0, walking_aid="none", walks_now={"minutes": 20, "days": 3})
    await village.at("07:00")
    await village.good_morning("ines")
    await village.says("ines", "/walk")
    await tap(village, "way", "ines")
    assert {"way_cycle", "way_garden", "way_swim"} <= set(values(village, "ines"))
    said = await tap(village, "way_cycle", "ines")
    assert "Today: 20 minutes of cycling." in said[-1]
    said = await tap(village, "start", "ines")
    assert "helmet" in said[-1]
    said = await tap(village, "ready", "ines")
    assert "20 minutes of cycling" in said[-1]
    await village.wait(21)
    await tap(village, "back", "ines")
    said = await tap(village, "talked", "ines")
    assert said[0].startswith("Written down: 20 minutes of cycling.\nThis week: 20 of 60 minutes.")
    said = await village.says("ines", "gardened half an hour, could talk")
    assert said[0].startswith("Written down: 30 minutes of gardening.\nThis week: 50 of 60")
    done = [(one.activity, one.minutes) for status, one in await walks(village) if status == "done"]
    assert done == [("cycle", 20), ("garden", 30)]
    await village.says("ines", "/walk")
    await tap(village, "way", "ines")
    said = await tap(village, "way_swim", "ines")
    assert "start" not in values(village, "ines"), "in water no phone is heard"
    await village.says("rua", "Ines")
    await village.taps("rua", "About Ines")
    assert "this week: 50 of 60 minutes" in village.last_to("rua")
    assert "swimming" in village.last_to("rua")
    said = await village.says("ines", "I'd rather dance than swim")
    assert said[0].startswith("Good. From now on I plan dancing.")
    assert "of dancing" in said[-1]


@pytest.mark.parametrize("facts", [{"falls": 1}, {"conditions": ["leg_arteries"]}, {"falls": None}])
async def test_who_needs_a_walk_of_a_kind_or_may_fall_is_offered_walks_alone(
    village: Practice, facts: dict
):
    told = {"falls": 0, "walking_aid": "none", "walks_now": {"minutes": 10, "days": 3}, **facts}
    await village.client("Ines", **told)
    await village.at("07:00")
    await village.good_morning("ines")
    await village.says("ines", "/walk")
    assert "talked" in values(village, "ines")
    assert "way" not in values(village, "ines")
    said = await village.says("ines", "can I swim instead?")
    assert said[-1].startswith("I cannot plan swimming for you. Rua can say")
    await village.says("ines", "/walk")
    assert "of swimming" not in village.last_to("ines")


async def test_a_started_walk_is_asked_about_ten_minutes_after_its_end_then_told(
    village: Practice,
):
    await started(village)
    before = len(village.heard("mary"))
    await village.wait(29)
    assert len(village.heard("mary")) == before
    await village.wait(2)
    assert village.last_to("mary").startswith("All right? Mary, you should be back by now.")
    assert await alerts(village) == 0
    await village.wait(6)
    assert await alerts(village) == 1
    assert any("URGENT: Mary" in text for text in village.heard("rua"))
    assert [status for status, _ in await walks(village)] == ["stopped"]


async def test_i_am_back_ends_the_watch_and_asks_for_breath(village: Practice):
    await started(village)
    await village.wait(19)
    said = await tap(village, "back")
    assert "Could you talk in whole sentences" in said[-1]
    await tap(village, "short")
    await village.wait(60)
    assert await alerts(village) == 0
    assert (await walks(village))[-1][1].talk is Talk.SHORT


async def test_fine_is_a_sign_of_life_and_the_watch_goes_on(village: Practice):
    await started(village)
    await village.wait(31)
    await tap(village, "fine")
    await village.wait(11)
    assert village.last_to("mary").startswith("All right?")
    assert await alerts(village) == 0


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("walked half an hour", 30),
        ("I went for a walk of 25 minutes this morning", 25),
        ("20 minutes walk", 20),
        ("walked for forty five mins with the dog", 45),
    ],
)
async def test_a_typed_walk_is_taken_up(village: Practice, typed: str, minutes: int):
    said = await village.says("mary", typed)
    assert said[-1].startswith(f"{minutes} minutes. Could you talk")
    await tap(village, "talked")
    [(_, walk)] = await walks(village)
    assert walk.minutes == minutes


async def test_what_is_typed_whole_is_written_down_at_once(village: Practice):
    said = await village.says("mary", "walked 20 minutes yesterday, could talk")
    assert said[-1].startswith("Written down: 20 minutes.")
    today = village.clock.now().astimezone().date()
    [(_, walk)] = await walks(village)
    assert abs(today - walk.on) <= timedelta(days=2)


@pytest.mark.parametrize(
    "typed",
    ["walked 20 minutes and my knee hurt", "I can't walk 20 minutes", "will I walk 20 minutes?"],
)
async def test_a_walk_told_with_anything_else_is_for_somebody_to_read(
    village: Practice, typed: str
):
    await village.says("mary", typed)
    assert await walks(village) == []
    assert "talked" not in values(village)


async def test_on_hold_no_walk_is_planned_and_one_that_was_taken_steers_nothing(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "Yes")
    said = await village.says("mary", "/walk")
    assert "I plan no walk until Rua has ended the pause." in said[-1]
    assert "start" not in values(village)
    await tap(village, "other")
    await village.says("mary", "40")
    said = await tap(village, "talked")
    assert "Your training is paused. So I only note it" in said[-1]
    [(_, walk)] = await walks(village)
    assert not walk.steers


async def test_a_sign_on_the_way_ends_the_walk_and_its_watch(village: Practice):
    await started(village)
    await village.says("mary", "I have chest pain")
    assert [status for status, _ in await walks(village)] == ["stopped"]
    await village.wait(60)
    assert not any("you should be back by now" in text for text in village.heard("mary"))


async def test_without_the_check_in_none_is_planned_and_old_signs_are_asked_again(
    village: Practice,
):
    said = await village.says("mary", "/walk")
    assert "I need your morning check-in first." in said[-1]
    await planned(village)
    await village.wait(180)
    await village.says("mary", "/walk")
    said = await tap(village, "start")
    assert "any chest pain" in said[-1]
    said = await tap(village, "none")
    assert said[-1].startswith("Before you go:")


async def test_numb_feet_are_looked_at_before_and_after_and_a_sore_is_told(village: Practice):
    await village.client("Nell", conditions=["nerve_loss"])
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/walk")
    await village.says("nell", "10")
    await village.says("nell", "3")
    await tap(village, "start", "nell")
    assert "Look at both feet" in village.last_to("nell")
    await tap(village, "ready", "nell")
    await village.wait(10)
    await tap(village, "back", "nell")
    said = await tap(village, "talked", "nell")
    assert "Is there a sore" in said[-1]
    said = await tap(village, "feet_sore", "nell")
    assert any("on Rua's list" in text for text in said)
    assert any("A sore or red spot on a foot" in text for text in village.heard("rua"))


async def test_a_wheelchair_gets_no_walk(village: Practice):
    await village.client("Wim", walking_aid="wheelchair", walks_now={"minutes": 0, "days": 0})
    await village.at("07:00")
    await village.good_morning("wim")
    said = await village.says("wim", "/walk")
    assert said[-1].startswith("I plan no walks for you.")


async def test_walks_count_in_the_load_and_on_the_coachs_pages(village: Practice):
    await planned(village)
    await tap(village, "talked")
    said = await village.says("rua", "/clients")
    assert "walked 20 min in 7 days" in said[-1]
    await village.says("rua", "Mary")
    await village.taps("rua", "About Mary")
    assert "Walks this week: 20 of 60 minutes, on 1 of 3 days" in village.last_to("rua")
    await tap(village, "card", "rua")
    said = await tap(village, "load", "rua")
    assert "Walks in the last seven days: 20 minutes (1)" in said[-1]
    said = await tap(village, "measures", "rua")
    assert "60" in said[-1], "effort 3 times 20 minutes"


async def test_all_that_is_said_of_walks_is_plain(village: Practice):
    frail = {"walking_aid": "stick", "falls": 1, "conditions": ["lung", "diabetes", "angina"]}
    await village.client("Ida", walks_now={"minutes": 10, "days": 3}, **frail)
    await village.at("07:00")
    await village.good_morning("ida")
    since = len(village.heard("ida"))
    await village.says("ida", "/walk")
    await tap(village, "start", "ida")
    await tap(village, "ready", "ida")
    await tap(village, "back", "ida")
    await tap(village, "short", "ida")
    await tap(village, "feet_sore", "ida")
    await village.says("ida", "/walk")
    await tap(village, "other", "ida")
    assert_plain([text for text in village.heard("ida", since) if "list" not in text])


async def test_no_walk_begins_in_the_middle_of_a_session(village: Practice):
    await village.at("07:00")
    await begin(village)
    said = await village.says("mary", "/walk")
    assert said[-1].startswith("Your session is still on.")


async def test_where_sugar_can_fall_it_is_asked_before_a_walk_too(village: Practice):
    """Under 5.0 with a medicine that can cause lows: carbohydrate first (Colberg 2016, ADA)."""
    diabetic = {"conditions": ["diabetes"], "medicines": ["sulfonylurea"]}
    limits = {"numbers": ["glucose"], "glucose_unit": "mmol/L"}
    await village.client("Hemi", walks_now={"minutes": 10, "days": 3}, limits=limits, **diabetic)
    await village.at("07:00")
    await village.good_morning("hemi")
    await village.says("hemi", "6.4")
    await village.wait(60)
    await village.says("hemi", "/walk")
    said = await tap(village, "start", "hemi")
    assert "What is your blood sugar now" in said[-1]
    said = await village.says("hemi", "4.6")
    assert "Eat a snack first" in said[-1]
    said = await village.says("hemi", "5.6")
    assert said[-1].startswith("Before you go:")
    assert "Something sweet with you" in said[-1]


async def test_a_restart_in_the_middle_of_a_walk_forgets_nothing(village: Practice):
    await started(village)
    await village.wait(5)
    await village.restart()
    await village.wait(27)
    assert village.last_to("mary").startswith("All right?")
    await tap(village, "fine")
    said = await tap(village, "back")
    assert "Could you talk" in said[-1]
