"""Whose arrival this is, where several people share one phone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.engine.screens import home_of, split_tap
from bot.flows.commands import command_of
from bot.flows.facts import Person
from bot.flows.machine import CallbackHandler, Flow
from bot.flows.routing import who
from bot.messages import Incoming, IncomingKind
from bot.storage import conversations, outbox
from bot.storage.people import Address
from bot.storage.server.generation import unmarked
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role

STILL_TALKING = timedelta(minutes=30)
"""On a shared phone, words belong to the one conversation that was touched this lately."""

STRANGER = Person(PersonId(0), Role.COACH, "", "", "UTC")
"""Somebody we do not know; has no record and no coach."""


@dataclass(frozen=True, slots=True)
class Speakers:
    """Tells who speaks, from what is open and whom a button was shown to."""

    flows: Mapping[str, Flow]
    handlers: Mapping[str, CallbackHandler]

    def who(
        self, unit: UnitOfWork, incoming: Incoming, speakers: Sequence[Person], now: datetime
    ) -> Person | None:
        """Whose arrival this is; ``None`` when the chat speaks for nobody, or it is not clear.

        A button belongs to the person it was shown to; a command to the only one who has it; other
        words to the one who is in the middle of a conversation.

        Args:
            speakers: the persons that the chat speaks for, the one used last first.
        """
        if incoming.kind is IncomingKind.TAP:
            return self._tapper(unit, incoming, speakers)
        if len(speakers) < 2:
            return speakers[0] if speakers else None
        asking = _who_have_command(incoming.text, speakers)
        if len(asking) == 1:
            return asking[0]
        talking = [
            person
            for person in speakers
            if any(
                not conversation.quiet and now - conversation.touched_at < STILL_TALKING
                for conversation in conversations.open_of(unit, person.id)
            )
        ]
        return talking[0] if len(talking) == 1 else None

    def _tapper(
        self, unit: UnitOfWork, incoming: Incoming, speakers: Sequence[Person]
    ) -> Person | None:
        """Whose tap this is. On a shared phone, never simply that of whoever used it last: an
        "I am fine" would end the watch over the wrong person."""
        if len(speakers) < 2:
            return speakers[0] if speakers else None
        name, ref, _ = split_tap(incoming.tap)
        if name == who.NAME:
            # Whoever it is: the answer itself names the person.
            return speakers[0]
        owner = None
        home = home_of(ref)
        if unmarked(incoming.tap)[1] != unit.generation:
            # What it names may be gone since a restore.
            home = None
        if name in self.flows and home is not None:
            conversation = conversations.get_conversation(unit, home.conversation_id)
            owner = None if conversation is None else conversation.person_id
        if owner is None:
            at = Address(incoming.channel, incoming.address)
            owner = outbox.written_to(unit, at, incoming.message_id)
        owners = [person for person in speakers if person.id == owner]
        if owners or name not in self.handlers:
            # A conversation that is gone answers the same, whoever asks.
            return owners[0] if owners else speakers[0]
        role = getattr(self.handlers[name], "ROLE", None)
        fitting = [person for person in speakers if role is None or person.role is role]
        return fitting[0] if len(fitting) == 1 else None


def _who_have_command(text: str, speakers: Sequence[Person]) -> Sequence[Person]:
    """Those whose role has the slash command that a text is."""
    if not text.startswith("/"):
        return ()
    return [person for person in speakers if command_of(text, person.role, {}) is not None]


def likely_speaker(speakers: Sequence[Person]) -> Person | None:
    """Who is taken to have written words that may be a sign: the client who spoke last."""
    clients = [person for person in speakers if person.role is Role.CLIENT]
    return next(iter([*clients, *speakers]), None)


def others_perhaps(
    person: Person | None, likely: Person | None, speakers: Sequence[Person]
) -> Sequence[Person]:
    """The other clients of a chat who may have written words of whom nobody knows whose they are.

    Args:
        person: whose words they are, where that is known.
        likely: who is taken to have written them.
    """
    if person is not None:
        return ()
    return [one for one in speakers if one.role is Role.CLIENT and one != likely and not one.left]
