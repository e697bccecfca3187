"""A small store with one coach, her back-up and two clients, for tests of the trial page."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4

import httpx
import pytest
from cryptography.fernet import Fernet

from bot.channels.page.channel import NAME, Bell
from bot.clock import ManualClock
from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind, Kind, Outgoing
from bot.storage import inbox, people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.outbox import claim, enqueue, mark_sent
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from bot.trial.server import Content, PageServices, page_app
from core.vocabulary import PersonId, Role

BEGIN = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
"""A Monday evening in London, Tuesday 8 in the morning in Auckland."""

ORIGIN = "http://127.0.0.1:8765"


@cache
def empty_tables() -> bytes:
    """A database file with all tables; made once, since migrating takes a while."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "empty.sqlite3"
        database = Database(f"sqlite:///{path}", Encryption(Fernet.generate_key()))
        database.migrate()
        database.close()
        return path.read_bytes()


def new_store(folder: Path) -> Database:
    """An empty store with all tables."""
    path = folder / "page.sqlite3"
    path.write_bytes(empty_tables())
    return Database(f"sqlite:///{path}", Encryption(Fernet.generate_key()))


@dataclass
class Practice:
    """A store, and what the page was asked to do with it."""

    database: Database
    clock: ManualClock = field(default_factory=lambda: ManualClock(BEGIN))
    bell: Bell = field(default_factory=Bell)
    coach: PersonId = field(init=False)
    backup: PersonId = field(init=False)
    mere: PersonId = field(init=False)
    basil: PersonId = field(init=False)
    moves: list[datetime] = field(default_factory=list)
    broken: bool = False
    told: int = 0

    def open(self) -> None:
        """Everybody joins."""
        self.database.run_now(self._open)

    def _open(self, unit: UnitOfWork) -> None:
        now = self.clock.now()
        self.backup = people.add_person(unit, Role.COACH, "Piers Standish", now)
        self.coach = people.add_person(unit, Role.COACH, "Huia Marsden", now)
        unit.session.add(CoachRow(person_id=self.backup))
        unit.session.add(CoachRow(person_id=self.coach, backup_id=self.backup))
        self.mere = people.add_person(unit, Role.CLIENT, "Mere Tolhurst", now)
        self.basil = people.add_person(unit, Role.CLIENT, "Basil Quarmby", now)
        for person, zone in ((self.mere, "Pacific/Auckland"), (self.basil, "Europe/London")):
            unit.session.get_one(PersonRow, person).zone = zone
        unit.session.add(
            ClientRow(person_id=self.mere, coach_id=self.coach, joined_at=now, cleared_at=now)
        )
        unit.session.add(ClientRow(person_id=self.basil, coach_id=self.coach, joined_at=now))
        for person in (self.coach, self.backup, self.mere, self.basil):
            people.bind(unit, person, self.at(person), now)
        unit.commit()

    def at(self, person: PersonId) -> Address:
        """A person's phone."""
        return Address(NAME, f"phone-{person}")

    def tell(
        self,
        person: PersonId,
        outgoing: Outgoing,
        *,
        kind: Kind = Kind.REPLY,
        edits: int | None = None,
        sent: bool = True,
    ) -> int:
        """Put a message on a phone (or only in the outbox); gives its row."""
        return self.database.run_now(self._tell, person, outgoing, kind, edits, sent)

    def _tell(
        self,
        unit: UnitOfWork,
        person: PersonId,
        outgoing: Outgoing,
        kind: Kind,
        edits: int | None,
        sent: bool,
    ) -> int:
        self.told += 1
        now = self.clock.now()
        row_id = enqueue(
            unit,
            dedupe_key=f"told:{self.told}",
            at=self.at(person),
            person_id=person,
            kind=kind,
            outgoing=outgoing,
            now=now,
            edits_id=edits,
        )
        if sent:
            due = next(one for one in claim(unit, now, channel=NAME, most=99) if one.id == row_id)
            mark_sent(unit, due, due.edits_platform_id or f"m{row_id}", now)
        unit.commit()
        return row_id

    def do(
        self, person: PersonId, *, text: str = "", tap: str = "", on: int = 0, done: bool = True
    ) -> None:
        """Something that a person sent; ``on``: row of the tapped message."""
        self.database.run_now(self._do, person, text, tap, on, done)

    def _do(
        self, unit: UnitOfWork, person: PersonId, text: str, tap: str, on: int, done: bool
    ) -> None:
        kind = IncomingKind.TAP if tap else IncomingKind.TEXT
        one = Incoming(
            NAME,
            self.at(person).address,
            uuid4().hex,
            kind,
            text,
            tap,
            f"m{on}" if on else "",
            self.clock.now(),
        )
        for row in inbox.accept(unit, [one]):
            if done:
                inbox.mark_done(unit, row.id, person)
        unit.commit()

    def later(self, minutes: float) -> None:
        """Time passes."""
        self.clock.move_to(self.clock.now() + timedelta(minutes=minutes))

    async def accept(self, batch: Sequence[Incoming]) -> None:
        """The engine's promise: on the disk, or an error."""
        if self.broken:
            raise StoreError("the disk is full")
        await self.database.run(inbox.accept, batch)

    async def move(self, to: datetime) -> None:
        """Move the clock and remember it."""
        self.moves.append(to)
        self.clock.move_to(to)

    async def content(self, content_id: str) -> Content | None:
        """One picture."""
        return Content(b"picture", "image/png") if content_id == "seat.png" else None

    async def healthy(self) -> bool:
        """As long as the store works."""
        return not self.broken

    def page(self, **headers: str) -> httpx.AsyncClient:
        """A browser that has the page open."""
        services = PageServices(
            self.accept,
            self.database,
            self.clock,
            self.move,
            self.content,
            self.healthy,
            self.bell,
        )
        transport = httpx.ASGITransport(page_app(services))
        usual = {"Origin": ORIGIN, "Content-Type": "application/json"}
        return httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={**usual, **headers})


@pytest.fixture
def practice(tmp_path: Path) -> Iterator[Practice]:
    """A practice in a fresh store."""
    made = Practice(new_store(tmp_path))
    made.open()
    yield made
    made.database.close()
