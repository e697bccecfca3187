"""Whose arrival this is, where several people share one phone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.flows.facts import Person
from bot.flows.machine import Desk, Flow
from bot.messages import Incoming, IncomingKind
from bot.speaking import split_tap
from bot.storage import conversations
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
    desks: Mapping[str, Desk]

    def who(
        self, unit: UnitOfWork, incoming: Incoming, speakers: Sequence[Person], now: datetime
    ) -> Person | None:
        """Whose arrival this is; ``None`` when the chat speaks for nobody, or it is not clear.

        A button belongs to the person it was shown to; words to the one who is in the middle of a
        conversation.

        Args:
            speakers: the persons that the chat speaks for, the one used last first.
        """
        if incoming.kind is IncomingKind.TAP:
            return self._tapper(unit, incoming.tap, speakers)
        if len(speakers) < 2:
            return speakers[0] if speakers else None
        talking = [
            person
            for person in speakers
            if any(
                not conversation.quiet and now - conversation.touched_at < STILL_TALKING
                for conversation in conversations.open_of(unit, person.id)
            )
        ]
        return talking[0] if len(talking) == 1 else None

    def _tapper(self, unit: UnitOfWork, tap: str, speakers: Sequence[Person]) -> Person | None:
        name, ref, _ = split_tap(tap)
        if name in self.flows and ref.isdigit():
            conversation = conversations.get_conversation(unit, int(ref))
            owners = [
                person
                for person in speakers
                if conversation is not None and person.id == conversation.person_id
            ]
            return owners[0] if owners else (speakers[0] if speakers else None)
        role = getattr(self.desks.get(name), "ROLE", None)
        fitting = [person for person in speakers if role is None or person.role is role]
        return fitting[0] if fitting else None


def likely_speaker(speakers: Sequence[Person]) -> Person | None:
    """Who is taken to have written words that may be a sign: the client who spoke last."""
    clients = [person for person in speakers if person.role is Role.CLIENT]
    return next(iter([*clients, *speakers]), None)
