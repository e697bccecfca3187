"""Somebody who does not answer is not pestered, and whoever told of a sign is not let go."""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise

import pytest

from bot.flows.reasons import Reason
from bot.flows.record.planning import gap_before, training_status
from bot.flows.safety.open_signs import open_question
from bot.schedule.silence import FIRST_NOTE
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from core.dose.gap import NO_LOSS, GapCause, GapLoss
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import begin, finish

SILENT_DAYS = 21
MOST_MESSAGES = 8


async def test_three_silent_weeks_are_few_messages_and_no_two_alike(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    before = len(village.heard("mary"))
    for _ in range(SILENT_DAYS):
        await village.at("06:00")
    said = village.heard("mary", before)

    assert 4 <= len(said) <= MOST_MESSAGES
    assert all(one != two for one, two in pairwise(said))


async def after_a_week(village: Practice) -> None:
    """The note of the first silent week is the newest message."""
    await village.at("07:00")
    await village.good_morning()
    await village.at("07:01", days=FIRST_NOTE)
    assert village.last_to("mary").startswith("Hello Mary. I have not heard from you for 8 days.")


async def test_the_note_leads_to_a_time_away(village: Practice):
    await after_a_week(village)
    await village.taps("mary", "I am away")
    said = await village.taps("mary", "A week")

    assert said[-1].startswith("Saved. I will be quiet")


async def test_too_much_reaches_the_coach(village: Practice):
    await after_a_week(village)
    await village.taps("mary", "It is too much")

    assert village.last_to("mary").startswith("Thank you. I have passed it on to Rua.")
    assert "it is too much" in village.last_to("rua")


@contextmanager
def marys_facts(village: Practice) -> Iterator[StoreFacts]:
    with village.app.database.unit() as unit:
        me = get_person(unit, village.ids["mary"])
        yield StoreFacts(unit, me, village.clock.now(), reference())


def reasons_told(village: Practice) -> list[str]:
    """Codes of the lines about Mary for her coach."""
    with marys_facts(village) as facts:
        told = [word for alert in facts.alerts([facts.me.id], 7) for word in alert.words]
        return [word.code for word in told if isinstance(word, Reason)]


async def test_silence_after_an_illness_is_asked_about_each_day(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "Ill or fever", "Fever")
    before = len(village.heard("mary"))
    await village.at("07:01", days=3)

    assert len(village.heard("mary", before)) >= 3
    assert "silent_since_told" in reasons_told(village)


async def test_silence_after_unclear_words_is_no_open_question(village: Practice):
    """Only words that were asked about wait for a yes or no, and only for two minutes."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "something is wrong with me")
    await village.wait(3)
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    await village.at("07:01", days=1)

    assert "silent_since_told" in reasons_told(village)
    with marys_facts(village) as facts:
        assert open_question(facts) is None


@pytest.mark.parametrize(
    ("answered", "new"),
    [("all", "8:00"), ("nothing", "8:00"), ("half", "9:30"), ("all", "6:30"), ("nothing", "6:30")],
)
async def test_a_changed_time_for_the_check_in_brings_no_second_one_today(
    village: Practice, answered: str, new: str
):
    await village.at("07:00")
    if answered == "half":
        await village.taps("mary", "None of these", "4")
    elif answered == "all":
        await village.good_morning()
    await village.says("mary", "/settings")
    await village.taps("mary", "Check-in time")
    await village.says("mary", new)
    before = len(village.heard("mary"))
    await village.at("23:00")
    assert not any("Good morning" in one for one in village.heard("mary", before))

    await village.at(f"0{new}", days=0)
    await village.wait(1)
    asked = [one for one in village.heard("mary", before) if "Any of these today" in one]
    assert sum("Good morning" in one for one in asked) == 1, asked


async def test_a_time_changed_before_the_check_in_came_moves_it(village: Practice):
    await village.at("06:30")
    await village.says("mary", "/settings")
    await village.taps("mary", "Check-in time", "8:00")
    before = len(village.heard("mary"))
    await village.at("07:30")
    assert village.heard("mary", before) == []
    await village.at("08:01")
    assert sum("Good morning" in one for one in village.heard("mary", before)) == 1


async def back_after(village: Practice, days: int, answer: str) -> list[str]:
    """Trained once, silent for days, and then the answer to how that time was."""
    await village.at("07:00")
    await begin(village)
    await finish(village)
    await village.at("07:30", days=days)
    asked = await village.says("mary", "check-in")
    assert "How was that time?" in asked[-1], asked
    return await village.taps("mary", answer)


def loss_today(village: Practice) -> GapLoss:
    with marys_facts(village) as facts:
        place = training_status(facts)
        assert place.checkin is not None
        return gap_before(place.record, place.checkin, facts)


async def test_an_illness_told_on_the_return_lowers_the_first_session_and_reaches_the_coach(
    village: Practice,
):
    said = await back_after(village, 12, "I was ill")

    assert "Any of these today?" in said[-1]
    assert "gap_ill" in reasons_told(village)
    # From memory: about one percent a day of lying ill (core/dose/gap.py).
    assert loss_today(village).cause is GapCause.ILL
    assert loss_today(village).lost == pytest.approx(0.11)


async def test_a_time_that_was_well_takes_nothing_off(village: Practice):
    await back_after(village, 12, "I was well, or away")

    assert reasons_told(village) == []
    assert loss_today(village) == NO_LOSS


async def test_a_stay_in_hospital_is_asked_about_as_news_of_the_health(village: Practice):
    said = await back_after(village, 12, "Hospital, a fall, or a new illness")

    assert "health" in said[-1]
    assert "gap_hospital" in reasons_told(village)


async def test_a_silence_that_is_known_or_short_is_not_asked_about(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at("07:01", days=6)
    said = await village.says("mary", "check-in")

    assert not any("How was that time?" in one for one in said)
