"""The coach's menu."""

from bot.flows.coach.client_state import ClientState, client_states
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Say, State, Turn
from core.vocabulary import Role

NAME = "coach_menu"


def step(_state: State, event: Event, facts: Facts) -> Turn:
    """Show the menu; its buttons open the other conversations at any time."""
    if facts.me.role is not Role.COACH or event.kind is not EventKind.BEGIN:
        return Turn(None, understood=False)
    if not facts.me.country:
        return Turn(None, begin=(Begin("coach_join"),))
    waiting = [one for one in client_states(facts) if one.state is ClientState.NEEDS_YOU]
    names = [one.record.person.name for one in waiting]
    rows = (
        (_open("clients"), _open("alerts")),
        (_open("invite"), _open("settings")),
    )
    values = {"help": bool(event.args.get("help")), "waiting": names}
    return Turn(None, says=(Say("coach/menu", values, rows=rows),))


def _open(name: str) -> Button:
    return Button(name, handler="open", ref=name)
