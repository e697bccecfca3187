"""Turning a turn's wishes into rows: changes applied, words rendered, messages in the outbox.

All of it happens in the caller's transaction: a template that fails takes the turn with it, so a
half-done turn never exists.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from functools import partial
from itertools import count
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from bot.engine.screens import tap_value
from bot.flows.changes import Change, KeepForList
from bot.flows.desk import AT_ONCE, NOTICE_OF, Notice, Way
from bot.flows.facts import Country, Person, Reference
from bot.flows.machine import PictureRequest, Say
from bot.messages import Kind
from bot.reference.words import Words
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.conversations import Conversation
from bot.storage.facts import StoreFacts
from bot.storage.outbox import Undelivered, enqueue, message_key, shown_as
from bot.storage.people import Address, addresses_of
from bot.storage.unit import UnitOfWork
from core.slots import next_moment
from core.vocabulary import AlertId, PersonId, Role


class Pictures(Protocol):
    """Makes pictures on demand; asking for one costs nothing until a channel loads it."""

    def request(self, request: PictureRequest, facts: StoreFacts) -> tuple[str, str]:
        """Content id of the picture, and what it shows in words; both "" when there is none."""
        ...


class TellAlert(Protocol):
    """Looks at an alert and puts what must be said about it into the outbox."""

    def __call__(self, unit: UnitOfWork, alert_id: AlertId, now: datetime) -> None:
        """Tell whoever must be told of the alert now."""
        ...


@dataclass(frozen=True, slots=True)
class Post:
    """Puts what is said into the outbox, in final words: the one way in."""

    words: Words
    reference: Reference

    def put(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        say: Say,
        listener: Person,
        at: Sequence[Address],
        *,
        key: str,
        conversation: Conversation | None = None,
        picture: tuple[str, str] = ("", ""),
        edits_id: int | None = None,
        own_chat: bool = True,
    ) -> list[int]:
        """Enqueue a message for somebody, once for each address and ``key``; gives the row ids.

        Args:
            conversation: the one that its buttons answer to.
            picture: content id and what it shows in words.
            edits_id: the row whose message this one replaces in place.
            own_chat: False where an address is nobody's chat (the second route).
        """
        outgoing = self.words.say(
            say,
            common_values(self.reference, facts, listener),
            tap=partial(tap_value, conversation=conversation, generation=unit.generation),
            picture=picture[0],
            picture_text=picture[1],
        )
        return [
            enqueue(
                unit,
                dedupe_key=message_key(
                    key, facts.me.id, listener.id, one.channel, unit.encryption.hashed(one.address)
                ),
                at=one,
                person_id=(listener.id or None) if own_chat else None,
                kind=say.kind,
                outgoing=outgoing,
                now=facts.now,
                edits_id=edits_id,
                about=facts.looked_at - {listener.id},
            )
            for one in at
        ]


@dataclass(frozen=True, slots=True)
class TurnServices:
    """What every turn needs, built once by the composition root.

    Attributes:
        pass_on: lets what waited for somebody who never gets it now reach the next person.
    """

    reference: Reference
    post: Post
    pictures: Pictures
    tell_alert: TellAlert
    pass_on: Callable[[UnitOfWork, Sequence[Undelivered], datetime], None]
    reschedule: Callable[[UnitOfWork, PersonId, datetime], None]
    code_hash: Callable[[str], str]


class Stage(StrEnum):
    """Which of the transactions of one arrival speaks; each numbers its messages for itself.

    Two of them may be committed, or tried again, at different times: what one says must not be
    taken for a repeat of what another has said.
    """

    SIGNS = "signs"  # the red-flag reader found something
    TURN = "turn"  # the conversation answers, or the chat is asked whose words these are
    HANDED = "handed"  # somebody has taken the words of a shared chat as theirs
    SET_ASIDE = "set_aside"  # it failed too often


@dataclass(frozen=True, slots=True)
class TurnContext:
    """One thing that happened, while its transaction is open.

    Attributes:
        at: the chat it came from (replies to ``me`` go there); ``None`` for sweeps.
        cause: names it, and the stage of it; dedupe keys are made from it.
        tapped: the platform's id of the message whose button was tapped, or "".
        depth: how many conversations have opened one another to get here.
        handed_on: the same words go on to what is open, which then answers for itself.
        numbers: numbers the messages of the turn, whoever says them. A repeat of the same turn
            counts the same.
    """

    unit: UnitOfWork
    facts: StoreFacts
    at: Address | None
    cause: str
    tapped: str = ""
    depth: int = 0
    handed_on: bool = False
    numbers: Iterator[int] = field(default_factory=count)

    @property
    def now(self) -> datetime:
        """The moment of the whole turn."""
        return self.facts.now


def carry_out(services: TurnServices, context: TurnContext, changes: Sequence[Change]) -> None:
    """Apply the changes, and let follow what must: alerts told, due moments worked out."""
    if not changes:
        return
    applying = applying_in(services, context)
    apply_all(applying, changes)
    context.facts.asked.clear()
    for person_id in dict.fromkeys(applying.rescheduled):
        services.reschedule(context.unit, person_id, context.now)
    for alert_id in dict.fromkeys(applying.alerts_to_tell):
        services.tell_alert(context.unit, alert_id, context.now)
    if applying.undelivered:
        services.pass_on(context.unit, applying.undelivered, context.now)


def applying_in(services: TurnServices, context: TurnContext) -> Applying:
    """What changes the record in this turn."""
    return Applying(context.unit, context.facts.me.id, context.now, services.code_hash)


def speak(
    services: TurnServices,
    context: TurnContext,
    says: Sequence[Say],
    conversation: Conversation | None,
) -> None:
    """Render the messages and put them into the outbox."""
    for say in says:
        listener = _listener(context.facts, say)
        if _kept_back(services, context, say, listener):
            continue
        picture = ("", "")
        if say.picture is not None:
            picture = services.pictures.request(say.picture, context.facts)
        mine = listener.id == context.facts.me.id
        edits = _edit_target(context, say, conversation) if mine else None
        row_ids = services.post.put(
            context.unit,
            context.facts,
            say,
            listener,
            _where(context, say, listener, mine=mine),
            key=f"{context.cause}:{next(context.numbers)}",
            conversation=conversation,
            picture=picture,
            edits_id=edits,
        )
        if say.slot and conversation is not None and mine and row_ids:
            conversation.slots[say.slot] = edits or row_ids[-1]


def _kept_back(services: TurnServices, context: TurnContext, say: Say, listener: Person) -> bool:
    """Whether a message to a coach does not go now: she wants it with her list, or not at all.

    What is put on her list stands there in the same transaction.
    """
    notice, facts = NOTICE_OF.get(say.template), context.facts
    if notice is None or facts.me.role is not Role.CLIENT or not facts.reaches(listener.id):
        return False
    way = facts.desk(listener.id).way(notice, listener.local(facts.now))
    if way is Way.LIST:
        carry_out(services, context, [KeepForList(listener.id, facts.me.id, say.template)])
    return way is not Way.NOW


def common_values(reference: Reference, facts: StoreFacts, listener: Person) -> Mapping[str, Any]:
    """What every template may name, whoever it is for."""
    country = reference.countries.get(listener.country, Country("", ""))
    return {
        "me": listener,
        "country": country,
        "emergency": country.emergency,
        "coach": _coach_of(facts, listener),
        "told_to": _told_to(facts, listener),
        "ways": ways_of(facts, listener),
    }


def _listener(facts: StoreFacts, say: Say) -> Person:
    """Who gets a message; what is for a coach who cannot be reached goes to who stands in."""
    me = facts.me
    if say.to is None:
        return me
    if me.role is Role.CLIENT and say.to == facts.client(me.id).coach_id:
        return facts.told_of(me.id) or facts.person(say.to)
    return facts.person(say.to)


def _coach_of(facts: StoreFacts, listener: Person) -> str:
    """The name of a client's coach; "" for coaches."""
    if listener.role is not Role.CLIENT:
        return ""
    return facts.person(facts.client(listener.id).coach_id).name


