"""A clearance that ends soon: coach and client hear of it once, two weeks before."""

from datetime import date, timedelta

from bot.flows.changes import Change, SaveProfile
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Button, Say
from bot.messages import Kind
from core.client.screening import clearance_ends

TOLD_BEFORE = timedelta(days=14)
TOLD = "clearance_end_told"
"""Profile key: the end that was told, an ISO day."""


def ends_soon(record: ClientRecord, today: date) -> date | None:
    """The last day of the clearance, where it is near."""
    clearance = record.client.clearance
    if not record.cleared or clearance is None or record.person.left:
        return None
    ends = clearance_ends(clearance)
    return ends if today <= ends <= today + TOLD_BEFORE else None


def tell_of_end(record: ClientRecord, facts: Facts) -> tuple[tuple[Say, ...], tuple[Change, ...]]:
    """What both are told today, and that they were told; nothing where it is not time."""
    ends = ends_soon(record, record.person.local(facts.now).date())
    if ends is None or record.answers.get(TOLD) == ends.isoformat():
        return (), ()
    values = {"name": record.person.name, "until": ends}
    buttons = tuple(
        (Button(code, handler="client", ref=str(record.id)),) for code in ("open", "clear")
    )
    says = (
        Say("join/clearance_ends", values, to=record.id, kind=Kind.PROMPT),
        Say("coach/clearance_ends", values, rows=buttons, to=record.coach_id, kind=Kind.PROMPT),
    )
    return says, (SaveProfile(record.id, {TOLD: ends.isoformat()}),)
