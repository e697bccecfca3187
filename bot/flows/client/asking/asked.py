"""A client's question in own words: a short, true answer from the record, then on with the rest.

Nothing about health is answered beyond what stands in the record: the doctor's own plan is read out
word for word, all else is for the coach or the doctor, with one tap that sends the words.
"""

from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import SetAway, TouchSession
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Rows, Say, State, Turn
from bot.flows.record.paused import signs_behind
from bot.flows.record.planning import (
    Gate,
    TrainingStatus,
    next_training_day,
    training_status,
)
from bot.flows.record.said_unwell import asked_before
from core.dose.history import SetDone, Unit

NAME = "asked"
ABOUT, ROW = "about", "row"
"""What is asked, and the stored words: arguments with which it is opened."""

MOST_REASONS = 4
MY_DATA: Rows = ((Button("mydata", handler="open", ref="mydata"),),)
PAUSED = (
    Gate.ON_HOLD,
    Gate.ALERT_OPEN,
    Gate.SAID_UNWELL,
    Gate.NEWS_HEARD,
    Gate.NOT_CLEARED,
    Gate.CLEARANCE_OVER,
)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Answer at once (see :mod:`bot.flows.machine`)."""
    if event.kind is not EventKind.BEGIN:
        return Turn(None, understood=False)
    place = training_status(facts)
    turn = _answer(event, place, facts)
    session = facts.session(place.record.id, place.today)
    if session is None or session.status != "running":
        return turn
    # Who asks is not silent.
    return replace(turn, changes=(*turn.changes, TouchSession(session.id)))


def _answer(event: Event, place: TrainingStatus, facts: Facts) -> Turn:
    about, row = str(event.args[ABOUT]), str(event.args.get(ROW, ""))
    match about:
        case "pulse":
            return Turn(None, begin=(Begin("how_hard"),))
        case "what_known":
            return Turn(None, begin=(Begin("own_data"),))
        case "back_early":
            return _back_early(place, facts)
        case "why_paused":
            return _why_paused(place, facts)
        case "who_sees":
            return _who_sees(facts)
        case "why_this":
            return _why_this(place, facts)
        case "puffer":
            return _puffer(place, row)
        case "swap_day":
            return _swap_day(place, facts)
        case "not_today":
            return _not_today(place, facts)
        case "last_week" | "this_week":
            return _week(place, facts, back=about == "last_week")
        case "did_on":
            return _did_on(place, str(event.args.get("on", "")), facts)
        case "kept":
            return Turn(None, says=(Say("asked/kept", rows=MY_DATA),))
        case "sore_after" | "counts_as":
            return Turn(None, says=(Say(f"asked/{about}", rows=_to_coach(row)),))
        case "rest_between" | "small_talk":
            return Turn(None, says=(Say(f"asked/{about}"),))
    return _next_session(place, facts)


def _back_early(place: TrainingStatus, facts: Facts) -> Turn:
    """Home before the end of a time away: the mornings begin again."""
    away = place.record.away_until
    if away is None or away < place.today:
        return Turn(None, says=(Say("asked/not_away"),))
    home = Say("settings/saved", {"what": "home" if place.record.is_away(place.today) else "stays"})
    return Turn(None, says=(home,), changes=(SetAway(facts.me.id, None),))


def _why_paused(place: TrainingStatus, facts: Facts) -> Turn:
    if place.gate not in PAUSED:
        return Turn(None, says=(Say("asked/not_paused"),))
    first = asked_before(place.gate, "")
    if first is not None:
        return Turn(None, begin=(first,))
    because = signs_behind(place.record.id, facts)
    values = {"gate": place.gate.value, "because": because}
    return Turn(None, says=(Say("today/closed", values),))


def _who_sees(facts: Facts) -> Turn:
    coach_id = facts.client(facts.me.id).coach_id
    stand_in = facts.backup_of(coach_id)
    values = {"stand_in": stand_in.name if stand_in is not None else ""}
    return Turn(None, says=(Say("asked/who_sees", values, rows=MY_DATA),))


def _why_this(place: TrainingStatus, facts: Facts) -> Turn:
    """The first reason of each movement of today's plan."""
    session = facts.session(place.record.id, place.today)
    plan = session.plan if session is not None else None
    items = plan.prescriptions[:MOST_REASONS] if plan is not None else ()
    reasons = [{"family": one.family.value, "why": one.reasons[0]} for one in items if one.reasons]
    return Turn(None, says=(Say("asked/why_this", {"reasons": reasons}),))


