"""Lifting a hold; opened with ``client``.

A decision in steps: a coach has seen the alert; who cleared the client, their name, the day. What
is needed is worked out anew at each step, and a sign that comes while the coach answers starts it
again. Without a valid clearance to train the end of a pause is no leave to train, and both hear it.
"""

from dataclasses import replace
from datetime import date

from bot.flows.changes import LiftHold, SaveProfile
from bot.flows.coach.alerts.buttons import alert_rows
from bot.flows.coach.alerts.lift_ground import Ground, ground_of, newest_day
from bot.flows.coach.alerts.lift_questions import LIFT_FORM
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.typed_days import with_a_day
from bot.flows.erasure import copies_gone_on
from bot.flows.facts import Alert, ClientRecord, Facts
from bot.flows.form_question import Setting
from bot.flows.form_turns import turn_of
from bot.flows.forms import FormOutcome
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
)
from bot.flows.parsing import Reask
from bot.flows.record.paused import PAUSE_UNTIL
from bot.flows.record.planning import Gate, training_status_of
from bot.flows.safety.open_signs import open_question
from bot.messages import Kind
from core.vocabulary import Sign

NAME = "coach_lift"
NO_CLEARANCE = (Gate.NOT_JOINED, Gate.NOT_CLEARED, Gate.CLEARANCE_OVER)
"""What keeps a client from training however often a pause is lifted."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for what the signs behind the hold need, then lift it."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    ground = ground_of(record, facts)
    if ground is None:
        return Turn(
            None, says=(Say("coach/no_hold", {"name": record.person.name}),), begin=_card(record)
        )
    if ground.unseen is not None:
        return Turn(None, says=(_see_it_first(ground.unseen, record),))
    if opening or state.answers.get("about") != _told_so_far(ground):
        return _ask(_opened(record, ground), record, ground, facts)
    day = ""
    if state.step == "who" and event.kind is EventKind.TEXT:
        today = record.person.local(facts.now).date()
        name, day = with_a_day(event.value, today, facts)
        event = replace(event, value=name)
    taken = LIFT_FORM.take(state, event, facts)
    return turn_of(
        taken,
        state,
        answered=lambda: _answered(taken.state, record, ground, facts, day),
        back=lambda: _back(state, record, ground, facts),
        ask=lambda: _ask(taken.state, record, ground, facts, taken.again),
    )


def _opened(record: ClientRecord, ground: Ground) -> State:
    client = str(record.id)
    answers = {
        "client": client,
        "about": _told_so_far(ground),
        "given": {"client": client},
    }
    return LIFT_FORM.open(State(NAME, "kind", answers), "kind")


def _told_so_far(ground: Ground) -> str:
    """What is other as soon as a sign, or more words, have come to what is lifted."""
    words = len(ground.alert.words) if ground.alert is not None else 0
    return f"{ground.newest_at.isoformat()} {words}"


def _ask(
    state: State, record: ClientRecord, ground: Ground, facts: Facts, again: Reask | None = None
) -> Turn:
    about = {
        "name": record.person.name,
        "signs": [sign.value for sign in ground.signs],
        "since": facts.me.local(ground.since),
        "own": ground.own,
        "own_since": facts.me.local(ground.hold.placed_at) if ground.hold is not None else None,
        "newest": newest_day(ground, record),
        "clinician": ground.clinician,
        "restart": ground.restart,
    }
    return Turn(state, says=(LIFT_FORM.ask(state, facts, again, about),))


def _see_it_first(alert: Alert, record: ClientRecord) -> Say:
    return Say("coach/lift_unseen", {"name": record.person.name}, rows=alert_rows(alert))


def _back(state: State, record: ClientRecord, ground: Ground, facts: Facts) -> Turn:
    before = LIFT_FORM.before(state.step, Setting(state.answers["given"], facts))
    if before is None:
        return Turn(None, begin=_card(record))
    return _ask(LIFT_FORM.open(state, before.key), record, ground, facts)


def _answered(
    state: State, record: ClientRecord, ground: Ground, facts: Facts, day: str = ""
) -> Turn:
    """The next question; answers to those behind the one just answered were of another person.

    Args:
        day: typed behind the name: it answers the question of the day.
    """
    keys = list(LIFT_FORM.by_key)
    behind = keys[keys.index(state.step) + 1 :]
    given = {key: value for key, value in state.answers["given"].items() if key not in behind}
    following = LIFT_FORM.next_open(Setting(given, facts))
    state = state.at(state.step, given=given)
    if following is not None:
        state = LIFT_FORM.open(state, following.key)
        if not day or following.key != "on":
            return _ask(state, record, ground, facts)
        taken = LIFT_FORM.take(state, Event(EventKind.TEXT, day), facts)
        if taken.outcome is FormOutcome.ANSWERED:
            return _answered(taken.state, record, ground, facts)
        return _ask(taken.state, record, ground, facts, taken.again)
    return _lifted(state, record, ground, facts)


def _lifted(state: State, record: ClientRecord, ground: Ground, facts: Facts) -> Turn:
    given = state.answers["given"]
    on = date.fromisoformat(given.get("day") or given["on"])
    lift = LiftHold(record.id, given["kind"], given.get("who", ""), on, ground.restart)
    gate = training_status_of(record, facts).gate
    missing = gate if gate in NO_CLEARANCE else Gate.OPEN
    # The lift closes the alert; what was asked or told since then stands.
    waits = open_question(facts, record.id) is not None or facts.says_unwell(record.id)
    values = {
        "waits": waits,
        "name": record.person.name,
        "restart": ground.restart,
        "coach_name": facts.me.name,
        "missing": missing.value,
        "left": record.person.left,
        "reached": not record.person.left and facts.reaches(record.id),
    }
    to_clear = missing in (Gate.NOT_CLEARED, Gate.CLEARANCE_OVER) and not record.person.left
    rows: Rows = ((Button("clear", handler="client", ref=str(record.id)),),) if to_clear else ()
    says = [Say("coach/lifted", values, rows=rows, slot="lift")]
    if not record.person.left and not waits:
        # A reply, so that it comes before the question that an alert came between.
        says.append(Say("join/hold_lifted", values, to=record.id))
    elif record.erasing and Sign.ABUSE not in ground.signs:
        until = {"copies_until": copies_gone_on(record.person, facts.now)}
        says.append(Say("own_data/erased_now", until, to=record.id, kind=Kind.PROMPT))
    # Of somebody erased with it there is no card to show.
    card = () if record.erasing else _card(record)
    return Turn(
        None,
        says=tuple(says),
        changes=(lift, SaveProfile(record.id, {PAUSE_UNTIL: None})),
        begin=card,
    )


def _card(record: ClientRecord) -> tuple[Begin, ...]:
    return (Begin("coach_client", {"client": str(record.id)}),)
