"""Two coaches apart: every screen, tap and text about a client is tried by a coach who has not
got the client.

The list of what is tried is not written by hand. A coach walks through all of her conversations
at random; each place she comes to, each button she is shown there and each way a conversation is
opened is tried. What the walks have not reached fails the first test by its name.
"""

from functools import cache

import pytest

from bot.flows.coach.client import open_card
from bot.flows.machine import Begin, CallbackHandler, Event, EventKind, State, Turn
from bot.flows.routing.registry import CALLBACK_HANDLERS, FLOWS
from core.vocabulary import Role
from tests.bot.flows.coach.test_coach_walks import WALKED, Tapped, Walk, anything, practice
from tests.support.facts import BOB, COACH, STRANGE_COACH, Record
from tests.support.talk import rendered

SEEDS = range(3)
STEPS = 300
TYPED = ("Bob", "bo", "yes", "Dr Singh, today", "3", "3 March 2027", "Likes the morning")
BOBS = str(BOB.id)


class Tried(Walk):
    """A walk that keeps where it has been, what it was shown and what was opened."""

    def __init__(self, facts: Record, seed: int, tapped: Tapped) -> None:
        super().__init__(facts, seed, tapped)
        self.places: dict[str, tuple[str, State]] = {}
        self.taps: set[tuple[str, str]] = set()
        self.handled: set[tuple[str, str, str]] = set()
        self.opened: dict[str, Begin] = {}

    def begin(self, begin: Begin) -> None:
        self.opened[repr(begin)] = begin
        super().begin(begin)
        self.keep()

    def go_on(self) -> bool:
        went = super().go_on()
        self.keep()
        return went

    def follow(self, turn: Turn) -> None:
        # Of every message: a conversation that is opened on top has buttons of its own.
        shown = [one for say in turn.says if say.to is None for row in say.rows for one in row]
        self.handled |= {(one.handler, one.ref, one.value) for one in shown if one.handler}
        super().follow(turn)

    def keep(self) -> None:
        if self.talk.state is not None:
            flow, state = self.talk.flow.NAME, self.talk.state
            key = f"{flow} {state.step}"
            self.places.setdefault(key, (flow, state))
            self.taps |= {(key, one.value) for one in self.talk.buttons() if not one.handler}


@cache
def walked() -> Tried:
    """All that some walks of the client's own coach have come to."""
    tapped = Tapped()
    found = Tried(practice(COACH), 0, tapped)
    for seed in SEEDS:
        walk = Tried(practice(COACH), seed, tapped)
        for _ in range(STEPS):
            if walk.chance.random() < 0.1 or not walk.go_on():
                walk.begin(anything(walk.chance, walk.facts))
        found.places |= walk.places
        found.taps |= walk.taps
        found.handled |= walk.handled
        found.opened |= walk.opened
    return found


def lost() -> Record:
    """The coach's record after Bob has gone to another coach."""
    facts = practice(COACH)
    facts.handed_over(BOB, STRANGE_COACH)
    return facts


def is_coachs(handler: CallbackHandler) -> bool:
    return getattr(handler, "ROLE", None) is Role.COACH


def about_bob(state: State) -> bool:
    return state.answers.get("client") == BOBS


def shows_nothing(turn: Turn, facts: Record, where: object) -> None:
    """No word of Bob and no change of his record; what was written down least of all."""
    mine = [say for say in turn.says if say.to is None]
    assert not [say for say in turn.says if say.to == BOB.id], where
    assert not [one for one in turn.changes if getattr(one, "client_id", None) == BOB.id], where
    for say in mine:
        assert "Bob" not in rendered(say, facts).text, where
        assert say.document is None or BOBS not in str(say.document), where


def test_the_walks_have_come_to_every_conversation_and_handler():
    found = walked()
    flows = {flow for flow, _ in found.places.values()}
    assert {name for name in FLOWS if name.startswith("coach_")} <= flows | {
        begin.flow for begin in found.opened.values()
    }
    coachs = {name for name, one in CALLBACK_HANDLERS.items() if is_coachs(one)}
    assert coachs <= {handler for handler, _, _ in found.handled}
    assert len(found.taps) > 300
    tapped = {value for _, value in found.taps}
    assert {"about", "letters", "messages", "notes", "record"} <= tapped
    assert any(value.endswith(f"~{open_card.RIGHT}") for value in tapped)


@pytest.mark.parametrize("flow", sorted(set(WALKED) - {"join"}))
def test_whoever_lost_a_client_finds_nothing_at_any_place_of_any_conversation(flow: str):
    found, facts = walked(), lost()
    for key, (name, state) in found.places.items():
        if name != flow or not about_bob(state):
            continue
        for value in sorted(value for place, value in found.taps if place == key):
            turn = WALKED[flow].step(state, Event(EventKind.TAP, value), facts)
            shows_nothing(turn, facts, (key, value))
        for text in TYPED:
            turn = WALKED[flow].step(state, Event(EventKind.TEXT, text), facts)
            shows_nothing(turn, facts, (key, text))
        for kind in (EventKind.RESUME, EventKind.DUE):
            turn = WALKED[flow].step(state, Event(kind), facts)
            shows_nothing(turn, facts, (key, kind))


@pytest.mark.parametrize("me", [COACH, STRANGE_COACH], ids=["who lost him", "who never had him"])
def test_no_way_of_opening_a_conversation_and_no_lasting_button_shows_another_s_client(me):
    found = walked()
    facts = lost() if me is COACH else practice(STRANGE_COACH)
    for begin in found.opened.values():
        if begin.flow not in WALKED or begin.flow == "join":
            continue
        event = Event(EventKind.BEGIN, args=begin.args)
        turn = WALKED[begin.flow].step(State(begin.flow, "begin"), event, facts)
        shows_nothing(turn, facts, begin)
    bobs_alerts = {"1", "2", "3"}
    for name, ref, value in sorted(found.handled):
        handler: CallbackHandler | None = CALLBACK_HANDLERS.get(name)
        if handler is None or not is_coachs(handler):
            continue
        if ref.partition("~")[0] not in ({BOBS} | bobs_alerts):
            continue
        turn = handler.tap(ref, value, facts)
        assert [say.template for say in turn.says] == ["coach/not_yours"], (name, ref, value)
        assert not turn.changes
        assert not turn.begin
