"""How hard today: talk and effort for everybody, the pulse only where heart and pills allow one."""

import re

import pytest
import textstat

from bot.flows.record.effort import USED
from core.intensity.effort_guide import IntensityCode
from tests.support.practice import Practice
from tests.support.talk import words

TALK = "You can talk in full sentences without stopping for breath."
EFFORT = "How hard: 2 to 4 out of ten"


async def asks_how_hard(village: Practice, who: str, **morning: str) -> str:
    """The morning, then the button on today's list; gives what is said."""
    await village.at("07:00")
    await village.good_morning(who)
    for answer in morning.values():
        await village.says(who, answer)
    await village.says(who, "/today")
    await village.taps(who, "How hard to work")
    return village.last_to(who)


async def test_everybody_reads_talk_and_effort_and_a_plain_client_her_pulse(village: Practice):
    """A woman of 76: the lowest maximum is 206 - 0.88 x 76 = 139 (Gulati 2010)."""
    said = await asks_how_hard(village, "mary")
    assert TALK in said
    assert EFFORT in said
    assert "Keep your pulse between 69 and 97. Never go over 105." in said
    assert "You can't talk. Stop and rest." in said


@pytest.mark.parametrize(
    ("answers", "why", "coach_reads"),
    [
        ({"medicines": ["beta_blocker"]}, "Your pills change your pulse", "beta blocker"),
        ({"medicines": ["digoxin"]}, "Your pills change your pulse", "digoxin"),
        ({"medicines": ["unknown"]}, "I don't know all your pills", "a medicine that is not known"),
        ({"conditions": ["pacemaker"]}, "Your pacemaker sets your pulse", "a pacemaker"),
        ({"conditions": ["rhythm"]}, "Your heart beat is not even", "an uneven rhythm"),
        ({"conditions": ["heart_transplant"]}, "Your heart speeds up late", "a transplanted heart"),
    ],
)
async def test_where_the_pulse_misleads_it_is_hidden_and_both_read_why(
    village: Practice, answers, why, coach_reads
):
    await village.client("Nell", **answers)
    said = await asks_how_hard(village, "nell")
    assert why in said
    assert TALK in said
    assert EFFORT in said
    assert "between" not in said
    await village.taps("nell", "No")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    assert why in village.last_to("nell")

    await opens_card(village, "Nell")
    await village.taps("rua", "About Nell")
    assert f"Pulse: hidden because of {coach_reads}" in village.last_to("rua")


async def opens_card(village: Practice, name: str) -> None:
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    await village.taps("rua", next(label for label in labels if name in label))