def _puffer(place: TrainingStatus, row: str) -> Turn:
    """Medicines are the doctor's: the plan in its own words, or who to ask."""
    values = {"plan": place.record.doctor_plan}
    return Turn(None, says=(Say("asked/puffer", values, rows=_to_coach(row)),))


def _to_coach(row: str) -> Rows:
    """One tap that sends the words on."""
    return ((Button("send", handler="pass_on", ref=row),),) if row else ()


def _did_on(place: TrainingStatus, told: str, facts: Facts) -> Turn:
    """What was done on a day that is named, else today, else the last day of training."""
    history = facts.history(place.record.id)
    trained = sorted(day for day in history.days_trained() if day <= place.today)
    named = date.fromisoformat(told) if len(told) == len("2026-01-31") else None
    on = named or (trained[-1] if trained else place.today)
    done: dict[str, list[SetDone]] = {}
    for one in history.sets_on(on):
        done.setdefault(one.family.value, []).append(one)
    movements = [
        {
            "family": family,
            "amounts": [str(one.amount) for one in sets],
            "seconds": sets[0].unit is Unit.SECONDS,
        }
        for family, sets in done.items()
    ]
    return Turn(None, says=(Say("asked/did_on", {"on": on, "movements": movements}),))


def _week(place: TrainingStatus, facts: Facts, *, back: bool) -> Turn:
    """The days of training from Monday to Sunday of this week, or of the week before."""
    monday = place.today - timedelta(days=place.today.isoweekday() - 1 + (7 if back else 0))
    week = [monday + timedelta(days=ahead) for ahead in range(7)]
    trained = facts.history(place.record.id).days_trained()
    days = [day.isoweekday() for day in week if day in trained]
    families = {
        one.family.value
        for one in facts.history(place.record.id).sets
        if monday <= one.on < monday + timedelta(days=7)
    }
    values = {"days": days, "families": sorted(families), "back": back}
    return Turn(None, says=(Say("asked/last_week", values),))


def _swap_day(place: TrainingStatus, facts: Facts) -> Turn:
    """Each day is worked out from what was done, so that any day may take another's place."""
    if place.gate in PAUSED:
        return _why_paused(place, facts)
    rows: Rows = ((Button("settings", handler="open", ref="settings"),),)
    return Turn(None, says=(Say("asked/swap_day", rows=rows),))


def _not_today(place: TrainingStatus, facts: Facts) -> Turn:
    """Nothing is lost by a day without training; whether something is wrong is asked for."""
    if place.gate in PAUSED:
        return _why_paused(place, facts)
    tomorrow = place.today + timedelta(days=1)
    on = _training_day(place.record, tomorrow)
    values = {"on": on, "tomorrow": on == tomorrow, "running": _is_running(place, facts)}
    # A session that could be done today may also be done with less.
    easier = place.gate is Gate.OPEN and not values["running"]
    values["easier"] = easier
    rows: Rows = ((Button("unwell", handler="open", ref="unwell"),),)
    if easier:
        rows = ((Button("easier", handler="open", ref="easier"),), *rows)
    return Turn(None, says=(Say("asked/not_today", values, rows=rows),))


def _is_running(place: TrainingStatus, facts: Facts) -> bool:
    return facts.running_session(place.record.id) is not None


def _training_day(record: ClientRecord, start: date) -> date | None:
    """The next day of training from one on, none of them while away."""
    on = next_training_day(record, start)
    away = record.away_until
    if on is not None and away is not None and record.is_away(on):
        return next_training_day(record, away + timedelta(days=1))
    return on


def _next_session(place: TrainingStatus, facts: Facts) -> Turn:
    if place.gate in PAUSED:
        return _why_paused(place, facts)
    session = facts.session(place.record.id, place.today)
    # After the training of a day only balance is left; it is no session of its own.
    trained = place.today in facts.history(place.record.id).days_trained()
    done = trained or (session is not None and session.status == "finished")
    start = place.today + timedelta(days=1) if done else place.today
    on = _training_day(place.record, start)
    values = {"on": on, "today": on == place.today, "tomorrow": _is_next_day(on, place.today)}
    return Turn(None, says=(Say("asked/next_session", values),))


def _is_next_day(on: date | None, today: date) -> bool:
    return on is not None and on - today == timedelta(days=1)
