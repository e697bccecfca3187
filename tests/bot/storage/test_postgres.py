"""The same code on PostgreSQL: the whole path once."""

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlmodel import select

from bot.clock import ManualClock
from bot.messages import Incoming, IncomingKind
from bot.runtime.app import App, build
from bot.settings import Settings
from bot.storage import people
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.tables import AlertRow, ClientRow, CoachRow, InboxRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import Role
from tests.doubles.postgres import NEEDED, OWNER, end_orphans, own_server
from tests.doubles.record_channel import RecordChannel
from tests.doubles.store import KEY
from tests.support.loaded import loaded
from tests.support.practice import ANSWERS

pytestmark = NEEDED

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)

NO_PROCESS = 2**22 + 1
"""A number that no process can have: Linux gives none above 2**22."""


def _practice(unit: UnitOfWork) -> None:
    coach = people.add_person(unit, Role.COACH, "Rua", NOON)
    unit.session.add(CoachRow(person_id=coach))
    people.bind(unit, coach, Address("record", "rua"), NOON)
    client = people.add_person(unit, Role.CLIENT, "Mary", NOON)
    unit.session.get_one(PersonRow, client).country = "NZ"
    unit.session.add(
        ClientRow(
            person_id=client,
            coach_id=coach,
            profile_sealed=unit.encryption.encrypt_json(ANSWERS),
            joined_at=NOON,
            cleared_at=NOON,
            checkin_at="07:00",
            training_days="1,2,3,4,5,6,7",
            checkin_due_at=NOON + timedelta(hours=19),
        )
    )
    people.bind(unit, client, Address("record", "mary"), NOON)
    unit.commit()


def _says(number: int, words: str, now: datetime) -> Incoming:
    return Incoming("record", "mary", str(number), IncomingKind.TEXT, words, "", "", now)


@pytest.mark.parametrize("store", ["postgresql"], indirect=True)
async def test_a_morning_and_a_warning_sign_work_from_end_to_end(store: Database, tmp_path: Path):
    clock, channel = ManualClock(NOON), RecordChannel()
    settings = Settings(home=tmp_path, database=store.address)
    app: App = build(
        settings,
        KEY,
        clock,
        lambda *_: {"record": channel},
        lambda _: "",
        loaded(),
        60.0,
    )
    store.run_now(_practice)
    await app.engine.start()

    await app.visit_until(NOON + timedelta(hours=20), clock.move_to, lambda: None)
    assert "Good morning, Mary" in channel.said_to("mary")[0]

    said = _says(1, "my chest hurts and it goes to my arm", clock.now())
    await app.engine.accept([said, said])
    await app.engine.accept([said])
    await app.settle()

    assert "Call 111 now" in channel.said_to("mary")[-1]
    assert "my chest hurts" in channel.said_to("rua")[-1]

    def look(unit: UnitOfWork) -> tuple[int, list[str], set[str], datetime]:
        alerts = unit.session.exec(select(AlertRow)).all()
        inbox = unit.session.exec(select(InboxRow)).all()
        outbox = unit.session.exec(select(OutboxRow)).all()
        return (
            len(alerts),
            [row.status for row in inbox],
            {row.status for row in outbox},
            alerts[0].raised_at,
        )

    assert store.run_now(look) == (1, ["done"], {"sent"}, clock.now())
    app.database.close()


@NEEDED
def test_a_server_whose_tests_were_killed_is_ended_by_the_next():
    with own_server() as left:
        kept = int((left.folder / "data" / "postmaster.pid").read_text("utf-8").split()[0])
        (left.folder / OWNER).write_text(str(NO_PROCESS), encoding="utf-8")

        # Tests in another process may see it first, and be at it still.
        for _ in range(1_200):
            end_orphans()
            if not left.folder.exists() and not _runs(kept):
                break
            time.sleep(0.05)

        assert not left.folder.exists()
        assert not _runs(kept)
        left.folder.mkdir()


def _runs(process: int) -> bool:
    """Whether it still works; one that has ended but was not asked how has no command line."""
    try:
        return bool(Path(f"/proc/{process}/cmdline").read_bytes())
    except OSError:
        return False
