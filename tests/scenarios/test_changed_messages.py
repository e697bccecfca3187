"""A message that is changed after it was sent: signs in it are heard, no question is answered."""

from sqlmodel import select

from bot.storage.tables import SetRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin

CHANGED = "You changed a message."


async def test_a_changed_count_is_not_the_answer_to_the_question_after_it(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.says("mary", "16")
    asked = village.last_to("mary")

    said = await village.changes("mary", "5")

    assert said[0].startswith(CHANGED)
    assert said[-1] == asked

    def sets(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(SetRow)).all())

    assert await village.app.database.run(sets) == 0


async def test_a_sign_in_changed_words_is_heard_at_once(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.says("mary", "16")

    said = await village.changes("mary", "16, and crushing chest pain")

    assert "111" in said[0]
    assert not any(text.startswith(CHANGED) for text in said)
    assert any("EMERGENCY: Mary" in text for text in village.heard("rua"))


async def test_changed_words_of_a_coach_are_no_answer_either(village: Practice):
    said = await village.changes("rua", "Mary")
    assert [text for text in said if text.startswith(CHANGED)]
