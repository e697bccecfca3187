"""A practice on Telegram, put straight into the store: coaches, and clients who may train."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from bot.schedule.due import reschedule
from bot.storage import people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.doubles.keys import KEY
from tests.doubles.store import store_at
from tests.support.practice import ANSWERS

COACH_CHAT = 9001
FIRST_CLIENT_CHAT = 5001


@dataclass(frozen=True)
class Chats:
    """The chats of a practice: each client's coach stands at the same place."""

    coaches: Sequence[int]
    clients: Sequence[int]
    coach_of: Sequence[int]


def make_practice(
    home: Path,
    *,
    clients: int,
    coaches: int = 1,
    first_coach: int = COACH_CHAT,
    address: str = "",
) -> Chats:
    """Fill a new store below ``home``; check-ins are never prompted by the clock in a test.

    ``address``: of a PostgreSQL database with all tables, which is filled instead.
    """
    home.mkdir(parents=True, exist_ok=True)
    database = open_store(home, address)
    chats = Chats(
        coaches=[first_coach + place for place in range(coaches)],
        clients=[FIRST_CLIENT_CHAT + place for place in range(clients)],
        coach_of=[first_coach + place % coaches for place in range(clients)],
    )
    database.run_now(lambda unit: _fill(unit, chats))
    database.close()
    return chats


def open_store(home: Path, address: str = "") -> Database:
    """The store of a practice, beside a running service."""
    if address:
        return Database(address, Encryption(KEY))
    return store_at(home / "dayrung.sqlite3")


def _fill(unit: UnitOfWork, chats: Chats) -> None:
    now = datetime.now(UTC)
    coach_ids = {
        chat: _person(unit, Role.COACH, f"Rua {chat}", chat, now) for chat in chats.coaches
    }
    for coach in coach_ids.values():
        unit.session.add(CoachRow(person_id=coach))
    for chat, coach_chat in zip(chats.clients, chats.coach_of, strict=True):
        person = _person(unit, Role.CLIENT, f"Mary {chat}", chat, now)
        unit.session.add(
            ClientRow(
                person_id=person,
                coach_id=coach_ids[coach_chat],
                profile_sealed=unit.encryption.encrypt_json(ANSWERS),
                joined_at=now,
                cleared_at=now,
                # Twelve hours from now: nothing is prompted while the test runs.
                checkin_at=f"{(now.hour + 12) % 24:02d}:00",
                training_days="1,2,3,4,5,6,7",
            )
        )
        unit.session.flush()
        reschedule(unit, person, now)
    unit.commit()


def _person(unit: UnitOfWork, role: Role, name: str, chat: int, now: datetime) -> PersonId:
    person = people.add_person(unit, role, name, now)
    row = unit.session.get_one(PersonRow, person)
    row.country, row.zone = "NZ", "UTC"
    people.bind(unit, person, Address("telegram", str(chat)), now)
    return person
