"""Balance beside the sink, on a day without a session: shown, done, told by one tap.

It needs all that a session needs: clearance, no hold, no rest day, today's answer on warning signs.
Once it is started its silence is watched like a session's.
"""

from dataclasses import replace
from datetime import date
from typing import Final

from bot.flows.changes import Change, EndSession, LogSet, SaveCheckin, SavePlan, StartSession
from bot.flows.client.buttons import of_another_day
from bot.flows.client.feeling import said_on_the_way
from bot.flows.client.sugar_before import ask_sugar, asks_sugar, sugar_told
from bot.flows.client.today import closed
from bot.flows.facts import Facts, Session
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    PictureRequest,
    Say,
    State,
    Turn,
    pressed,
    rows_of,
)
from bot.flows.record.planning import (
    Gate,
    Training,
    TrainingStatus,
    earlier_on,
    for_sink,
    is_training_day,
    planned,
    restarts_on,
    signs_are_old,
    status_now,
    status_of_running,
    training_of,
)
from bot.flows.record.steered import cautions_beside
from bot.flows.safety.signs_first import ask_signs, told_of_a_sign
from core.dose.prescription import Prescription, SessionPlan
from core.programme.day import EarlierToday
from core.readiness.scales import SESSION_EFFORT

NAME = "balance"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SLOT = "balance"

EFFORT: Final = 2.0
"""Of ten, for the load: holds within reach of something firm are easy (ours)."""

DONE: Final = {"steady": False, "touched": True}
"""What is told of the holds, and whether the hand had to help more than planned."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        short = bool(event.args.get("short"))
        return _begin(state, status_now(facts), facts, short=short)
    on = date.fromisoformat(str(state.answers["on"]))
    place = status_of_running(on, facts, beside_sink=True)
    if on != place.today:
        return Turn(None, says=of_another_day(event, on), begin=(Begin(NAME),))
    session = _of_today(place, facts)
    if place.gate is not Gate.OPEN or session is None:
        return _begin(state, place, facts)
    if event.kind in (EventKind.DUE, EventKind.RESUME):
        return Turn(state, says=(_again(state, session, place, facts),))
    value = pressed(event, NAME, facts)
    if value in DONE:
        return _kept(session, place, slip=DONE[value])
    if value == "unwell":
        running = session.status == "running"
        ends = (EndSession(session.id, finished=False),) if running else ()
        return Turn(None, changes=ends, begin=(said_on_the_way(),))
    if value == "not_today" and session.status == "planned":
        return Turn(None, says=(Say("session/another_day", slot=SLOT),))
    if state.step == "signs" and value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if state.step == "signs" and value == "none" and place.checkin is not None:
        answers = place.checkin.answers
        signs = SaveCheckin(place.record.id, place.today, answers, signs_asked=True)
        return _ready(state, session, place, facts, (signs,))
    if state.step == "plan" and value == "start" and place.checkin is not None:
        if signs_are_old(place.checkin, facts):
            return Turn(state.at("signs"), says=(ask_signs(SLOT),))
        return _ready(state, session, place, facts)
    if state.step == "sugar":
        asked, _, changes = sugar_told(state, value, training_of(place, facts))
        if asked is None and (place.checkin is None or signs_are_old(place.checkin, facts)):
            asked = Turn(state.at("signs"), says=(ask_signs(SLOT),))
        turn = asked or _started(state, session)
        return replace(turn, changes=(*changes, *turn.changes))
    return Turn(state, understood=False)


def _ready(
    state: State,
    session: Session,
    place: TrainingStatus,
    facts: Facts,
    changes: tuple[Change, ...] = (),
) -> Turn:
    """The sugar first, where a medicine can bring it low; then the hold."""
    training = training_of(place, facts)
    if asks_sugar(training):
        turn = ask_sugar(state, training)
        return replace(turn, changes=(*changes, *turn.changes))
    return _started(state, session, changes)


def _begin(state: State, place: TrainingStatus, facts: Facts, *, short: bool = False) -> Turn:
    """Today's hold; why there is none; or the one that goes on.

    Args:
        short: there is no time for the session of the day.
    """
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    checkin = place.checkin
    if place.gate is not Gate.OPEN or checkin is None:
        return closed(place, facts, asked_for=NAME)
    state = state.at("plan", on=place.today.isoformat())
    running = facts.running_session(place.record.id)
    session = _of_today(place, facts)
    if running is not None:
        if session is None or session.status != "running":
            return Turn(None, begin=(Begin("today"),))
        return Turn(state.at("going"), says=(_going(session),))
    if facts.running_walk(place.record.id) is not None:
        return Turn(None, says=(Say("balance/closed", {"why": "on_a_walk"}, slot=SLOT),))
    if restarts_on(place.record, place.today, facts):
        # A short one must not count as one of the first two after a pause.
        return Turn(None, says=(Say("balance/closed", {"why": "after_pause"}, slot=SLOT),))
    earlier = earlier_on(place.record, place.today, facts)
    still_to_come = not short and is_training_day(place.record, place.today)
    if (still_to_come and earlier is EarlierToday.NOTHING) or earlier is EarlierToday.BROKEN_OFF:
        today = ((Button("today", handler="open", ref="today"),),)
        say = Say("balance/closed", {"why": "in_session"}, rows=today, slot=SLOT)
        return Turn(None, says=(say,))
    plan = planned(place.record, checkin, facts, beside_sink=True)
    if not plan.prescriptions:
        return Turn(None, says=(Say("balance/closed", {"why": "nothing"}, slot=SLOT),))
    kept = SavePlan(place.record.id, place.today, plan)
    return Turn(state, says=(_plan(plan, place, facts),), changes=(kept,))


def _of_today(place: TrainingStatus, facts: Facts) -> Session | None:
    """The row of today's holds, planned or running."""
    session = facts.session(place.record.id, place.today)
    there = session is not None and session.status in ("planned", "running")
    return session if session is not None and there and for_sink(session) else None


