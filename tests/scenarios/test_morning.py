"""The morning: asked once at the client's own time, reminded once, resumed after a restart."""

import json

from tests.support.practice import Practice


async def test_a_client_is_asked_at_her_own_time_and_has_a_plan_after_six_taps(village: Practice):
    await village.at("06:59")
    assert village.heard("mary") == []

    await village.at("07:00")
    assert "Good morning, Mary" in village.last_to("mary")

    said = await village.good_morning()

    assert "Today: train as planned." in said[-1]


async def test_an_unanswered_check_in_is_reminded_of_once(village: Practice):
    await village.at("07:00")
    await village.at("20:00")

    reminders = [text for text in village.heard("mary") if "reminder" in text]
    assert len(reminders) == 1


async def test_a_finished_check_in_is_not_reminded_of(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    before = len(village.heard("mary"))
    await village.at("20:00")

    assert len(village.heard("mary")) == before


async def test_a_restart_in_mid_question_goes_on_at_that_question(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these", "4", "4")

    await village.restart()
    said = await village.taps("mary", "4", "4", "4")

    assert "Today: train as planned." in said[-1]


async def test_an_answer_can_be_taken_back_and_changed_the_same_day(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these", "5", "◀ Back")
    assert "How did you sleep" in village.last_to("mary")
    await village.taps("mary", "1", "4", "4", "4", "4")
    assert "Today: take it easier." in village.last_to("mary")

    said = await village.taps("mary", "Change an answer", "Your sleep", "4")

    assert "Today: train as planned." in said[-1]


async def test_two_clients_at_once_keep_their_own_answers(village: Practice):
    await village.client("Hemi")
    await village.at("07:00")

    await village.taps("mary", "None of these")
    await village.taps("hemi", "None of these")
    await village.taps("mary", "5", "5", "5", "5", "5")
    await village.taps("hemi", "1", "1", "1", "1", "1")

    assert "train as planned" in village.last_to("mary")
    assert "Today: rest." in village.last_to("hemi")


async def test_a_missed_day_is_caught_up_once_and_not_as_a_flood(village: Practice):
    await village.at("08:00", days=3)

    def prompts() -> list[str]:
        return [one for one in village.heard("mary") if one.startswith(("Good morning", "Hello"))]

    # The third silent morning brings none.
    assert len(prompts()) == 3

    # The process was down: only the present day's check-in is asked.
    village.clock.move_to(village.clock.now().replace(hour=20, minute=30))
    village.clock.move_to(village.clock.now())
    await village.app.settle()
    assert len(prompts()) <= 4


async def test_a_client_who_is_not_cleared_gets_no_plan_and_no_prompt(village: Practice):
    await village.client("Nora", cleared=False)
    await village.at("09:00")
    assert village.heard("nora") == []

    said = await village.says("nora", "today")

    assert "must clear you" in said[-1]


async def test_answers_are_kept_whatever_comes_between(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "New pain", "Shoulder", "5", "A few days", "4", "4")
    await village.says("mary", "/today")
    assert "How do your muscles feel" in village.last_to("mary")

    said = await village.taps("mary", "4", "4", "4")

    assert "Today: take it easier." in said[-1]


async def test_a_wish_is_still_open_after_words_that_meant_nothing(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "easier")
    assert "Which one shall I make easier?" in village.last_to("mary")

    await village.says("mary", "🙂")

    assert "Which one shall I make easier?" in village.last_to("mary")


async def test_the_coach_reads_the_day_and_why_in_the_third_person(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these", "1", "4", "4", "4", "4")
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    await village.taps("rua", next(label for label in labels if "Mary" in label))

    card = village.last_to("rua")
    assert "(~) Mary: lighter plan, since this morning" in card
    assert "Today: Had a very bad night." in card
    await village.taps("rua", "About")
    about = "\n".join(village.heard("rua"))
    assert "Few mornings are known yet, so the usual is still a guess." in about


async def test_the_five_questions_are_answered_in_words_too(village: Practice):
    """Typed as they stand on the buttons, with a full stop or in other words; digits count too."""
    await village.at("07:00")
    await village.taps("mary", "None of these")
    for said in ("So-so.", "Worn out", "a little sore", "Worried", "4"):
        await village.says("mary", said)

    assert "Today:" in village.last_to("mary")
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    assert not any(ord(letter) > 0x2FFF for label in labels for letter in label)
    await village.taps("rua", next(label for label in labels if "Mary" in label), "Record")
    assert "Tue 03 Mar: a lighter plan. Very tired today." in village.last_to("rua")


async def test_the_copy_of_ones_data_names_the_score_with_its_scale(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    content, _ = village.app.contents.load(f"export-{village.ids['mary']}")
    (morning,) = json.loads(content)["checkin"]

    assert 60 < morning["result"]["readiness_0_to_100_usual_75"] <= 100
    assert "score" not in morning["result"]