async def test_before_each_session_the_ready_check_says_how_hard(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start")
    assert "Before you start" in village.last_to("mary")
    assert TALK in village.last_to("mary")
    assert EFFORT in village.last_to("mary")

    # The question beside the session leaves the session where it is.
    await village.taps("mary", "How hard to work", "I am not sure")
    assert "Slow down until you can talk with ease." in village.last_to("mary")


async def test_not_sure_counts_as_no_in_the_talk_test(village: Practice):
    """Foster 2008: errors lean toward passing."""
    await asks_how_hard(village, "mary")
    await village.taps("mary", "I am not sure")
    unsure = village.last_to("mary")
    await village.says("mary", "how hard?")
    await village.taps("mary", "No")
    assert village.last_to("mary") == unsure
    await village.says("mary", "how hard?")
    await village.taps("mary", "Yes, with ease")
    assert village.last_to("mary") == "Good. Stay at this pace."


async def test_after_a_reliever_the_pulse_reads_high_until_three_hours_later(village: Practice):
    """Back after about 138 minutes (JMIR Cardio 2024)."""
    await village.client("Nell", conditions=["asthma"], medicines=["reliever_inhaler"])
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    assert "reliever puffer in the last three hours" in village.last_to("nell")
    await village.taps("nell", "Yes, in the last hour")
    ready = village.last_to("nell")
    assert "Your pulse reads high until 10:00." in ready
    assert "Reliever puffer in reach" in ready

    await village.taps("nell", "Not today")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    assert "reads high until 10:00" in village.last_to("nell")


async def test_a_reliever_not_used_leaves_the_pulse_with_care(village: Practice):
    await village.client("Nell", conditions=["asthma"], medicines=["reliever_inhaler"])
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/today")
    await village.taps("nell", "Start", "No")
    assert "How you feel comes first." in village.last_to("nell")
    await village.taps("nell", "I am ready")
    assert "warm" in village.last_to("nell").lower()


async def test_whose_pulse_is_hidden_anyway_is_not_asked_about_a_reliever(village: Practice):
    await village.client("Nell", medicines=["reliever_inhaler", "beta_blocker"])
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    assert "Before you start" in village.last_to("nell")


async def test_a_client_without_a_reliever_is_not_asked_about_one(village: Practice):
    await village.client("Nell", conditions=["asthma"])
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    assert "Before you start" in village.last_to("nell")


async def test_the_coach_raises_the_cap_and_both_read_it(village: Practice):
    await opens_card(village, "Mary")
    await village.taps("rua", "About Mary")
    assert "pulse cap 76 %, moderate" in village.last_to("rua")
    assert "never over 105" in village.last_to("rua")
    await village.taps("rua", "Card")
    await village.taps("rua", "Limits and aim", "Pulse cap", "85 %")
    said = await asks_how_hard(village, "mary")

    assert "between 69 and 118. Never go over 118." in said
    assert "your sentences get shorter" in said
    await opens_card(village, "Mary")
    await village.taps("rua", "About Mary")
    assert "pulse cap 85 %, vigorous (raised)" in village.last_to("rua")


async def test_a_resting_pulse_that_was_told_lowers_the_ceiling(village: Practice):
    """Karvonen 1957: 50 + 0.59 x (139.1 - 50) = 102.6, under 76 percent of 139.1."""
    await village.client("Nell", limits={"numbers": ["pulse"]})
    said = await asks_how_hard(village, "nell", pulse="50")
    assert "Never go over 102." in said


@pytest.mark.parametrize(
    ("changed_on", "said"),
    [
        ("2026-02-18", "Today: take it easier."),
        ("2026-02-17", "Today: train as planned."),
        (None, "Today: train as planned."),
    ],
)
async def test_two_weeks_after_a_dose_change_the_day_is_eased(village: Practice, changed_on, said):
    """Ours, the careful side: today is the 3rd of March."""
    await village.client("Nell", medicine_changed_on=changed_on)
    await village.at("07:00")
    text = (await village.good_morning("nell"))[-1]
    assert said in text
    assert ("Your pills have just changed" in text) is (said != "Today: train as planned.")


async def test_on_hold_no_effort_is_talked_of(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my chest feels tight and heavy right now")
    await village.says("mary", "/how_hard")
    assert TALK not in village.last_to("mary")


def test_what_is_said_about_effort_is_plain():
    """Grade 6 or lower (AMA and NIH advise 6 for patients)."""
    numbers = {"low": 69, "high": 97, "ceiling": 105, "until": "10:00"}
    values = {
        "lowest": 2, "highest": 4, "use": "reads_high", "numbers": numbers,
        "reliever": True, "cautions": [code.value for code in IntensityCode if "pulse" not in code],
    }  # fmt: skip
    texts = [
        words().render("today/how_hard", {**values, "talk": "talk_full_sentences", "pulse": code})
        for code in IntensityCode
    ]
    lines = {line for text in texts for line in text.text.splitlines()}
    lines |= set(words().render("session/reliever", {}).text.splitlines())
    assert set(words().render("session/reliever", {}).labels) == set(USED)
    prose = " ".join(sorted(line for line in lines if re.search(r"[.?!]$", line)))
    assert textstat.flesch_kincaid_grade(prose) <= 6
