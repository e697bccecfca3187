"""Once a month: has anything changed in the client's health? One tap; what it asks for is done.

A new diagnosis, an operation, a new medicine and a stay in hospital end the clearance until the
coach gives it anew. A changed medicine or dose eases two weeks; the coach hears of all of them.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import NotRequired, TypedDict

from bot.flows.changes import (
    AddNote,
    Change,
    HealthAsked,
    RaiseAlert,
    SaveCheckin,
    SavePlan,
    SaveProfile,
    WithdrawClearance,
)
from bot.flows.commands import screen_named
from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Say, State, Turn, pressed, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.on_the_way import watch_ends
from bot.flows.record.planning import planned
from bot.flows.record.profile import RESTART_DUE
from core.client.screening import (
    CHANGES_MEDICINE,
    ENDS_NO_CLEARANCE,
    RESTARTS_EASIEST,
    HealthChange,
    change_question_due,
)
from core.readiness.absolute_rule import easier_of
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, PersonId

NAME = "health_change"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SLOT = "health_change"
HEARD = "heard"
COUNTS_AFTER = timedelta(minutes=5)
"""So long news told in own words may be put right before they count (ours)."""
BEGIN = Begin(NAME)
CHANGED = tuple(change for change in HealthChange if change is not HealthChange.NOTHING)


def is_due(record: ClientRecord, facts: Facts) -> bool:
    """Whether the question should follow today's check-in."""
    clearance = record.client.clearance
    last = record.health_asked_on or (clearance.on if clearance is not None else None)
    return last is not None and change_question_due(last, facts.me.local(facts.now).date())


def medicine_changed(client_id: PersonId, on: date) -> SaveProfile:
    """A medicine or its dose has changed: the days after it are eased."""
    return SaveProfile(client_id, {"medicine_changed_on": on.isoformat()})


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.DUE:
        return _by_silence(state, facts)
    if event.kind is EventKind.BEGIN and "heard" in event.args:
        return _heard(state, HealthChange(event.args["heard"]), str(event.args["words"]), facts)
    if state.step == HEARD:
        return _right_or_not(state, event, facts)
    if event.kind in (EventKind.BEGIN, EventKind.RESUME):
        return _ask(state, facts)
    said = event.value.strip()
    if state.step == "what":
        screen = screen_named(said, facts) if event.kind is EventKind.TEXT else None
        if screen is not None:
            return Turn(None, begin=(screen,))
        return _words(said if event.kind is EventKind.TEXT else "", facts)
    if pressed(event, NAME, facts) == HealthChange.NOTHING:
        thanks = Say("checkin/no_health_change", slot=SLOT)
        # The morning's result once more, with its buttons, where they can be reached.
        return Turn(None, says=(thanks,), begin=(Begin("checkin"),))
    if said in CHANGED:
        return _changed(state, HealthChange(said), facts)
    return Turn(state, understood=False)


def _ask(state: State, facts: Facts) -> Turn:
    if state.step == "what":
        return Turn(state, says=(_what(HealthChange(state.answers["change"]), again=True),))
    asked = HealthAsked(facts.me.id, facts.me.local(facts.now).date())
    say = Say("checkin/ask_health_change", rows=rows_of(*HealthChange), slot=SLOT)
    return Turn(state.at("asked"), says=(say,), changes=(asked,))


def _heard(state: State, change: HealthChange, words: str, facts: Facts) -> Turn:
    """News in own words: kept for the coach whatever comes, and asked about."""
    kept = RaiseAlert(facts.me.id, AlertLevel.MENTION, (), words, holds=False)
    state = state.at(HEARD, change=change.value)
    due_at = facts.now + COUNTS_AFTER
    return Turn(state, says=(_ask_heard(change),), changes=(kept,), due_at=due_at)


def _ask_heard(change: HealthChange) -> Say:
    values = {"change": change.value, "silent": False, "heard_no": False}
    return Say("checkin/health_heard", values, rows=rows_of("yes no"), slot=SLOT)


def _right_or_not(state: State, event: Event, facts: Facts) -> Turn:
    change = HealthChange(state.answers["change"])
    if event.kind is EventKind.RESUME:
        due_at = facts.now + COUNTS_AFTER
        return Turn(state, says=(_ask_heard(change),), due_at=due_at)
    said = pressed(event, "health_heard", facts)
    if said == "yes":
        return _changed(state, change, facts)
    if said == "no":
        values = {"change": change.value, "silent": False, "heard_no": True}
        return Turn(None, says=(Say("checkin/health_heard", values, slot=SLOT),))
    return Turn(state, understood=False)


