"""The week through the chat: length of a session, the coach's days, twice a day, broken off."""

import re

from bot.storage.tables import ClientRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement, finish, labels, tap, values, whole_session


async def card(village: Practice, name: str = "Mary") -> None:
    await village.says("rua", "/clients")
    (found,) = (label for label in labels(village, "rua") if name in label)
    await village.taps("rua", found)


async def today(village: Practice) -> str:
    said = await village.says("mary", "/today")
    return said[-1]


async def test_a_session_keeps_to_the_minutes_that_the_client_set(village: Practice):
    await village.says("mary", "/settings")
    said = await village.taps("mary", "Session length")
    assert "Now: 25 minutes" in said[-1]
    said = await tap(village, "minutes=15")
    assert "15 minutes at most" in said[-1]
    await village.at("07:00")
    await village.good_morning()
    shown = await today(village)
    assert 10 < int(re.search(r"About (\d+) minutes", shown)[1]) <= 15
    assert "2. " in shown


async def test_with_pills_for_pressure_a_quarter_of_an_hour_is_not_offered(village: Practice):
    await village.client("Ines", medicines=["beta_blocker"])
    await village.says("ines", "/settings")
    said = await village.taps("ines", "Session length")
    assert "Now: 40 minutes" in said[-1]
    assert "minutes=15" not in values(village, "ines")


async def test_the_floor_is_for_who_wants_it(village: Practice):
    await village.says("mary", "/settings")
    said = await village.taps("mary", "Floor moves", "No, not")
    assert "no moves on the floor" in said[-1]
    await card(village)
    await village.taps("rua", "About Mary")
    assert "not to the floor" in village.last_to("rua")


async def test_a_holiday_ends_on_a_date_and_whoever_is_back_early_says_so(village: Practice):
    await village.says("mary", "/settings")
    await village.taps("mary", "I am going away")
    said = await village.says("mary", "20 March 2026")
    assert "quiet until 20 March" in said[-1]
    await village.says("mary", "/settings")
    said = await village.taps("mary", "I am going away", "I am back")
    assert "Welcome back" in said[-1]


async def test_a_holiday_to_come_has_a_first_and_a_last_day_by_tapping_and_typing(
    village: Practice,
):
    async def mornings(days: int) -> list[str]:
        heard = len(village.heard("mary"))
        await village.at("12:00", days=days)
        return village.heard("mary")[heard:]

    await village.says("mary", "/settings")
    await village.taps("mary", "I am going away", "I go later")
    said = await village.says("mary", "4 March")
    assert "You go on Wednesday 04 March." in said[-1]
    said = await village.says("mary", "31 February")
    assert "quiet" not in said[-1]
    said = await village.says("mary", "10 March")
    assert "quiet from 04 March to 10 March" in said[-1]
    assert await mornings(0), "Tuesday is before it"
    assert not await mornings(4)
    await village.says("mary", "i am back early")
    assert "Welcome back" in village.last_to("mary")
    assert await mornings(0)

    await village.says("mary", "/settings")
    await village.taps("mary", "I am going away", "I go later", "On Saturday")
    said = await village.taps("mary", "A week")
    assert "quiet from 14 March to 20 March" in said[-1]
    said = await village.says("mary", "/settings")
    assert "You are away from 14 March to 20 March." in said[-1]
    said = await village.taps("mary", "I am going away", "I am back")
    assert "You stay at home" in said[-1]


async def test_the_coach_sees_two_weeks_sets_a_day_and_takes_it_back(village: Practice):
    await card(village)
    said = await village.taps("rua", "Plan of the week")
    assert "• Mon 02 Mar: squat, push, pull, hip bend" in said[-1]
    assert "Next lighter week: from 30 Mar" in said[-1]
    assert "Balance in the last 7 days: 0 minutes, rests counted, on 0 days" in said[-1]
    assert "in the end 120 a week" in said[-1]

    await village.taps("rua", "Wednesday", "✓ Balance")
    assert "set by you" in village.last_to("rua")
    said = await village.taps("rua", "Back")
    mine = said[-1].partition("• Wed 04 Mar (set by you): ")[2].partition("\n")[0]
    assert mine
    assert "balance" not in mine
    await village.at("07:00", days=1)
    await village.good_morning()
    shown = await today(village)
    assert f"{mine.count(',') + 2}. " in shown

    await card(village)
    said = await village.taps("rua", "Plan of the week", "Undo")
    assert "set by you" not in said[-1]


