"""A client's own data: a copy of everything, leaving, and having the words erased."""

from collections.abc import Mapping
from typing import Any

from bot.flows.changes import Audit, Erase, Leave
from bot.flows.erasure import copies_gone_on
from bot.flows.facts import Facts
from bot.flows.machine import Event, EventKind, Say, State, Turn, rows_of
from bot.flows.safety.open_signs import open_question

NAME = "own_data"
SLOT = "own_data"
EXPORT = "export"
"""Content ids "export-<person>" name a copy that is made when a channel loads it."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    value = event.value
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind in (EventKind.BEGIN, EventKind.RESUME) or value == "back":
        say = Say("own_data/what", rows=rows_of("copy", "leave", "erase", "finish"), slot=SLOT)
        return Turn(state.at("what"), says=(say,))
    if state.step == "what":
        if value == "copy":
            said = Say("own_data/copy", document=f"{EXPORT}-{facts.me.id}")
            return Turn(None, says=(said,), changes=(Audit(facts.me.id, "copy_made"),))
        if value in ("leave", "erase"):
            say = Say(
                f"own_data/sure_{value}", _values(facts), rows=rows_of("sure", "back"), slot=SLOT
            )
            return Turn(state.at(value), says=(say,))
        if value == "finish":
            return Turn(None, says=(Say("settings/closed", slot=SLOT),))
    if state.step in ("leave", "erase") and value == "sure":
        return _go(state.step, facts)
    return Turn(state, understood=False)


def _help_is_due(facts: Facts) -> bool:
    """An alert or a question about a sign is open: what help needs stays until it is closed."""
    return facts.open_alert(facts.me.id) is not None or open_question(facts) is not None


def _values(facts: Facts) -> Mapping[str, Any]:
    return {"waits": _help_is_due(facts), "copies_until": copies_gone_on(facts.me, facts.now)}


def _go(how: str, facts: Facts) -> Turn:
    """Leave, or leave and have the words erased; the coach is told that, not why."""
    record = facts.client(facts.me.id)
    values = _values(facts)
    told = Say(
        "own_data/coach_told",
        {"name": record.person.name, "how": how, **values},
        to=record.coach_id,
    )
    said = Say(f"own_data/done_{how}", values, slot=SLOT)
    if how == "leave":
        return Turn(None, says=(said, told), changes=(Leave(record.id),))
    return Turn(None, says=(said, told), changes=(Leave(record.id), Erase(record.id)))
