"""Hours after a session: was there a low sugar? Exercise can bring one late (ADA, by excerpt).

A low that is told is treated like any other; silence is no answer and nothing is made of it.
"""

from datetime import datetime, timedelta

from bot.flows.changes import RaiseAlert
from bot.flows.client.sugar_before import can_go_low
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, pressed, rows_of
from bot.flows.reasons import Reason
from bot.flows.safety.opening import SafetyOpening, begin_safety
from bot.messages import Kind
from core.slots import is_quiet
from core.vocabulary import AlertLevel, Sign, TextLevel

NAME = "later_low"
SLOT = "later_low"
WAITS = (timedelta(hours=4), timedelta(hours=2), timedelta(hours=1))
"""After a session, the longest that does not end in the quiet hours (ours)."""

OPEN_FOR = timedelta(hours=4)


def asked_later(record: ClientRecord) -> tuple[Begin, ...]:
    """Ask later on, where a medicine can bring the sugar too low and it is asked at all."""
    wanted = can_go_low(record) and "glucose" in record.client.limits.numbers_asked
    return (Begin(NAME),) if wanted else ()


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        due_at = _due_at(facts)
        return Turn(state.at("waiting") if due_at else None, quiet=True, due_at=due_at)
    if event.kind is EventKind.DUE:
        return _ask(state, facts) if state.step == "waiting" else Turn(None)
    if event.kind is EventKind.RESUME:
        if state.step != "asked":
            return Turn(state, quiet=True, due_at=_due_at(facts))
        return Turn(state, says=(_question(),), due_at=facts.now + OPEN_FOR)
    if state.step != "asked":
        return Turn(state, understood=False)
    answer = pressed(event, NAME, facts)
    if answer == "no":
        return Turn(None, says=(Say("session/no_low", slot=SLOT),))
    if answer == "low_now":
        opening = SafetyOpening(level=TextLevel.URGENT, signs=(Sign.HYPO,))
        return Turn(None, begin=(begin_safety(opening),))
    if answer == "low_gone":
        why = Reason("coach", "low_after_session")
        told = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.HYPO,), why=why, holds=False)
        return Turn(None, says=(Say("session/low_gone", slot=SLOT),), changes=(told,))
    return Turn(state, understood=False)


def _due_at(facts: Facts) -> datetime | None:
    record = facts.client(facts.me.id)
    for wait in WAITS:
        local = facts.me.local(facts.now + wait)
        if not is_quiet(local, record.quiet_from, record.quiet_until):
            return facts.now + wait
    return None


def _ask(state: State, facts: Facts) -> Turn:
    if facts.open_alert(facts.me.id) is not None:
        return Turn(None)
    return Turn(state.at("asked"), says=(_question(),), due_at=facts.now + OPEN_FOR)


def _question() -> Say:
    rows = rows_of("no", "low_gone", "low_now")
    return Say("session/later_low", rows=rows, slot=SLOT, kind=Kind.PROMPT)
