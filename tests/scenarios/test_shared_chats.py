"""One phone for two people, two phones for one, and a coach who tries it as her own client."""

import re

import pytest
from sqlmodel import select

from bot.messages import Outgoing
from bot.storage import people
from bot.storage.people import Address
from bot.storage.tables import HoldRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import CHANNEL, Practice

CODE = re.compile(r"\b[A-Z2-9]{4}-[A-Z2-9]{4}\b")


async def _share(village: Practice, who: str, chat: str) -> None:
    """Let a chat speak for one more person, who used it last."""

    def bind(unit: UnitOfWork) -> None:
        people.bind(unit, village.ids[who], Address(CHANNEL, chat), village.clock.now())
        unit.commit()

    await village.app.database.run(bind)


async def _code(village: Practice, name: str) -> str:
    """The coach invites somebody; gives the code."""
    await village.says("rua", "/invite")
    said = await village.says("rua", name)
    if "Shall I make an invitation for another" in said[-1]:
        said = await village.taps("rua", "Yes, another one")
    found = CODE.search(" ".join(said))
    assert found is not None, said
    return found.group()


def _labels(outgoing: Outgoing) -> list[str]:
    return [choice.label for row in outgoing.choices for choice in row]


async def _tap_on(village: Practice, chat: str, text: str, label: str) -> list[str]:
    """Tap a button of the newest message that begins so."""
    shown = next(
        one
        for one in reversed(village.channel.sent)
        if one.address == chat and one.outgoing.text.startswith(text)
    )
    value = next(
        choice.value
        for row in shown.outgoing.choices
        for choice in row
        if choice.label.startswith(label)
    )
    return await village.taps_value(chat, value, shown.edits or shown.platform_id)


async def _new_phone_used(village: Practice) -> None:
    """Mary's coach makes a code for a new phone, and Mary types it there."""
    await village.says("rua", "/clients")
    await village.taps("rua", "(")
    await village.taps("rua", "More", "New phone")
    found = CODE.search(" ".join(await village.taps("rua", "Yes")))
    assert found is not None
    await village.says("mary-new", found.group())


