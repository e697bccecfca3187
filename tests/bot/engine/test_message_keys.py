"""One counter numbers the messages of a turn: none is lost, and a repeat says nothing twice."""

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import col, select

from bot.engine import engine as engine_module
from bot.engine.conversation import Conversations
from bot.engine.engine import Engine
from bot.flows.machine import Begin, Event, Say, State, Turn
from bot.messages import Incoming, IncomingKind
from bot.storage import inbox
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import CHANNEL, NEW_ZEALAND, Practice, practice

MONDAY_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
MANY = 12
"""Messages of one conversation."""

SAYS = Say("engine/stale_button")


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    async with practice(tmp_path, MONDAY_EVENING) as running:
        await running.coach("Rua")
        await running.client("Mary")
        yield running


async def use(running: Practice, **flows: object) -> Conversations:
    """Let these conversations stand in for those of the same names."""
    app = running.app
    shipped = app.due.conversations
    conversations = replace(shipped, flows={**shipped.flows, **flows})
    app.engine = Engine(
        app.database, app.clock, conversations, app.sender.wake, app.lifeline.watched
    )
    await app.engine.start()
    return conversations


def talker(name: str, begins: tuple[Begin, ...] = (), messages: int = MANY) -> SimpleNamespace:
    """A conversation that says much and opens others."""

    def step(_state: State, _event: Event, _facts: object) -> Turn:
        return Turn(None, says=(SAYS,) * messages, begin=begins)

    return SimpleNamespace(NAME=name, step=step)


async def keys(running: Practice) -> list[str]:
    def read(unit: UnitOfWork) -> list[str]:
        rows = unit.session.exec(select(OutboxRow.dedupe_key).order_by(col(OutboxRow.id)))
        return list(rows)

    return await running.app.database.run(read)


async def arrives(running: Practice, who: str, text: str) -> inbox.Waiting:
    """Words that are stored and not yet worked off."""
    incoming = Incoming(
        CHANNEL, who, f"x{text}", IncomingKind.TEXT, text, "", "", running.clock.now()
    )
    (row,) = await running.app.database.run(inbox.accept, [incoming])
    return row


async def work_off(running: Practice, conversations: Conversations, row: inbox.Waiting) -> None:
    await running.app.database.run(conversations.handle, row, running.clock.now())
    running.app.sender.wake()
    await running.app.settle()


async def test_five_talkative_conversations_side_by_side_lose_no_message(village: Practice):
    five = ("settings", "progress", "today", "message", "own_data")
    opener = talker("menu", tuple(Begin(name) for name in five))
    await use(village, menu=opener, **{name: talker(name) for name in five})

    said = await village.says("mary", "/menu")

    assert len(said) == MANY * 6
    assert len(set(await keys(village))) == MANY * 6


async def test_five_conversations_one_out_of_another_lose_no_message(village: Practice):
    five = ("menu", "settings", "progress", "today", "own_data")
    chain = {name: talker(name, (Begin(after),)) for name, after in pairwise(five)}
    await use(village, **chain, own_data=talker("own_data"))

    said = await village.says("mary", "/menu")

    assert len(said) == MANY * 5


async def test_a_conversation_that_came_between_and_the_question_behind_it_are_both_heard(
    village: Practice,
):
    """A long reply used to reach the number at which the question behind it began."""
    await village.at("07:00")
    open_now = village.last_to("mary")
    await use(village, message=talker("message", messages=80))

    said = await village.says("mary", "/message")

    assert len(said) == 81
    assert said[-1].splitlines()[-1] == open_now.splitlines()[-1]


async def test_a_row_that_is_worked_off_twice_says_nothing_twice(village: Practice):
    conversations = await use(village)
    row = await arrives(village, "mary", "/settings")

    await work_off(village, conversations, row)
    once, known = village.heard("mary"), await keys(village)
    await work_off(village, conversations, row)

    assert once
    assert village.heard("mary") == once
    assert await keys(village) == known


async def test_the_turn_after_the_red_flags_is_no_repeat_of_them(
    village: Practice, monkeypatch: pytest.MonkeyPatch
):
    """The first try ends between its two commits; the second one has only the turn to do."""
    monkeypatch.setattr(engine_module, "PAUSE_BEFORE_RETRY", 0.0)
    failing = [True, False]

    def step(_state: State, _event: Event, _facts: object) -> Turn:
        if failing.pop(0):
            raise ZeroDivisionError
        return Turn(None, says=(SAYS,))

    await use(village, coach_menu=SimpleNamespace(NAME="coach_menu", step=step))
    words = "chest pain"
    monkeypatch.setitem(village.app.loaded.reference.commands, words, "menu")  # type: ignore[arg-type]

    said = await village.says("rua", words)

    assert failing == []
    assert "older message" in said[-1]
    stages = [key.split(":")[3] for key in await keys(village)]
    assert stages == ["signs", "turn"]


async def test_an_apology_is_no_repeat_of_what_the_red_flags_said(
    village: Practice, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(engine_module, "PAUSE_BEFORE_RETRY", 0.0)

    def step(_state: State, _event: Event, _facts: object) -> Turn:
        raise ZeroDivisionError

    await use(village, coach_menu=SimpleNamespace(NAME="coach_menu", step=step))
    words = "chest pain"
    monkeypatch.setitem(village.app.loaded.reference.commands, words, "menu")  # type: ignore[arg-type]

    said = await village.says("rua", words)

    assert "went wrong" in said[-1]
    stages = [key.split(":")[3] for key in await keys(village)]
    assert stages == ["signs", "set_aside"]
