"""Once a month: has anything changed in the client's health? If so, the coach clears anew."""

from bot.flows.changes import HealthAsked, RaiseAlert, WithdrawClearance
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Say, State, Turn, rows_of
from core.screening import change_question_due
from core.vocabulary import AlertLevel

NAME = "health_change"
SLOT = "health_change"
NO = ("no", "n", "nope", "nothing", "none")
YES = ("yes", "y")


def is_due(record: ClientRecord, facts: Facts) -> bool:
    """Whether the question should follow today's check-in."""
    clearance = record.client.clearance
    last = record.health_asked_on or (clearance.on if clearance is not None else None)
    return last is not None and change_question_due(last, facts.me.local(facts.now).date())


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind in (EventKind.BEGIN, EventKind.RESUME):
        return _ask(state, facts)
    said = event.value.strip()
    if state.step == "what":
        return (
            _changed(said, facts) if event.kind is EventKind.TEXT and said else _ask(state, facts)
        )
    if said.casefold() in NO:
        thanks = Say("checkin/no_health_change", slot=SLOT)
        # The morning's result once more, with its buttons, where they can be reached.
        return Turn(None, says=(thanks,), begin=(Begin("checkin"),))
    if said.casefold() in YES:
        return _ask(state.at("what"), facts)
    return Turn(state, understood=False)


def _ask(state: State, facts: Facts) -> Turn:
    if state.step == "what":
        return Turn(state, says=(Say("checkin/what_changed", slot=SLOT),))
    asked = HealthAsked(facts.me.id, facts.me.local(facts.now).date())
    say = Say("checkin/ask_health_change", rows=rows_of("no", "yes"), slot=SLOT)
    return Turn(state.at("asked"), says=(say,), changes=(asked,))


def _changed(words: str, facts: Facts) -> Turn:
    """The clearance ends; the coach reads what changed and decides."""
    record = facts.client(facts.me.id)
    ref = str(record.id)
    to_coach = Say(
        "coach/health_changed",
        {"client_name": record.person.name, "words": words},
        rows=((Button("open", desk="client", ref=ref),),),
        to=record.coach_id,
    )
    changes = (
        RaiseAlert(record.id, AlertLevel.MENTION, (), words, holds=False),
        WithdrawClearance(record.id, "health_changed"),
    )
    says = (Say("checkin/health_changed", slot=SLOT), to_coach)
    return Turn(None, says=says, changes=changes)


BEGIN = Begin(NAME)
