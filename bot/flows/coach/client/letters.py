"""Documents about a client for her coach; each is made when a channel loads it.

A letter for the doctor needs the client's yes, which is asked for in the chat or given in person.
"""

from datetime import date, timedelta

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.profile import DOCTOR_LETTER_ON

TOLD, REVIEW, DOCTOR, TABLE = "told", "review", "doctor", "table"
SPANS = (28, 91)
"""Days: four weeks, a quarter."""

KINDS = (TOLD, TABLE, *(f"{kind}{days}" for kind in (REVIEW, DOCTOR) for days in SPANS))

CONSENT_LASTS = timedelta(days=91)
"""So long a yes counts; after that the client is asked again (ours)."""


def document_of(kind: str, record: ClientRecord, facts: Facts) -> str:
    """Content id: kind, client, who asked and the moment (see ``bot/letters/letters.py``)."""
    return f"{kind}-{record.id}-{facts.me.id}-{int(facts.now.timestamp())}"


def days_of(kind: str) -> int:
    """The days that a review or a letter tells of."""
    return next(days for days in SPANS if kind.endswith(str(days)))


def may_write_to_doctor(record: ClientRecord, facts: Facts) -> bool:
    """Whether the client's yes to a letter for the doctor still counts."""
    given = record.answers.get(DOCTOR_LETTER_ON)
    today = record.person.local(facts.now).date()
    return given is not None and today - date.fromisoformat(given) <= CONSENT_LASTS
