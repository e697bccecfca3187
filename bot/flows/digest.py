"""The coach's morning list: who needs her."""

from bot.flows.facts import Facts
from bot.flows.machine import Say
from bot.messages import Kind
from core.vocabulary import AlertLevel


def digest(facts: Facts) -> Say | None:
    """Open alerts, mentions since yesterday and clients on hold; ``None`` without clients."""
    clients = facts.clients()
    if not clients:
        return None
    names = {record.id: record.person.name for record in clients}
    recent = facts.alerts([record.id for record in clients], 1)
    values = {
        "clients": len(clients),
        "on_hold": [record.person.name for record in clients if facts.hold(record.id)],
        "mentions": [
            {"name": names[alert.client_id], "alert": alert}
            for alert in recent
            if alert.level is AlertLevel.MENTION
        ],
    }
    return Say("coach/digest", values, kind=Kind.DIGEST)
