"""Words typed where a note or a message is asked for, which may be part of a client's name."""

from collections.abc import Mapping

from bot.flows.client_names import meant
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn

AS_WORDS = "as_words"
STEP = "name_or_words"
MOST_NAMES = 3


def asked_which(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn | None:
    """Ask what was meant, before anything is kept or goes out; None where no client is named.

    The words are kept in the state until that is answered.
    """
    names = names_in(event.value, facts) if event.kind is EventKind.TEXT else {}
    if not names:
        return None
    cards = tuple(
        (Button(f"open{ASKED}{one}", handler="client", ref=one),)
        for one in list(names)[:MOST_NAMES]
    )
    values = {
        "name": record.person.name,
        "words": event.value.strip(),
        "found": names,
        "message": state.flow == "coach_answer",
    }
    say = Say(
        "coach/name_or_words", values, rows=((Button(AS_WORDS),), *cards, (Button("cancel"),))
    )
    return Turn(state.at(STEP, words=event.value.strip()), says=(say,))


def as_words(state: State, event: Event) -> Event:
    """The button "they are words" stands for those words typed; anything else stays what it is."""
    kept = state.answers.get("words")
    if event.kind is EventKind.TAP and event.value == AS_WORDS and state.step == STEP and kept:
        return Event(EventKind.TEXT, str(kept), cause=event.cause)
    return event


def names_in(text: str, facts: Facts) -> Mapping[str, str]:
    """Clients whom a text may name: id -> name."""
    names = {str(one.id): one.person.name for one in facts.clients()}
    return {one: names[one] for one in meant(text, names)}
