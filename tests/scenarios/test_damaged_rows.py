"""A disk changes some bytes: what is damaged is said or left out, and stops nobody else's help."""

import pytest
from sqlalchemy import text

from bot.storage import inbox
from bot.storage.directory import load_directory
from bot.storage.unit import UnitOfWork
from tests.bot.engine.test_conversation import arrival
from tests.support.practice import Practice


async def _damage(village: Practice, table: str, column: str, where: str = "1=1") -> None:
    """Change a sealed value as a disk does, so that no key opens it."""

    def change(unit: UnitOfWork) -> None:
        changed = unit.session.execute(
            text(
                f"UPDATE {table} SET {column} = 'AAAA' || substr({column}, 5) "  # noqa: S608
                f"WHERE {where} AND {column} != ''"
            )
        )
        assert changed.rowcount > 0
        unit.commit()

    await village.app.database.run(change)
    village.app.database.encryption.forget()


async def _a_sign_of_ada_reaches_her_coach(village: Practice) -> None:
    said = await village.says("ada", "crushing chest pain")
    assert "111" in " ".join(village.heard("ada"))
    assert any("EMERGENCY: Ada" in one for one in said)


async def test_a_message_that_waits_and_is_damaged_holds_up_no_alert(village: Practice):
    await village.client("Ada")
    await village.says("mary", "/menu")
    await _damage(village, "outbox", "payload_sealed")
    await village.app.database.run(_waits_again)

    await _a_sign_of_ada_reaches_her_coach(village)


def _waits_again(unit: UnitOfWork) -> None:
    unit.session.execute(text("UPDATE outbox SET status = 'waiting', platform_id = ''"))
    unit.commit()


async def test_damaged_words_that_wait_count_as_what_cannot_be_read(village: Practice):
    await village.client("Ada")
    await village.app.database.run(inbox.accept, [arrival(1, "my chest hurts")])
    await _damage(village, "inbox", "text_sealed")

    await village.restart()

    assert "If you need help now, call 111" in " ".join(village.heard("mary"))
    assert any("Mary" in one for one in village.heard("rua"))
    await _a_sign_of_ada_reaches_her_coach(village)


async def test_a_damaged_question_does_not_keep_anothers_silence_from_counting(village: Practice):
    await village.client("Ada")
    await village.says("mary", "my chest felt odd for a moment")
    await village.says("ada", "my chest felt odd for a moment")
    await _damage(village, "conversation", "standing_sealed", "person_id = 2")

    await village.wait(3)

    assert any("EMERGENCY: Ada" in one for one in village.heard("rua"))


@pytest.mark.parametrize("column", ["told_sealed", "words_sealed"])
async def test_a_damaged_alert_is_chased_on_and_can_be_seen(village: Practice, column: str):
    await village.says("mary", "crushing chest pain")
    await _damage(village, "alert", column)
    before = len(village.heard("rua"))

    await village.wait(3)

    assert any("EMERGENCY: Mary" in one for one in village.heard("rua", before))
    await village.taps("rua", "I have seen")
    before = len(village.heard("rua"))
    await village.wait(30)
    assert not any("EMERGENCY: Mary" in one for one in village.heard("rua", before))


async def test_a_damaged_morning_keeps_no_alert_back(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await _damage(village, "checkin", "answers_sealed")

    await village.says("mary", "crushing chest pain")

    assert any("EMERGENCY: Mary" in one for one in village.heard("rua"))


@pytest.mark.parametrize(
    ("table", "column", "where"),
    [
        ("person", "name_sealed", "id = 2"),
        ("client", "profile_sealed", "person_id = 2"),
        ("address", "address", "person_id = 2"),
    ],
)
async def test_the_way_without_the_store_still_knows_whom_to_tell(
    village: Practice, table: str, column: str, where: str
):
    await village.client("Ada")
    await _damage(village, table, column, where)

    directory = await village.app.database.read(load_directory)

    ada, rua = village.ids["ada"], village.ids["rua"]
    assert directory.persons[ada].name == "Ada"
    assert directory.persons[ada].recipients == (rua,)
    assert directory.persons[village.ids["mary"]].recipients == (rua,)
    await _a_sign_of_ada_reaches_her_coach(village)


async def test_a_damaged_row_of_another_keeps_nobodys_words_from_being_erased(village: Practice):
    await village.client("Ada")
    await village.says("ada", "/menu")
    await village.says("rua", "/invite")
    await village.says("rua", "Bob")
    for table, column in (
        ("invitation", "name_sealed"),
        ("outbox", "payload_sealed"),
        ("conversation", "answers_sealed"),
    ):
        await _damage(village, table, column)

    await village.says("mary", "/mydata")
    await village.taps("mary", "Leave and erase", "Yes")

    assert "Your words are erased" in village.last_to("mary")


@pytest.mark.parametrize("open_before", [True, False])
async def test_a_damaged_profile_leaves_its_clients_signs_told_and_chased(
    village: Practice, open_before: bool
):
    await village.client("Ada")
    if open_before:
        await village.says("mary", "crushing chest pain")
    await _damage(village, "client", "profile_sealed", f"person_id = {village.ids['mary']}")
    await village.restart()
    if not open_before:
        await village.says("mary", "crushing chest pain")
    before = len(village.heard("rua"))

    await village.wait(12)

    assert any("EMERGENCY: Mary" in one for one in village.heard("rua", before))
    await village.taps("rua", "I have seen")
    assert "session" not in (await village.says("mary", "/today"))[-1]
    await _a_sign_of_ada_reaches_her_coach(village)


async def test_who_has_a_damaged_profile_is_cleared_for_nothing(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await _damage(village, "client", "profile_sealed", f"person_id = {village.ids['mary']}")
    assert "must clear you before you start" in (await village.says("mary", "/today"))[-1]


@pytest.mark.parametrize(
    ("table", "column"), [("checkin", "answers_sealed"), ("checkin", "result_sealed")]
)
async def test_a_damaged_morning_is_asked_anew(village: Practice, table: str, column: str):
    await village.at("07:00")
    await village.good_morning()
    await _damage(village, table, column)
    said = " ".join(await village.says("mary", "/today"))
    assert "something went wrong" not in said.lower()


async def test_words_come_to_an_alert_whose_own_are_damaged(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await _damage(village, "alert", "words_sealed")
    await village.says("mary", "it is my left side too")
    assert any("it is my left side too" in one for one in village.heard("rua"))
