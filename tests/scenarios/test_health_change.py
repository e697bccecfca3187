"""Once a month: what has changed in health, in one tap, and what follows from it."""

import pytest
import textstat

from bot.flows.desk import AT_ONCE
from core.client.screening import HealthChange
from tests.faults.kills import words_of_alerts
from tests.support.practice import Practice
from tests.support.talk import words

CLEARED_TWO_MONTHS_AGO = "2026-01-05"


async def asked(village: Practice) -> None:
    """Nell has done her check-in and reads the monthly question."""
    await village.client("Nell", cleared_on=CLEARED_TWO_MONTHS_AGO)
    await village.at("07:00")
    await village.good_morning("nell")


async def test_the_question_comes_a_month_after_the_clearance_and_then_not_for_a_month(
    village: Practice,
):
    await asked(village)
    assert "has anything in your health changed" in village.last_to("nell")

    await village.taps("nell", "No, nothing new")
    assert "train as planned" in village.last_to("nell")

    await village.at("07:00")
    await village.good_morning("nell")
    assert "has anything in your health changed" not in village.last_to("nell")


@pytest.mark.parametrize(
    ("tapped", "coach_reads"),
    [
        ("A doctor found something new", "a new diagnosis"),
        ("I had an operation", "an operation"),
        ("A new kind of pill", "a new medicine"),
        ("I was in hospital", "a stay in hospital"),
    ],
)
async def test_one_tap_ends_the_clearance_and_the_coach_reads_of_it_at_once(
    village: Practice, tapped: str, coach_reads: str
):
    await asked(village)
    await village.taps("nell", tapped)
    assert f"Health news: {coach_reads}." in village.last_to("rua")
    assert "No plan until you clear Nell again." in village.last_to("rua")
    assert "must clear you again" in village.last_to("nell")

    await village.says("nell", "I started a new tablet on Monday")
    assert "a new tablet" in village.last_to("rua")
    assert "must clear you" in (await village.says("nell", "/today"))[-1]
    await village.says("rua", "/clients")
    assert "waits for your" in village.last_to("rua")


async def test_no_words_need_to_follow_the_tap(village: Practice):
    await asked(village)
    await village.taps("nell", "I had an operation", "Skip")
    assert "must clear you" in (await village.says("nell", "/today"))[-1]


async def test_a_new_dose_eases_today_and_the_two_weeks_and_keeps_the_clearance(
    village: Practice,
):
    """Ours, the careful side: pressure and balance settle with a new dose."""
    await asked(village)
    await village.says("nell", "/today")
    await village.taps_value("nell", _value(village, "A new dose of my pills"))
    assert "The next two weeks are eased." in village.last_to("rua")
    await village.taps("nell", "Skip")
    assert "Today: take it easier." in village.last_to("nell")
    assert "Your pills have just changed" in village.last_to("nell")
    assert "Today we go easier." in (await village.says("nell", "/today"))[-1]

    await village.at("07:00", days=12)
    await village.good_morning("nell")
    assert "Today: take it easier." in village.last_to("nell")
    await village.at("07:00")
    await village.good_morning("nell")
    assert "Today: train as planned." in village.last_to("nell")


def _value(village: Practice, label: str) -> str:
    shown = [one for one in village.channel.sent if one.address == "nell"]
    return next(
        choice.value
        for one in reversed(shown)
        for row in one.outgoing.choices
        for choice in row
        if choice.label == label
    )


async def test_after_a_new_medicine_and_a_new_clearance_the_days_are_eased(village: Practice):
    await asked(village)
    await village.taps("nell", "A new kind of pill", "Skip")
    await opens_card(village, "Nell")
    await village.taps("rua", "About Nell")
    assert "A pill or dose changed on 03 Mar" in village.last_to("rua")
    await village.taps("rua", "Card", "“Nell” and 111 are right: clear")
    await village.says("rua", "Dr Singh, by letter")
    await village.taps("rua", "Today")
    await village.taps("rua", "3 months")
    await village.at("07:00")
    await village.good_morning("nell")
    assert "Today: take it easier." in village.last_to("nell")


