"""A record of two clients and three coaches in a real store in memory, for tests of flows."""

import sqlite3
import weakref
from collections.abc import Sequence
from datetime import UTC, date, datetime
from functools import cache
from itertools import count
from typing import Any, ClassVar, cast

from sqlmodel import col, delete, update

from bot.flows.changes import Change, PlaceHold, SaveProfile, SetAway, SetSchedule
from bot.flows.facts import Alert, Checkin, Person, Reference
from bot.reference.red_flags import load_signs
from bot.reference.sentences import load_health_news, load_questions, load_sentences
from bot.reference.spoken import (
    load_answers,
    load_countries,
    load_places,
    load_safety_answers,
    load_spoken,
    load_towns,
    load_typed_words,
    load_walks,
    load_wishes,
)
from bot.storage import people
from bot.storage.cache import TrainingCache
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.facts import StoreFacts
from bot.storage.people import Address, get_person
from bot.storage.stored_plan import stored_plan
from bot.storage.tables import (
    AlertRow,
    CheckinRow,
    ClientRow,
    CoachRow,
    HoldRow,
    PersonRow,
    SessionRow,
    SetRow,
)
from bot.storage.told import AlertTold, MorningResult, seal_alert, seal_result, seal_set
from bot.storage.unit import UnitOfWork
from core.dose.history import SetDone
from core.dose.prescription import SessionPlan
from core.vocabulary import PersonId, Role
from tests.doubles.store import KEY, migrated
from tests.support.loaded import catalogue

NOW = datetime(2026, 5, 20, 21, 0, tzinfo=UTC)
COACH = Person(PersonId(1), Role.COACH, "Robin", "NZ", "Pacific/Auckland")
BACKUP = Person(PersonId(2), Role.COACH, "Sam", "NZ", "Pacific/Auckland")
STRANGE_COACH = Person(PersonId(3), Role.COACH, "Kit", "AU", "Australia/Sydney")
ANN = Person(PersonId(11), Role.CLIENT, "Ann", "", "UTC")
BOB = Person(PersonId(12), Role.CLIENT, "Bob", "NZ", "Pacific/Auckland")


@cache
def reference() -> Reference:
    """The real data files, loaded once."""
    countries, spoken = load_countries(), load_spoken()
    return Reference(
        catalogue=catalogue(),
        signs=load_signs(),
        countries=countries,
        zones_by_town=load_towns(countries),
        words=load_typed_words(),
        sentences=load_sentences(countries, spoken),
        questions=load_questions(),
        health_news=load_health_news(),
        spoken=spoken,
        answers=load_answers(),
        wishes=load_wishes(),
        walks=load_walks(),
        places=load_places(),
        safety_answers=load_safety_answers(),
        commands={"too hard": "easier"},
        new_code=lambda: "ABCD-EFGH",
        invitation_link=lambda code: f"https://chat.invalid/join?start={code}",
    )


COACH_OF = {ANN: COACH, BOB: COACH}


