"""A tap counts once, for the screen that it was on; an old button never acts on today."""

from sqlmodel import select

from bot.storage.tables import NoteRow, PainRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement, values


async def taps_twice(village: Practice, who: str, value: str) -> list[str]:
    """The newest button with this value, tapped twice by a shaky thumb; gives the second answer."""
    shown = village.newest_buttons(who)
    found = [c.value for row in shown.outgoing.choices for c in row if c.value.endswith(value)]
    assert found, f"no button {value!r} among {values(village, who)}"
    message = shown.edits or shown.platform_id
    await village.taps_value(who, found[0], message)
    return await village.taps_value(who, found[0], message)


async def test_the_warm_up_goes_on_by_one_part(village: Practice):
    await village.client("Hemi", conditions=["pressure"])
    await village.at("07:00")
    await village.good_morning("hemi")
    await village.says("hemi", "/today")
    await village.taps("hemi", "Start", "I am ready")
    assert "1 of 3" in village.last_to("hemi")

    said = await taps_twice(village, "hemi", ".done")

    assert said == []
    assert "2 of 3" in village.last_to("hemi")


async def test_a_tick_of_the_joining_stays_ticked(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Limits", "Numbers")
    await taps_twice(village, "rua", "~pulse")

    ticked = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]

    assert "✔ Resting pulse" in ticked


async def test_two_quick_ticks_on_one_screen_both_count(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Limits", "Numbers")
    shown = village.newest_buttons("rua")
    offered = [c.value for row in shown.outgoing.choices for c in row]
    for key in ("~pulse", "~weight"):
        value = next(one for one in offered if one.endswith(key))
        await village.taps_value("rua", value, shown.edits or shown.platform_id)

    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    assert {"✔ Resting pulse", "✔ Weight"} <= set(labels)


async def test_the_last_answer_of_a_check_in_is_kept_once(village: Practice):
    def pains(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(PainRow)).all())

    await village.at("07:00")
    await village.taps("mary", "New pain", "Knee", "2", "Since today", "4", "4", "4", "4")

    said = await taps_twice(village, "mary", ".mood=4")

    assert said == []
    assert await village.app.database.run(pains) == 1


async def test_words_are_passed_on_once(village: Practice):
    def notes(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(NoteRow)).all())

    await village.says("mary", "the postman was late again")
    await taps_twice(village, "mary", ".send")

    assert await village.app.database.run(notes) == 1


async def test_a_set_is_counted_for_the_card_it_was_on(village: Practice):
    await village.at("07:00")
    await begin(village)
    card = village.newest_buttons("mary")
    did = [c.value for row in card.outgoing.choices for c in row if ".did=" in c.value]
    await do_movement(village)
    assert "2 of " in village.last_to("mary")

    said = await village.taps_value("mary", did[3], card.edits or card.platform_id)

    assert "older message" in said[0]
    assert "2 of " in said[1], "the movement that is shown is not counted as done"


async def test_stop_is_heard_from_an_older_card_too(village: Practice):
    await village.at("07:00")
    await begin(village)
    card = village.newest_buttons("mary")
    stop = next(c.value for row in card.outgoing.choices for c in row if c.value.endswith(".stop"))
    await do_movement(village)

    said = await village.taps_value("mary", stop, card.edits or card.platform_id)

    assert "Is something wrong" in said[0]


async def test_a_button_of_another_day_says_its_date_and_shows_today(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    shown = village.newest_buttons("mary")
    see = next(c.value for row in shown.outgoing.choices for c in row if ".see=" in c.value)
    await village.at("07:00")
    await village.good_morning()

    said = await village.taps_value("mary", see, shown.edits or shown.platform_id)

    assert said[0].startswith("That button is from Tuesday 3 March.")
    assert "session today" in (await village.taps("mary", "Show today"))[-1]


async def test_a_button_without_a_number_is_still_understood(village: Practice):
    await village.at("07:00")
    shown = village.newest_buttons("mary")
    new = next(c.value for row in shown.outgoing.choices for c in row if "nothing" in c.value)
    flow, ref, value = new.split(".")
    old = f"{flow}.{ref.partition('-')[0]}.{value}"

    said = await village.taps_value("mary", old, shown.platform_id)

    assert "2 of 6" in said[0]


async def test_a_note_is_filed_under_the_client_whose_card_is_open(village: Practice):
    def notes(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(NoteRow)).all())

    await village.client("Hemi")
    await village.says("rua", "Mary")
    said = await village.taps("rua", "Notes", "Write a note")
    assert "Mary" in said[0]
    assert "Hemi" in (await village.says("rua", "Hemi"))[0]

    await village.says("rua", "walks well with the new stick")

    assert await village.app.database.run(notes) == 0


async def test_a_word_of_the_menu_ends_a_coach_s_question(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Notes", "Write a note")

    assert "Your clients" in (await village.says("rua", "clients"))[0]
    said = await village.says("rua", "walks well with the new stick")

    assert "did not understand" in said[0]


async def test_a_question_of_nine_days_ago_does_not_come_back(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Pause training")
    asked = village.newest_buttons("rua")
    ill = asked.outgoing.choices[0][0].value
    await village.wait(61)

    said = await village.says("rua", "Ill")
    assert "did not understand" in said[0]
    await village.wait(60 * 24 * 9)
    said = await village.taps_value("rua", ill, asked.platform_id)

    assert "That button is from Monday 2 March." in said[0]
    assert "pause" not in "".join(said)


async def test_lift_can_be_tapped_again_once_the_alert_was_seen(village: Practice):
    await village.says("mary", "my chest feels tight")
    alert = village.newest_buttons("rua")
    offered = [c.value for row in alert.outgoing.choices for c in row]
    seen, lift = (next(one for one in offered if one.endswith(end)) for end in (".seen", ".lift"))
    assert "can't end yet" in (await village.taps_value("rua", lift, alert.platform_id))[0]
    await village.taps_value("rua", seen, alert.platform_id)

    said = await village.taps_value("rua", lift, alert.platform_id)

    assert "Who has cleared Mary" in said[0]


async def test_yesterday_s_check_in_answers_nothing_of_today(village: Practice):
    await village.at("07:00")
    shown = village.newest_buttons("mary")
    nothing = shown.outgoing.choices[0][0].value
    await village.at("07:00")

    said = await village.taps_value("mary", nothing, shown.platform_id)

    assert said[0].startswith("That button is from Tuesday 3 March.")
    assert "1 of 6" in said[1], "today's first question is still open"


async def test_a_wish_tapped_twice_changes_the_movement_once(village: Practice):
    await village.client("Hemi", birth_year=1990, sex="m")
    await village.at("07:00")
    await begin(village, "hemi")
    for _ in range(2):
        shown = village.newest_buttons("hemi")
        easier = next(c.value for row in shown.outgoing.choices for c in row if c.label == "Easier")
        await village.taps_value("hemi", easier, shown.edits or shown.platform_id)
        once = village.last_to("hemi")
        before = len(village.channel.sent)

        await village.taps_value("hemi", easier, shown.edits or shown.platform_id)

        assert len(village.channel.sent) == before, "the second tap says and changes nothing"
        assert village.last_to("hemi") == once


async def test_one_yes_now_under_an_old_emergency_does_what_two_do(village: Practice):
    """What is said next is said of the whole alert, which is an emergency still."""
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(30 * 60)
    await village.says("mary", "had a funny turn i think")
    await village.taps("mary", "Yes, now")

    await village.says("mary", "yes I have called")

    assert "They say they have called for help." in village.last_to("rua")