async def test_the_coach_may_say_that_no_medicine_changed(village: Practice):
    await village.client("Nell", medicine_changed_on="2026-03-01")
    await opens_card(village, "Nell")
    await village.taps("rua", "Limits and aim", "Last change of a pill", "No change")
    assert "Last change of a pill or dose: none told" in village.last_to("rua")
    await village.at("07:00")
    await village.good_morning("nell")
    assert "Today: train as planned." in village.last_to("nell")


async def test_the_coach_enters_a_change_of_dose_that_she_heard_of(village: Practice):
    await opens_card(village, "Mary")
    await village.taps("rua", "Limits and aim", "Last change of a pill", "Today")
    await village.at("07:00")
    await village.good_morning()
    assert "Today: take it easier." in village.last_to("mary")


def _labels(village: Practice, phone: str) -> list[str]:
    return [c.label for row in village.newest_buttons(phone).outgoing.choices for c in row]


async def opens_card(village: Practice, name: str) -> None:
    await village.says("rua", "/clients")
    labels = _labels(village, "rua")
    await village.taps("rua", next(label for label in labels if name in label))


@pytest.mark.parametrize("told_to", ["Rua", ""], ids=["told", "nobody told"])
def test_the_monthly_question_is_plain(told_to: str):
    """Grade 6 or lower (AMA and NIH advise 6 for patients)."""
    values = {"coach": "Rua", "ends": True, "change": "operation", "again": False}
    values |= {"told_to": told_to, "emergency": "111", "ways": AT_ONCE, "of_whom": ""}
    names = ("ask_health_change", "what_changed", "health_changed")
    texts = [words().render(f"checkin/{name}", values) for name in names]
    assert set(texts[0].labels) == set(HealthChange)
    taps = [f"{label}." for label in texts[0].labels.values()]
    prose = " ".join([*(text.text for text in texts), *taps])
    assert textstat.flesch_kincaid_grade(prose) <= 6


@pytest.mark.parametrize(
    ("typed", "coach_reads"),
    [
        ("my doctor told me not to exercise", "told not to exercise"),
        ("The doctor told me to rest for two weeks", "told not to exercise"),
        ("I was in hospital overnight", "a stay in hospital"),
        ("I got a pacemaker on Friday", "an operation"),
        ("I am pregnant", "a new diagnosis"),
    ],
)
async def test_news_in_own_words_reach_the_coach_at_once_and_end_the_clearance(
    village: Practice, typed: str, coach_reads: str
):
    """The treating team's word overrides every plan."""
    await village.at("07:00")
    await village.good_morning("mary")
    said = await village.says("mary", typed)
    assert "Did I get this right" in said[-1]
    await village.says("rua", "/clients")
    kept = village.app.database.run_now(words_of_alerts)
    assert typed in kept

    await village.taps("mary", "Yes")
    assert any(f"Health news: {coach_reads}." in text for text in village.heard("rua"))
    await village.taps("mary", "Skip")
    assert "must clear you" in (await village.says("mary", "/today"))[-1]


async def test_news_in_own_words_count_when_nobody_answers(village: Practice):
    await village.at("07:00")
    await village.good_morning("mary")
    await village.says("mary", "my doctor told me to rest for two weeks")
    await village.wait(6)

    assert any("I have not heard from you" in text for text in village.heard("mary"))
    assert "must clear you" in (await village.says("mary", "/today"))[-1]


async def test_words_that_were_no_news_change_nothing(village: Practice):
    await village.at("07:00")
    await village.good_morning("mary")
    await village.says("mary", "I was in hospital to visit my sister")
    said = await village.says("mary", "no, that was not me")
    said = await village.says("mary", "not me")

    assert "stay for Rua to read" in said[-1]
    assert "Your session today" in (await village.says("mary", "/today"))[-1]


async def test_asked_again_days_later_it_does_not_say_once_more_that_the_coach_was_told(
    village: Practice,
):
    await asked(village)
    await village.taps("nell", "I had an operation")
    assert "I have told Rua." in village.last_to("nell")

    await village.at("18:00", days=4)
    again = "\n".join(await village.says("nell", "what do you think of the weather"))

    assert "What is new? Please type it in a few words." in again
    assert "I have told" not in again
