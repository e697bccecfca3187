"""The coach writes a note about a client; opened with ``client``."""

from datetime import datetime

from bot.flows.changes import AddNote
from bot.flows.coach.client.name_or_words import as_words, asked_which
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of
from core.vocabulary import AlertLevel

NAME = "coach_note"
SINCE_DAYS = 30
"""So old an alert may be that is seen while a note is written."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the words, keep them, and go back to the notes."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    back = (Begin("coach_client", {"client": str(record.id), "page": "notes"}),)
    told = as_words(state, event)
    if told.kind is EventKind.TEXT and told.value.strip():
        if turned_away(state, record, facts):
            return _ask(state, record, facts)
        which = asked_which(state, event, record, facts)
        if which is not None:
            return which
        event = told
        return Turn(None, changes=(AddNote(record.id, event.value.strip()),), begin=back)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=back)
    if event.kind is EventKind.TAP:
        return not_understood(state)
    return _ask(state, record, facts)


def _ask(state: State, record: ClientRecord, facts: Facts) -> Turn:
    say = Say("coach/note", {"name": record.person.name}, rows=rows_of("cancel"))
    asked = state.at("words", client=str(record.id), asked_at=facts.now.isoformat())
    return Turn(asked, says=(say,))


def turned_away(state: State, record: ClientRecord, facts: Facts) -> bool:
    """Whether another client's alert came or was seen since the question: it may be about them."""
    told = state.answers.get("asked_at")
    others = [one.id for one in facts.clients() if one.id != record.id]
    if told is None or not others:
        return False
    since = datetime.fromisoformat(told)
    return any(
        (alert.seen_at is not None and alert.seen_at > since)
        or (alert.level is not AlertLevel.MENTION and alert.newest_sign_at > since)
        for alert in facts.alerts(others, SINCE_DAYS)
    )
