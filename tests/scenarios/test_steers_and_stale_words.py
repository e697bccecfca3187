"""What a coach sets, writes and is told never reaches further than what it was meant for."""

from bot.storage.questions.whole_record import export_json
from tests.support.practice import Practice


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
