"""The coach's list of clients, each with one word: who needs her first."""

from bot.flows.coach.client_state import client_states, line_of
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn, not_understood
from core.vocabulary import Role

NAME = "coach_clients"
ON_A_PAGE = 8


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show a page; its buttons stay good."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    page = int(state.answers.get("page", 0))
    if event.kind is EventKind.TAP:
        step_by = {"later": 1, "earlier": -1}.get(event.value)
        if step_by is None:
            return not_understood(state)
        page = max(0, page + step_by)
    elif event.kind is EventKind.TEXT:
        return not_understood(state)
    found = client_states(facts)
    last = max(0, (len(found) - 1) // ON_A_PAGE)
    page = min(page, last)
    shown = found[page * ON_A_PAGE : (page + 1) * ON_A_PAGE]
    lines = [line_of(one, facts) for one in shown]
    rows = [
        (Button(f"open{ASKED}{line['id']}", handler="client", ref=line["id"]),) for line in lines
    ]
    turning = [Button("earlier")] if page else []
    turning += [Button("later")] if page < last else []
    say = Say(
        "coach/clients",
        {"lines": lines, "count": len(found), "page": page + 1, "pages": last + 1},
        rows=(*rows, tuple(turning), (Button("invite", handler="open", ref="invite"),)),
        slot="clients",
    )
    return Turn(state.at("shown", page=page), says=(say,), quiet=True)
