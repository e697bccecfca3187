"""A message that is changed afterwards: read for signs, and no answer to what was asked since."""

from sqlmodel import select

from bot.messages import IncomingKind
from bot.storage.tables import SetRow
from bot.storage.told import set_done
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin, tap, values


async def edits(village: Practice, who: str, text: str) -> list[str]:
    """Somebody changes a message of before."""
    return await village._arrives(who, IncomingKind.EDITED, text=text)


async def test_a_sign_in_a_changed_message_is_heard(village: Practice):
    await edits(village, "mary", "crushing chest pain")
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_a_changed_count_answers_no_other_question(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.wait(3)
    await village.says("mary", "16")
    assert "left=3" in values(village)
    said = await edits(village, "mary", "12")
    assert said[0].startswith("You have changed a message. What you told me first stays.")
    assert "left=3" in values(village)

    await tap(village, "left=3")

    def logged(unit: UnitOfWork) -> tuple[int, int | None]:
        (row,) = unit.session.exec(select(SetRow)).all()
        done = set_done(unit.encryption, row)
        return done.amount, done.left

    assert await village.app.database.run(logged) == (16, 3)


async def test_words_changed_while_an_alert_is_open_go_to_it(village: Practice):
    await village.says("mary", "crushing chest pain")
    await edits(village, "mary", "please come quickly it is the back door")
    assert any("back door" in one for one in village.heard("rua"))
