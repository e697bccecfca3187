"""A client's own data: what is known, for whom and for what; a copy, leaving, having it erased.

What cannot be undone is done by the button of that very question, or by its words while it is the
newest and just asked. Whatever comes later is asked about anew.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from bot.flows.changes import Audit, Erase, Leave
from bot.flows.client.feeling import untold
from bot.flows.erasure import copies_gone_on
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Begin, Button, Event, EventKind, Say, State, Turn, pressed, rows_of
from bot.flows.safety.open_signs import open_question

NAME = "own_data"
ONE_SCREEN = True
"""Its buttons count on the newest screen only."""
SLOT = "own_data"
EXPORT = "export"
"""Content ids "export-<person>" name a copy that is made when a channel loads it."""

CORRECT, LEAVE, ERASE, SURE = "correct", "leave", "erase", "sure"
SURE_FOR = timedelta(minutes=10)
"""So long "Are you sure?" may be answered; after that it is asked again (ours)."""


EVER = 36_500
"""Days: longer than anybody trains here."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    value = pressed(event, NAME, facts)
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind in (EventKind.BEGIN, EventKind.RESUME) or value == "back":
        rows = rows_of(CORRECT, "copy", LEAVE, ERASE, "finish")
        say = Say("own_data/what", _known(facts), rows=rows, slot=SLOT)
        return Turn(state.at("what"), says=(say,))
    if state.step == "what":
        if value == CORRECT:
            return Turn(None, begin=(Begin("join", {"review": True}),))
        if value == "copy":
            said = Say("own_data/copy", document=f"{EXPORT}-{facts.me.id}")
            return Turn(None, says=(said,), changes=(Audit(facts.me.id, "copy_made"),))
        if value in (LEAVE, ERASE):
            return _ask_sure(state, value, facts)
        if value == "finish":
            return Turn(None, says=(Say("settings/closed", slot=SLOT),))
    if state.step in (LEAVE, ERASE):
        return _sure(state, value, event, facts)
    return Turn(state, understood=False)


def _known(facts: Facts) -> Mapping[str, Any]:
    """What the page counts and names; nothing of what was told of a danger."""
    record = facts.client(facts.me.id)
    stand_in = facts.backup_of(record.coach_id)
    return {
        "trained": len(facts.history(record.id).days_trained()),
        "mornings": len(facts.checkins(record.id, EVER)),
        "stand_in": stand_in.name if stand_in is not None else "",
    }


def _ask_sure(state: State, how: str, facts: Facts) -> Turn:
    rows = ((Button(f"{how}{ASKED}{SURE}"),), (Button("back"),))
    say = Say(f"own_data/sure_{how}", _values(facts), rows=rows, slot=SLOT)
    return Turn(state.at(how, asked_at=facts.now.isoformat()), says=(say,))


def _sure(state: State, value: str, event: Event, facts: Facts) -> Turn:
    """The answer to "Are you sure?"."""
    asked_at = state.answers.get("asked_at")
    fresh = asked_at is not None and facts.now - datetime.fromisoformat(asked_at) <= SURE_FOR
    if event.kind is EventKind.TAP and value == f"{state.step}{ASKED}{SURE}":
        return _go(state.step, facts) if fresh else _ask_sure(state, state.step, facts)
    if event.kind is EventKind.TEXT and value == SURE and fresh:
        return _go(state.step, facts)
    return Turn(state, understood=False)


def _help_is_due(facts: Facts) -> bool:
    """An alert is open, or a question: what help needs stays until it is closed."""
    return (
        facts.open_alert(facts.me.id) is not None
        or open_question(facts) is not None
        or facts.says_unwell(facts.me.id)
    )


def _values(facts: Facts) -> Mapping[str, Any]:
    return {"waits": _help_is_due(facts), "copies_until": copies_gone_on(facts.me, facts.now)}


def _go(how: str, facts: Facts) -> Turn:
    """Leave, or leave and have the words erased; the coach is told that, not why."""
    record = facts.client(facts.me.id)
    values, doing = _values(facts), facts.watched(record.id)
    told = Say(
        "own_data/coach_told",
        {"name": record.person.name, "how": how, "doing": doing, **values},
        to=record.coach_id,
    )
    said = Say(f"own_data/done_{how}", values, slot=SLOT)
    ended = (Say("feeling/watch_ends", {"doing": doing, "stop": False}),) if doing else ()
    erased = (Erase(record.id),) if how == ERASE else ()
    changes = (*untold(record.id, facts), Leave(record.id), *erased)
    return Turn(None, says=(said, *ended, told), changes=changes)
