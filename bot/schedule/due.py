"""What falls due for people: check-in prompts, one reminder, digests, silent sessions, waking.

Each works from a moment in a row; after an hour of downtime what was missed comes once. Every
function commits in its own unit of work and gives how much it did.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from sqlalchemy import func
from sqlmodel import col, select

from bot.engine.conversation import Conversations
from bot.engine.speaking import TurnContext, carry_out, speak
from bot.flows.changes import RaiseAlert
from bot.flows.coach.practice.digest import digest
from bot.flows.facts import ClientRecord
from bot.flows.machine import Begin, Button, Say
from bot.messages import Kind
from bot.storage import conversations as store_of_conversations
from bot.storage import people
from bot.storage.conversations import Conversation, save_conversation
from bot.storage.facts import StoreFacts
from bot.storage.one_by_one import one_by_one
from bot.storage.tables import (
    AlertRow,
    ClientRow,
    CoachRow,
    ConversationRow,
    PersonRow,
    SessionRow,
)
from bot.storage.unit import UnitOfWork
from core.slots import after_quiet, is_quiet, next_moment
from core.vocabulary import AlertLevel, PersonId, Sign

REMIND_AFTER = timedelta(hours=2)
ASKED_THEN_ALERT = timedelta(minutes=5)
LONGEST_SESSION = timedelta(hours=12)
"""Silence this long after the start is that of somebody who has gone about their days."""

A_FEW = 10
"""Rows a call: while a sweep holds the store, a client who reports chest pain waits."""

AFTER_A_FAULT = timedelta(minutes=5)


def reschedule(unit: UnitOfWork, person_id: PersonId, now: datetime) -> None:
    """Work out a person's due moments anew; the caller commits."""
    person = unit.session.get_one(PersonRow, person_id)
    zone = ZoneInfo(person.zone)
    client = unit.session.get(ClientRow, person_id)
    if client is not None:
        prompted = client.cleared_at is not None and person.left_at is None
        at = time.fromisoformat(client.checkin_at)
        client.checkin_due_at = next_moment(zone, at, now) if prompted else None
        if not prompted:
            client.reminder_due_at = None
    coach = unit.session.get(CoachRow, person_id)
    if coach is not None:
        coach.digest_due_at = next_moment(zone, time.fromisoformat(coach.digest_at), now)


