"""Talking with one flow: events in, turns out, every message rendered as the engine would."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from bot.engine.speaking import ways_of
from bot.flows.facts import Country
from bot.flows.machine import Button, Event, EventKind, Flow, Say, State, Turn
from bot.messages import Outgoing
from bot.reference.catalogue import load_words
from bot.reference.movement_words import Movements
from bot.reference.words import Words
from core.vocabulary import Role
from tests.support.facts import Record, reference


@cache
def words() -> Words:
    """The real templates."""
    catalogue = reference().catalogue
    return Words(Movements(catalogue, load_words(catalogue)))


def tap_value(button: Button) -> str:
    """What a button sends back, with ids as long as they get in years of use."""
    if button.handler:
        return f"{button.handler}.{button.ref}.{button.value}"
    return f"coach_settings.99999999.{button.value}"


def rendered(say: Say, facts: Record) -> Outgoing:
    """The message in final words; fails where a word or a label is missing."""
    listener = facts.me if say.to is None else facts.person(say.to)
    country = facts.reference.countries.get(listener.country, Country("", ""))
    coach = told_to = ""
    if listener.role is Role.CLIENT:
        coach = facts.person(facts.client(listener.id).coach_id).name
        hears = facts.told_of(listener.id)
        told_to = hears.name if hears is not None else ""
    common = {
        "me": listener,
        "country": country,
        "emergency": country.emergency,
        "coach": coach,
        "told_to": told_to,
        "ways": ways_of(facts, listener),
        "of_whom": "",
    }
    return words().say(say, common, tap=tap_value)


@dataclass(slots=True)
class Talk:
    """One conversation of one person.

    Attributes:
        turn: the last turn.
        said: (message, its final words), all of them, to whomever.
        shown: the messages to me of the last turn that had any.
    """

    flow: Flow
    facts: Record
    state: State | None = None
    turn: Turn = field(default_factory=lambda: Turn(None))
    said: list[tuple[Say, Outgoing]] = field(default_factory=list)
    shown: list[Say] = field(default_factory=list)

    def begin(self, **args: Any) -> Turn:
        """Open the conversation."""
        self.state = State(self.flow.NAME, "begin")
        return self._event(EventKind.BEGIN, args=args)

    def tap(self, value: str) -> Turn:
        """Tap a button by its whole value."""
        return self._event(EventKind.TAP, value)

    def choose(self, code: str) -> Turn:
        """Tap the button of the open question with this code."""
        return self.tap(f"{self.step}~{code}")

    def type(self, text: str) -> Turn:
        """Type words."""
        return self._event(EventKind.TEXT, text)

    def share(self, phone: str) -> Turn:
        """Share a phone number."""
        return self._event(EventKind.CONTACT, phone)

    def resume(self) -> Turn:
        """Another conversation on top has ended."""
        return self._event(EventKind.RESUME)

    @property
    def step(self) -> str:
        """Where the conversation stands; "" when it has ended."""
        return self.state.step if self.state else ""

    @property
    def given(self) -> Mapping[str, Any]:
        """The answers of the form so far."""
        return self.state.answers["given"] if self.state else {}

    @property
    def text(self) -> str:
        """Final words of the last message."""
        return self.said[-1][1].text

    def buttons(self) -> list[Button]:
        """The buttons that I was shown last."""
        return [button for say in self.shown for row in say.rows for button in row]

    def _event(
        self, kind: EventKind, value: str = "", args: Mapping[str, Any] | None = None
    ) -> Turn:
        assert self.state is not None, "the conversation has ended"
        event = Event(kind, value, args=args or {}, cause="test")
        turn = self.flow.step(self.state, event, self.facts)
        self.turn = turn
        if not turn.understood:
            return turn
        mine = [say for say in turn.says if say.to in (None, self.facts.me.id)]
        self.shown = mine or self.shown
        for say in turn.says:
            self.said.append((say, rendered(say, self.facts)))
        self.facts.apply(turn.changes)
        self.state = turn.state
        return turn