async def _in_a_session(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")


@pytest.mark.parametrize("how", ["{code}", "/start {code}"], ids=["typed", "by a link"])
async def test_a_second_client_joins_on_the_same_phone_and_both_are_named(
    village: Practice, how: str
):
    code = await _code(village, "Hemi")

    said = await village.says("mary", how.format(code=code.replace("-", "")))

    assert "More than one person uses this chat now:\nMary; Hemi." in said[0]
    assert said[-1].startswith("Hello Hemi!")


async def test_a_third_person_s_code_is_taken_before_anybody_is_asked_who_they_are(
    village: Practice,
):
    await village.client("Hemi")
    await _share(village, "hemi", "mary")

    said = await village.says("mary", f"/start {await _code(village, 'Tama')}")

    assert "Mary; Hemi; Tama." in said[0]


async def test_namesakes_on_one_phone_are_numbered(village: Practice):
    said = await village.says("mary", await _code(village, "Mary"))

    assert "Mary (1); Mary (2)." in said[0]
    assert "Who wrote that?" not in said[-1]
    await village.wait(60)
    await village.says("mary", "hello there")
    assert _labels(village.newest_buttons("mary").outgoing)[:2] == ["Mary (1)", "Mary (2)"]


async def test_i_am_fine_counts_for_the_one_who_was_asked_not_for_who_used_the_phone_last(
    village: Practice,
):
    await _in_a_session(village)
    await village.client("Hemi")
    await village.wait(10.1)
    assert "Is all well, Mary?" in village.last_to("mary")
    await village.wait(1)
    await _share(village, "hemi", "mary")

    await _tap_on(village, "mary", "Is all well", "I am fine")
    await village.wait(6)

    assert not any("URGENT" in text for text in village.heard("rua"))


async def test_something_is_wrong_is_told_of_the_one_who_was_asked(village: Practice):
    await _in_a_session(village)
    await village.client("Hemi")
    await village.wait(10.1)
    await village.wait(1)
    await _share(village, "hemi", "mary")
    before = len(village.heard("rua"))

    await _tap_on(village, "mary", "Is all well", "Something is wrong")
    await village.taps("mary", "! Chest")

    told = " ".join(village.heard("rua", before))
    assert "Mary" in told
    assert "Hemi" not in told


async def test_today_below_a_check_in_is_the_plan_of_the_one_who_answered_it(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    # Nobody has cleared Hemi: were it his plan, there would be none.
    await village.client("Hemi", cleared=False)
    await village.wait(1)
    await _share(village, "hemi", "mary")

    await village.taps("mary", "See today")

    assert "Start the session" in _labels(village.newest_buttons("mary").outgoing)


async def test_a_tap_on_a_message_that_nobody_knows_is_asked_about_and_then_done(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await village.client("Hemi", cleared=False)
    await village.wait(1)
    await _share(village, "hemi", "mary")

    # As after a crash between sending a message and writing down its number.
    asked = await village.taps_value("mary", "open.today.today", "never written down")
    assert asked == ["More than one of you uses this phone. Who tapped that?"]
    await village.taps("mary", "Mary")
    assert "Start the session" in _labels(village.newest_buttons("mary").outgoing)

    again = await _tap_on(village, "mary", "More than one of you", "Hemi")
    assert "older message" in again[0]


async def test_an_unknown_all_right_button_is_asked_about_too(village: Practice):
    await _in_a_session(village)
    await village.client("Hemi")
    await village.wait(10.1)
    await _share(village, "hemi", "mary")
    fine = next(
        choice.value
        for row in village.newest_buttons("mary").outgoing.choices
        for choice in row
        if choice.label == "I am fine"
    )

    assert "Who tapped that?" in (await village.taps_value("mary", fine, "unknown"))[0]
    # Until somebody says so, nobody is fine: the coach is told in time.
    await village.wait(6)
    assert any("URGENT" in text and "Mary" in text for text in village.heard("rua"))


async def test_the_answer_to_who_it_was_makes_that_person_the_last_to_use_the_phone(
    village: Practice,
):
    await village.client("Hemi")
    await village.wait(1)
    await _share(village, "hemi", "mary")
    await village.wait(1)
    await village.says("mary", "/menu")
    await village.taps("mary", "Mary")

    await village.wait(120)
    await village.says("mary", "my chest feels tight")

    alert = next(text for text in village.heard("rua") if "EMERGENCY" in text)
    assert "Mary" in alert.splitlines()[0], "she is told of first; each who may have written it is"


async def test_a_coach_as_her_own_client_is_told_apart_by_her_role(village: Practice):
    said = await village.says("rua", await _code(village, "Rua"))
    assert "Rua, as trainer; Rua, as client." in said[0]

    await village.wait(60)
    assert "Who wrote that?" in (await village.says("rua", "hello"))[0]
    labels = _labels(village.newest_buttons("rua").outgoing)
    assert labels == ["Rua, as trainer", "Rua, as client"]


async def test_a_command_that_only_one_of_the_two_has_needs_no_question(village: Practice):
    await village.client("Aroha")
    await _share(village, "aroha", "rua")

    said = await village.says("rua", "/clients")
    assert not any("Who wrote" in text for text in said)
    assert "Mary" in " ".join(_labels(village.newest_buttons("rua").outgoing))

    said = await village.says("rua", "/progress")
    assert not any("Who wrote" in text for text in said)
    assert not any("did not understand" in text for text in said)


async def test_a_warning_sign_of_a_coach_s_test_client_is_answered_and_told_and_can_be_seen(
    village: Practice,
):
    await village.client("Aroha")
    await _share(village, "aroha", "rua")

    said = await village.says("rua", "my chest feels tight")

    assert "111" in said[0].splitlines()[0]
    assert any("EMERGENCY" in text and "Aroha" in text for text in said)
    await _tap_on(village, "rua", "!!", "I have seen")
    await village.wait(30)
    assert sum("EMERGENCY" in text for text in village.heard("rua")) <= 2


async def test_a_new_phone_closes_the_old_chat_and_says_so_there(village: Practice):
    await village.says("rua", "/clients")
    await village.taps("rua", "(?) Mary")
    await village.taps("rua", "More", "New phone")
    said = await village.taps("rua", "Yes")
    found = CODE.search(" ".join(said))
    assert found is not None

    await village.says("mary-new", found.group())

    assert "This chat is closed now" in village.last_to("mary")
    assert "Mary" in " ".join(village.heard("mary-new"))
    before = len(village.heard("mary"))
    await village.at("07:00")
    assert village.heard("mary", before) == []
    assert "Good morning, Mary" in village.last_to("mary-new")
    # The old phone may be in anybody's hands: it gets advice, and is not taken for hers.
    assert "I cannot tell anyone" in (await village.says("mary", "my chest hurts"))[0]


async def test_a_client_with_two_chats_is_answered_where_she_writes_and_asked_where_she_wrote_last(
    village: Practice,
):
    await village.wait(1)
    await _share(village, "mary", "tablet")
    await village.wait(1)
    assert "111" in (await village.says("tablet", "my chest feels tight"))[0]
    assert village.heard("mary") == []
    assert "Mary" in village.last_to("rua")

    await village.says("mary", "/menu")
    assert village.heard("mary")


async def test_a_client_s_button_in_a_chat_that_is_only_a_coach_s_does_nothing(village: Practice):
    said = await village.taps_value("rua", "silence.1.fine")

    assert "older message" in said[0]


async def test_a_question_about_a_sign_goes_on_on_the_new_phone_and_nothing_to_the_old_one(
    village: Practice,
):
    await village.says("mary", "my chest felt odd for a moment")
    await _new_phone_used(village)
    assert any("my chest felt odd" in text for text in village.heard("mary-new"))
    old = len(village.heard("mary"))
    await village.wait(3)

    # Silence counts as yes, and what to do is said where she is.
    assert "Call 111 now" in village.last_to("mary-new")
    assert "EMERGENCY" in village.last_to("rua")
    assert village.heard("mary", old) == []


async def test_what_waits_for_an_answer_follows_to_the_new_phone(village: Practice):
    await village.says("mary", "sugar 2.9 shaking")
    await _new_phone_used(village)
    old = len(village.heard("mary"))
    await village.wait(16)

    assert any("Check your sugar again" in text for text in village.heard("mary-new"))
    assert village.heard("mary", old) == []


async def test_a_sign_of_whom_nobody_knows_who_wrote_it_holds_and_tells_of_each(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.client("Hemi")
    await _share(village, "hemi", "mary")
    await village.wait(180)
    before = len(village.heard("rua"))

    said = await village.says("mary", "I have crushing chest pain")

    assert "Stop" in said[0]
    assert any("I do not know who wrote this" in text for text in said)
    told = village.heard("rua", before)
    for name in ("Mary", "Hemi"):
        (alert,) = [text for text in told if f"EMERGENCY: {name}" in text]
        assert "Several clients use this phone" in alert
        assert "crushing chest pain" in alert

    def held(unit: UnitOfWork) -> set[int]:
        return {row.client_id for row in unit.session.exec(select(HoldRow))}

    both = {village.ids["mary"], village.ids["hemi"]}
    assert await village.app.database.run(held) == both
