"""Erased means erased: nothing that a client said or tapped can be read any more, in any file."""

import re
import shutil
import sqlite3
from collections.abc import AsyncIterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import MetaData, text
from sqlmodel import col, select

from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind
from bot.storage.encryption import Encryption
from bot.storage.people import Address, bind
from bot.storage.tables import (
    AlertRow,
    CheckinRow,
    ConversationRow,
    InboxRow,
    InvitationRow,
    PainRow,
    SessionRow,
    SetRow,
    WalkRow,
)
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId
from tests.architecture.code import ROOT
from tests.doubles.postgres import NEEDED, own_server
from tests.doubles.record_channel import Recorded
from tests.scenarios.conftest import MONDAY_EVENING
from tests.scenarios.test_invitations import invites
from tests.support.practice import CHANNEL, Practice, practice
from tests.support.sessions import labels, tap, whole_session

CODE = re.compile(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b")
NAME = "Quillanda"
WORDS = (
    "my hip feels like gravelmark one",
    "please tell her about my gravelmark two",
    "my chest feels tight gravelmark three",
    "I had it before gravelmark four",
)
COACHS_WORDS = "gravelmark five, says she sleeps badly"
HOME = "7 Gravelmark Lane, Thames"
MARKS = ("gravelmark", "Gravelmark", NAME, NAME.lower() + "'s", "Tomgravel", "+64215550177")


async def lives(village: Practice) -> list[str]:
    """Everything that a client can do and that is said of her; gives the values that she tapped."""
    who = NAME.lower()
    await village.coach("Rua")
    await village.coach("Ana", backup_of="rua")
    await village.client("Bob")
    await village.client(
        NAME, home=HOME, contact_name="Tomgravel", phone="+64215550177", spares=["wrist"]
    )
    await whole_session(village, who)
    await village.says(who, "walked 20 minutes, could talk")
    await village.at("07:00")
    await village.good_morning(who)
    await village.says(who, "/today")
    await tap(village, "see=0", who)
    await tap(village, "hurts", who)
    await village.taps(who, "Wrist", "4", "No, more of an ache")
    await village.says(who, "/progress")
    await village.says(who, "/message")
    await village.says(who, WORDS[0])
    await village.says(who, WORDS[1])
    await card(village)
    for page in ("Record", "Reasons", "How it climbs", "Work each week", "Answers", "Notes"):
        await village.taps("rua", page)
        if page == "Notes":
            await village.taps("rua", "Write")
            await village.says("rua", COACHS_WORDS)
        else:
            await card(village)
    await village.at("07:00")
    await village.says(who, WORDS[2])
    await village.wait(15)
    await village.says(who, WORDS[3])
    await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Gravelmark")
    await village.taps("rua", "Today")
    await card(village)
    await village.taps("rua", "More", "New phone", "Yes, make a code")
    code = next(found for one in reversed(village.heard("rua")) if (found := CODE.search(one)))
    await village.says(who, code[0])
    await village.says(who, "/mydata")
    await village.taps(who, "A copy")
    await village.at("08:00")
    taps = village.app.database.run_now(_taps_of, village.ids[who])
    assert len(taps) > 30
    return taps


async def card(village: Practice) -> None:
    """The coach opens the client's card."""
    await village.says("rua", "/clients")
    await village.taps("rua", next(one for one in labels(village, "rua") if NAME in one))


def _taps_of(unit: UnitOfWork, person: int) -> list[str]:
    rows = unit.session.exec(select(InboxRow).where(InboxRow.person_id == person))
    taps = [unit.encryption.decrypt(row.tap_sealed) for row in rows]
    return [tap for tap in taps if tap.count(".") == 2 and tap[-1] != "."]


async def erase(village: Practice, who: str = NAME.lower()) -> list[str]:
    await village.says(who, "/mydata")
    await village.taps(who, "Leave and erase")
    asked = village.last_to(who)
    await village.taps(who, "Yes")
    return [asked, village.last_to(who)]


def every_word(village: Practice) -> str:
    """All that stands in the tables, with whatever the key opens."""
    encryption, tables = village.app.database.encryption, MetaData()
    with village.app.database.engine.connect() as connection:
        tables.reflect(connection)
        rows = [row for one in tables.sorted_tables for row in connection.execute(one.select())]
    values = [value for row in rows for value in row if isinstance(value, str)]
    return "\n".join(_opened(encryption, value) for value in values)


def _opened(encryption: Encryption, value: str) -> str:
    try:
        return encryption.decrypt(value)
    except (StoreError, ValueError):
        return value


def every_byte(folder: Path) -> bytes:
    return b"\n".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def assert_gone(village: Practice, taps: list[str], folder: Path) -> None:
    raw = every_byte(folder)
    # What the key opens anywhere in a file, also where no row is any more.
    tokens = {token.decode() for token in re.findall(rb"gAAAA[A-Za-z0-9_-]{60,}={0,2}", raw)}
    left = "\n".join(_opened(village.app.database.encryption, token) for token in tokens)
    words = every_word(village)
    for mark in (*MARKS, *taps):
        assert mark not in words
        assert mark not in left
        assert mark.encode() not in raw


@dataclass(frozen=True)
class Lived:
    """A practice after the life of :func:`lives`, lived once and copied for each test."""

    folder: Path
    now: datetime
    ids: dict[str, PersonId]
    number: int
    sent: tuple[Recorded, ...]
    taps: list[str]


_LIVED: list[Lived] = []


async def lived(place: Path) -> Lived:
    if not _LIVED:
        async with practice(place, MONDAY_EVENING, database="") as running:
            taps = await lives(running)
            now, ids, number = running.clock.now(), running.ids, running._number
            sent = tuple(running.channel.sent)
        _LIVED.append(Lived(place, now, ids, number, sent, taps))
    return _LIVED[0]


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    async with practice(tmp_path, MONDAY_EVENING) as running:
        yield running


@pytest.fixture
async def old_village(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> AsyncIterator[Practice]:
    """A practice in which somebody has lived through everything."""
    life = await lived(tmp_path_factory.mktemp("lived") if not _LIVED else tmp_path)
    shutil.copytree(life.folder, tmp_path, dirs_exist_ok=True)
    async with practice(tmp_path, life.now, database="") as running:
        running.ids.update(life.ids)
        running._number = life.number
        running.channel.sent.extend(life.sent)
        yield running


@pytest.fixture
def taps(old_village: Practice) -> list[str]:
    """What was tapped in it."""
    return _LIVED[0].taps


async def test_nothing_of_a_whole_life_can_be_read_in_any_row_or_file(
    old_village: Practice, taps: list[str], tmp_path: Path
):
    village = old_village
    before = every_word(village)
    assert all(mark in before for mark in ("gravelmark one", "Gravelmark Lane", NAME, *taps))

    asked, done = await erase(village)

    assert "phones, in this chat app" in asked
    assert "Done. Your words are erased." in done
    assert "gone by 9 April 2026" in done
    assert_gone(village, taps, tmp_path)


async def test_a_name_goes_from_a_code_that_was_never_used(village: Practice):
    await village.coach("Rua")
    await invites(village, NAME)
    village.clock.move_to(village.clock.now() + timedelta(hours=1))
    await village.client(NAME)
    await invites(village, NAME)
    code = await invites(village, "Nell")
    assert NAME in every_word(village)

    await erase(village)

    # The newest is a namesake's, and good still.
    left = village.app.database.run_now(_invited)
    assert sorted(left) == ["Nell", NAME]
    await village.says("nell", code)
    assert "Rua" in " ".join(village.heard("nell"))


def _invited(unit: UnitOfWork) -> list[str]:
    rows = unit.session.exec(select(InvitationRow).where(col(InvitationRow.used_at).is_(None)))
    return [unit.encryption.decrypt(row.name_sealed) for row in rows]


async def test_what_is_kept_is_that_an_alert_was_raised_and_who_saw_it(old_village: Practice):
    village = old_village
    await erase(village)
    person = village.ids[NAME.lower()]

    def look(unit: UnitOfWork) -> None:
        alerts = unit.session.exec(select(AlertRow).where(AlertRow.client_id == person)).all()
        assert ("emergency", village.ids["rua"]) in [(one.level, one.seen_by_id) for one in alerts]
        for alert in alerts:
            assert alert.words_sealed == alert.told_sealed == ""
        talks = select(ConversationRow).where(ConversationRow.person_id == person)
        for talk in unit.session.exec(talks):
            assert talk.answers_sealed == talk.standing_sealed == talk.flow == ""
        for row in unit.session.exec(select(InboxRow).where(InboxRow.person_id == person)):
            assert row.text_sealed == row.tap_sealed == ""
        for table in (CheckinRow, SessionRow, SetRow, WalkRow, PainRow):
            assert unit.session.exec(select(table).where(table.client_id == person)).all() == []

    village.app.database.run_now(look)


async def test_old_buttons_about_somebody_erased_still_get_an_answer(old_village: Practice):
    village = old_village
    shown = [one for one in village.channel.sent if one.address == "rua" and one.outgoing.choices]
    await erase(village)

    for one in shown:
        for choice in [choice for row in one.outgoing.choices for choice in row]:
            said = await village.taps_value("rua", choice.value, one.edits or one.platform_id)
            assert not any("went wrong" in text for text in said), choice.value
    assert NAME not in every_word(village)


async def test_a_client_without_a_word_left_is_not_in_the_way(old_village: Practice):
    village = old_village
    await erase(village)

    await village.at("07:00")
    await village.says("rua", "/clients")
    await village.says("rua", "/alerts")
    await village.says("bob", "my chest feels tight")

    assert "Bob" in village.last_to("rua")


async def test_what_somebody_erased_writes_later_goes_too_and_help_still_comes(
    old_village: Practice, tmp_path: Path
):
    village = old_village
    await erase(village)

    await village.says(NAME.lower(), "hello gravelmark again")
    assert "gravelmark" not in every_word(village)
    # No name is left to say.
    assert "from you." in (await village.says(NAME.lower(), "thank you dear"))[-1]
    fever = await village.says(NAME.lower(), "I have a bit of a temperature today")
    assert "I keep no note of this" in fever[-1]
    assert "left a note" not in fever[-1]
    await village.says(NAME.lower(), "crushing chest pain gravelmark again")
    assert "EMERGENCY" in village.last_to("rua")
    assert "gravelmark again" in every_word(village), "an open alert keeps its words"
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")

    assert_gone(village, [], tmp_path)


async def test_a_backup_brought_back_is_erased_again_before_it_serves(
    old_village: Practice, tmp_path: Path
):
    village = old_village
    store, copy = tmp_path / "dayrung.sqlite3", tmp_path.parent / f"{tmp_path.name}-copy"
    with closing(sqlite3.connect(store)) as live, closing(sqlite3.connect(copy)) as backup:
        live.backup(backup)
    await erase(village)
    village.app.database.close()
    _bring_back(copy, store)

    await village.restart()

    assert_gone(village, [], tmp_path)
    await village.says("bob", "/menu")
    assert village.last_to("bob")


async def test_a_backup_with_an_alert_open_is_erased_whole_where_that_alert_was_closed_since(
    village: Practice, tmp_path: Path
):
    await village.coach("Rua")
    await village.client(NAME)
    who = NAME.lower()
    await village.says(who, "crushing chest pain gravelmark")
    store, copy = tmp_path / "dayrung.sqlite3", tmp_path.parent / f"{tmp_path.name}-open"
    with closing(sqlite3.connect(store)) as live, closing(sqlite3.connect(copy)) as backup:
        live.backup(backup)
    await erase(village)
    assert "gravelmark" in every_word(village), "an open alert keeps its words"
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    assert "gravelmark" not in every_word(village)
    village.app.database.close()
    _bring_back(copy, store)
    told = len(village.heard("rua"))

    await village.restart()
    await village.wait(60)

    assert "gravelmark" not in every_word(village)
    assert not any("EMERGENCY" in text for text in village.heard("rua", told))
    await village.says(who, "crushing chest pain again")
    await village.restart()
    assert "EMERGENCY" in village.last_to("rua"), "a later alert is no part of it"
    assert "chest pain again" in every_word(village)


def _bring_back(copy: Path, store: Path) -> None:
    for path in store.parent.glob(f"{store.name}*"):
        path.unlink()
    shutil.copyfile(copy, store)


async def test_a_list_of_another_practice_erases_nobody(village: Practice, tmp_path: Path):
    await village.coach("Rua")
    await village.client(NAME)
    await erase(village)
    village.app.database.empty()
    village.clock.move_to(village.clock.now().replace(second=1))
    await village.coach("Rua")
    await village.client("Bob")

    await village.restart()

    assert "Bob" in every_word(village)


async def test_files_beside_the_store_are_cleaned_even_after_a_crash(
    old_village: Practice, taps: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    village = old_village
    spool = village.app.spool
    for who, words in ((NAME.lower(), "gravelmark six"), ("bob", "what Bob says")):
        now = village.clock.now()
        spool.set_aside(Incoming(CHANNEL, who, f"of {who}", IncomingKind.TEXT, words, "", "", now))
    monkeypatch.setattr(village.app.database, "_clean", lambda: None)
    await erase(village)
    assert list((tmp_path / "pictures").iterdir())

    await village.restart()

    assert list((tmp_path / "pictures").iterdir()) == []
    kept = [line for line in (tmp_path / "spool.aside").read_text().splitlines() if line]
    opened = [village.app.database.encryption.decrypt_json(line) for line in kept]
    assert [one["address"] for one in opened] == ["bob"]
    assert_gone(village, taps, tmp_path)


async def test_rows_of_before_of_which_nobody_knows_whom_they_tell_go_too(
    old_village: Practice, taps: list[str], tmp_path: Path
):
    village = old_village
    with village.app.database.engine.begin() as connection:
        connection.execute(text("UPDATE inbox SET about = NULL"))
        connection.execute(text("UPDATE outbox SET about = NULL"))

    await erase(village)

    assert_gone(village, taps, tmp_path)


async def test_a_name_typed_by_a_coach_who_had_no_record_of_it_goes_too(village: Practice):
    """A search and a note that came after the hand-over met nobody: they were about no record."""
    for coach in ("Rua", "Sam"):
        await village.coach(coach)
    await village.client("Zebulonia", coach="sam")
    for typed in ("Zebulonia", "cabbage Zebulonia note typed late", "something else of mine"):
        await village.says("rua", typed)
    await erase(village, "zebulonia")

    left = every_word(village)
    assert "cabbage" not in left
    assert "something else of mine" in left


async def test_a_whole_name_typed_by_the_coach_of_a_namesake_goes_too(village: Practice):
    """What was typed met the namesake's record, and is about that one only."""
    for coach in ("Rua", "Sam"):
        await village.coach(coach)
    await village.client("Ana Zebulon", coach="sam")
    await village.client("Ana Quill", coach="rua")
    for typed in ("ana  zebulon", "Ana Quill"):
        await village.says("rua", typed)
    await erase(village, "ana zebulon")

    left = every_word(village)
    assert "zebulon" not in left.casefold()
    assert "Ana Quill" in left


async def test_on_a_shared_phone_the_other_keeps_what_was_said(village: Practice):
    await village.coach("Rua")
    await village.client("Bob")
    await village.client(NAME)

    def share(unit: UnitOfWork) -> None:
        bind(unit, village.ids["bob"], Address(CHANNEL, NAME.lower()), village.clock.now())
        unit.commit()

    village.app.database.run_now(share)
    who = NAME.lower()
    await village.says(who, "/message")
    await village.taps(who, "Bob")
    await village.says(who, "all is well with bobmark")
    await village.says(who, "/message")
    await village.taps(who, NAME)
    await village.says(who, "all is well with gravelmark")

    await village.says(who, "/mydata")
    await village.taps(who, NAME, "Leave and erase", "Yes")

    assert "all is well with bobmark" in every_word(village)
    assert "gravelmark" not in every_word(village)
    assert NAME not in every_word(village)


@NEEDED
async def test_on_postgresql_nothing_is_left_once_its_files_are_rewritten(tmp_path: Path):
    with own_server() as server:
        async with practice(tmp_path, MONDAY_EVENING, database=server.address()) as village:
            taps = await lives(village)
            with village.app.database.engine.connect() as connection:
                plain = connection.execution_options(isolation_level="AUTOCOMMIT")
                # As autovacuum does by itself: values of each column become statistics.
                plain.execute(text("ANALYZE"))
                await erase(village)
                # The very statements of deploy/OPERATIONS.md.
                for statement in after_erasing():
                    plain.execute(text(statement))
            assert_gone(village, taps, server.folder / "data")
            assert_gone(village, taps, tmp_path)


def after_erasing() -> list[str]:
    """The SQL that an operator runs after an erasure on PostgreSQL."""
    page = (ROOT / "deploy" / "OPERATIONS.md").read_text(encoding="utf-8")
    block = page.partition("    -- after an erasure\n")[2].partition("\n\n")[0]
    return [line.strip().rstrip(";") for line in block.splitlines()]