class Record(StoreFacts):
    """What one of them may know, answered by the store itself.

    All records stand in one store and nothing of them is ever committed, so a new record ends the
    one before. ``become`` shows the same record to another person.

    Attributes:
        applied: the changes that flows wanted, in order.
    """

    _newest: "ClassVar[weakref.ref[Record] | None]" = None

    def __init__(self, me: Person, now: datetime = NOW) -> None:
        """Nobody has answered anything; Sam stands in for Robin."""
        before = Record._newest() if Record._newest is not None else None
        if before is not None:
            before.unit.__exit__()
            # Whoever goes on with it by mistake is told so.
            del before.unit
        unit = _practice().unit()
        unit.training_cache = TrainingCache()
        super().__init__(unit, me, now, reference())
        self.applied: list[Change] = []
        self._codes = count()
        Record._newest = weakref.ref(self)
        weakref.finalize(self, unit.__exit__)

    def apply(self, changes: Sequence[Change]) -> None:
        """Carry out what a flow wants, as the person who talks."""
        self.applied += changes
        self._carry_out(*changes)

    def become(self, me: Person) -> None:
        """Somebody else looks at the record."""
        self.me = me
        self._again()

    def answers(self, person: Person) -> dict[str, Any]:
        """A client's profile as it is kept."""
        return dict(self.client(person.id).answers)

    def save(self, person: Person, **answers: Any) -> None:
        """Put answers into a client's profile; None takes one out."""
        self._carry_out(SaveProfile(person.id, answers))

    def write(self, person: Person, **fields: Any) -> None:
        """Change the person's own row: country, zone."""
        self.unit.session.execute(
            update(PersonRow).where(col(PersonRow.id) == person.id).values(**fields)
        )
        self._again()

    def joined(self, person: Person, *, yes: bool = True) -> None:
        """A client has answered all questions, or has not."""
        self._client(person).joined_at = self.now if yes else None
        self._again()

    def cleared(self, person: Person, *, yes: bool = True) -> None:
        """The coach has cleared a client, or has not."""
        self._client(person).cleared_at = self.now if yes else None
        self._again()

    def is_cleared(self, person: Person) -> bool:
        """Whether a client is cleared to start."""
        return self.client(person.id).cleared

    def back(self, person: Person) -> None:
        """Somebody who left is there again."""
        self.write(person, left_at=None)

    def handed_over(self, client: Person, coach: Person) -> None:
        """A client is another coach's now."""
        self._client(client).coach_id = coach.id
        self._again()

    def asked_at(self, client: Person, checkin_at: str) -> None:
        """When a client is asked in the morning."""
        self._carry_out(SetSchedule(client.id, checkin_at=checkin_at))

    def away(self, client: Person, until: date) -> None:
        """A client is away."""
        self._carry_out(SetAway(client.id, until))

    def without_stand_in(self, coach: Person) -> None:
        """Nobody stands in for a coach."""
        self.unit.session.get_one(CoachRow, coach.id).backup_id = None
        self._again()

    def cut_off(self, *persons: Person) -> None:
        """No chat speaks for these any more."""
        for person in persons:
            people.unbind_all(self.unit, person.id, self.now)
        self._again()

    def held(self, client: Person, because: str) -> None:
        """Training is paused."""
        self._carry_out(PlaceHold(client.id, because))

    def alerted(self, *alerts: Alert) -> None:
        """These are the alerts of the record, and no others."""
        session = self.unit.session
        session.execute(update(HoldRow).values(alert_id=None))
        session.execute(delete(AlertRow))
        for one in alerts:
            session.add(_alert_row(one, self.unit.encryption))
        self._again()

    def checked_in(self, client: Person, *mornings: Checkin) -> None:
        """These are the mornings of a client, and no others."""
        session = self.unit.session
        session.execute(delete(CheckinRow).where(col(CheckinRow.client_id) == client.id))
        for one in mornings:
            session.add(
                CheckinRow(
                    client_id=client.id,
                    on_date=one.on,
                    answers_sealed=self.unit.encryption.encrypt_json(dict(one.answers)),
                    signs_asked_at=one.signs_asked_at,
                    started_at=self.now,
                    finished_at=self.now if one.finished else None,
                    result_sealed=seal_result(
                        self.unit.encryption, MorningResult(one.score, one.day_plan)
                    ),
                )
            )
        self._again()

    def trained(self, client: Person, *sets: SetDone) -> None:
        """These are the sets of a client, in finished sessions, and no others."""
        session = self.unit.session
        session.execute(delete(SetRow).where(col(SetRow.client_id) == client.id))
        session.execute(delete(SessionRow).where(col(SessionRow.client_id) == client.id))
        for one in sorted(sets, key=lambda done: done.on):
            row = SessionRow(client_id=client.id, on_date=one.on, status="finished")
            session.add(row)
            session.flush()
            session.add(
                SetRow(
                    session_id=cast("int", row.id),
                    client_id=client.id,
                    on_date=one.on,
                    at=self.now,
                    done_sealed=seal_set(self.unit.encryption, one),
                )
            )
        self._again()

    def planned(self, client: Person, on: date, plan: SessionPlan) -> None:
        """A session is planned for a day."""
        sealed = self.unit.encryption.encrypt_json(stored_plan(plan))
        self.unit.session.add(SessionRow(client_id=client.id, on_date=on, plan_sealed=sealed))
        self._again()

    def _client(self, person: Person) -> ClientRow:
        return self.unit.session.get_one(ClientRow, person.id)

    def _carry_out(self, *changes: Change) -> None:
        # Every invitation of the tests has the same code.
        applying = Applying(
            self.unit, self.me.id, self.now, lambda code: f"{code} {next(self._codes)}"
        )
        apply_all(applying, changes)
        self._again()

    def _again(self) -> None:
        """What was asked before the record changed does not count any more."""
        self.unit.session.flush()
        self.asked.clear()
        self.me = get_person(self.unit, self.me.id)


@cache
def _practice() -> Database:
    """A store in memory with the people, each with a chat."""
    database = Database("sqlite://", Encryption(KEY))
    raw = database.engine.raw_connection()
    cast("sqlite3.Connection", raw.driver_connection).deserialize(migrated())
    raw.close()
    with database.unit() as unit:
        for person in (COACH, BACKUP, STRANGE_COACH, ANN, BOB):
            _add(unit, person)
        unit.session.flush()
        unit.session.get_one(CoachRow, COACH.id).backup_id = BACKUP.id
        for client, coach in COACH_OF.items():
            unit.session.add(ClientRow(person_id=client.id, coach_id=coach.id))
        unit.commit()
    return database


def _add(unit: UnitOfWork, person: Person) -> None:
    row = PersonRow(
        id=person.id,
        role=person.role,
        name_sealed=unit.encryption.encrypt(person.name),
        country=person.country,
        zone=person.zone,
        created_at=NOW,
    )
    unit.session.add(row)
    unit.session.flush()
    people.bind(unit, person.id, Address("test", person.name.lower()), NOW)
    if person.role is Role.COACH:
        unit.session.add(CoachRow(person_id=person.id))


def _alert_row(alert: Alert, encryption: Encryption) -> AlertRow:
    return AlertRow(
        id=alert.id,
        client_id=alert.client_id,
        level=alert.level,
        told_sealed=seal_alert(encryption, AlertTold(alert.signs, alert.for_other, alert.called)),
        words_sealed=encryption.encrypt_json(list(alert.words)),
        raised_at=alert.raised_at,
        newest_sign_at=alert.newest_sign_at,
        round=alert.round,
        chases=alert.chases,
        backup_told=alert.backup_told,
    )
