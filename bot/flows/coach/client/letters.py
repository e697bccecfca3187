"""Documents about a client for her coach; each is made when a channel loads it."""

from bot.flows.facts import ClientRecord, Facts

TOLD = "told"


def document_of(kind: str, record: ClientRecord, facts: Facts) -> str:
    """Content id: kind, client, who asked and the moment (see ``bot/letters/letters.py``)."""
    return f"{kind}-{record.id}-{facts.me.id}-{int(facts.now.timestamp())}"
