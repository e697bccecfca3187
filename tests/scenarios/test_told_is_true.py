"""What a person is told happened has happened: nobody hears "passed on" of words that reach nobody.

No outside source: the law is ours. Each test looks at both ends, what the client reads and what the
coach's chat got in the same turn.
"""

import re
from collections.abc import Callable
from typing import Any

import pytest
from sqlmodel import col, select

from bot.reference.catalogue import TEMPLATES
from bot.storage.facts import StoreFacts
from bot.storage.people import Address, get_person, mark_blocked, unbind_all
from bot.storage.tables import AlertRow, OutboxRow, SessionRow
from bot.storage.unit import UnitOfWork
from core.movements.ladder import ladder
from core.vocabulary import Family
from tests.support.facts import reference
from tests.support.practice import CHANNEL, Practice

LATER_WORDS = (
    "took too many of my tablets by mistake",
    "It has come back a bit",
    "195 over 118 just now",
    "I checked again, it is 2.9",
)
CLAIMS = (
    "passed it on",
    "passed that on",
    "sent that to",
    "I have told",
    "I am telling",
    "is told",
    "I have sent",
    "I am asking Rua",
    "Rua has it too",
    "I tell Rua",
    "I ask Rua",
)
"""All that the templates say of somebody having been told."""


CLAIMED_OF_THE_COACH = re.compile(
    r"(told|telling|tell|passed (it|that) on to|asking)( your coach)? \{\{ coach(_name)? \}\}"
    r"|\{\{ coach(_name)? \}\} (is told|has it|will (read|call|ring|ask|see|look))"
)
"""Words that are true only of who is told: ``told_to``, which is "" where nobody is."""
MAY_NAME_THE_COACH = {
    "menu/ask_message.j2",  # a question
    "menu/hold_word.j2",  # what the client can do
    "today/nothing.j2",  # what the client can do
}


def test_no_template_says_told_of_a_coach_without_asking_who_hears_it():
    paths = sorted((TEMPLATES / "en").rglob("*.j2"))
    claiming = [path for path in paths if CLAIMED_OF_THE_COACH.search(path.read_text("utf-8"))]
    names = {path.relative_to(TEMPLATES / "en").as_posix() for path in claiming}

    assert len(paths) > 200
    assert names <= MAY_NAME_THE_COACH


def no_chat(village: Practice) -> Callable[[UnitOfWork], None]:
    """Rua's phone is lost: no chat speaks for her."""

    def unbind(unit: UnitOfWork) -> None:
        unbind_all(unit, village.ids["rua"], village.clock.now())
        unit.commit()

    return unbind


def blocked(village: Practice) -> Callable[[UnitOfWork], None]:
    """Rua has blocked the chat."""

    def block(unit: UnitOfWork) -> None:
        mark_blocked(unit, Address(CHANNEL, "rua"), village.clock.now())
        unit.commit()

    return block


