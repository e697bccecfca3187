"""A day's questions to the store stay quick in a practice of many years.

Every statement of a day is put to the database's own query planner (SQLite, "EXPLAIN QUERY PLAN":
a line that begins with SCAN reads a table from end to end).
"""

import re
import sqlite3
from collections.abc import AsyncIterator, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, text

from tests.scenarios.conftest import MONDAY_EVENING
from tests.support.practice import Practice, practice

GROWING = {
    "outbox",
    "inbox",
    "conversation",
    "checkin",
    "session",
    "set",
    "pain",
    "alert",
    "hold",
    "note",
    "audit",
}
"""Tables that get longer every day and never shorter."""


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    """On a file: its planner is asked."""
    async with practice(tmp_path, MONDAY_EVENING, database="") as running:
        await running.coach("Rua")
        await running.client("Mary")
        yield running


VALUES = re.compile(r"'(?:[^']|'')*'|\b\d[\d.]*\b")


@contextmanager
def statements(practice: Practice) -> Iterator[list[str]]:
    """What is asked within the block, one of each kind, with values in it."""
    asked: dict[str, str] = {}

    def keep(statement: str) -> None:
        asked.setdefault(VALUES.sub("?", statement), statement)

    def watch(connection: sqlite3.Connection, *_more: Any) -> None:
        connection.set_trace_callback(keep)

    def leave(connection: sqlite3.Connection, *_more: Any) -> None:
        connection.set_trace_callback(None)

    engine = practice.app.database.engine
    event.listen(engine, "checkout", watch)
    event.listen(engine, "checkin", leave)
    found: list[str] = []
    try:
        yield found
    finally:
        event.remove(engine, "checkout", watch)
        event.remove(engine, "checkin", leave)
        found += asked.values()


def read_from_end_to_end(practice: Practice, asked: Sequence[str]) -> dict[str, list[str]]:
    """The growing tables that each statement reads whole."""
    found: dict[str, list[str]] = {}
    with practice.app.database.engine.connect() as connection:
        ask = connection.connection.cursor().execute
        for statement in asked:
            if not statement.lstrip().startswith(("SELECT", "UPDATE", "DELETE", "INSERT")):
                continue
            lines = [line[3].split() for line in ask(f"EXPLAIN QUERY PLAN {statement}")]
            # An alias is named by the table and a number.
            tables = [re.sub(r"_\d+$", "", line[1]) for line in lines if line[0] == "SCAN"]
            if set(tables) & GROWING:
                found[statement] = [table for table in tables if table in GROWING]
    return found


async def test_no_statement_of_a_day_reads_a_growing_table_from_end_to_end(village: Practice):
    with statements(village) as asked:
        await village.at("07:00")
        await village.good_morning()
        await village.says("mary", "/today")
        await village.says("mary", "can I have an easier squat please")
        await village.says("mary", "/today")
        await village.taps("mary", "Start", "I am ready")
        await village.taps("mary", "Done")
        await village.says("mary", "my chest feels tight")
        await village.wait(30)
        await village.taps("rua", "I have seen")
        await village.says("mary", "I'm fine, I was joking")
        await village.says("rua", "/clients")
        await village.says("mary", "it has been raining here")
        await village.at("07:00")
        await village.at("20:00")

    assert any(statement.startswith("UPDATE outbox") for statement in asked)
    assert len(asked) > 60
    assert read_from_end_to_end(village, asked) == {}


async def test_a_scan_would_be_noticed(village: Practice):
    await village.at("07:00")
    with statements(village) as asked, village.app.database.engine.connect() as connection:
        connection.execute(text("SELECT id FROM outbox WHERE last_error = 'x'"))
        connection.execute(text("SELECT id FROM outbox AS outbox_2 WHERE last_error = 'x'"))

    assert list(read_from_end_to_end(village, asked).values()) == [["outbox"], ["outbox"]]