def _told_to(facts: StoreFacts, listener: Person) -> str:
    """The name of who hears of a client now; "" for coaches, and where it is nobody."""
    hears = facts.told_of(listener.id) if listener.role is Role.CLIENT else None
    return hears.name if hears is not None else ""


def ways_of(facts: StoreFacts, listener: Person) -> Mapping[str, Mapping[str, Any]]:
    """How what a client tells goes to the coach now: "how", and when her list comes, by notice.

    The clock is the client's; empty for coaches, and where nobody hears of the client.
    """
    hears = facts.told_of(listener.id) if listener.role is Role.CLIENT else None
    if hears is None:
        return AT_ONCE
    desk = facts.desk(hears.id)
    comes = listener.local(next_moment(ZoneInfo(hears.zone), desk.list_at, facts.now))
    today = comes.date() == listener.local(facts.now).date()
    return {
        notice.value: {
            "how": desk.way(notice, hears.local(facts.now)).value,
            "at": comes,
            "today": today,
        }
        for notice in Notice
    }


def _where(context: TurnContext, say: Say, listener: Person, *, mine: bool) -> Sequence[Address]:
    """Replies go to the chat that asked; alerts to every chat of a person; the rest to one."""
    if mine and context.at is not None:
        return [context.at]
    found = addresses_of(context.unit, listener.id)
    return found if say.kind >= Kind.ALERT else found[:1]


def _edit_target(context: TurnContext, say: Say, conversation: Conversation | None) -> int | None:
    """The row to edit in place: only the very message whose button was tapped."""
    if not say.slot or conversation is None or not context.tapped:
        return None
    shown = conversation.slots.get(say.slot)
    if shown is None or shown_as(context.unit, shown) != context.tapped:
        return None
    return shown
