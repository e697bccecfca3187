"""What falls due for people: check-in prompts, a reminder, weekly words, digests, silence, waking.

Each works from a moment in a row; after an hour of downtime what was missed comes once. Every
function commits in its own unit of work and gives how much it did.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from bot.engine.conversation import URGENT_FLOWS, Conversations
from bot.engine.speaking import TurnContext, carry_out, speak
from bot.flows.changes import RaiseAlert, TakeOffList
from bot.flows.client.buttons import message_from
from bot.flows.client.told_in_checkin import told_before
from bot.flows.client.week.week_word import week_word
from bot.flows.coach.practice.digest import digest, words_waiting
from bot.flows.desk import Waits
from bot.flows.facts import ClientRecord
from bot.flows.machine import Begin, Button, Say
from bot.flows.reasons import Reason
from bot.flows.record.clearance_end import tell_of_end
from bot.flows.record.told_to_coach import ELSEWHERE
from bot.flows.safety.open_signs import answered
from bot.messages import Kind
from bot.schedule.silence import NEXT_DAY, SilentMorning, morning_after
from bot.storage import conversations as store_of_conversations
from bot.storage import people
from bot.storage.conversations import Conversation
from bot.storage.facts import StoreFacts
from bot.storage.questions import due
from bot.storage.questions.due import DuePerson, SilentSession
from bot.storage.unit import UnitOfWork, one_by_one
from core.slots import after_quiet, is_quiet, next_moment
from core.vocabulary import AlertLevel, PersonId, Sign

REMIND_AFTER = timedelta(hours=2)
ASKED_THEN_ALERT = timedelta(minutes=5)
LONGEST_SESSION = timedelta(hours=12)
"""Silence this long after the start is that of somebody who has gone about their days."""

WEEK_WORD_AT = time(17, 0)
"""On the client's own clock: the day is done, and no prompt of the morning is near (ours)."""
WEEK_WORD_KEEPS = timedelta(hours=20)
"""A word that comes later than this is dropped: its week is past."""
BUSY_FOR = timedelta(hours=1)

A_FEW = 10
"""Rows a call: while a sweep holds the store, a client who reports chest pain waits."""

AFTER_A_FAULT = timedelta(minutes=5)
SIGN_AFTER_A_FAULT = timedelta(seconds=30)


def reschedule(unit: UnitOfWork, person_id: PersonId, now: datetime) -> None:
    """Work out a person's due moments anew; the caller commits."""
    times = due.daily_times(unit, person_id)
    zone = ZoneInfo(times.zone)
    if times.checkin_at is not None:
        next_checkin = next_moment(zone, times.checkin_at, now) if times.prompted else None
        due.set_checkin_due(unit, person_id, next_checkin)
        if not times.prompted:
            due.set_reminder_due(unit, person_id, None)
        wanted = times.prompted and times.week_word_day
        next_word = next_moment(zone, WEEK_WORD_AT, now, [times.week_word_day])
        due.set_week_word_due(unit, person_id, next_word if wanted else None)
    if times.digest_at is not None:
        due.set_digest_due(unit, person_id, next_moment(zone, times.digest_at, now))


