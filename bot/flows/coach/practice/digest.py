"""The coach's morning list: who needs her, who is paused, what else she should know."""

from bot.flows.coach.client.card import LIFTS_SHOWN_DAYS, alert_line, lift_lines
from bot.flows.coach.client_state import ClientLine, ClientState, client_states, line_of
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Say
from bot.messages import Kind
from core.vocabulary import AlertLevel

MOST_MENTIONS = 10
MOST_BUTTONS = 6


def _tells(line: ClientLine) -> bool:
    """Whether a client who is fine has a line all the same."""
    return line["clearance_ends"] is not None


def digest(facts: Facts) -> Say | None:
    """One message with everybody's word; ``None`` without clients."""
    found = client_states(facts)
    if not found:
        return None
    lines = [line_of(one, facts) for one in found]
    mentions = [
        alert
        for alert in facts.alerts([one.record.id for one in found], 1)
        if alert.level is AlertLevel.MENTION and not alert.closed
    ]
    pressing = [line for line in lines if line["standing"] == ClientState.NEEDS_YOU.value]
    rows = tuple(
        (Button(f"open{ASKED}{line['id']}", handler="client", ref=line["id"]),)
        for line in pressing[:MOST_BUTTONS]
    )
    values = {
        "today": facts.me.local(facts.now),
        "lines": [
            line for line in lines if line["standing"] != ClientState.FINE.value or _tells(line)
        ],
        "fine": [
            line["name"]
            for line in lines
            if line["standing"] == ClientState.FINE.value and not _tells(line)
        ],
        "mentions": [alert_line(alert, facts) for alert in mentions[:MOST_MENTIONS]],
        "lifts": [
            line for one in found for line in lift_lines(one.record, facts, LIFTS_SHOWN_DAYS)
        ],
        "more": max(0, len(mentions) - MOST_MENTIONS),
    }
    return Say(
        "coach/digest",
        values,
        rows=(*rows, (Button("clients", handler="open", ref="clients"),)),
        kind=Kind.DIGEST,
    )