async def lifted(village: Practice, who: str = "mary") -> None:
    """A sign was told, seen, and its hold lifted on a doctor's word."""
    await village.says(who, "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    assert "you may train again" in village.last_to(who)


def assert_nothing_claimed(said: list[str]) -> None:
    assert not [text for text in said if any(claim in text for claim in CLAIMS)]


@pytest.mark.parametrize("words", LATER_WORDS)
async def test_words_after_a_lifted_hold_reach_the_coach_who_is_named(
    village: Practice, words: str
):
    await lifted(village)
    before = len(village.heard("rua"))

    await village.says("mary", words)

    heard = village.heard("rua", before)
    assert [text for text in heard if words in text], heard
    answers = village.heard("mary")
    assert any("111" in text for text in answers[-2:])

    def listed(unit: UnitOfWork) -> list[str]:
        rows = unit.session.exec(select(AlertRow)).all()
        return [str(unit.encryption.decrypt_json(row.words_sealed)) for row in rows]

    assert [one for one in await village.app.database.run(listed) if words in one]


async def test_the_same_words_five_times_are_five_messages(village: Practice):
    words = "It has come back a bit"
    await lifted(village)
    before = len(village.heard("rua"))

    for _ in range(5):
        await village.says("mary", words)
        await village.wait(5)

    heard = [text for text in village.heard("rua", before) if words in text]
    assert len(heard) == 5


async def test_the_message_is_committed_with_the_reply(village: Practice):
    await lifted(village)
    await village.says("mary", LATER_WORDS[1])

    def rows(unit: UnitOfWork) -> dict[int | None, list[OutboxRow]]:
        found: dict[int | None, list[OutboxRow]] = {}
        for row in unit.session.exec(select(OutboxRow)).all():
            if row.created_at == village.clock.now():
                found.setdefault(row.person_id, []).append(row)
        return found

    found = await village.app.database.run(rows)
    assert village.ids["rua"] in found
    assert village.ids["mary"] in found


@pytest.mark.parametrize("gone", [no_chat, blocked], ids=["no chat", "blocked"])
@pytest.mark.parametrize("words", LATER_WORDS)
async def test_words_after_a_lifted_hold_that_reach_nobody_are_said_to_reach_nobody(
    village: Practice, words: str, gone: Callable[[Practice], Callable[[UnitOfWork], None]]
):
    await lifted(village)
    await village.app.database.run(gone(village))
    before = len(village.heard("mary"))

    await village.says("mary", words)

    said = village.heard("mary", before)
    assert_nothing_claimed(said)
    assert any("I can reach nobody" in text and "111" in text for text in said), said


async def test_words_after_a_lifted_hold_go_to_the_stand_in_who_is_named(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await lifted(village)
    await village.app.database.run(blocked(village))

    await village.says("mary", LATER_WORDS[1])

    assert "I have sent that to Ana." in village.last_to("mary")
    assert LATER_WORDS[1] in village.last_to("ana")


async def test_a_chat_found_closed_only_later_hands_the_words_to_the_stand_in(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await lifted(village)
    village.channel.close_chat("rua")

    await village.says("mary", LATER_WORDS[1])
    await village.wait(11)

    assert LATER_WORDS[1] in village.last_to("ana")


async def test_words_while_the_alert_is_open_still_reach_the_coach(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.taps("rua", "I have seen")

    await village.says("mary", LATER_WORDS[1])

    assert "I have sent that to Rua." in village.last_to("mary")
    assert LATER_WORDS[1] in village.last_to("rua")


async def test_a_sign_tapped_again_after_it_was_seen_is_told_again(village: Practice):
    for _ in range(2):
        await village.says("mary", "/unwell")
        await village.taps("mary", "! Chest")
        before = len(village.heard("rua"))
        await village.taps("rua", "I have seen")

    await village.says("mary", "/unwell")
    await village.taps("mary", "! Chest")

    assert "I am telling Rua now" in "\n".join(village.heard("mary")[-3:])
    assert [text for text in village.heard("rua", before) if "EMERGENCY: Mary" in text]


async def test_it_is_happening_now_after_the_hold_was_lifted_is_an_alert_again(village: Practice):
    await village.says("mary", "/unwell")
    await village.taps("mary", "! Chest")
    await village.taps("mary", "Chest pain")
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    before = len(village.heard("rua"))

    await village.says("mary", "now")

    assert "Rua is told." in village.last_to("mary")
    assert [text for text in village.heard("rua", before) if "EMERGENCY: Mary" in text]


@pytest.mark.parametrize("gone", [no_chat, blocked], ids=["no chat", "blocked"])
@pytest.mark.parametrize(
    "words",
    [
        "my chest feels tight",
        "I feel dizzy",
        "I want to kill myself",
        "my husband hits me and I am scared of him",
        "my wife has collapsed on the floor",
        "I have a fever",
    ],
)
async def test_no_sign_is_said_to_be_told_where_no_coach_has_a_chat(
    village: Practice, words: str, gone: Callable[[Practice], Callable[[UnitOfWork], None]]
):
    await village.app.database.run(gone(village))

    said = await village.says("mary", words)

    assert_nothing_claimed(said)
    assert any("I can reach nobody" in text and "111" in text for text in said), said


@pytest.mark.parametrize("gone", [no_chat, blocked], ids=["no chat", "blocked"])
async def test_whoever_cannot_call_hears_that_nobody_is_asked_to(
    village: Practice, gone: Callable[[Practice], Callable[[UnitOfWork], None]]
):
    await village.app.database.run(gone(village))
    await village.says("mary", "my chest feels tight")

    said = await village.taps("mary", "I can't")

    assert_nothing_claimed(said)
    assert "I can reach nobody" in said[0]
    assert "111" in said[0]


@pytest.mark.parametrize("gone", [no_chat, blocked], ids=["no chat", "blocked"])
async def test_voice_notes_messages_and_pains_are_not_said_to_be_told_to_nobody(
    village: Practice, gone: Callable[[Practice], Callable[[UnitOfWork], None]]
):
    await village.app.database.run(gone(village))

    voice = await village.sends_voice("mary")
    await village.says("mary", "/message")
    message = await village.says("mary", "Please ring me about Thursday")
    await village.says("mary", "/unwell")
    await village.taps("mary", "Something else")
    other = await village.says("mary", "I slept on the wrong side")
    await village.says("mary", "/unwell")
    pain = await village.taps("mary", "Pain", "Knee", "2")

    for said in (voice, message, other, pain):
        assert_nothing_claimed(said)
        assert any("I can reach nobody" in text for text in said), said
        assert any("111" in text for text in said), said


async def test_words_about_how_one_feels_are_with_the_coach_at_once(village: Practice):
    await village.says("mary", "/unwell")
    await village.taps("mary", "Something else")

    await village.says("mary", "I slept on the wrong side")

    assert "I have passed it on to Rua." in village.last_to("mary")
    assert "I slept on the wrong side" in village.last_to("rua")


async def test_a_message_goes_to_the_stand_in_where_the_coach_has_no_chat(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.app.database.run(no_chat(village))
    await village.says("mary", "/message")

    await village.says("mary", "Please ring me about Thursday")

    assert village.last_to("mary") == "I have passed it on to Ana."
    assert "Please ring me about Thursday" in village.last_to("ana")


async def test_a_pain_that_is_only_listed_is_called_a_note(village: Practice):
    before = len(village.heard("rua"))
    await village.says("mary", "/unwell")
    said = await village.taps("mary", "Pain", "Knee", "2")

    assert "I have left a note for Rua." in said[0]
    assert_nothing_claimed(said)
    assert len(village.heard("rua")) == before


async def test_the_coach_is_not_told_that_a_client_without_a_chat_was_told(village: Practice):
    await village.says("mary", "my chest feels tight")

    def block(unit: UnitOfWork) -> None:
        mark_blocked(unit, Address(CHANNEL, "mary"), village.clock.now())
        unit.commit()

    await village.app.database.run(block)
    seen = await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    lift = await village.taps("rua", "Today")

    for said in (seen, lift):
        assert not any("is told" in text for text in said)
        assert any("cannot reach Mary" in text for text in said)


def plan_of(unit: UnitOfWork) -> dict[str, Any] | None:
    """The newest plan on record, or none."""
    row = unit.session.exec(select(SessionRow).order_by(col(SessionRow.id).desc())).first()
    return None if row is None else unit.encryption.decrypt_json(row.plan_sealed)


@pytest.mark.parametrize("running", [False, True], ids=["planned", "on its way"])
async def test_after_a_lift_the_plan_of_the_same_day_is_made_anew_at_the_easiest(
    village: Practice, running: bool
):
    hemi = await village.client("Hemi", birth_year=1990, sex="m")

    def lowest(unit: UnitOfWork) -> dict[str, float]:
        facts = StoreFacts(unit, get_person(unit, hemi), village.clock.now(), reference())
        client = facts.client(hemi).client
        steps = {family: ladder(client, family, reference().catalogue) for family in Family}
        return {family.value: found[0].demand for family, found in steps.items() if found}

    await village.at("07:00")
    await village.good_morning("hemi")
    await village.says("hemi", "/today")
    await village.taps("hemi", "Start")
    if running:
        await village.taps("hemi", "I am ready")
    before = await village.app.database.run(plan_of)
    await lifted(village, who="hemi")
    assert "We start with the easiest moves." in village.last_to("hemi")

    await village.says("hemi", "/today")
    await village.taps("hemi", "Start")

    after = await village.app.database.run(plan_of)
    easiest = await village.app.database.run(lowest)
    assert before is not None
    assert after is not None
    harder = [one for one in before["items"] if one["demand"] > easiest[one["family"]]]
    assert harder, "else the test shows nothing"
    assert after["items"]
    for one in after["items"]:
        assert one["demand"] == pytest.approx(easiest[one["family"]]), one["family"]
        assert (one["sets"], one["amount"]) == (1, one["low"]), one["family"]
