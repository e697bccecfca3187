"""The coach asks a client for a home test: what to mind and who should not, then one tap."""

from bot.flows.changes import Audit
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import (
    Begin,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.record.home_test_record import asks
from bot.flows.record.planning import Gate, training_status_of
from core.client.home_test_care import needs_company, rather_not
from core.client.home_tests import CAUTIONS, HomeTest

NAME = "coach_test"
SLOT = "test"
NOT_NOW = (
    Gate.LEFT,
    Gate.NOT_JOINED,
    Gate.NOT_CLEARED,
    Gate.CLEARANCE_OVER,
    Gate.ON_HOLD,
    Gate.ALERT_OPEN,
    Gate.SAID_UNWELL,
    Gate.NEWS_HEARD,
)
"""Nothing is asked of a client who may not train; a day of rest only puts the test off."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``client`` and ``test``; ends back on the card's page of tests."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        test = HomeTest(str(event.args["test"]))
        state = State(NAME, "sure", {"client": str(record.id), "test": test.value})
    if training_status_of(record, facts).gate in NOT_NOW:
        say = Say("coach/test_not_now", {"name": record.person.name}, slot=SLOT)
        return Turn(None, says=(say,), begin=(_page(record),))
    if event.kind is EventKind.TAP and event.value == "ask":
        return _asked(state, record, facts)
    if event.kind is EventKind.TAP and event.value == "stop":
        return Turn(None, begin=(_page(record),))
    if opening or event.kind in (EventKind.RESUME, EventKind.DUE):
        return Turn(state, says=(_sure(state, record, facts),))
    return not_understood(state)


def _sure(state: State, record: ClientRecord, facts: Facts) -> Say:
    test = HomeTest(state.answers["test"])
    today = record.person.local(facts.now).date()
    steering = facts.reference.catalogue.steering
    values = {
        "name": record.person.name,
        "test": test.value,
        "minds": [mind.value for mind in CAUTIONS[test]],
        "against": [reason.value for reason in rather_not(test, record.client, today, steering)],
        "company": needs_company(test, record.client, today, steering),
    }
    return Say("coach/test_sure", values, rows=rows_of("ask stop"), slot=SLOT)


def _asked(state: State, record: ClientRecord, facts: Facts) -> Turn:
    test = HomeTest(state.answers["test"])
    asked = Say("coach/test_asked", {"name": record.person.name, "test": test.value}, slot=SLOT)
    changes = (asks(record, test, facts.now), Audit(record.id, "home_test_asked", test.value))
    invite = Begin("home_test", {"test": test.value}, person=record.id)
    return Turn(None, says=(asked,), changes=changes, begin=(invite, _page(record)))


def _page(record: ClientRecord) -> Begin:
    return Begin("coach_client", {"client": str(record.id), "page": "tests"})
