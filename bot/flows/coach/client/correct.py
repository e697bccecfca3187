"""The coach corrects one answer of a client, or sets one limit."""

from bot.flows.changes import Audit, Change, SaveProfile
from bot.flows.coach.client.limit_questions import (
    LIMIT_FORM,
    limit_changes,
    limits_given,
    limits_open,
)
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.to_client import tells
from bot.flows.facts import Answers, ClientRecord, Facts
from bot.flows.form_question import Setting
from bot.flows.form_turns import turn_of
from bot.flows.forms import ASKED, Form, Taken
from bot.flows.joining.answers import given_of, shown_answers, taken_in
from bot.flows.joining.operation_answers import KEYS as OPERATION_KEYS
from bot.flows.joining.phones import insisting, with_insisting
from bot.flows.joining.questions import JOIN_FORM
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn
from bot.flows.parsing import Reask
from bot.messages import Kind

NAME = "coach_correct"
CLIENT_HEARS = ("called", "country", "zone", "checkin_at", "days", "training_days")
"""What the client is told of with its new value; of any other answer, which one it is."""

CONFIRMED_BY_COACH = {"country": "number_confirmed", "called": "name_confirmed"}
"""Answers that the coach gives herself need no second look of hers."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``client`` and ``key``; ends back on the card."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        return _begin(str(event.args["key"]), record, facts)
    form = form_of(state.step)
    taken = form.take(state, insisting(state, event, facts), facts)
    return turn_of(
        taken,
        state,
        answered=lambda: _answered(state.step, taken, record, facts),
        back=lambda: Turn(None, begin=(_card(state.step, record),)),
        ask=lambda: _ask(taken.state, record, facts, taken.again),
    )


def form_of(key: str) -> Form:
    """The form that a key belongs to."""
    return LIMIT_FORM if key in LIMIT_FORM.by_key else JOIN_FORM


def _begin(key: str, record: ClientRecord, facts: Facts) -> Turn:
    form = form_of(key)
    given = limits_given(record) if form is LIMIT_FORM else given_of(record)
    state = State(NAME, key, {"client": str(record.id), "given": given})
    return _ask(form.open(state, key), record, facts)


def _ask(state: State, record: ClientRecord, facts: Facts, again: Reask | None = None) -> Turn:
    shown = shown_answers(state.answers["given"], facts, facts.me)
    theirs = form_of(state.step) is JOIN_FORM
    about = {"name": record.person.name, "shown": shown, "theirs": theirs}
    asked = form_of(state.step).ask(state, facts, again, about)
    state, say = with_insisting(state, asked, again)
    return Turn(state, says=(say,))


def _answered(key: str, taken: Taken, record: ClientRecord, facts: Facts) -> Turn:
    if form_of(key) is LIMIT_FORM:
        # A ground may have gone while the question stood open.
        allowed = key in limits_open(record, facts)
        changes = limit_changes(key, taken.value, record) if allowed else ()
        return Turn(None, changes=changes, begin=(_card(key, record),))
    given, found = taken_in(key, record.id, taken.state.answers["given"], facts)
    changes = (*found, Audit(record.id, "answer_corrected", key), *_confirmed(key, record))
    says = _client_hears(key, given, record, facts)
    opened = _opened_by(key, given, facts)
    if opened:
        state = JOIN_FORM.open(taken.state.at(key, given=given), opened)
        turn = _ask(state, record, facts)
        return Turn(turn.state, says=(*says, *turn.says), changes=changes)
    return Turn(None, says=says, changes=changes, begin=(_card(key, record),))


def _confirmed(key: str, record: ClientRecord) -> tuple[Change, ...]:
    if key not in CONFIRMED_BY_COACH:
        return ()
    return (SaveProfile(record.id, {CONFIRMED_BY_COACH[key]: True}),)


FOLLOW_UPS = {
    "country": ("zone",),
    "conditions_heart": ("pacemaker_on", "doctor_plan"),
    "conditions_other": ("doctor_plan",),
    "replaced_joints": OPERATION_KEYS,
    "operations": OPERATION_KEYS,
    **dict.fromkeys(OPERATION_KEYS, OPERATION_KEYS),
    "active": ("wish",),
    "doctor_said": ("doctor_name", "changed_since"),
    "doctor_name": ("changed_since",),
    "medicines_any": ("medicines_heart", "medicines_breath", "medicines_other"),
    "medicines_heart": ("medicines_breath", "medicines_other"),
    "medicines_breath": ("medicines_other",),
    "days": ("training_days",),
}
"""Questions that an answer may open."""


def _opened_by(key: str, given: Answers, facts: Facts) -> str:
    setting = Setting(given, facts)
    wanted = {question.key for question in JOIN_FORM.wanted(setting)}
    for follow_up in FOLLOW_UPS.get(key, ()):
        if follow_up in wanted and follow_up not in given:
            return follow_up
    return ""


def _client_hears(key: str, given: Answers, record: ClientRecord, facts: Facts) -> tuple[Say, ...]:
    if key == "days" and given.get("days") == "own":
        return ()
    if key not in CLIENT_HEARS:
        changed = {"key": key, "coach_name": facts.me.name}
        say = Say("join/coach_corrected_one", changed, to=record.id, kind=Kind.PROMPT)
        return tells(say, record, facts, of_training=False)
    values = {
        "key": key,
        "given": shown_answers(given, facts, record.person),
        "coach_name": facts.me.name,
    }
    say = Say("join/coach_corrected", values, to=record.id, kind=Kind.PROMPT)
    return tells(say, record, facts, of_training=False)


def _card(key: str, record: ClientRecord) -> Begin:
    """Back to the page of the card that the answer stands on."""
    question = form_of(key).by_key[key]
    limits = question.section == "limits" or key in ("checkin_at", "days", "training_days")
    page = "limits" if limits else f"section{ASKED}{question.section}"
    return Begin("coach_client", {"client": str(record.id), "page": page})
