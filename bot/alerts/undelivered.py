"""When a message does not arrive: who was told of it hears that it is not so.

Mostly its chat turns out closed; now and then it is given up: too old, or the platform will not
have it. All of it is done in the transaction that refuses the message. What a closed chat refused
goes on to the person's next chat, or to who stands in for her; else its author hears one line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.alerts.escalation import AlertRounds
from bot.delivery.outcome import ClosedChat
from bot.engine.speaking import Post
from bot.flows.facts import Person
from bot.flows.machine import Say
from bot.messages import Kind
from bot.storage.changes.people import list_never_came
from bot.storage.facts import StoreFacts
from bot.storage.outbox import Undelivered, enqueue, message_key
from bot.storage.people import Address, addresses_of, chats_to_try, get_person
from bot.storage.questions.chased_alerts import hurry_unseen, keep_untold, look_again_now
from bot.storage.questions.due import set_digest_due
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role, Sign


@dataclass(frozen=True, slots=True)
class Corrections:
    """Takes back what people were told of messages that did not arrive."""

    post: Post
    rounds: AlertRounds

    def take_back(self, unit: UnitOfWork, closed: ClosedChat, now: datetime) -> None:
        """Let what waited for a closed chat reach somebody, or its author know; no commit."""
        self._lists_never_came(unit, closed, now)
        if closed.is_open:
            self._given_up(unit, closed.undelivered, now)
            return
        hurry_unseen(unit, closed.persons, now)
        alerts = {one.alert_id for one in closed.undelivered if one.by not in (None, one.to)}
        look_again_now(unit, {one for one in alerts if one is not None}, now)
        self.pass_on(unit, closed.undelivered, now)

    def _lists_never_came(self, unit: UnitOfWork, closed: ClosedChat, now: datetime) -> None:
        lists = [one for one in closed.undelivered if one.kind is Kind.DIGEST]
        for coach_id in {one.to for one in lists}:
            moments = {one.list_of for one in lists if one.to == coach_id and one.list_of}
            words = list_never_came(unit, coach_id, moments, is_open=closed.is_open)
            coach = get_person(unit, coach_id)
            desk = StoreFacts(unit, coach, now, self.post.reference).desk(coach_id)
            # To another chat of hers, or on to who stands in for her. Words that her open chat did
            # not get with their list go by themselves; in quiet hours they wait for her morning.
            if not closed.is_open or (words and not desk.is_quiet(coach.local(now))):
                set_digest_due(unit, coach_id, now)

    def pass_on(self, unit: UnitOfWork, undelivered: Sequence[Undelivered], now: datetime) -> None:
        """The same for what tells of no alert."""
        for one in undelivered:
            if one.alert_id is None and one.by is not None and one.by != one.to:
                self._goes_on(unit, one, one.by, now)

    def _given_up(
        self, unit: UnitOfWork, undelivered: Sequence[Undelivered], now: datetime
    ) -> None:
        """What will never go to an open chat does not go there once more: its author hears it."""
        for one in undelivered:
            if one.by is None or one.by == one.to:
                continue
            if one.alert_id is not None and not keep_untold(unit, one.alert_id):
                continue
            author, to = get_person(unit, one.by), get_person(unit, one.to)
            facts = StoreFacts(unit, author, now, self.post.reference)
            self._author_hears(unit, facts, author, to)

    def _goes_on(
        self, unit: UnitOfWork, one: Undelivered, author_id: PersonId, now: datetime
    ) -> None:
        author, to = get_person(unit, author_id), get_person(unit, one.to)
        facts = StoreFacts(unit, author, now, self.post.reference)
        chats, listener = _next_chats(unit, facts, author, to)
        if not chats:
            self._author_hears(unit, facts, author, to)
            return
        at = chats[0]
        chat = unit.encryption.hashed(at.address)
        enqueue(
            unit,
            dedupe_key=message_key(f"on:{one.id}", author.id, listener, at.channel, chat),
            at=at,
            person_id=listener,
            kind=one.kind,
            outgoing=one.outgoing,
            now=now,
            about=one.about,
            forgets=one.forgets,
        )

    def _author_hears(
        self, unit: UnitOfWork, facts: StoreFacts, author: Person, to: Person
    ) -> None:
        """One line for each chat that closed, however much waited for it."""
        if author.role is Role.CLIENT:
            on = facts.open_alert(author.id)
            if on is not None and Sign.ABUSE in on.signs:
                # Where the danger may be at home, that phone repeats nothing.
                return
            say = Say("alerts/not_delivered")
        else:
            record = facts.client(to.id) if to.role is Role.CLIENT else None
            values = {
                "name": to.name,
                "phone": record.phone if record is not None else "",
                "there": to.country,
            }
            say = Say("coach/not_delivered", values)
        key = f"undelivered:{to.id}:{int(facts.now.timestamp())}"
        # A chat that is marked as closed is tried: nothing else would tell its author.
        self.post.put(unit, facts, say, author, chats_to_try(unit, author.id)[:1], key=key)


def _next_chats(
    unit: UnitOfWork, facts: StoreFacts, author: Person, to: Person
) -> tuple[Sequence[Address], PersonId]:
    """Where a message can still go: another chat of that person, or who stands in for her."""
    own = addresses_of(unit, to.id)
    if own or author.role is not Role.CLIENT or to.role is not Role.COACH:
        return own, to.id
    hears = facts.told_of(author.id)
    return (addresses_of(unit, hears.id), hears.id) if hears is not None else ((), to.id)