async def test_a_week_is_taken_over_and_the_receivers_limits_stay(village: Practice):
    await village.client("Hemi", spares=["shoulder"], floor=False)
    await card(village, "Hemi")
    await village.taps("rua", "Plan of the week", "Take over a week")
    await village.taps("rua", "Mary")
    assert village.last_to("rua").count("(set by you)") == 14
    await card(village)
    await village.taps("rua", "Plan of the week", "Seated week")
    assert "Seated week" in village.last_to("rua")


async def test_a_second_session_of_a_day_is_balance_with_the_reason(village: Practice):
    await whole_session(village)
    shown = await today(village)
    assert "You have trained today" in shown
    assert "1. " in shown
    assert "2. " not in shown


async def test_what_was_broken_off_is_offered_again_without_what_was_done(village: Practice):
    await village.at("07:00")
    await begin(village)
    await do_movement(village)
    said = await village.taps("mary", "Stop", "I am just done")
    assert "The rest waits here till tonight." in said[-1]
    await village.taps("mary", "Do the rest")
    shown = village.last_to("mary")
    assert "This is the rest of today" in shown
    assert "quat" not in shown
    await village.taps("mary", "Start", "I am ready")
    await finish(village)


async def test_a_session_that_a_bad_pain_broke_off_is_over_for_the_day(village: Practice):
    await village.at("07:00")
    await begin(village)
    planned = [value for value in values(village) if value.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "it_hurt")
    await village.taps("mary", "Knee")
    while "pain=7" not in values(village):
        await village.taps("mary", "Left")
    await tap(village, "pain=7")
    await tap(village, "left=3")
    said = await village.taps("mary", "Stop", "I am just done")
    assert "The rest waits" not in said[-1]
    assert "No more training today" in await today(village)


async def test_the_day_after_a_session_holds_other_movements(village: Practice):
    await whole_session(village)
    await village.at("07:00")
    await village.good_morning()
    shown = await today(village)
    assert "trunk" in shown.lower() or "2. " in shown
    assert "You worked this hard yesterday" not in shown


async def test_what_waits_for_another_day_is_named_once_a_week(village: Practice):
    """Nothing is done in between, so that the same movements wait on both days."""
    await village.client("Ines", session_minutes=21)
    heard = []
    for _ in range(2):
        await village.at("07:00")
        await village.good_morning("ines")
        heard += ["Another day:" in (await village.says("ines", "/today"))[-1] for _ in range(2)]
    assert heard == [True, True, False, False]


