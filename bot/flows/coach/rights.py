"""Whose record a coach may see and change: her own clients', and those she stands in for."""

from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Event, EventKind, Say, State, Turn
from bot.json_values import JsonValue
from core.vocabulary import PersonId, Role


def client_for_me(client_id: JsonValue, facts: Facts) -> ClientRecord | None:
    """The record of a client, or ``None`` for everybody who is neither coach nor stand-in.

    Args:
        client_id: an id as it stands in a state or on a button.
    """
    if facts.me.role is not Role.COACH or not str(client_id).isdigit():
        return None
    person_id = PersonId(int(str(client_id)))
    return facts.client(person_id) if facts.is_coach_of(person_id) else None


def client_of_turn(state: State, event: Event, facts: Facts) -> ClientRecord | None:
    """The record of the ``client`` that a conversation was opened with; ``None`` as there."""
    given = event.args if event.kind is EventKind.BEGIN else state.answers
    return client_for_me(given.get("client"), facts)


def not_yours() -> Turn:
    """The answer to anybody else; says nothing about whether there is such a client."""
    return Turn(None, says=(Say("coach/not_yours"),))
