"""The coach's own settings: name, country, town, time of the morning list, stand-in."""

from bot.flows.coach.practice.questions import NO_BACKUP, own_given
from bot.flows.facts import Facts
from bot.flows.joining.answers import shown_answers
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of
from core.vocabulary import Role

NAME = "coach_settings"
DAYS = ("hours", "quiet", "ways", "away", "suspend")
"""What is asked by :mod:`bot.flows.coach.practice.own_days`."""

KEYS = ("called", "country", "zone", "digest_at", "backup")


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show them; a button changes one."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.TAP and event.value in DAYS:
        begin = Begin("coach_days", {"what": event.value})
        return Turn(state, begin=(begin,), quiet=True)
    if event.kind is EventKind.TAP and event.value in KEYS:
        return Turn(state, begin=(Begin("coach_join", {"key": event.value}),), quiet=True)
    if event.kind in (EventKind.TAP, EventKind.TEXT):
        return not_understood(state)
    backup = facts.backup_of(facts.me.id)
    values = {
        "given": shown_answers(own_given(facts), facts, facts.me),
        "backup_name": backup.name if backup else "",
        "none": NO_BACKUP,
        "desk": facts.desk(facts.me.id),
        "away": _still_away(facts),
    }
    alone = len(facts.coaches()) < 2
    rows = rows_of("called digest_at", "country zone", "hours quiet", "ways away", "backup")
    rows = rows if alone else (*rows, *rows_of("suspend"))
    say = Say("coach/settings", values, rows=rows, slot="settings")
    return Turn(state.at("shown"), says=(say,), quiet=True)


def _still_away(facts: Facts) -> bool:
    """Whether a time away is set that is not over."""
    until = facts.desk(facts.me.id).away_until
    return until is not None and until >= facts.me.local(facts.now).date()