async def test_no_session_begins_in_the_middle_of_a_walk(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/walk")
    await village.says("mary", "20")
    await village.says("mary", "3")
    await tap(village, "start")
    await tap(village, "ready")
    await today(village)
    said = await tap(village, "start")
    assert said[-1].startswith("You are on your walk. A session comes after it.")
    await village.taps("mary", "A walk")
    await tap(village, "back")
    said = await tap(village, "talked")
    assert "This week: 20 of 60 minutes." in said[-1]
    await village.says("mary", "walked 70 minutes, could talk")
    assert "This week: 90 minutes. That is this week's walking done." in village.last_to("mary")
    await today(village)
    await tap(village, "start")
    assert "ready" in values(village)


async def test_with_a_long_warm_up_a_quarter_of_an_hour_is_for_something_easy(village: Practice):
    """Warm-up and cool-down of ten minutes each are never cut; nothing hard comes without them."""
    await village.client("Ines", medicines=["beta_blocker"])
    await village.at("07:00")
    await village.good_morning("ines")
    await village.says("ines", "/today")
    assert "length" in values(village, "ines")
    said = await tap(village, "short", "ines")
    assert "Do something easy:" in said[-1]
    assert said[-1].count("•") == 2
    said = await tap(village, "sink", "ines")
    assert said[-1].startswith("Balance at the sink.")
    await tap(village, "steady", "ines")
    said = await village.says("ines", "/today")
    assert "2. " in said[-1], "the whole session waits"


async def test_the_coach_sets_walks_and_no_week_asks_a_fifth_more_than_was_walked(
    village: Practice,
):
    await village.client("Ida", walks_now={"minutes": 10, "days": 3})
    await card(village, "Ida")
    said = await village.taps("rua", "Plan of the week")
    assert "Walks this week: 10 minutes on 3 days" in said[-1]
    await village.taps("rua", "Walks", "20", "2")
    assert "Walks this week: 18 minutes on 2 days (you set 20 on 2" in village.last_to("rua")
    assert village.last_to("ida") == 'Rua has set your walks. You see how long at "A walk".'
    await village.at("07:00")
    await village.good_morning("ida")
    said = await village.says("ida", "/walk")
    assert "a walk of 18 minutes" in said[-1]
    assert "Rua has set this for you." in said[-1]
    await card(village, "Ida")
    await village.taps("rua", "Plan of the week", "Walks", "Worked out")
    assert "Walks this week: 10 minutes on 3 days" in village.last_to("rua")
    assert "you set" not in village.last_to("rua")


async def test_the_coach_orders_a_day_and_sets_its_sets_and_the_client_is_told(village: Practice):
    await card(village)
    said = await village.taps("rua", "Plan of the week", "Tuesday")
    second = re.search(r"^2\. (.+)$", said[-1], re.MULTILINE)[1]
    said = await village.taps("rua", "Order and sets", second)
    assert f"2. {second} (this one)" in said[-1]
    await village.taps("rua", "Earlier")
    assert f"1. {second} (this one)" in village.last_to("rua")
    assert "Earlier" not in labels(village, "rua")
    said = await village.taps("rua", "3 sets")
    assert f"1. {second}: 3 sets (this one)" in said[-1]
    await village.taps("rua", "Back", "Back")
    said = await village.taps("rua", "Back")
    assert f"Tue 03 Mar (set by you): {second.lower()}, " in said[-1]
    assert f"Sets: {second.lower()} 3" in said[-1]
    told = "Rua has changed the plan of your week. You see it in each session."
    assert village.heard("mary").count(told) == 1

    await village.at("07:00")
    await village.good_morning()
    shown = await today(village)
    assert "Your coach has set the moves of this day." in shown
    first = next(line for line in shown.splitlines() if line.startswith("1. "))
    assert "one set of" in first, "new clients begin with one set, whatever is set"


async def test_who_cannot_do_it_today_is_offered_less_or_none(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    said = await village.says("mary", "I can't do it today")
    assert said[-1].startswith("That is fine. No session today.")
    assert "Would less work do?" in said[-1]
    said = await village.taps("mary", "Easier today")
    assert any("easier" in one for one in said), said


async def test_a_day_is_swapped_by_asking_or_by_doing_it(village: Practice):
    def on_mondays(unit: UnitOfWork) -> None:
        unit.session.get_one(ClientRow, village.ids["mary"]).training_days = "1,3,5"
        unit.commit()

    await village.app.database.run(on_mondays)
    said = await village.says("mary", "can I train tomorrow instead?")
    assert said[-1].startswith("Yes, you can swap days.")
    said = await village.says("mary", "could I do my session tomorrow")
    assert said[-1].startswith("Yes, you can swap days.")
    for typed in ("I can't train today", "not today", "can't do my session today, sorry"):
        said = await village.says("mary", typed)
        assert said[-1].startswith("That is fine. No session today."), typed
        assert "Your next one is on" in said[-1]
        assert "does something hurt?" in said[-1]
    await whole_session(village)  # on a Tuesday
    await village.at("07:00")
    await village.good_morning()
    shown = await today(village)
    assert "3. " in shown, "Wednesday is not emptied by it"
    assert "You worked this hard yesterday" not in shown
