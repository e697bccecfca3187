"""A coach's question about one client ends with its card, and after an hour at the latest."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.flows.coach.rights import client_for_me
from bot.flows.commands import command_of, own_words_begin
from bot.flows.machine import Begin, Button, Event, Flow, Say, State
from bot.storage import conversations
from bot.storage.conversations import Conversation
from bot.storage.facts import StoreFacts
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role

NOTE, NOTES = "coach_note", "coach_notes"
ANSWER = "coach_answer"
LIFT = "coach_lift"
QUESTIONS = (
    ANSWER,
    NOTE,
    "coach_correct",
    "coach_hold",
    "coach_leave",
    "coach_life",
    LIFT,
    NOTES,
    "coach_rebind",
    "coach_rungs",
    "coach_start",
    "coach_test",
)
"""Conversations that ask a coach for something about one client."""

HALF_WAY = {
    LIFT: ("who", "on", "day"),
    "coach_hold": ("until",),
    "coach_life": ("holiday_to",),
    "coach_start": ("word_on", "sure", "sugar", "until"),
}
"""Questions of several steps, and the steps at which something has been answered."""

LASTS = timedelta(hours=1)


def end_old(unit: UnitOfWork, person_id: PersonId, now: datetime) -> None:
    """End the questions that nobody has touched for an hour: no later words fill them."""
    old = [
        one.state.flow
        for one in conversations.open_of(unit, person_id)
        if one.state.flow in QUESTIONS and now - one.touched_at >= LASTS
    ]
    conversations.close_flow(unit, person_id, old, now)


def end_for(unit: UnitOfWork, person_id: PersonId, begin: Begin, now: datetime) -> Sequence[State]:
    """End the questions that another card, or a word of the menu, takes the place of.

    Gives those that were left half-way: whoever began them may think that they are done.
    """
    if not begin.flow.startswith("coach_"):
        return ()
    client = begin.args.get("client")
    left = [
        one.state
        for one in conversations.open_of(unit, person_id)
        if _is_half_way(one.state)
        and (one.state.flow != begin.flow or one.state.answers.get("client") != client)
    ]
    others = [one for one in QUESTIONS if one != begin.flow]
    conversations.close_flow(unit, person_id, others, now)
    return left


def _is_half_way(state: State) -> bool:
    """Whether something was answered that counts only with the rest."""
    steps = HALF_WAY.get(state.flow, ())
    return state.step in steps


def left_half_way(left: Sequence[State], facts: StoreFacts) -> Sequence[Say]:
    """What a coach is told of such questions: which, about whom, and that it is not done."""
    found = []
    for state in left:
        record = client_for_me(state.answers.get("client"), facts)
        if record is not None:
            card = Button("open", handler="client", ref=str(record.id))
            values = {"name": record.person.name, "what": state.flow}
            found.append(Say("engine/left_half_way", values, rows=((card,),)))
    return found


def goes_first(text: str, open_now: Sequence[Conversation], facts: StoreFacts) -> Begin | None:
    """What a word of the menu, or another client's name over a note, opens at once."""
    if facts.me.role is not Role.COACH or not open_now:
        return None
    asking = open_now[0].state.flow
    if asking not in QUESTIONS:
        return None
    if asking == ANSWER:
        # "Good morning" is a message; only the menu's own words and a client's name are none.
        command = command_of(text, facts.me.role, {})
        return command or own_words_begin(text, facts)
    # Words of a note are looked for: "morning" is one of them, and no greeting.
    others = {} if asking == NOTES else facts.reference.commands
    command = command_of(text, facts.me.role, others)
    return command or (own_words_begin(text, facts) if asking in (NOTE, NOTES) else None)


def is_passed_over(asked: State, flow: Flow, event: Event, facts: StoreFacts) -> bool:
    """Whether a question makes nothing of words that name a client: it would only be put again.

    Who cleared a client is asked by name: a client's is not taken, and is no wish for a card.
    """
    if asked.flow == LIFT:
        return False
    turn = flow.step(asked, event, facts)
    asked_again = any(say.values.get("again") for say in turn.says)
    return not turn.understood or asked_again
