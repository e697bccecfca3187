"""The coach's open alerts, and what she should know of the last days."""

from bot.flows.coach.client.card import alert_line
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn
from core.vocabulary import AlertLevel, Role

NAME = "coach_alerts"
MENTION_DAYS = 3
MOST_MENTIONS = 10
MOST_ALERTS = 10


def step(_state: State, event: Event, facts: Facts) -> Turn:
    """Show both; the buttons belong to handlers and stay good."""
    if facts.me.role is not Role.COACH or event.kind is not EventKind.BEGIN:
        return Turn(None, understood=False)
    ids = [record.id for record in facts.clients()]
    found = [facts.open_alert(client_id) for client_id in ids]
    still_open = [alert for alert in found if alert is not None]
    mentions = [
        alert
        for alert in facts.alerts(ids, MENTION_DAYS)
        if alert.level is AlertLevel.MENTION and not alert.closed
    ]
    still_open.sort(key=lambda one: (one.seen_at is not None, one.level.value, -one.id))
    lines = [alert_line(alert, facts) for alert in still_open]
    told = [alert_line(alert, facts) for alert in mentions[:MOST_MENTIONS]]
    rows = tuple(
        (Button(f"show{ASKED}{line['id']}", handler="alert", ref=line["id"]),)
        for line in lines[:MOST_ALERTS]
    )
    values = {"lines": lines, "mentions": told, "more": max(0, len(mentions) - MOST_MENTIONS)}
    return Turn(None, says=(Say("coach/alerts", values, rows=rows),))
