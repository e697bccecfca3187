"""What is said to arrivals that no conversation wanted, and to those that break one."""

import errno
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select

from bot.engine import engine as engine_module
from bot.engine.engine import Engine
from bot.errors import StoreAway, StoreError
from bot.flows.commands import command_of
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn
from bot.messages import Incoming, IncomingKind
from bot.storage import inbox, people
from bot.storage.people import Address
from bot.storage.tables import AlertRow, InboxRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import Role
from tests.support.practice import CHANNEL, NEW_ZEALAND, Practice, practice

MONDAY_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    async with practice(tmp_path, MONDAY_EVENING) as running:
        await running.coach("Rua")
        await running.client("Mary")
        yield running


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Failed rows are tried again at once."""
    monkeypatch.setattr(engine_module, "PAUSE_BEFORE_RETRY", 0.0)


async def break_flow(running: Practice, name: str) -> list[str]:
    """Let a conversation fail at every event; gives the list of tries that fills up."""
    tries: list[str] = []

    def step(_state: State, event: Event, _facts: object) -> Turn:
        tries.append(event.value)
        raise ZeroDivisionError

    conversations = running.app.due.conversations
    broken = SimpleNamespace(NAME=name, step=step)
    await _use(running, replace(conversations, flows={**conversations.flows, name: broken}))
    return tries


async def _use(running: Practice, conversations: object) -> None:
    app = running.app
    app.engine = Engine(
        app.database, app.clock, conversations, app.sender.wake, app.lifeline.watched
    )
    await app.engine.start()


def statuses(unit: UnitOfWork) -> list[str]:
    return list(unit.session.exec(select(InboxRow.status).order_by(InboxRow.id)).all())


def arrival(number: int, text: str) -> Incoming:
    return Incoming(CHANNEL, "mary", f"x{number}", IncomingKind.TEXT, text, "", "", MONDAY_EVENING)


async def test_a_row_that_fails_three_times_gets_one_apology_and_does_not_block_the_next(
    village: Practice, quick: None
):
    tries = await break_flow(village, "menu")

    await village.app.engine.accept([arrival(1, "/menu"), arrival(2, "/settings")])
    await village.app.settle()

    heard = village.heard("mary")
    assert len(tries) == 3
    assert len([text for text in heard if "something went wrong on my side" in text]) == 1
    assert "111" in heard[0]
    assert len(heard) == 2
    assert "went wrong" not in heard[1]
    assert await village.app.database.run(statuses) == ["failed", "done"]


async def test_a_conversation_that_breaks_cannot_lose_a_warning_sign(
    village: Practice, quick: None
):
    await break_flow(village, "checkin")
    await village.says("mary", "/menu")

    # The words are read before any conversation sees them, in a transaction of their own.
    await village.app.engine.accept([arrival(1, "I feel dizzy now"), arrival(2, "/checkin")])
    await village.app.settle()

    assert "Mary" in village.last_to("rua")
    raised = await village.app.database.run(lambda unit: unit.session.exec(select(AlertRow)).all())
    assert len(raised) == 1


async def test_words_that_nothing_could_answer_stand_on_the_open_alert(
    village: Practice, quick: None
):
    await village.says("mary", "my chest feels tight")
    await break_flow(village, "safety")
    words = "the front door is open"

    await village.app.engine.accept([arrival(1, words)])
    await village.app.settle()

    assert any("something went wrong on my side" in text for text in village.heard("mary"))
    assert words in village.last_to("rua")


async def test_while_the_store_fails_a_row_waits_and_is_answered_when_it_is_back(
    village: Practice, quick: None
):
    real, failing = village.app.database.run, 5

    async def run(work: object, *given: object) -> object:
        nonlocal failing
        about_rows = getattr(work, "__func__", work) in (
            type(village.app.due.conversations).handle,
            inbox.mark_failure,
            inbox.stored,
        )
        if about_rows and failing:
            failing -= 1
            raise StoreError("database is locked")
        return await real(work, *given)

    measures = village.app.database.measures
    village.app.engine._database = SimpleNamespace(run=run, measures=measures)

    await village.says("mary", "/menu")
    await village.says("mary", "/settings")

    assert failing == 0
    assert len(village.heard("mary")) == 2
    assert not any("went wrong" in text for text in village.heard("mary"))
    assert await village.app.database.run(statuses) == ["done", "done"]


@pytest.mark.parametrize(
    "fault",
    [
        pytest.param(StoreAway("the connection is lost"), id="store"),
        pytest.param(OSError(errno.EMFILE, "Too many open files"), id="file"),
        pytest.param(ModuleNotFoundError("No module named 'late'"), id="part of the program"),
    ],
)
async def test_what_comes_and_goes_does_not_set_a_sign_aside(
    village: Practice, quick: None, fault: Exception
):
    real, failing = village.app.database.run, 5

    async def run(work: object, *given: object) -> object:
        nonlocal failing
        handles = type(village.app.due.conversations).handle
        if getattr(work, "__func__", work) is handles and failing:
            failing -= 1
            raise fault
        return await real(work, *given)

    # Only the sign's own work fails: what counts its failures always gets through.
    measures = village.app.database.measures
    village.app.engine._database = SimpleNamespace(run=run, measures=measures)

    await village.says("mary", "crushing chest pain")

    assert failing == 0
    assert await village.app.database.run(statuses) == ["done"]
    raised = await village.app.database.run(lambda unit: unit.session.exec(select(AlertRow)).all())
    assert len(raised) == 1


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        pytest.param("flibbertigibbet", "did not understand", id="an unknown word"),
        pytest.param("roses " * 666, "cannot follow long messages", id="4,000 characters"),
        pytest.param("👍", "only read words and taps", id="a thumb"),
        pytest.param("🎉🎉 ❤️", "only read words and taps", id="several pictures"),
        pytest.param("?!", "only read words and taps", id="punctuation"),
        pytest.param("/nonsense", "did not understand", id="an unknown command"),
    ],
)
async def test_what_means_nothing_gets_one_kind_sentence_and_a_way_on(
    village: Practice, text: str, answer: str
):
    said = await village.says("mary", text)

    assert len(said) == 1
    assert answer in said[0]
    assert "Menu" in said[0]
    labels = [
        choice.label for row in village.newest_buttons("mary").outgoing.choices for choice in row
    ]
    assert "Menu" in " ".join(labels)


async def test_words_that_were_not_understood_can_be_passed_on_with_one_tap(village: Practice):
    await village.says("mary", "please bring the red book")
    said = await village.taps("mary", "Send")

    assert any("please bring the red book" in text for text in village.heard("rua"))
    assert said


async def test_in_the_middle_of_a_question_it_is_asked_again(village: Practice):
    await village.at("07:00")
    question = village.last_to("mary")

    said = await village.says("mary", "flibbertigibbet")

    assert "did not understand" in said[0]
    assert "I will ask my question again" in said[0]
    assert said[-1].splitlines()[-1] == question.splitlines()[-1]


@pytest.mark.parametrize(
    "tap", ["checkin.99999.4", "checkin.x.4", "nobody.1.2", "", "...", "menu.1.", "who.1.2"]
)
async def test_a_button_of_something_that_is_gone_gets_one_kind_sentence(
    village: Practice, tap: str
):
    said = await village.taps_value("mary", tap)

    assert len(said) == 1
    assert "older message" in said[0]


async def test_an_old_button_in_the_middle_of_a_question_brings_the_question_back(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    done = village.newest_buttons("mary").outgoing.choices
    await village.says("mary", "/settings")
    open_now = village.last_to("mary")

    said = await village.taps_value("mary", "checkin.99999.4")

    assert "older message" in said[0]
    assert said[-1] == open_now
    assert done


async def test_a_button_of_somebody_else_does_nothing(village: Practice):
    await village.client("Hemi")
    await village.says("mary", "/settings")
    value = village.newest_buttons("mary").outgoing.choices[0][0].value

    said = await village.taps_value("hemi", value)

    assert len(said) == 1
    assert "older message" in said[0]


async def test_two_clients_on_one_phone_are_asked_whose_words_these_are(village: Practice):
    hemi = await village.client("Hemi")
    now = village.clock.now()

    def share(unit: UnitOfWork) -> None:
        people.bind(unit, hemi, Address(CHANNEL, "mary"), now)
        unit.commit()

    await village.app.database.run(share)

    said = await village.says("mary", "/settings")
    assert said == ["More than one of you uses this phone. Who wrote that?"]

    said = await village.taps("mary", "Hemi")
    assert len(said) == 1
    assert "Settings" in said[0] or "change" in said[0]

    # Words have one owner: the other button does nothing any more.
    first_question = next(one for one in village.channel.sent if "Who wrote" in one.outgoing.text)
    other = next(
        choice.value
        for row in first_question.outgoing.choices
        for choice in row
        if choice.label == "Mary"
    )
    assert "older message" in (await village.taps_value("mary", other))[0]

    # From now on the words belong to whoever is in the middle of a conversation.
    said = await village.says("mary", "flibbertigibbet")
    assert "did not understand" in said[0]


async def test_words_handed_to_the_one_who_spoke_last_are_answered_too(village: Practice):
    hemi = await village.client("Hemi")
    now = village.clock.now()

    def share(unit: UnitOfWork) -> None:
        people.bind(unit, hemi, Address(CHANNEL, "mary"), now)
        unit.commit()

    await village.app.database.run(share)
    await village.at("07:00")
    shown = next(
        one for one in reversed(village.channel.sent) if "Good morning, Mary" in one.outgoing.text
    )
    none_of_these = next(
        choice.value
        for row in shown.outgoing.choices
        for choice in row
        if choice.label.startswith("None of these")
    )
    await village.taps_value("mary", none_of_these, shown.platform_id)

    assert "Who wrote that?" in (await village.says("mary", "4"))[-1]
    said = await village.taps("mary", "Mary")

    assert len(said) == 1
    assert "older message" not in said[0]


async def test_a_warning_sign_from_a_shared_phone_does_not_wait_for_that_question(
    village: Practice,
):
    hemi = await village.client("Hemi")
    now = village.clock.now()

    def share(unit: UnitOfWork) -> None:
        people.bind(unit, hemi, Address(CHANNEL, "mary"), now)
        unit.commit()

    await village.app.database.run(share)

    said = await village.says("mary", "my chest feels tight")

    assert "111" in said[0].splitlines()[0]
    assert "EMERGENCY" in village.last_to("rua")


async def test_conversations_that_open_one_another_without_end_are_stopped(
    village: Practice, quick: None
):
    def step(state: State, event: Event, _facts: object) -> Turn:
        assert event.kind is EventKind.BEGIN
        return Turn(None, says=(Say("engine/stale_button"),), begin=(Begin("menu"),))

    conversations = village.app.due.conversations
    endless = SimpleNamespace(NAME="menu", step=step)
    await _use(village, replace(conversations, flows={**conversations.flows, "menu": endless}))

    said = await village.says("mary", "/menu")

    assert len(said) == 1
    assert "went wrong" in said[0]


@pytest.mark.parametrize("value", ["time", "days", "away"])
async def test_every_question_of_the_settings_names_its_buttons(village: Practice, value: str):
    await village.says("mary", "/settings")
    asked = next(
        choice.value
        for row in village.newest_buttons("mary").outgoing.choices
        for choice in row
        if choice.value.endswith(value)
    )

    said = await village.taps_value("mary", asked)

    assert "went wrong" not in said[0]


async def test_menu_is_a_command_of_both_sides(village: Practice):
    commands = village.app.loaded.reference.commands

    for role in (Role.CLIENT, Role.COACH):
        assert command_of("/menu", role, commands) is not None


@pytest.mark.parametrize("typed", ["Mary", "mary", " MARY. "])
async def test_a_coach_who_types_a_client_s_name_gets_the_card(village: Practice, typed: str):
    said = await village.says("rua", typed)

    assert "Mary: " in said[-1]
    assert "Conditions:" in said[-1]
