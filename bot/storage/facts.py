"""Answers to what a flow asks of the record, within one unit of work."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any, Concatenate, ParamSpec, TypeVar

from sqlmodel import col, exists, or_, select

from bot.flows.client import feeling, health_change
from bot.flows.client.home_test import is_under_way as test_under_way
from bot.flows.desk import Desk, desk_of
from bot.flows.facts import (
    Alert,
    Checkin,
    ClientRecord,
    Hold,
    Note,
    OpenInvitation,
    Person,
    Reference,
    RunningWalk,
    Session,
)
from bot.flows.record.start_word import word_of
from bot.storage import inbox
from bot.storage.common_queries import (
    ALERTS_SINCE,
    CHECKIN,
    CHECKINS_SINCE,
    FINISHED_SESSIONS,
    HOLD,
    LAST_LIFT,
    LAST_WALK,
    LIFTS_SINCE,
    OPEN_ALERT,
    PAINS,
    RUNNING_SESSION,
    RUNNING_WALK,
    SESSION,
    SESSIONS_SINCE,
    WALKS_SINCE,
)
from bot.storage.conversations import open_of, open_of_flow
from bot.storage.erasing.about import ids_in
from bot.storage.mapping import alert_of, checkin_of, morning_of, record_of, session_of
from bot.storage.people import Address, addresses_of, get_person, person_of, speaks_for
from bot.storage.prepared import find, get
from bot.storage.server.generation import marked
from bot.storage.tables import (
    AlertRow,
    CheckinRow,
    ClientRow,
    CoachRow,
    HoldRow,
    InboxRow,
    InvitationRow,
    NoteRow,
    PersonRow,
)
from bot.storage.told import alert_told, pain_done, session_done, walk_done
from bot.storage.unit import UnitOfWork, stored_id
from core.dose.capacity import Capacity
from core.dose.history import History
from core.programme.walking import WalkDone
from core.readiness.morning_questions import Morning
from core.vocabulary import AlertId, AlertLevel, PersonId, Role, WalkId

MORNINGS_KEPT_IN_MIND = timedelta(days=60)

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")


def _once(
    question: Callable[Concatenate[StoreFacts, Asked], Answer],
) -> Callable[Concatenate[StoreFacts, Asked], Answer]:
    """Ask the database once a turn for the same question. Arguments are ids, dates, numbers."""

    def answer(self: StoreFacts, /, *args: Asked.args, **kwargs: Asked.kwargs) -> Answer:
        key: Hashable = (question.__name__, args, tuple(sorted(kwargs.items())))
        if key not in self.asked:
            self.asked[key] = question(self, *args, **kwargs)
        found: Answer = self.asked[key]
        return found

    answer.__doc__ = question.__doc__
    return answer


class StoreFacts:
    """The record as one person's flows may see it (see :class:`bot.flows.facts.Facts`)."""

    def __init__(self, unit: UnitOfWork, me: Person, now: datetime, reference: Reference) -> None:
        """``me``: who is talking; ``now``: one moment for the whole turn."""
        self.unit = unit
        self.me = me
        self.now = now
        self.reference = reference
        self.asked: dict[Hashable, Any] = {("person", (me.id,), ()): self._named(me)}
        self.looked_at: set[PersonId] = {me.id} if me.role is Role.CLIENT else set()
        """Clients of whom anything was asked: what is said in this turn may tell of them."""

    @_once
    def person(self, person_id: PersonId) -> Person:
        """One person by id."""
        person = get_person(self.unit, person_id)
        if person.role is Role.CLIENT:
            self.looked_at.add(person_id)
        return self._named(person)

    def _named(self, person: Person) -> Person:
        """Whoever has left and had their name erased is called by a word."""
        erased = person.left and not person.name
        return replace(person, name=self.reference.who_left) if erased else person

    @_once
    def client(self, client_id: PersonId) -> ClientRecord:
        """One client with profile, limits and clearance."""
        self.looked_at.add(client_id)
        row = get(self.unit, ClientRow, client_id)
        return record_of(self.unit, row, self.person(client_id), self.now)

    @_once
    def clients(self) -> Sequence[ClientRecord]:
        """The clients of this coach, and those of the coaches she stands in for, by name.

        Whoever has left stays among them until their alert is closed.
        """
        stands_in_for = select(CoachRow.person_id).where(CoachRow.backup_id == self.me.id)
        still_open = exists().where(
            col(AlertRow.client_id) == col(PersonRow.id),
            col(AlertRow.level) != AlertLevel.MENTION,
            col(AlertRow.closed_at).is_(None),
        )
        rows = self.unit.session.exec(
            select(ClientRow, PersonRow)
            .join(PersonRow, col(PersonRow.id) == ClientRow.person_id)
            .where(
                or_(
                    ClientRow.coach_id == self.me.id,
                    col(ClientRow.coach_id).in_(stands_in_for),
                ),
                or_(col(PersonRow.left_at).is_(None), still_open),
            )
        ).all()
        found = [
            record_of(self.unit, row, self._named(person_of(self.unit, person)), self.now)
            for row, person in rows
        ]
        self.looked_at.update(record.id for record in found)
        return sorted(found, key=lambda record: (record.coach_id != self.me.id, record.person.name))

    @_once
    def left_clients(self) -> Sequence[ClientRecord]:
        """My clients who have left and were not erased, by name."""
        rows = self.unit.session.exec(
            select(ClientRow, PersonRow)
            .join(PersonRow, col(PersonRow.id) == ClientRow.person_id)
            .where(
                ClientRow.coach_id == self.me.id,
                col(PersonRow.left_at).is_not(None),
                col(ClientRow.erase_asked_at).is_(None),
            )
        ).all()
        found = [
            record_of(self.unit, row, self._named(person_of(self.unit, person)), self.now)
            for row, person in rows
        ]
        self.looked_at.update(record.id for record in found)
        return sorted(found, key=lambda record: record.person.name)

    @_once
    def open_invitations(self) -> Sequence[OpenInvitation]:
        """My invitations for new clients that are good still, newest first."""
        rows = self.unit.session.exec(
            select(InvitationRow)
            .where(
                InvitationRow.coach_id == self.me.id,
                InvitationRow.role == Role.CLIENT,
                col(InvitationRow.rebinds_id).is_(None),
                col(InvitationRow.used_at).is_(None),
                InvitationRow.expires_at > self.now,
            )
            .order_by(col(InvitationRow.id).desc())
        ).all()
        return [
            OpenInvitation(
                stored_id(row),
                self.unit.encryption.decrypt(row.name_sealed),
                row.made_at,
                row.expires_at,
            )
            for row in rows
        ]

    @_once
    def is_coach_of(self, client_id: PersonId) -> bool:
        """Whether I coach this client, or stand in for the one who does."""
        self.looked_at.add(client_id)
        row = find(self.unit, ClientRow, client_id)
        if row is None:
            return False
        if row.coach_id == self.me.id:
            return True
        backup = self.backup_of(PersonId(row.coach_id))
        return backup is not None and backup.id == self.me.id

    @_once
    def backup_of(self, coach_id: PersonId) -> Person | None:
        """Who stands in for a coach."""
        row = find(self.unit, CoachRow, coach_id)
        if row is None or row.backup_id is None:
            return None
        return self.person(PersonId(row.backup_id))

    @_once
    def reaches(self, person_id: PersonId) -> bool:
        """Whether a person has a chat that can be written to."""
        return bool(addresses_of(self.unit, person_id))

    @_once
    def told_of(self, client_id: PersonId) -> Person | None:
        """Who hears of a client now: the coach, else her stand-in; ``None``: nobody."""
        self.looked_at.add(client_id)
        coach_id = self.client(client_id).coach_id
        coach, backup = self.person(coach_id), self.backup_of(coach_id)
        known = (backup, coach) if self._is_away(coach, backup) else (coach, backup)
        return next((one for one in known if one is not None and self.reaches(one.id)), None)

    def _is_away(self, coach: Person, backup: Person | None) -> bool:
        """Whether a coach is away, and her stand-in is not."""
        away = self.desk(coach.id).is_away(coach.local(self.now).date())
        if not away or backup is None:
            return away
        return not self.desk(backup.id).is_away(backup.local(self.now).date())

    @_once
    def coaches(self) -> Sequence[Person]:
        """All coaches of this installation who have not left."""
        rows = self.unit.session.exec(
            select(PersonRow)
            .where(PersonRow.role == Role.COACH, col(PersonRow.left_at).is_(None))
            .order_by(col(PersonRow.id))
        ).all()
        return [person_of(self.unit, row) for row in rows]

    @_once
    def digest_at(self) -> time:
        """When my morning list comes (for a coach)."""
        return time.fromisoformat(get(self.unit, CoachRow, self.me.id).digest_at)

    @_once
    def desk(self, coach_id: PersonId) -> Desk:
        """What a coach has set for her own days."""
        row = find(self.unit, CoachRow, coach_id)
        if row is None:
            return Desk()
        kept = self.unit.encryption.decrypt_json(row.desk_sealed) if row.desk_sealed else {}
        return desk_of(kept, time.fromisoformat(row.digest_at))

    @_once
    def checkin(self, client_id: PersonId, on: date) -> Checkin | None:
        """One morning, finished or not."""
        self.looked_at.add(client_id)
        row = CHECKIN.first(self.unit, client_id=client_id, on=on)
        return None if row is None else checkin_of(self.unit.encryption, row)

    @_once
    def checkins(self, client_id: PersonId, days: int) -> Sequence[Checkin]:
        """The finished ones of the last ``days`` days, oldest first."""
        self.looked_at.add(client_id)
        return [
            checkin_of(self.unit.encryption, row)
            for row in self._checkins_since(client_id, timedelta(days=days))
            if row.finished_at is not None
        ]

    @_once
    def begun_checkins(self, client_id: PersonId, days: int) -> Sequence[Checkin]:
        """Those of the last ``days`` days, finished or not, oldest first."""
        self.looked_at.add(client_id)
        return [
            checkin_of(self.unit.encryption, row)
            for row in self._checkins_since(client_id, timedelta(days=days))
        ]

    @_once
    def mornings(self, client_id: PersonId) -> Sequence[Morning]:
        """Finished check-ins of the last 60 days before today, oldest first."""
        self.looked_at.add(client_id)
        today = self.person(client_id).local(self.now).date()
        return [
            morning_of(self.unit, row)
            for row in self._checkins_since(client_id, MORNINGS_KEPT_IN_MIND)
            if row.finished_at is not None and row.on_date < today
        ]

    @_once
    def history(self, client_id: PersonId) -> History:
        """All sets, sessions and pains, oldest first; none of a day later than today."""
        self.looked_at.add(client_id)
        encryption = self.unit.encryption
        sessions = FINISHED_SESSIONS.all(self.unit, client_id=client_id)
        pains = PAINS.all(self.unit, client_id=client_id)
        sets = self.unit.training_cache.sets_of(self.unit, client_id)
        watched = tuple(one for one in sets if one.watched)
        found = History(
            sets=tuple(one for one in sets if not one.watched) if watched else sets,
            sessions=tuple(session_done(encryption, row) for row in sessions),
            pains=tuple(pain_done(encryption, row) for row in pains),
            watched=watched,
        )
        return found.by(self._today(client_id))

    def _today(self, client_id: PersonId) -> date:
        return self.person(client_id).local(self.now).date()

    @_once
    def capacity(self, client_id: PersonId) -> Capacity:
        """Believed capacity, with all logged sets in it; today is not opened yet."""
        self.looked_at.add(client_id)
        record, history = self.client(client_id), self.history(client_id)
        return self.unit.training_cache.capacity_of(
            client_id,
            self.unit.training_cache.sets_of(self.unit, client_id),
            record.client,
            self.reference.catalogue,
            word=word_of(record, history, self.reference.catalogue.steering),
            today=record.person.local(self.now).date(),
        )

    @_once
    def session(self, client_id: PersonId, on: date) -> Session | None:
        """The latest session of that day."""
        self.looked_at.add(client_id)
        row = SESSION.first(self.unit, client_id=client_id, on=on)
        return None if row is None else session_of(self.unit.encryption, row)

    @_once
    def running_session(self, client_id: PersonId) -> Session | None:
        """The session that has been started and not ended, if any."""
        self.looked_at.add(client_id)
        row = RUNNING_SESSION.first(self.unit, client_id=client_id)
        return None if row is None else session_of(self.unit.encryption, row)

    @_once
    def sessions(self, client_id: PersonId, days: int) -> Sequence[Session]:
        """The sessions of the last ``days`` days, oldest first, without their plans.

        One of a later day than the client's today counts as of today.
        """
        self.looked_at.add(client_id)
        today = self._today(client_id)
        rows = SESSIONS_SINCE.all(
            self.unit, client_id=client_id, since=today - timedelta(days=days)
        )
        found = [session_of(self.unit.encryption, row, with_plan=False) for row in rows]
        return [replace(one, on=min(one.on, today)) for one in found]

    @_once
    def walks(self, client_id: PersonId, days: int) -> Sequence[WalkDone]:
        """The walks done in the last ``days`` days, oldest first; of a later day as of today."""
        self.looked_at.add(client_id)
        today = self._today(client_id)
        rows = WALKS_SINCE.all(self.unit, client_id=client_id, since=today - timedelta(days=days))
        found = [walk_done(self.unit.encryption, row) for row in rows]
        return [replace(one, on=min(one.on, today)) for one in found]

    @_once
    def walk_told_at(self, client_id: PersonId) -> datetime | None:
        """When the walk was told that was told last, if any was."""
        self.looked_at.add(client_id)
        row = LAST_WALK.first(self.unit, client_id=client_id)
        return None if row is None else row.ended_at

    def running_walk(self, client_id: PersonId) -> RunningWalk | None:
        """The walk that has been started and not ended, if any."""
        self.looked_at.add(client_id)
        row = RUNNING_WALK.first(self.unit, client_id=client_id)
        if row is None or row.started_at is None:
            return None
        planned = walk_done(self.unit.encryption, row).minutes
        return RunningWalk(WalkId(stored_id(row)), row.on_date, row.started_at, planned)

    @_once
    def watched(self, client_id: PersonId) -> str:
        """Over what of a client silence is watched now: session, walk, test, unwell; or ""."""
        if self.running_walk(client_id) is not None:
            return "walk"
        if self.running_session(client_id) is not None:
            return "session"
        open_now = [one.state for one in open_of(self.unit, client_id)]
        if any(test_under_way(state) for state in open_now):
            return "test"
        return "unwell" if any(feeling.is_watched(state) for state in open_now) else ""

    def says_unwell(self, client_id: PersonId) -> bool:
        """Whether something was said to be wrong, and not yet what it is."""
        open_now = open_of_flow(self.unit, client_id, feeling.NAME)
        return any(feeling.waits_for_word(one.state) for one in open_now)

    def news_waits(self, client_id: PersonId) -> bool:
        """Whether news of a client's health was heard, and not yet whether it was heard right."""
        open_now = open_of_flow(self.unit, client_id, health_change.NAME)
        return any(one.state.step == health_change.HEARD for one in open_now)

    def alert(self, alert_id: AlertId) -> Alert | None:
        """One alert or mention."""
        row = self.unit.session.get(AlertRow, alert_id)
        return None if row is None else self._alert(row)

    def open_alert(self, client_id: PersonId) -> Alert | None:
        """The client's open alert of level urgent or emergency."""
        self.looked_at.add(client_id)
        row = OPEN_ALERT.first(self.unit, client_id=client_id)
        return None if row is None else self._alert(row)

    def alerts(self, client_ids: Sequence[PersonId], days: int) -> Sequence[Alert]:
        """All alerts and mentions of the last days, newest first."""
        since = self.now - timedelta(days=days)
        rows = [
            row
            for client_id in client_ids
            for row in ALERTS_SINCE.all(self.unit, client_id=client_id, since=since)
        ]
        return [self._alert(row) for row in sorted(rows, key=stored_id, reverse=True)]

    def hold(self, client_id: PersonId) -> Hold | None:
        """The pause that is on, if any."""
        self.looked_at.add(client_id)
        row = HOLD.first(self.unit, client_id=client_id)
        return None if row is None else self._hold(row)

    def last_lift(self, client_id: PersonId) -> Hold | None:
        """The pause that was lifted last, if any."""
        self.looked_at.add(client_id)
        row = LAST_LIFT.first(self.unit, client_id=client_id)
        return None if row is None else self._hold(row)

    def lifts(self, client_id: PersonId, days: int) -> Sequence[Hold]:
        """The pauses that were lifted in the last ``days`` days, newest first."""
        self.looked_at.add(client_id)
        rows = LIFTS_SINCE.all(
            self.unit, client_id=client_id, since=self.now - timedelta(days=days)
        )
        return [self._hold(row) for row in rows]

    @_once
    def notes(self, client_id: PersonId) -> Sequence[Note]:
        """Notes and messages, newest first."""
        self.looked_at.add(client_id)
        rows = self.unit.session.exec(
            select(NoteRow).where(NoteRow.client_id == client_id).order_by(col(NoteRow.id).desc())
        ).all()
        return [
            Note(
                row.at,
                self.person(PersonId(row.author_id)).name,
                self.unit.encryption.decrypt(row.text_sealed),
                id=stored_id(row),
                by_id=PersonId(row.author_id),
                to_client=row.to_client,
                pinned=row.pinned,
                edited_at=row.edited_at,
            )
            for row in rows
        ]

    def said(self, row_id: int) -> str:
        """What I said in a stored message, or "" when it was not mine."""
        row = self.unit.session.get(InboxRow, row_id)
        if row is None or row.person_id not in (None, self.me.id):
            return ""
        # Whose words nobody knows are those of whoever has the chat: never a stranger's.
        at = Address(row.channel, row.address)
        if row.person_id is None and not speaks_for(self.unit, at, self.me.id):
            return ""
        self.looked_at.update(ids_in(row.about or ""))
        return self.unit.encryption.decrypt(row.text_sealed)

    def was_tapped(self, tap: str, row_id: int) -> bool:
        """Whether a button about a stored message has been answered in that chat before."""
        row = self.unit.session.get(InboxRow, row_id)
        return row is not None and inbox.was_tapped(
            self.unit, row, marked(tap, self.unit.generation)
        )

    def _checkins_since(self, client_id: PersonId, back: timedelta) -> Sequence[CheckinRow]:
        since = self.person(client_id).local(self.now).date() - back
        return CHECKINS_SINCE.all(self.unit, client_id=client_id, since=since)

    def _alert(self, row: AlertRow) -> Alert:
        self.looked_at.add(PersonId(row.client_id))
        seen_by = self.person(PersonId(row.seen_by_id)).name if row.seen_by_id else ""
        return alert_of(self.unit.encryption, row, seen_by)

    def _hold(self, row: HoldRow) -> Hold:
        behind = self.unit.session.get(AlertRow, row.alert_id) if row.alert_id else None
        encryption = self.unit.encryption
        return Hold(
            because=encryption.opened(row.because_sealed),
            placed_at=row.placed_at,
            signs=alert_told(encryption, behind).signs if behind is not None else (),
            lifted_at=row.lifted_at,
            restart_easiest=row.restart_easiest,
            lifted_by=self.person(PersonId(row.lifted_by_id)).name if row.lifted_by_id else "",
            cleared_kind=encryption.opened(row.cleared_kind_sealed),
            cleared_by=encryption.opened(row.cleared_by_sealed),
            cleared_on=row.cleared_on,
        )