def _hold(session: Session) -> Prescription:
    if session.plan is None:
        raise ValueError("a session beside the sink has a plan")
    return session.plan.prescriptions[0]


def _plan(plan: SessionPlan, place: TrainingStatus, facts: Facts) -> Say:
    hold = plan.prescriptions[0]
    values = {
        "item": hold,
        "minutes": plan.minutes,
        "cautions": cautions_beside(Training(facts, place, plan, None), hold.step.rung),
    }
    picture = PictureRequest(step_key=hold.step.key, args={"family": hold.family.value})
    rows = rows_of("start", "steady", "touched", "unwell not_today")
    return Say("balance/plan", values, rows=rows, slot=SLOT, picture=picture)


def _going(session: Session) -> Say:
    rows = rows_of("steady", "touched", "unwell")
    return Say("balance/going", {"item": _hold(session)}, rows=rows, slot=SLOT)


def _started(state: State, session: Session, changes: tuple[Change, ...] = ()) -> Turn:
    starts = StartSession(session.id)
    return Turn(state.at("going"), says=(_going(session),), changes=(*changes, starts))


def _again(state: State, session: Session, place: TrainingStatus, facts: Facts) -> Say:
    """What this step waits for, once more."""
    if session.status == "running":
        return _going(session)
    if state.step == "signs" or session.plan is None:
        return ask_signs(SLOT)
    if state.step == "sugar":
        why = str(state.answers.get("why", ""))
        return ask_sugar(state, training_of(place, facts), why).says[0]
    return _plan(session.plan, place, facts)


def _kept(session: Session, place: TrainingStatus, *, slip: bool) -> Turn:
    """Written down, and over: for the next hold it counts like one of a session."""
    hold = _hold(session)
    done = hold.done(place.today, hold.amount, None, slip=slip)
    minutes = float(session.plan.minutes) if session.plan is not None else None
    ended = EndSession(
        session.id,
        finished=True,
        effort=EFFORT,
        effort_scale=SESSION_EFFORT.id.value,
        minutes=minutes,
    )
    changes = (LogSet(session.id, place.record.id, done, hold.sets), ended)
    values = {"slip": slip, "item": hold}
    return Turn(None, says=(Say("balance/kept", values, slot=SLOT),), changes=changes)
