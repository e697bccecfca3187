"""What clients ask and wish in own words, whatever is open: short and true, and then on with it."""

import pytest

from tests.support.practice import Practice
from tests.support.sessions import begin, finish, labels, values

DOCTORS_PLAN = "Two puffs of the blue one if I wheeze. Wait one minute."


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("what should my pulse be?", "Know the signs of too hard"),
        ("Who sees this?", "Rua, your coach, sees what you tell me"),
        ("What do you know about me, dear?", "What I know"),
        ("why this?", "This is why:"),
        ("Why is my training paused?", "Your training is not paused."),
        ("Should I take my puffer before exercise?", "I must not say when to take a medicine."),
        ("what did I do last week?", "You did not train last week"),
        ("When is my next session?", "Your next session is today."),
        ("I am back from my holiday early", "Your mornings and sessions go on"),
    ],
)
async def test_a_question_in_own_words(village: Practice, text: str, answer: str):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    said = await village.says("mary", text)

    shown = [c.label for row in village.newest_buttons("mary").outgoing.choices for c in row]
    assert any(answer in one for one in [*said, *shown])
    assert not any("did not understand" in one for one in said)


async def test_a_question_is_not_eaten_by_an_open_one_which_comes_again(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these")
    said = await village.says("mary", "who sees this?")

    assert "Rua, your coach" in said[0]
    assert "How did you sleep" in said[-1]


async def test_the_doctors_plan_is_read_out_word_for_word(village: Practice):
    await village.client("Ann", conditions=["asthma"], doctor_plan=DOCTORS_PLAN)
    said = await village.says("ann", "Should I take my puffer before exercise?")

    assert DOCTORS_PLAN in said[0]


async def test_a_question_about_medicine_goes_to_the_coach_with_one_tap(village: Practice):
    await village.says("mary", "Should I take my puffer before exercise?")
    await village.taps("mary", "Send it")

    assert "Should I take my puffer before exercise?" in village.last_to("rua")


async def test_why_training_is_paused(village: Practice):
    await village.says("mary", "I fainted this morning")
    await village.taps("mary", "Yes, I have called")
    said = await village.says("mary", "Why is my training paused?")

    assert any("paused. You told me of this: fainting" in one for one in said)


async def test_home_early_the_mornings_begin_again(village: Practice):
    await village.says("mary", "settings")
    await village.taps("mary", "I am going away", "A week")
    said = await village.says("mary", "I am back from my holiday early")

    assert said[0].startswith("Welcome back!")


async def test_what_was_done_last_week(village: Practice):
    await village.at("07:00")
    await begin(village)
    await finish(village)
    await village.at("09:00", days=7)
    said = await village.says("mary", "what did I do last week?")

    assert any("Last week you trained on Tuesday" in one for one in said), said


async def test_a_pain_told_at_a_card_is_asked_about_with_its_place(village: Practice):
    await village.at("07:00")
    await begin(village)
    said = await village.says("mary", "It hurts a little in my knee")

    assert "from 0 to 10" in said[-1]


@pytest.mark.parametrize(
    "text", ["I have no chair today", "this is too easy", "too easy", "Easier"]
)
async def test_a_wish_at_a_card_changes_it(village: Practice, text: str):
    await village.at("07:00")
    await begin(village)
    before = village.last_to("mary")
    said = await village.says("mary", text)

    assert "did not understand" not in "".join(said)
    assert village.last_to("mary") != before


async def test_heavier_weights_are_understood_as_a_wish(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    said = await village.says("mary", "can I have heavier weights")

    assert "did not understand" not in "".join(said)


async def test_stopping_in_own_words_asks_whether_something_is_wrong(village: Practice):
    await village.at("07:00")
    await begin(village)
    said = await village.says("mary", "I will stop now and have my tea")

    assert said[-1].startswith("All right. Is something wrong")


async def test_easier_at_the_ready_check_asks_which_movement(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start")
    await village.says("mary", "Easier")

    assert any(value.startswith("see=") for value in values(village))


@pytest.mark.parametrize("text", ["easier lunge", "can I have an easier lunge"])
async def test_a_movement_that_is_not_in_todays_session_is_no_dead_end(
    village: Practice, text: str
):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    there = {value for value in values(village) if value.startswith("see=")}

    said = await village.says("mary", text)

    assert said[0].startswith(("There is no lunge in your session", "Your lunge is left out"))
    assert said[-1].endswith("Which of today's shall I make easier?")
    assert {one for one in values(village) if one.startswith("see=")} == there


async def test_a_list_that_lies_open_is_not_sent_again_after_each_word(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    listed = await village.says("mary", "/today")
    said = await village.says("mary", "bananas")
    assert said == [one for one in said if "The list above is still open." in one]
    assert labels(village)[-1] == "Menu"
    await village.wait(11)
    assert (await village.says("mary", "bananas"))[-1] == listed[-1]
