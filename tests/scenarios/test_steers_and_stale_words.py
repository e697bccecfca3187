"""What a coach sets, writes and is told never reaches further than what it was meant for."""

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
