"""The coach's list of clients, each with one word: who needs her first."""

from bot.flows.client_names import told_apart
from bot.flows.coach.client_state import client_states, line_of
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn, not_understood
from core.vocabulary import Role

NAME = "coach_clients"
ON_A_PAGE = 8
MOST_GONE = 20


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show a page; its buttons stay good."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.TAP and event.value == "gone":
        return _gone(state, facts)
    page = int(state.answers.get("page", 0))
    if event.kind is EventKind.TAP and event.value == "all":
        state = state.at("shown", page=0, only=[])
        event = Event(EventKind.RESUME)
    if event.kind is EventKind.TAP:
        step_by = {"later": 1, "earlier": -1}.get(event.value)
        if step_by is None:
            return not_understood(state)
        page = max(0, page + step_by)
    elif event.kind is EventKind.TEXT:
        return not_understood(state)
    only = event.args.get("only") if event.kind is EventKind.BEGIN else state.answers.get("only")
    everybody = client_states(facts)
    numbers = told_apart({str(one.record.id): one.record.person.name for one in everybody})
    found = [one for one in everybody if not only or str(one.record.id) in only]
    last = max(0, (len(found) - 1) // ON_A_PAGE)
    page = min(page, last)
    shown = found[page * ON_A_PAGE : (page + 1) * ON_A_PAGE]
    lines = [line_of(one, facts) for one in shown]
    born = {str(one.record.id): one.record.answers.get("birth_year") for one in shown}
    rows = [
        (Button(f"open{ASKED}{line['id']}", handler="client", ref=line["id"]),) for line in lines
    ]
    turning = [Button("earlier")] if page else []
    turning += [Button("later")] if page < last else []
    say = Say(
        "coach/clients",
        {
            "lines": lines,
            "count": len(found),
            "page": page + 1,
            "pages": last + 1,
            "numbers": {one: numbers[one] for one in numbers},
            "born": born,
            "only": bool(only),
        },
        rows=(
            *rows,
            tuple(turning),
            (Button("gone"), Button("invite", handler="open", ref="invite")),
        ),
        slot="clients",
    )
    return Turn(state.at("shown", page=page, only=list(only or ())), says=(say,), quiet=True)


def _gone(state: State, facts: Facts) -> Turn:
    """Clients who have left and whose record is kept, so that they can come back."""
    lines = [{"id": str(record.id), "name": record.person.name} for record in facts.left_clients()]
    rows = [
        (Button(f"open{ASKED}{line['id']}", handler="client", ref=line["id"]),)
        for line in lines[:MOST_GONE]
    ]
    say = Say(
        "coach/gone",
        {"lines": lines[:MOST_GONE], "more": max(0, len(lines) - MOST_GONE)},
        rows=(*rows, (Button("all"),)),
        slot="clients",
    )
    return Turn(state.at("gone"), says=(say,), quiet=True)
