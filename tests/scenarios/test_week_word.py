"""Once a week: what was done, one true gain, what comes next; never on hold, never a reproach."""

import pytest

from tests.scenarios.test_session_walks import assert_plain
from tests.support.practice import Practice
from tests.support.sessions import tap, whole_session

SUM_UP = "Your week, Mary:"


def summed_up(village: Practice, opening: str = SUM_UP) -> list[str]:
    """The words on a week that Mary has read."""
    return [text for text in village.heard("mary") if text.startswith(opening)]


async def test_on_sunday_evening_the_week_is_told_once_and_a_quiet_one_is_no_reproach(
    village: Practice,
):
    await whole_session(village, left=4)
    await village.says("mary", "walked 20 minutes, could talk")
    await village.at("16:00", days=5)
    assert summed_up(village) == []
    await village.at("17:01")
    [told] = summed_up(village)
    assert "• You trained on 1 day." in told
    assert "• You walked 20 minutes." in told
    assert "That was your first week." in told
    assert "Next week: sessions each day." in told
    await village.at("17:01", days=6)
    assert len(summed_up(village)) == 1
    [quiet] = summed_up(village, "A quiet week, Mary.")
    assert "That is fine." in quiet
    assert_plain([told, quiet])
    await village.at("17:01", days=20)
    assert len(summed_up(village, "A quiet week, Mary.")) <= 2, "then the coach sees the silence"


@pytest.mark.parametrize("paused", ["unseen", "hold", "away"])
async def test_no_cheerful_word_on_hold_or_away(village: Practice, paused: str):
    await village.says("mary", "walked 20 minutes, could talk")
    if paused == "unseen":
        # A day before the week is told: each day on which nobody sees an alert has its reminders.
        await village.at("17:30", days=4)
    if paused in ("unseen", "hold"):
        await village.says("mary", "I have chest pain")
        if paused == "hold":
            await village.taps("rua", "I have seen this")
    else:
        await village.says("mary", "/settings")
        await village.taps("mary", "I am going away")
        await tap(village, "fortnight")
    before = len(village.heard("mary"))
    await village.at("17:30", days=1 if paused == "unseen" else 6)
    assert summed_up(village) == []
    notes = [text for text in village.heard("mary", before) if "still paused" in text]
    assert len(notes) == (1 if paused == "hold" else 0), "once a week: why, and what next"
    assert all("chest pain" in text and "Rua ends the pause" in text for text in notes)


async def test_in_hospital_nobody_is_disturbed(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Pause")
    await tap(village, "coach_hospital", "rua")
    await tap(village, "until~open", "rua")
    before = len(village.heard("mary"))
    await village.at("17:30", days=13)
    assert village.heard("mary", before) == []


async def test_the_client_chooses_the_day_or_none(village: Practice):
    await village.says("mary", "walked 20 minutes, could talk")
    await village.says("mary", "/settings")
    await tap(village, "week_word")
    said = await tap(village, "day=3")
    assert said[-1] == "Saved. I sum up your week on Wednesday."
    await village.at("17:01", days=1)
    assert len(summed_up(village)) == 1
    await village.says("mary", "/settings")
    await tap(village, "week_word")
    await tap(village, "no_word")
    await village.at("17:01", days=7)
    assert len(summed_up(village)) == 1
