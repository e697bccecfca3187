"""The watch over a home test: ten minutes without a tap are asked about, five more the coach hears.

As in a session (:mod:`bot.schedule.due`), since a test is hard work too.
"""

from datetime import timedelta

from bot.flows.changes import RaiseAlert
from bot.flows.facts import Facts
from bot.flows.machine import Say, State, Turn, rows_of
from bot.messages import Kind
from core.vocabulary import AlertLevel, Sign

STEP, TOLD = "all_right", "told"
ASK_AFTER = timedelta(minutes=10)
TELL_AFTER = timedelta(minutes=5)


def watched(state: State, say: Say, facts: Facts) -> Turn:
    """A turn of a test on its way; any sign of life starts the watch anew."""
    return Turn(state, says=(say,), due_at=facts.now + ASK_AFTER)


def silent(state: State, facts: Facts) -> Turn:
    """Nothing was heard: ask; when that has been asked, tell the coach."""
    if state.step != STEP:
        asked = state.at(STEP, before=state.step)
        say = Say("session/all_right", rows=rows_of("fine", "unwell"), kind=Kind.SAFETY)
        return Turn(asked, says=(say,), due_at=facts.now + TELL_AFTER)
    raised = RaiseAlert(facts.me.id, AlertLevel.URGENT, (Sign.SILENT_SESSION,), holds=False)
    told = Say("session/coach_told_silent", kind=Kind.SAFETY)
    return Turn(state.at(TOLD), says=(told,), changes=(raised,), quiet=True)
