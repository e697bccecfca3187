"""Wishes and questions in own words are answered wherever they are typed: one walk, one table."""

from tests.support.practice import Practice
from tests.support.sessions import begin, tap

UNANSWERED = ("did not understand", "I cannot answer that by myself", "could not find")
QUESTIONS = {
    "what should my pulse be?": "pulse",
    "who sees this?": "Rua, your coach",
    "what do you know about me?": "",
    "why this?": "",
    "why is my training paused?": "",
    "should I take my puffer before exercise?": "medicine",
    "what did I do last week?": "ast week",
    "what did i do this wk": "his week",
    "when is my next session?": "session",
    "whens next": "session",
    "how many sets was that": "",
    "is it normal to be this sore": "common for a day or two",
    "How long should I rest in between?": "minute or two",
    "we sang for an hour, does that count for anything": "walks",
    "ok thx": "Good to hear",
    "thank you, that looks good": "Good to hear",
}
WISHES = (
    "I have no chair today",
    "this is too easy",
    "can I have heavier weights",
)


async def _all_answered(village: Practice, where: str, *, hold: bool = False) -> None:
    for text, answer in QUESTIONS.items():
        await village.wait(1)
        said = await village.says("mary", text)
        assert not any(mark in one for one in said for mark in UNANSWERED), (where, text, said)
        whole = " ".join(said)
        paused = hold and ("paused" in whole or "sent that" in whole)
        assert paused or answer in whole, (where, text, said)


async def test_questions_are_answered_at_a_question_at_idle_in_a_session_and_on_hold(
    village: Practice,
):
    await village.at("07:00")
    await _all_answered(village, "at a question")
    await village.good_morning()
    await _all_answered(village, "at idle")
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    await tap(village, "done")
    await _all_answered(village, "in a session")
    await village.says("mary", "my chest is tight")
    await village.wait(10)
    await _all_answered(village, "on hold", hold=True)


async def test_wishes_are_taken_at_a_card_of_a_session(village: Practice):
    await village.at("07:00")
    await begin(village)
    for text in WISHES:
        said = await village.says("mary", text)
        assert not any(mark in one for one in said for mark in UNANSWERED), (text, said)
    said = await village.says("mary", "I will stop now and have my tea")
    assert "Is something wrong" in said[-1]
