"""The client's menu: everything that can be asked for, one tap each."""

from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Rows, Say, State, Turn
from bot.flows.record.home_test_record import asked_of
from bot.flows.record.paused import signs_behind
from bot.flows.record.planning import Gate, training_status

NAME = "menu"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show the menu; its buttons open the other conversations."""
    place = training_status(facts)
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    if event.kind is not EventKind.BEGIN:
        return Turn(None, understood=False)
    values = {
        "gate": place.gate.value,
        "help": bool(event.args.get("help")),
        "because": signs_behind(place.record.id, facts),
    }
    test = asked_of(place.record, facts) is not None
    return Turn(None, says=(Say("menu/menu", values, rows=menu_rows(place.gate, test=test)),))


def menu_rows(gate: Gate, *, test: bool) -> Rows:
    """The buttons; what cannot be had now is not offered.

    Args:
        test: a home test that the coach asked for waits.
    """
    rows: Rows = ((_open("unwell"),),)
    if test and gate in (Gate.OPEN, Gate.NO_CHECKIN):
        rows = ((_open("test"),), *rows)
    if gate in (Gate.OPEN, Gate.NO_CHECKIN, Gate.REST_DAY):
        rows = ((_open("checkin"), _open("today")), *rows)
        rows = (*rows, (_open("walk"), _open("balance")), (_open("progress"),))
    else:
        rows = (*rows, (_open("walk"), _open("progress")))
    return (*rows, (_open("message"), _open("settings")), (_open("mydata"),))


def _open(name: str) -> Button:
    return Button(name, handler="open", ref=name)
