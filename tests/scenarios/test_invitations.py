"""Invitation codes: guessed by nobody, good once, and for a new phone only for an hour."""

import logging

import pytest
from alembic import command
from sqlalchemy import text
from sqlmodel import select

from bot.invitation_codes import code_hash
from bot.storage.guesses import IN_ALL, PER_CHAT, WHILE_OTHERS_GUESS
from bot.storage.questions.counts import count_stuck
from bot.storage.tables import GuessRow, InvitationRow
from bot.storage.unit import UnitOfWork
from tests.bot.storage.upgrades import config_for
from tests.support.practice import CHANNEL, Practice
from tests.support.sessions import labels

REFUSED = "I do not know that code."
WAIT = "Too many wrong codes came from here."


def code_in(said: list[str]) -> str:
    words = [word.strip(".,") for one in said for word in one.split()]
    return next(word for word in words if len(word) == 9 and word[4] == "-")


async def invites(village: Practice, name: str = "Nell") -> str:
    await village.says("rua", "/invite")
    said = await village.says("rua", name)
    if "Shall I make an invitation for another" in said[-1]:
        said = await village.taps("rua", "Yes, another one")
    return code_in(said)


async def new_phone(village: Practice, coach: str = "rua") -> str:
    await village.says(coach, "/clients")
    mary = next(one for one in labels(village, coach) if "Mary" in one)
    await village.taps(coach, mary, "More", "New phone")
    return code_in(await village.taps(coach, "Yes"))


def wrong(number: int) -> str:
    return f"WRNG{chr(65 + number % 8)}{chr(65 + number // 8 % 8)}{chr(65 + number // 64)}Z"


async def test_a_code_cannot_be_worked_out_from_the_store(village: Practice):
    code = await invites(village)

    def look(unit: UnitOfWork) -> str:
        return unit.session.exec(select(InvitationRow.code_hash)).one()

    kept = village.app.database.run_now(look)
    assert kept != code_hash(code, str)
    assert kept == code_hash(code, village.app.database.encryption.hashed)
    await village.says("nell", code.lower())
    assert "Rua" in " ".join(village.heard("nell"))


async def test_a_name_in_a_sentence_is_shown_before_a_code_is_made_for_it(village: Practice):
    await village.says("rua", "/invite")
    said = await village.says("rua", "Please invite Winifred")
    assert said[-1].startswith("Is the name Winifred?")
    said = await village.taps("rua", "Yes, Winifred")
    assert said[-1].startswith("An invitation for Winifred:")

    await village.says("rua", "/invite")
    await village.says("rua", "Grace Hope")
    said = await village.taps("rua", "No, Grace Hope")
    assert said[-1].startswith("An invitation for Grace Hope:")


async def test_whoever_guesses_from_one_chat_has_to_wait(village: Practice, caplog):
    caplog.set_level(logging.WARNING)
    code = await invites(village)
    for number in range(PER_CHAT):
        assert REFUSED in village_said(await village.says("mallory", wrong(number)))

    assert WAIT in village_said(await village.says("mallory", code))
    assert f"{PER_CHAT} wrong invitation codes from one chat" in caplog.text
    assert code not in caplog.text

    await village.wait(61)
    assert WAIT not in village_said(await village.says("mallory", code))


def village_said(said: list[str]) -> str:
    return "\n".join(said)


async def test_a_client_cannot_guess_another_way_in_either(village: Practice):
    code = await invites(village)
    for number in range(PER_CHAT):
        await village.says("mary", wrong(number))

    said = village_said(await village.says("mary", code))

    assert "belong" not in said
    await village.says("nell", code)
    assert "Rua" in " ".join(village.heard("nell")), "the code is still good for whom it is meant"


async def test_a_warning_sign_among_guesses_is_answered_at_once(village: Practice):
    for number in range(PER_CHAT + 1):
        await village.says("mallory", wrong(number))

    assert "112" in village_said(await village.says("mallory", "crushing chest pain"))
    for number in range(PER_CHAT + 1):
        await village.says("mary", wrong(number))
    await village.says("mary", "crushing chest pain")
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_guesses_from_many_chats_leave_each_some_tries_and_the_operator_is_told(
    village: Practice, caplog
):
    caplog.set_level(logging.WARNING)
    code = await invites(village)

    def many(unit: UnitOfWork) -> None:
        now = village.clock.now()
        for number in range(IN_ALL - 1):
            unit.session.add(GuessRow(channel=CHANNEL, address=f"m{number}", at=now))
        unit.commit()

    village.app.database.run_now(many)
    assert REFUSED in village_said(await village.says("mallory", wrong(1)))
    assert "somebody guesses" in caplog.text
    for number in range(2, WHILE_OTHERS_GUESS + 1):
        assert REFUSED in village_said(await village.says("mallory", wrong(number)))
    assert WAIT in village_said(await village.says("mallory", wrong(9)))
    assert REFUSED in village_said(await village.says("nell", wrong(10))), "mistyped"
    await village.says("nell", code)
    assert "Rua" in " ".join(village.heard("nell")), "somebody new still comes in"
    assert village.app.database.run_now(count_stuck).wrong_codes == IN_ALL + WHILE_OTHERS_GUESS

    await village.wait(8 * 24 * 60)
    await village.says("mallory", wrong(3))
    assert village.app.database.run_now(count_stuck).wrong_codes == 1


async def test_a_code_for_a_new_phone_is_good_for_an_hour(village: Practice):
    code = await new_phone(village)
    await village.wait(61)

    assert "too old" in village_said(await village.says("phone2", code))


@pytest.mark.parametrize("which", [0, 1])
async def test_only_the_newest_code_for_a_new_phone_is_good(village: Practice, which: int):
    codes = [await new_phone(village), await new_phone(village)]

    said = village_said(await village.says("phone2", codes[which]))

    assert ("too old" in said) == (which == 0)


async def test_a_code_for_a_new_phone_is_used_up_at_once(village: Practice):
    code = await new_phone(village)
    await village.says("phone2", code)

    assert "has been used" in village_said(await village.says("phone3", code))


async def test_a_code_that_was_given_out_before_is_still_good(village: Practice):
    code = await invites(village)
    with village.app.database.engine.connect() as connection:
        command.downgrade(config_for(connection), "0008")
        before = {"hash": code_hash(code, str)}
        connection.execute(text("UPDATE invitation SET code_hash = :hash"), before)
        connection.commit()

    await village.restart()

    await village.says("nell", code)
    assert "Rua" in " ".join(village.heard("nell"))