@dataclass(frozen=True, slots=True)
class DueWork:
    """The sweeps. Each claims a few due rows a call, so that no sweep holds the store for long."""

    conversations: Conversations

    def checkins(self, unit: UnitOfWork, now: datetime) -> int:
        """Open the morning check-in for every client whose time has come."""
        # A check-in that is put off until after midnight is dropped then: its day is past.
        return one_by_one(
            unit,
            due.claim_checkins(unit, now, A_FEW),
            partial(self._ask, unit, now),
            lambda asked: due.set_checkin_due(unit, asked.person_id, now + AFTER_A_FAULT),
        )

    def _ask(self, unit: UnitOfWork, now: datetime, asked: DuePerson) -> None:
        facts = self._facts(unit, asked.person_id, now)
        record = facts.client(facts.me.id)
        reschedule(unit, facts.me.id, now)
        today = facts.me.local(now).date()
        # A check-in time inside the quiet hours was the client's own wish.
        at = people.addresses_of(unit, facts.me.id)
        late = facts.me.local(asked.due_at).date() != today
        if late or not at:
            return
        self._tell_of_end(unit, facts, record)
        if not _may_prompt(facts, record, today):
            return
        if self._was_asked(unit, facts, today):
            return
        silent = self._silent_days(unit, facts, today)
        told = told_before(record, today, facts)
        comes = morning_after(silent, told=told is not None)
        if told is not None and silent == NEXT_DAY:
            self._tell_of_silence(unit, facts, record, told)
        if comes is SilentMorning.NOTE:
            self._write_note(unit, facts, silent)
        if comes in (SilentMorning.NOTE, SilentMorning.NOTHING):
            return
        cause = f"checkin:{facts.me.id}:{today.isoformat()}"
        begin = Begin("checkin", {"prompt": True, "missed": silent})
        self.conversations.begin(unit, facts.me.id, begin, at[0], cause, now)
        reminder = after_quiet(
            ZoneInfo(facts.me.zone), now + REMIND_AFTER, record.quiet_from, record.quiet_until
        )
        today_still = (
            comes is SilentMorning.PROMPT_AND_REMINDER and facts.me.local(reminder).date() == today
        )
        due.set_reminder_due(unit, facts.me.id, reminder if today_still else None)

    @staticmethod
    def _was_asked(unit: UnitOfWork, facts: StoreFacts, today: date) -> bool:
        """Whether today's check-in was asked already: its time may have been changed since."""
        done = facts.checkin(facts.me.id, today)
        if done is not None and done.finished:
            return True
        return any(
            one.state.flow == "checkin" and one.state.answers.get("on") == today.isoformat()
            for one in store_of_conversations.open_of(unit, facts.me.id)
        )

    @staticmethod
    def _silent_days(unit: UnitOfWork, facts: StoreFacts, today: date) -> int:
        """Days since anything came from a client."""
        heard = people.heard_last(unit, facts.me.id)
        return 0 if heard is None else (today - facts.me.local(heard).date()).days

    def _write_note(self, unit: UnitOfWork, facts: StoreFacts, silent: int) -> None:
        """A kind note in place of a check-in."""
        cause = f"silent:{facts.me.id}:{facts.me.local(facts.now).date().isoformat()}"
        rows = tuple((Button(code, handler="quiet"),) for code in ("holiday", "unwell", "too_much"))
        say = Say("silence/note", {"days": silent}, rows=rows, kind=Kind.PROMPT)
        speak(self.conversations.services, TurnContext(unit, facts, None, cause), [say], None)

    def _tell_of_silence(
        self, unit: UnitOfWork, facts: StoreFacts, record: ClientRecord, told: Sequence[Sign]
    ) -> None:
        """Told of a sign or an illness, and silent since: the coach hears of it on day two."""
        cause = f"silent_told:{facts.me.id}:{facts.me.local(facts.now).date().isoformat()}"
        why = Reason("coach", "silent_since_told")
        # Unclear words on a line of the list would be a question that nobody has asked.
        signs = answered(tuple(told))
        raised = RaiseAlert(record.id, AlertLevel.MENTION, signs, why=why, holds=False)
        context = TurnContext(unit, facts, None, cause)
        carry_out(self.conversations.services, context, [raised])

    def _tell_of_end(self, unit: UnitOfWork, facts: StoreFacts, record: ClientRecord) -> None:
        """A clearance that ends soon is told to client and coach."""
        says, changes = tell_of_end(record, facts)
        cause = f"clearance:{facts.me.id}:{facts.me.local(facts.now).date().isoformat()}"
        context = TurnContext(unit, facts, None, cause)
        carry_out(self.conversations.services, context, changes)
        speak(self.conversations.services, context, says, None)

    def reminders(self, unit: UnitOfWork, now: datetime) -> int:
        """Remind once of a check-in that was not finished."""
        return one_by_one(
            unit,
            due.claim_reminders(unit, now, A_FEW),
            partial(self._remind, unit, now),
            lambda reminded: due.set_reminder_due(unit, reminded.person_id, now + AFTER_A_FAULT),
        )

    def _remind(self, unit: UnitOfWork, now: datetime, reminded: DuePerson) -> None:
        due.set_reminder_due(unit, reminded.person_id, None)
        facts = self._facts(unit, reminded.person_id, now)
        record = facts.client(facts.me.id)
        local = facts.me.local(now)
        checkin = facts.checkin(facts.me.id, local.date())
        at = people.addresses_of(unit, facts.me.id)
        wanted = (
            facts.me.local(reminded.due_at).date() == local.date()
            and not (checkin is not None and checkin.finished)
            and _may_prompt(facts, record, local.date())
            and not is_quiet(local, record.quiet_from, record.quiet_until)
        )
        if wanted and at:
            cause = f"remind:{facts.me.id}:{local.date().isoformat()}"
            begin = Begin("checkin", {"reminder": True})
            self.conversations.begin(unit, facts.me.id, begin, at[0], cause, now)

    def week_words(self, unit: UnitOfWork, now: datetime) -> int:
        """Tell clients once a week what they did, what they gained and what comes."""
        return one_by_one(
            unit,
            due.claim_week_words(unit, now, A_FEW),
            partial(self._tell_week, unit, now),
            lambda told: due.set_week_word_due(unit, told.person_id, now + AFTER_A_FAULT),
        )

    def _tell_week(self, unit: UnitOfWork, now: datetime, told: DuePerson) -> None:
        facts = self._facts(unit, told.person_id, now)
        me, record = facts.me, facts.client(facts.me.id)
        reschedule(unit, me.id, now)
        if now - told.due_at > WEEK_WORD_KEEPS:
            return
        zone = ZoneInfo(me.zone)
        quiet_ends = after_quiet(zone, now, record.quiet_from, record.quiet_until)
        busy = facts.running_session(me.id) or facts.running_walk(me.id)
        if quiet_ends > now or busy:
            due.set_week_word_due(unit, me.id, max(quiet_ends, now + BUSY_FOR))
            return
        say = week_word(record, facts)
        if say is not None:
            cause = f"week_word:{me.id}:{me.local(now).date().isoformat()}"
            speak(self.conversations.services, TurnContext(unit, facts, None, cause), [say], None)

    def digests(self, unit: UnitOfWork, now: datetime) -> int:
        """Send coaches their morning list."""
        return one_by_one(
            unit,
            due.claim_digests(unit, now, A_FEW),
            partial(self._list, unit, now),
            lambda coach: due.set_digest_due(unit, coach.person_id, now + AFTER_A_FAULT),
        )

    def _list(self, unit: UnitOfWork, now: datetime, coach: DuePerson) -> None:
        facts = self._facts(unit, coach.person_id, now)
        reschedule(unit, facts.me.id, now)
        today = facts.me.local(now).date()
        away = facts.desk(facts.me.id).is_away(today)
        if away or not facts.reaches(facts.me.id):
            self._hand_on(unit, facts, facts.desk(facts.me.id).waiting)
            return
        failed = [one for one in facts.desk(facts.me.id).waiting if one.list_failed]
        if failed:
            # No list comes beside them, but for that of the morning itself.
            self._hand_on(unit, facts, failed)
            if facts.me.local(coach.due_at).time() != facts.desk(facts.me.id).list_at:
                return
            facts = self._facts(unit, coach.person_id, now)
        say, waiting = digest(facts), facts.desk(facts.me.id).waiting
        if say is not None and facts.me.local(coach.due_at).date() == today:
            # A list that never came is due again the same day.
            cause = f"digest:{facts.me.id}:{int(coach.due_at.timestamp())}"
            context = TurnContext(unit, facts, None, cause)
            speak(self.conversations.services, context, [say], None)
            # With nothing on it too: what an older list told does not come back with this one.
            told = TakeOffList(facts.me.id, waiting, by_list=int(coach.due_at.timestamp()))
            carry_out(self.conversations.services, context, [told])

    def _hand_on(self, unit: UnitOfWork, facts: StoreFacts, waiting: Sequence[Waits]) -> None:
        """No list comes to her with it: what clients wrote goes to who hears of them instead.

        Where that is nobody it waits on, as all that is not their words does; they read so, once.
        """
        me, handed = facts.me, []
        for one in waiting:
            text = words_waiting(one, facts)
            if not text:
                continue
            client = self._facts(unit, PersonId(one.client_id), facts.now)
            cause = f"handed_on:{me.id}:{one.client_id}:{int(one.at.timestamp())}"
            context = TurnContext(unit, client, None, cause)
            if facts.told_of(client.me.id) is None:
                alert = client.open_alert(client.me.id)
                if alert is None or Sign.ABUSE not in alert.signs:
                    says = [Say("alerts/not_delivered")]
                    speak(self.conversations.services, context, says, None)
                continue
            coach_id = client.client(client.me.id).coach_id
            say = message_from(client.me, text, to=coach_id)
            speak(self.conversations.services, context, [say], None)
            handed.append(one)
        if handed:
            context = TurnContext(unit, facts, None, f"handed_on:{me.id}")
            taken = TakeOffList(me.id, tuple(handed))
            carry_out(self.conversations.services, context, [taken])

    def silences(self, unit: UnitOfWork, now: datetime) -> int:
        """Ask a client whose session has gone silent; five minutes later tell the coach."""
        return one_by_one(
            unit,
            due.claim_silent_sessions(unit, now, A_FEW),
            partial(self._notice, unit, now),
            lambda one: due.set_silence_due(unit, one.id, now + AFTER_A_FAULT, one.stage),
        )

    def _notice(self, unit: UnitOfWork, now: datetime, session: SilentSession) -> None:
        facts = self._facts(unit, session.client_id, now)
        if session.started_at is not None and now - session.started_at > LONGEST_SESSION:
            due.end_forgotten(unit, session.id, now)
            return
        cause = f"silence:{session.id}:{session.stage}:{int(now.timestamp())}"
        context = TurnContext(unit, facts, None, cause)
        if session.stage == 0:
            due.set_silence_due(unit, session.id, now + ASKED_THEN_ALERT, stage=1)
            buttons = (
                (Button("fine", handler="silence", ref=str(session.id)),),
                (Button("unwell", handler="silence", ref=str(session.id)),),
            )
            says = [Say("session/all_right", rows=buttons, kind=Kind.SAFETY)]
        else:
            due.set_silence_due(unit, session.id, None, stage=2)
            raised = RaiseAlert(
                facts.me.id,
                AlertLevel.URGENT,
                (Sign.SILENT_SESSION,),
                why=_worst_pain_of_today(facts),
                holds=False,
            )
            carry_out(self.conversations.services, context, [raised])
            says = [Say("session/coach_told_silent", kind=Kind.SAFETY)]
        speak(self.conversations.services, context, says, None)

    def wakings(self, unit: UnitOfWork, now: datetime) -> int:
        """Wake conversations that asked for it."""
        waiting = store_of_conversations.due_conversations(unit, now, A_FEW)

        def later(conversation: Conversation) -> None:
            # Silence about a sign counts as yes: what has failed once must not be forgotten.
            about_a_sign = conversation.state.flow in URGENT_FLOWS
            pause = SIGN_AFTER_A_FAULT if about_a_sign else AFTER_A_FAULT
            store_of_conversations.put_off(unit, conversation.id, now + pause)

        return one_by_one(unit, waiting, lambda one: self.conversations.wake(unit, one, now), later)

    def _facts(self, unit: UnitOfWork, person_id: PersonId, now: datetime) -> StoreFacts:
        person = people.get_person(unit, person_id)
        return StoreFacts(unit, person, now, self.conversations.services.reference)


def _worst_pain_of_today(facts: StoreFacts) -> Reason | None:
    """What hurt most in training today; None where nothing did."""
    today = facts.me.local(facts.now).date()
    pains = [
        one
        for one in facts.history(facts.me.id).pains
        if one.on == today and one.family is not None and one.how_much
    ]
    if not pains:
        return None
    worst = max(pains, key=lambda one: one.how_much)
    where = worst.where.value if worst.where is not None else ELSEWHERE
    return Reason("coach", "pain", {"where": where, "level": worst.how_much})


def _may_prompt(facts: StoreFacts, record: ClientRecord, today: date) -> bool:
    """No cheerful prompts on hold, away, or with an alert open."""
    return (
        record.cleared
        and not record.person.left
        and not record.is_away(today)
        and facts.hold(record.id) is None
        and facts.open_alert(record.id) is None
    )