@dataclass(frozen=True, slots=True)
class DueWork:
    """The sweeps. Each claims a few due rows a call, so that no sweep holds the store for long."""

    conversations: Conversations

    def checkins(self, unit: UnitOfWork, now: datetime) -> int:
        """Open the morning check-in for every client whose time has come."""
        rows = self._due_clients(unit, now, "checkin_due_at")
        return one_by_one(
            unit, rows, partial(self._ask, unit, now), partial(_later, "checkin_due_at", now)
        )

    def _ask(self, unit: UnitOfWork, now: datetime, row: ClientRow) -> None:
        due_at = row.checkin_due_at or now
        facts = self._facts(unit, PersonId(row.person_id), now)
        record = facts.client(facts.me.id)
        reschedule(unit, facts.me.id, now)
        today = facts.me.local(now).date()
        # A check-in time inside the quiet hours was the client's own wish.
        at = people.addresses_of(unit, facts.me.id)
        late = facts.me.local(due_at).date() != today
        if late or not at or not _may_prompt(facts, record, today):
            return
        cause = f"checkin:{facts.me.id}:{today.isoformat()}"
        begin = Begin("checkin", {"prompt": True})
        self.conversations.begin(unit, facts.me.id, begin, at[0], cause, now)
        reminder = after_quiet(
            ZoneInfo(facts.me.zone), now + REMIND_AFTER, record.quiet_from, record.quiet_until
        )
        row.reminder_due_at = reminder if facts.me.local(reminder).date() == today else None

    def reminders(self, unit: UnitOfWork, now: datetime) -> int:
        """Remind once of a check-in that was not finished."""
        rows = self._due_clients(unit, now, "reminder_due_at")
        return one_by_one(
            unit, rows, partial(self._remind, unit, now), partial(_later, "reminder_due_at", now)
        )

    def _remind(self, unit: UnitOfWork, now: datetime, row: ClientRow) -> None:
        due_at = row.reminder_due_at or now
        row.reminder_due_at = None
        facts = self._facts(unit, PersonId(row.person_id), now)
        record = facts.client(facts.me.id)
        local = facts.me.local(now)
        checkin = facts.checkin(facts.me.id, local.date())
        at = people.addresses_of(unit, facts.me.id)
        wanted = (
            facts.me.local(due_at).date() == local.date()
            and not (checkin is not None and checkin.finished)
            and _may_prompt(facts, record, local.date())
            and not is_quiet(local, record.quiet_from, record.quiet_until)
        )
        if wanted and at:
            cause = f"remind:{facts.me.id}:{local.date().isoformat()}"
            begin = Begin("checkin", {"reminder": True})
            self.conversations.begin(unit, facts.me.id, begin, at[0], cause, now)

    def digests(self, unit: UnitOfWork, now: datetime) -> int:
        """Send coaches their morning list."""
        rows = unit.session.exec(
            select(CoachRow)
            .where(col(CoachRow.digest_due_at) <= now)
            .limit(A_FEW)
            .with_for_update(skip_locked=True)
        ).all()
        return one_by_one(
            unit, rows, partial(self._list, unit, now), partial(_later, "digest_due_at", now)
        )

    def _list(self, unit: UnitOfWork, now: datetime, row: CoachRow) -> None:
        due_at = row.digest_due_at or now
        facts = self._facts(unit, PersonId(row.person_id), now)
        reschedule(unit, facts.me.id, now)
        today = facts.me.local(now).date()
        say = digest(facts)
        if say is not None and facts.me.local(due_at).date() == today:
            cause = f"digest:{facts.me.id}:{today.isoformat()}"
            speak(self.conversations.services, TurnContext(unit, facts, None, cause), [say], None)

    def silences(self, unit: UnitOfWork, now: datetime) -> int:
        """Ask a client whose session has gone silent; five minutes later tell the coach."""
        rows = unit.session.exec(
            select(SessionRow)
            .where(SessionRow.status == "running", col(SessionRow.silence_due_at) <= now)
            .limit(A_FEW)
            .with_for_update(skip_locked=True)
        ).all()
        return one_by_one(
            unit, rows, partial(self._notice, unit, now), partial(_later, "silence_due_at", now)
        )

    def _notice(self, unit: UnitOfWork, now: datetime, row: SessionRow) -> None:
        facts = self._facts(unit, PersonId(row.client_id), now)
        if _is_past(row, now):
            row.status, row.ended_at, row.silence_due_at = "stopped", now, None
            return
        cause = f"silence:{row.id}:{row.silence_stage}:{int(now.timestamp())}"
        context = TurnContext(unit, facts, None, cause)
        if row.silence_stage == 0:
            row.silence_stage, row.silence_due_at = 1, now + ASKED_THEN_ALERT
            buttons = (
                (Button("fine", handler="silence", ref=str(row.id)),),
                (Button("unwell", handler="silence", ref=str(row.id)),),
            )
            says = [Say("session/all_right", rows=buttons, kind=Kind.SAFETY)]
        else:
            row.silence_stage, row.silence_due_at = 2, None
            raised = RaiseAlert(facts.me.id, AlertLevel.URGENT, (Sign.SILENT_SESSION,), holds=False)
            carry_out(self.conversations.services, context, [raised])
            says = [Say("session/coach_told_silent", kind=Kind.SAFETY)]
        speak(self.conversations.services, context, says, None)

    def wakings(self, unit: UnitOfWork, now: datetime) -> int:
        """Wake conversations that asked for it."""
        due = store_of_conversations.due_conversations(unit, now, A_FEW)

        def never_mind(conversation: Conversation) -> None:
            save_conversation(unit, conversation, now, None)

        return one_by_one(
            unit, due, lambda one: self.conversations.wake(unit, one, now), never_mind
        )

    def next_due(self, unit: UnitOfWork) -> datetime | None:
        """The earliest moment at which anything falls due, but for retries of sending."""
        moments = [
            unit.session.exec(select(func.min(column))).first()
            for column in (
                ClientRow.checkin_due_at,
                ClientRow.reminder_due_at,
                CoachRow.digest_due_at,
                AlertRow.chase_due_at,
                SessionRow.silence_due_at,
                ConversationRow.due_at,
            )
        ]
        return min((moment for moment in moments if moment is not None), default=None)

    def _facts(self, unit: UnitOfWork, person_id: PersonId, now: datetime) -> StoreFacts:
        person = people.get_person(unit, person_id)
        return StoreFacts(unit, person, now, self.conversations.services.reference)

    def _due_clients(self, unit: UnitOfWork, now: datetime, column: str) -> list[ClientRow]:
        due = getattr(ClientRow, column)
        return list(
            unit.session.exec(
                select(ClientRow)
                .where(col(due) <= now)
                .order_by(col(due))
                .limit(A_FEW)
                .with_for_update(skip_locked=True)
            ).all()
        )


def _is_past(row: SessionRow, now: datetime) -> bool:
    """Whether a running session was begun so long ago that nobody can still be in it."""
    return row.started_at is not None and now - row.started_at > LONGEST_SESSION


def _later(column: str, now: datetime, row: ClientRow | CoachRow | SessionRow) -> None:
    """A row that failed is tried again later; a check-in that late is a day past and dropped."""
    setattr(row, column, now + AFTER_A_FAULT)


def _may_prompt(facts: StoreFacts, record: ClientRecord, today: date) -> bool:
    """No cheerful prompts on hold, away, or with an alert open."""
    away = record.away_until is not None and today <= record.away_until
    return (
        record.cleared
        and not record.person.left
        and not away
        and facts.hold(record.id) is None
        and facts.open_alert(record.id) is None
    )
