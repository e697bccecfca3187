"""Whoever is not understood twice at one question is offered a button, whatever is asked."""

import pytest

from bot.flows.client.checkin_questions import CHECKIN_FORM
from bot.flows.forms import Form, FormOutcome
from bot.flows.joining.questions import JOIN_FORM
from bot.flows.machine import Event, EventKind, State
from bot.flows.routing.fallback import not_understood
from tests.support.facts import BOB, Record

NONSENSE = ("hmm well now you see", "it is a long story, dear")
FORMS = {"join": JOIN_FORM, "checkin": CHECKIN_FORM}
QUESTIONS = [(name, key) for name, form in FORMS.items() for key in form.by_key]


@pytest.fixture(scope="module")
def facts() -> Record:
    return Record(BOB)


@pytest.mark.parametrize(("name", "key"), QUESTIONS)
def test_a_second_stumble_offers_a_button(name: str, key: str, facts: Record):
    form: Form = FORMS[name]
    on = facts.me.local(facts.now).date().isoformat()
    state = form.open(State(name, "begin", {"on": on, "given": {}}), key)
    again = None
    for words in NONSENSE:
        taken = form.take(state, Event(EventKind.TEXT, words), facts)
        if taken.outcome is FormOutcome.ANSWERED:
            return  # it takes any words
        if taken.outcome is FormOutcome.NOT_MINE:
            continue  # the next test
        state, again = taken.state, taken.again
    buttons = [button for row in form.ask(state, facts, again).rows for button in row]
    steering = {"skip", form.back_from(key)}
    assert [button for button in buttons if button.value not in steering], key


@pytest.mark.parametrize("asking", [True, False])
def test_words_that_no_question_takes_come_with_a_button(asking: bool, facts: Record):
    (said,) = not_understood(NONSENSE[0], 1, facts, asking=asking)
    assert said.rows
