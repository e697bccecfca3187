"""One step of a life, as laws see it: what was done, and the store and chats around it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from tests.doubles.record_channel import Recorded
from tests.lives.acts import Act, Says, passes_time, typed_by
from tests.lives.cast import MENU
from tests.lives.chats import Found
from tests.lives.store import Message, Person, Record

A_SENTENCE = 3
"""Words from which on a text is no mere answer or command."""


@dataclass(slots=True)
class Memory:
    """What laws remember of earlier steps of one life.

    Attributes:
        typed: all that anybody ever typed: not for the program to answer for.
        asked_words: what a client typed while a question was open, by the question's id.
        lifted: when the last sign's hold of a client was lifted.
        eased: the sessions that followed that, in order.
        told_why_paused: when a client was last told by the clock why training is paused, and the
            weekday that they had chosen for it.
        no_kit: when a client last said of some kit that it is not there today.
    """

    typed: set[str] = field(default_factory=set)
    asked_words: dict[int, list[str]] = field(default_factory=dict)
    lifted: dict[int, datetime] = field(default_factory=dict)
    eased: dict[int, list[int]] = field(default_factory=dict)
    told_why_paused: dict[int, tuple[datetime, int]] = field(default_factory=dict)
    no_kit: dict[int, datetime] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Step:
    """One act, or one moment at which something fell due while time went on.

    Attributes:
        sent: what reached chats, in order.
        tapped: the button, where one was tapped.
        once: the facts after the first of two taps.
        facts: the facts after the act; with ``once`` only.
        day_before: the tapped client's days before a tap on an older day's button, and after.
        errors: what was logged as an error.
    """

    act: Act
    before: Record
    after: Record
    sent: list[Recorded]
    memory: Memory
    tapped: Found | None = None
    once: Mapping[str, list[str]] | None = None
    facts: Mapping[str, list[str]] | None = None
    day_before: tuple[Mapping[str, list[str]], Mapping[str, list[str]]] | None = None
    errors: tuple[str, ...] = ()

    @property
    def by_clock(self) -> bool:
        """Whether nobody did anything."""
        return passes_time(self.act)

    @property
    def actor(self) -> Person | None:
        """Who did it, where it was one person."""
        who = getattr(self.act, "who", "")
        return self.after.called(who) if who else None

    @property
    def new(self) -> tuple[Message, ...]:
        """Messages that were put out in this step."""
        return self.after.messages

    def to_clients(self) -> list[tuple[Message, Person]]:
        """Those to clients."""
        return self._to("client")

    def to_coaches(self) -> list[tuple[Message, Person]]:
        """Those to coaches."""
        return self._to("coach")

    def told_coaches(self, client_id: int) -> list[Message]:
        """Messages to coaches of a client that went to an open chat."""
        coaches = self.after.coaches_of(client_id)
        return [one for one in self.new if one.person_id in coaches and one.status != "refused"]

    def sentences(self) -> list[tuple[Person, str]]:
        """What clients typed in this step that is more than an answer or a command."""
        found = []
        for one in typed_by(self.act):
            person = self.before.called(one.who)
            if one.who in self.before.cut_off:
                # An old phone: whose words these are nobody can know.
                continue
            if person is not None and person.role == "client" and is_sentence(one):
                found.append((person, one.text))
        return found

    def _to(self, role: str) -> list[tuple[Message, Person]]:
        people = self.after.people
        return [
            (one, people[one.person_id])
            for one in self.new
            if one.person_id in people and people[one.person_id].role == role
        ]


def is_sentence(said: Says) -> bool:
    """Whether somebody typed a sentence, and not the words on a button of the menu."""
    typed = len(said.text.split()) >= A_SENTENCE and not said.text.startswith("/")
    return typed and said.text not in MENU
