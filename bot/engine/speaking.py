"""Turning a turn's wishes into rows: changes applied, words rendered, messages in the outbox.

All of it happens in the caller's transaction: a template that fails takes the turn with it, so a
half-done turn never exists.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from bot.flows.changes import Change
from bot.flows.facts import Country, Person, Reference
from bot.flows.machine import Button, PictureWish, Say
from bot.messages import Kind
from bot.reference.words import Words
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.conversations import Conversation
from bot.storage.facts import StoreFacts
from bot.storage.outbox import enqueue, shown_as
from bot.storage.people import Address, addresses_of
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertId, PersonId, Role

SEPARATOR = "."


class Pictures(Protocol):
    """Makes pictures on demand; asking for one costs nothing until a channel loads it."""

    def wish(self, wish: PictureWish, facts: StoreFacts) -> tuple[str, str]:
        """Content id of the picture, and what it shows in words; both "" when there is none."""
        ...


class TellAlert(Protocol):
    """Looks at an alert and puts what must be said about it into the outbox."""

    def __call__(self, unit: UnitOfWork, alert_id: AlertId, now: datetime) -> None:
        """Tell whoever must be told of the alert now."""
        ...


@dataclass(frozen=True, slots=True)
class Desktop:
    """What every turn needs, built once by the composition root."""

    words: Words
    reference: Reference
    pictures: Pictures
    tell_alert: TellAlert
    reschedule: Callable[[UnitOfWork, PersonId, datetime], None]
    code_hash: Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Occasion:
    """One thing that happened, while its transaction is open.

    Attributes:
        at: the chat it came from (replies to ``me`` go there); ``None`` for sweeps.
        cause: names it; dedupe keys are made from it.
        tapped: the platform's id of the message whose button was tapped, or "".
    """

    unit: UnitOfWork
    facts: StoreFacts
    at: Address | None
    cause: str
    tapped: str = ""

    @property
    def now(self) -> datetime:
        """The moment of the whole turn."""
        return self.facts.now


def carry_out(desktop: Desktop, occasion: Occasion, changes: Sequence[Change]) -> None:
    """Apply the changes, and let follow what must: alerts told, due moments worked out."""
    if not changes:
        return
    applying = Applying(occasion.unit, occasion.facts.me.id, occasion.now, desktop.code_hash)
    apply_all(applying, changes)
    occasion.facts.asked.clear()
    for person_id in dict.fromkeys(applying.rescheduled):
        desktop.reschedule(occasion.unit, person_id, occasion.now)
    for alert_id in dict.fromkeys(applying.alerts_to_tell):
        desktop.tell_alert(occasion.unit, alert_id, occasion.now)


def speak(
    desktop: Desktop,
    occasion: Occasion,
    says: Sequence[Say],
    conversation: Conversation | None,
    numbered_from: int = 0,
) -> None:
    """Render the messages and put them into the outbox."""
    for number, say in enumerate(says, start=numbered_from):
        listener = _listener(occasion.facts, say)
        picture, picture_text = ("", "")
        if say.picture is not None:
            picture, picture_text = desktop.pictures.wish(say.picture, occasion.facts)
        outgoing = desktop.words.say(
            say,
            common_values(desktop.reference, occasion.facts, listener),
            tap=lambda button: tap_value(button, conversation),
            picture=picture,
            picture_text=picture_text,
        )
        mine = listener.id == occasion.facts.me.id
        for at in _where(occasion, say, listener, mine=mine):
            edits = _edit_target(occasion, say, conversation) if mine else None
            row_id = enqueue(
                occasion.unit,
                dedupe_key=_dedupe_key(say, occasion.cause, number, listener.id, at),
                at=at,
                person_id=listener.id or None,
                kind=say.kind,
                outgoing=outgoing,
                now=occasion.now,
                edits_id=edits,
            )
            if say.slot and conversation is not None and mine:
                conversation.slots[say.slot] = edits or row_id


def tap_value(button: Button, conversation: Conversation | None) -> str:
    """What a button sends back: who answers it, about what, and the value."""
    if button.desk:
        return SEPARATOR.join((button.desk, button.ref, button.value))
    home = ("", "") if conversation is None else (conversation.state.flow, str(conversation.id))
    return SEPARATOR.join((*home, button.value))


def split_tap(tap: str) -> tuple[str, str, str]:
    """Desk or flow, reference, value; empty parts where the button is not one of ours."""
    desk, _, rest = tap.partition(SEPARATOR)
    ref, _, value = rest.partition(SEPARATOR)
    return desk, ref, value


def common_values(reference: Reference, facts: StoreFacts, listener: Person) -> Mapping[str, Any]:
    """What every template may name, whoever it is for."""
    country = reference.countries.get(listener.country, Country("", ""))
    return {
        "me": listener,
        "country": country,
        "emergency": country.emergency,
        "coach": _coach_of(facts, listener),
        "told_to": _told_to(facts, listener),
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


def _where(occasion: Occasion, say: Say, listener: Person, *, mine: bool) -> Sequence[Address]:
    """Replies go to the chat that asked; alerts to every chat of a person; the rest to one."""
    if mine and occasion.at is not None:
        return [occasion.at]
    found = addresses_of(occasion.unit, listener.id)
    return found if say.kind >= Kind.ALERT else found[:1]


def _edit_target(occasion: Occasion, say: Say, conversation: Conversation | None) -> int | None:
    """The row to edit in place: only the very message whose button was tapped."""
    if not say.slot or conversation is None or not occasion.tapped:
        return None
    shown = conversation.slots.get(say.slot)
    if shown is None or shown_as(occasion.unit, shown) != occasion.tapped:
        return None
    return shown


def _dedupe_key(say: Say, cause: str, number: int, to: PersonId, at: Address) -> str:
    key = say.dedupe or f"{cause}:{number}"
    return f"{key}:{to}:{at.channel}:{at.address}"
