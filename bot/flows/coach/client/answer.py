"""The coach writes to a client, from their message, an alert or the card; opened with ``client``.

Her words are no sign of the client's: they raise no alert. Where the reader finds a sign in them,
the client's emergency number stands below.
"""

from bot.flows.changes import AddNote
from bot.flows.coach.client.name_or_words import as_words, asked_which
from bot.flows.coach.client.note import turned_away
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.reasons import Reason
from bot.flows.record.thread import shortened, thread_of
from bot.messages import Kind
from core.vocabulary import Sign

NAME = "coach_answer"
LONGEST = 2000
"""Characters: it reaches the client as one message, whatever the channel."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the words, say them to the client and keep them in the thread."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if record.person.left or not facts.reaches(record.id):
        values = {"name": record.person.name, "left": record.person.left}
        return Turn(None, says=(Say("coach/cannot_write", values, rows=_card_row(record)),))
    told = as_words(state, event)
    if told.kind is EventKind.TEXT and told.value.strip():
        return _typed(state, event, told, record, facts)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))
    if event.kind is EventKind.TAP:
        return not_understood(state)
    return _ask(state, record, facts)


def _typed(state: State, event: Event, told: Event, record: ClientRecord, facts: Facts) -> Turn:
    words = told.value.strip()
    if turned_away(state, record, facts):
        return _ask(state, record, facts)
    which = asked_which(state, event, record, facts)
    if which is not None:
        return which
    if len(words) > LONGEST:
        return _ask(state, record, facts, too_long=len(words))
    to_client = Say(
        "menu/message_from_coach",
        {"coach_name": facts.me.name, "text": words, "sign": event.holds_sign},
        rows=((Button("message", handler="open", ref="message"),),),
        to=record.id,
        kind=Kind.PROMPT,
    )
    sent = Say("coach/written", {"name": record.person.name}, rows=_card_row(record))
    return Turn(None, says=(to_client, sent), changes=(AddNote(record.id, words, to_client=True),))


def _card_row(record: ClientRecord) -> tuple[tuple[Button, ...], ...]:
    return ((Button("card", handler="client", ref=str(record.id)),),)


def _ask(state: State, record: ClientRecord, facts: Facts, too_long: int = 0) -> Turn:
    """What was written last stands above the question."""
    alert = facts.open_alert(record.id)
    told = [word for word in (alert.words if alert else ()) if not isinstance(word, Reason)]
    thread = thread_of(record.id, facts)
    last = thread[0] if thread else None
    mine = last is None or last.to_client
    values = {
        "name": record.person.name,
        "local": record.person.local(facts.now),
        "quote": shortened(told[-1] if told else "" if last is None or mine else last.text),
        "too_long": too_long,
        "most": LONGEST,
        "quietly": alert is not None and Sign.ABUSE in alert.signs,
    }
    asked = state.at("words", client=str(record.id), asked_at=facts.now.isoformat())
    return Turn(asked, says=(Say("coach/write", values, rows=rows_of("cancel")),))
