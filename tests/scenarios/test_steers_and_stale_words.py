"""What a coach sets, writes and is told never reaches further than what it was meant for."""

from bot.storage.questions.whole_record import export_json
from bot.storage.tables import ClientRow
from tests.support.practice import Practice


def _button(village: Practice, value: str, who: str) -> tuple[str, str]:
    """A button of the newest message with buttons: what it sends, and that message's id."""
    shown = village.newest_buttons(who)
    sent = next(c.value for row in shown.outgoing.choices for c in row if c.value.endswith(value))
    return sent, shown.edits or shown.platform_id


async def _ill(village: Practice) -> None:
    await village.says("mary", "check-in")
    await village.taps("mary", "Change", "Ill or in pain", "Ill or fever")


async def _steers(village: Practice, *labels: str) -> None:
    await village.says("rua", "Mary")
    await village.taps("rua", "Change the plan", *labels)


async def test_taking_an_ease_back_never_lifts_a_rest_day(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await _steers(village, "Ease today")
    await _ill(village)
    await village.taps("mary", "Fever or chills")
    await _steers(village, "Undo")
    said = await village.says("mary", "walk")
    assert "How many minutes" not in said[-1]


async def test_a_half_told_illness_opens_no_walk(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await _ill(village)
    said = await village.says("mary", "walk")
    assert "How many minutes" not in said[-1]


async def test_words_typed_over_another_clients_new_alert_go_to_nobody(village: Practice) -> None:
    await village.client("Ann")
    await village.says("rua", "Mary")
    await village.taps("rua", "Write to them")
    await village.wait(1)
    await village.says("ann", "I fainted this morning")
    await village.says("rua", "Ambulance is coming to you, Ann")
    assert not any("Ambulance" in one for one in village.heard("mary"))


async def test_words_on_an_open_abuse_alert_are_in_no_copy(village: Practice) -> None:
    await village.says("mary", "my husband hits me and I am scared of him")
    await village.wait(60 * 50)
    await village.says("mary", "the belt of Boris is in the shed now")
    copy = await village.app.database.run(lambda unit: export_json(unit, village.ids["mary"]))
    assert b"Boris" not in copy


async def test_the_answer_goes_to_the_stand_in_who_wrote(village: Practice) -> None:
    await village.coach("Sam", backup_of="rua")
    await village.says("sam", "Mary")
    await village.taps("sam", "Write to them")
    await village.says("sam", "How is the knee?")
    await village.taps("mary", "Answer Sam")
    await village.says("mary", "better thanks")
    assert "You wrote: “How is the knee?”" in village.heard("sam")[-1]
    assert "better thanks" in village.heard("sam")[-1]
    assert "Sam wrote: “How is the knee?”" in village.heard("rua")[-1]


async def test_a_yes_to_another_coach_counts_for_two_weeks(village: Practice) -> None:
    await village.coach("Sam")
    await village.says("rua", "Mary")
    await village.taps("rua", "More", "Another coach", "Sam")
    yes = _button(village, ".yes", "mary")
    await village.taps("mary", "No")
    await village.wait(60 * 24 * 15)
    await village.taps_value("mary", *yes)
    assert (
        await village.app.database.run(
            lambda unit: unit.session.get_one(ClientRow, village.ids["mary"]).coach_id
        )
        == (village.ids["rua"])
    )


async def test_a_screen_of_another_day_eases_no_day(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await _steers(village)
    ease = _button(village, "ease_today", "rua")
    await village.at("07:00")
    await village.good_morning()
    said = await village.taps_value("rua", *ease)
    assert "Nothing was changed" in said[-1]
    assert not any("easy day" in one for one in village.heard("mary"))