def _by_silence(state: State, facts: Facts) -> Turn:
    """Unanswered, what was written counts: a doctor's word overrides every plan."""
    if state.step != HEARD:
        return Turn(None)
    change = HealthChange(state.answers["change"])
    values = {"change": change.value, "silent": True, "heard_no": False}
    turn = _changed(state, change, facts)
    return replace(turn, says=(Say("checkin/health_heard", values), *turn.says))


def _what(change: HealthChange, *, again: bool = False) -> Say:
    """What is new; asked again it does not say once more that the coach has been told."""
    values = {"change": change.value, "ends": change not in ENDS_NO_CLEARANCE, "again": again}
    return Say("checkin/what_changed", values, rows=rows_of("skip"), slot=SLOT)


def _changed(state: State, change: HealthChange, facts: Facts) -> Turn:
    """What the tap asks for is done at once; a few words may follow."""
    record = facts.client(facts.me.id)
    ends = change not in ENDS_NO_CLEARANCE
    told = Reason("coach", f"health_{change}")
    changes: list[Change] = [
        RaiseAlert(record.id, AlertLevel.MENTION, (), why=told, holds=False),
    ]
    if change in CHANGES_MEDICINE:
        changes += _eased(record, facts)
    if ends:
        changes.append(WithdrawClearance(record.id, change.value))
    if change in RESTARTS_EASIEST:
        changes.append(SaveProfile(record.id, {RESTART_DUE: change.value}))
    values: _News = {"client_name": record.person.name, "change": told, "quote": "", "ends": ends}
    state = state.at("what", change=change.value)
    stops = watch_ends(facts) if ends else ()
    says = (*stops, _what(change), _to_coach(record, values))
    return Turn(state, says=says, changes=tuple(changes))


class _News(TypedDict):
    """What ``coach/health_changed`` shows."""

    client_name: str
    change: NotRequired[Reason]
    quote: str
    ends: bool


def _to_coach(record: ClientRecord, values: _News) -> Say:
    card = ((Button("open", handler="client", ref=str(record.id)),),)
    return Say("coach/health_changed", values, rows=card, to=record.coach_id)


def _eased(record: ClientRecord, facts: Facts) -> list[Change]:
    """The change of medicine, and today's day and plan made anew in its light."""
    today = facts.me.local(facts.now).date()
    changes: list[Change] = [medicine_changed(record.id, today)]
    checkin = facts.checkin(record.id, today)
    if checkin is None or not checkin.finished:
        return changes
    now_eased = _day_of(checkin)
    changes.append(
        SaveCheckin(
            record.id,
            today,
            now_eased.answers,
            finished=True,
            score=now_eased.score,
            day_plan=now_eased.day_plan,
            certainty=now_eased.certainty,
            reasons=now_eased.reasons,
        )
    )
    session = facts.session(record.id, today)
    if session is not None and session.status == "planned":
        client = replace(record.client, medicine_changed_on=today)
        plan = planned(replace(record, client=client), now_eased, facts)
        changes.append(SavePlan(record.id, today, plan))
    return changes


def _day_of(checkin: Checkin) -> Checkin:
    """Today's check-in, eased, with the reason in front."""
    plan = easier_of(DayPlan(checkin.day_plan), DayPlan.EASE_OFF)
    why = DayReason(DayReasonCode.DOSE_CHANGED)
    return replace(checkin, day_plan=plan.value, reasons=(why, *checkin.reasons))


def _words(said: str, facts: Facts) -> Turn:
    """A few words on it for the coach, or none; then the day, if there still is one."""
    record = facts.client(facts.me.id)
    begin = (Begin("checkin"),) if record.cleared else ()
    thanks = Say("checkin/health_changed", {"ends": not record.cleared}, slot=SLOT)
    if not said:
        return Turn(None, says=(thanks,), begin=begin)
    values: _News = {"client_name": record.person.name, "quote": said, "ends": not record.cleared}
    changes = (AddNote(record.id, said),)
    return Turn(None, says=(thanks, _to_coach(record, values)), changes=changes, begin=begin)
