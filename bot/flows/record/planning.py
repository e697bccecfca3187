"""Today's judgement and session from the record: where flows meet the rules of ``core``."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from bot.flows.facts import Answers, Checkin, ClientRecord, Facts, Session
from bot.flows.record.calibrating import may_calibrate
from bot.flows.record.home_test_record import tests_of
from bot.flows.record.overrules import day_set, may_put_back
from bot.flows.record.profile import RESTART_AT, RESTART_DUE
from bot.flows.record.start_word import word_of
from bot.flows.safety.open_signs import open_question
from bot.json_values import JsonValue
from core.client.client import Client
from core.client.screening import clearance_holds
from core.dose.capacity import after_set
from core.dose.family_record import PAIN_THAT_STOPS, sore_joints
from core.dose.gap import UNSEEN_DAYS, GapLoss, gap_loss
from core.dose.history import SetDone
from core.dose.prescribe import prescribe, with_spares
from core.dose.prescription import DoseCode, Prescription, SessionPlan
from core.dose.session import Today, at_hand, believed_capacity, today_of
from core.number_words import NumberWords
from core.programme.day import DayWish, EarlierToday, is_beside_sink, session_of_day
from core.readiness.absolute_rule import easier_of
from core.readiness.morning_questions import Morning, MorningQuestion, Trouble, morning_from
from core.readiness.readiness import Readiness, assess
from core.vocabulary import AlertLevel, DayPlan, Family, Sign

SIGNS_GOOD_FOR = timedelta(hours=2)
"""Older than this, the warning-sign question is put again before a session."""

EASY_SESSIONS_AFTER_HOLD = 2
DIZZY_DAYS = 28
"""So long after dizziness, a faint or a fall nothing is quick, and no minute of a walk (ours)."""
UNSTEADY = frozenset({Sign.DIZZINESS, Sign.FAINT, Sign.FALL})

LOOK_BACK_DAYS = 366
"""So far back a sign's hold is looked for behind later pauses of the coach's own."""


TOLD_ILL = "told_ill"
"""Key of a fever told in free words: it counts beside whatever is tapped that day."""

GAP, GAP_FROM = "gap", "gap_from"
"""Keys of a check-in: what was in the days of silence before it, and the first of them."""
GAP_WELL, GAP_ILL = "well", "ill"
GAP_TOLD_FOR = 14
"""Days in which the second session after a silence still counts it."""


class Gate(StrEnum):
    """What stands between a client and today's session; "" when nothing does."""

    OPEN = ""
    LEFT = "left"
    NOT_JOINED = "not_joined"
    NOT_CLEARED = "not_cleared"
    CLEARANCE_OVER = "clearance_over"
    ON_HOLD = "on_hold"
    ALERT_OPEN = "alert_open"
    SAID_UNWELL = "said_unwell"
    NEWS_HEARD = "news_heard"
    NO_CHECKIN = "no_checkin"
    REST_DAY = "rest_day"
    OVER_TODAY = "over_today"


@dataclass(frozen=True, slots=True)
class TrainingStatus:
    """Where a client stands today."""

    record: ClientRecord
    today: date
    gate: Gate
    checkin: Checkin | None


@dataclass(frozen=True, slots=True)
class Training:
    """What a step of today's conversation rests on: where the client stands, plan and session."""

    facts: Facts
    place: TrainingStatus
    plan: SessionPlan
    session: Session | None

    @property
    def items(self) -> tuple[Prescription, ...]:
        """The movements of today, in order."""
        return self.plan.prescriptions

    @property
    def numbers(self) -> NumberWords:
        """The number words in which the client types."""
        return self.facts.reference.words.numbers

    @property
    def sparing(self) -> Client:
        """The client, who spares what hurt lately too."""
        record = self.place.record
        sore = sore_joints(self.facts.history(record.id).pains, self.place.today)
        return with_spares(record.client, sore)


def training_status(facts: Facts) -> TrainingStatus:
    """What is known of me today, and whether a session may be planned."""
    return training_status_of(facts.client(facts.me.id), facts)


def status_of_running(on: date, facts: Facts, *, beside_sink: bool) -> TrainingStatus:
    """The same; over midnight a session of ``on`` that still runs goes on as of its own day."""
    place = training_status(facts)
    running = facts.running_session(facts.me.id) if on != place.today else None
    if running is None or running.on != on or for_sink(running) is not beside_sink:
        return place
    checkin = facts.checkin(place.record.id, on)
    gate = _gate(place.record, on, checkin, facts)
    return TrainingStatus(place.record, on, gate, checkin)


def status_now(facts: Facts) -> TrainingStatus:
    """Today, or the day of a session that still runs over midnight."""
    running = facts.running_session(facts.me.id)
    if running is None:
        return training_status(facts)
    return status_of_running(running.on, facts, beside_sink=for_sink(running))


def training_status_of(record: ClientRecord, facts: Facts) -> TrainingStatus:
    """The same of a client, also with a coach's eyes."""
    today = record.person.local(facts.now).date()
    checkin = facts.checkin(record.id, today)
    return TrainingStatus(record, today, _gate(record, today, checkin, facts), checkin)


def is_paused(record: ClientRecord, facts: Facts) -> bool:
    """Whether every cheerful word about training is kept from a client.

    A hold or an open alert does so, and so does something wrong of which nothing is known yet.
    """
    return record.person.left or facts.hold(record.id) is not None or is_warned(record, facts)


def is_warned(record: ClientRecord, facts: Facts) -> bool:
    """Whether the newest words that count for a client are those about a warning sign."""
    return (
        facts.open_alert(record.id) is not None
        or open_question(facts, record.id) is not None
        or facts.says_unwell(record.id)
    )


def _gate(record: ClientRecord, today: date, checkin: Checkin | None, facts: Facts) -> Gate:
    clearance = record.client.clearance
    if record.person.left:
        return Gate.LEFT
    if not record.joined:
        return Gate.NOT_JOINED
    if not record.cleared or clearance is None:
        return Gate.NOT_CLEARED
    if not clearance_holds(clearance, today):
        return Gate.CLEARANCE_OVER
    if facts.hold(record.id) is not None:
        return Gate.ON_HOLD
    if facts.open_alert(record.id) is not None or open_question(facts, record.id) is not None:
        return Gate.ALERT_OPEN
    if facts.says_unwell(record.id):
        return Gate.SAID_UNWELL
    if facts.news_waits(record.id):
        return Gate.NEWS_HEARD
    if _rests_ahead(record, today, facts):
        return Gate.REST_DAY
    if checkin is None or not checkin.finished:
        return Gate.NO_CHECKIN
    if checkin.day_plan == DayPlan.REST:
        return Gate.REST_DAY
    return Gate.OVER_TODAY if _ended_for_cause(record, today, facts) else Gate.OPEN


def _rests_ahead(record: ClientRecord, today: date, facts: Facts) -> bool:
    """Whether rest was due on a day that is tomorrow by now: over the date line, a clock put back.

    What was told hours ago counts, whatever local day it was told on.
    """
    ahead = facts.checkin(record.id, today + timedelta(days=1))
    if ahead is None:
        return False
    rests = ahead.finished and ahead.day_plan == DayPlan.REST
    return rests or bool(ahead.answers.get(TOLD_ILL))


def _ended_for_cause(record: ClientRecord, today: date, facts: Facts) -> bool:
    """Whether a pain over the limit or a sign broke a session off today."""
    stopped = [
        one.ended_at
        for one in facts.sessions(record.id, 1)
        if one.on == today and one.status == "stopped"
    ]
    return bool(stopped) and cause_to_stop(record, today, facts)


def cause_to_stop(record: ClientRecord, today: date, facts: Facts) -> bool:
    """Whether a pain over the limit or an urgent sign was told that day."""
    history = facts.history(record.id)
    hurt = any(one.pain >= PAIN_THAT_STOPS for one in history.sets_on(today))
    sharp = any(
        one.on == today and one.family is not None and one.how_much >= PAIN_THAT_STOPS
        for one in history.pains
    )
    return hurt or sharp or _told_a_sign(record, today, facts)


def _told_a_sign(record: ClientRecord, today: date, facts: Facts) -> bool:
    """An urgent sign of today whose hold the coach has not lifted since."""
    loud = (AlertLevel.EMERGENCY, AlertLevel.URGENT)
    lift = facts.last_lift(record.id)
    lifted = lift.lifted_at if lift is not None else None
    return any(
        alert.level in loud
        and record.person.local(alert.newest_sign_at).date() == today
        and (lifted is None or lifted < alert.newest_sign_at)
        for alert in facts.alerts([record.id], 1)
    )


def signs_are_old(checkin: Checkin, facts: Facts) -> bool:
    """Whether the warning signs must be asked again before a session starts."""
    asked = checkin.signs_asked_at
    return asked is None or facts.now - asked > SIGNS_GOOD_FOR


def morning_of_answers(on: date, answers: Answers) -> Morning:
    """Stored answers as the rules read them; what is the flow's own is left out."""
    known = {
        MorningQuestion(key): value for key, value in answers.items() if key in set(MorningQuestion)
    }
    if known.get(MorningQuestion.TROUBLE) == Trouble.SOMETHING_ELSE:
        known = {**known, MorningQuestion.TROUBLE: Trouble.NOTHING.value}
    return morning_from(on, known)


def readiness_of(record: ClientRecord, checkin: Checkin, facts: Facts) -> Readiness:
    """Today against this client's baseline."""
    morning = morning_of_answers(checkin.on, checkin.answers)
    earlier = [one for one in facts.mornings(record.id) if one.on < checkin.on]
    judged = assess(earlier, morning, record.client, on=checkin.on)
    # The plan that was kept also heeds the watch on too much training.
    kept = DayPlan(checkin.day_plan) if checkin.day_plan else judged.plan
    put_back = kept is DayPlan.AS_PLANNED and day_set(record, checkin.on) is kept
    if put_back and may_put_back(judged, checkin.reasons):
        return replace(judged, plan=kept)
    return replace(judged, plan=easier_of(judged.plan, kept))


def restart_begins(record: ClientRecord, facts: Facts) -> dict[str, JsonValue]:
    """What a new clearance keeps where an operation or a stay in hospital ended the last."""
    if not record.answers.get(RESTART_DUE):
        return {}
    return {RESTART_DUE: None, RESTART_AT: facts.now.isoformat()}


def restarts_on(record: ClientRecord, on: date, facts: Facts) -> bool:
    """Whether a lifted hold, or the clearance after an operation, asks that day for the easiest.

    Two whole sessions must have been done since; what was done earlier on the day of the lift does
    not count, nor does a session that was broken off.
    """
    lifted = _restarted_at(record, facts)
    cleared = record.answers.get(RESTART_AT)
    begun = [*([lifted] if lifted else ()), *([datetime.fromisoformat(cleared)] if cleared else ())]
    if not begun:
        return False
    lifted_at = max(begun)
    since = record.person.local(lifted_at).date()
    today = record.person.local(facts.now).date()
    done = [
        one
        for one in facts.sessions(record.id, (today - since).days + 1)
        if one.status == "finished"
        and one.on < on
        and one.started_at is not None
        and one.started_at >= lifted_at
    ]
    return on >= since and len(done) < EASY_SESSIONS_AFTER_HOLD


def _restarted_at(record: ClientRecord, facts: Facts) -> datetime | None:
    """When a sign's hold was lifted last; a pause of the coach's own since then takes nothing."""
    lift = facts.last_lift(record.id)
    if lift is not None and not lift.restart_easiest:
        lifts = facts.lifts(record.id, LOOK_BACK_DAYS)
        lift = next((one for one in lifts if one.restart_easiest), None)
    return None if lift is None else lift.lifted_at


def today_for(record: ClientRecord, checkin: Checkin, facts: Facts, *, away: bool = False) -> Today:
    """All that an answer to "easier" and the like rests on.

    Args:
        away: only a chair and a wall are there.
    """
    client = record.client
    return today_of(
        at_hand(client, away=away),
        facts.history(record.id),
        readiness_of(record, checkin, facts),
        facts.reference.catalogue,
        checkin.on,
        facts.capacity(record.id),
        lightest=restarts_on(record, checkin.on, facts),
        gap=gap_before(record, checkin, facts),
    )


def today_before(
    record: ClientRecord, checkin: Checkin, facts: Facts, *, away: bool = False
) -> Today:
    """What a day's plan rested on when it was made: the record as it stood before its sets."""
    whole = facts.history(record.id)
    before = whole.before(checkin.on)
    client = record.client
    # Capacity is kept warm with all sets; without the latest it is worked out anew.
    capacity = facts.capacity(record.id) if before.telling() == whole.telling() else None
    if capacity is None:
        first = before.sets[0].on if before.sets else checkin.on
        capacity = believed_capacity(
            record.client,
            before,
            facts.reference.catalogue,
            year=first.year,
            word=word_of(record, whole, facts.reference.catalogue.steering),
        )
    return today_of(
        at_hand(client, away=away),
        before,
        readiness_of(record, checkin, facts),
        facts.reference.catalogue,
        checkin.on,
        capacity,
        lightest=restarts_on(record, checkin.on, facts),
        gap=gap_before(record, checkin, facts),
    )


def planned(
    record: ClientRecord,
    checkin: Checkin,
    facts: Facts,
    *,
    minutes: int | None = None,
    away: bool = False,
    beside_sink: bool = False,
) -> SessionPlan:
    """Today's session, or balance beside the sink."""
    wish = DayWish(
        minutes=minutes,
        away=away,
        lightest=restarts_on(record, checkin.on, facts),
        earlier=earlier_on(record, checkin.on, facts),
        may_calibrate=may_calibrate_today(record, checkin, facts),
        beside_sink=beside_sink,
        dizzy=dizzy_lately(record, facts),
        gap=gap_before(record, checkin, facts),
    )
    return session_of_day(
        record.client,
        facts.history(record.id),
        readiness_of(record, checkin, facts),
        facts.reference.catalogue,
        checkin.on,
        wish,
        tests=tests_of(record.answers),
        capacity=facts.capacity(record.id),
    )


def gap_before(record: ClientRecord, checkin: Checkin, facts: Facts) -> GapLoss:
    """What the time away before a day is likely to have cost, by its days and its cause."""
    on = checkin.on
    mornings = [*facts.mornings(record.id), morning_of_answers(on, checkin.answers)]
    trained = [day for day in facts.history(record.id).days_trained() if day < on]
    well = {one.on for one in mornings if not one.is_ill}
    if trained:
        # A holiday that was told of, or set by the coach, is no silence.
        between = (trained[-1] + timedelta(days=n) for n in range(1, (on - trained[-1]).days))
        well |= {day for day in between if record.is_away(day)}
    ill = {one.on for one in mornings if one.is_ill}
    begun = facts.begun_checkins(record.id, GAP_TOLD_FOR)
    for answers in (one.answers for one in (*begun, checkin)):
        # What was told on the return stands for the mornings that nobody answered.
        if GAP in answers and GAP_FROM in answers:
            first = date.fromisoformat(str(answers[GAP_FROM]))
            days = {first + timedelta(days=n) for n in range((on - first).days)} - well
            if answers[GAP] == GAP_WELL:
                well |= days - ill
            else:
                ill |= days
    return gap_loss(trained, on, ill_on=ill, well_on=well)


def unseen_since(record: ClientRecord, today: date, facts: Facts) -> date | None:
    """The first day of more than a week without a word up to ``today``; ``None`` without one."""
    heard = [one.on for one in facts.mornings(record.id)]
    heard += [one.on for one in facts.begun_checkins(record.id, GAP_TOLD_FOR) if one.on < today]
    last = max(heard, default=None)
    if last is None:
        return None
    days = [last + timedelta(days=n) for n in range(1, (today - last).days)]
    unseen = [day for day in days if not record.is_away(day)]
    return unseen[0] if len(unseen) > UNSEEN_DAYS else None


def may_calibrate_today(record: ClientRecord, checkin: Checkin, facts: Facts) -> bool:
    """Whether nothing that is known by now speaks against a set with an open end."""
    morning = morning_of_answers(checkin.on, checkin.answers)
    return may_calibrate(record, checkin, morning, facts)


def further_step(training: Training, at: int, done: SetDone) -> Prescription | None:
    """The step that a calibration set of today bought, to be done next; ``None`` where none is.

    Args:
        at: place of the movement.
        done: its set, which the record does not hold yet.
    """
    checkin = training.place.checkin
    if not done.calibration or checkin is None:
        return None
    away = is_away(training.plan)
    before = today_for(training.place.record, checkin, training.facts, away=away)
    history = replace(before.history, sets=(*before.history.sets, done))
    today = replace(before, history=history, capacity=after_set(before.capacity, done))
    family = training.items[at].family
    steps, record = today.painless_steps(family), today.record(family)
    found = prescribe(today.client, steps, record, today.capacity, today.order, today.catalogue)
    bought = found is not None and found.reasons[0].code is DoseCode.FURTHER_STEP
    return found if bought else None


def dizzy_lately(record: ClientRecord, facts: Facts) -> bool:
    """Whether dizziness, a faint or a fall was told within four weeks."""
    return any(UNSTEADY & set(one.signs) for one in facts.alerts([record.id], DIZZY_DAYS))


def earlier_on(record: ClientRecord, on: date, facts: Facts) -> EarlierToday:
    """What there was of a session earlier that day; of the one that runs now nothing is said."""
    today = record.person.local(facts.now).date()
    sessions = [one for one in facts.sessions(record.id, (today - on).days + 1) if one.on == on]
    # Balance alone, beside the sink, takes no session's place.
    done = facts.history(record.id).sets_on(on)
    trained = any(one.family is not Family.BALANCE for one in done)
    if not trained or any(one.status == "running" for one in sessions):
        return EarlierToday.NOTHING
    if any(one.status == "finished" for one in sessions):
        return EarlierToday.WHOLE
    stopped = any(one.status == "stopped" for one in sessions)
    return EarlierToday.BROKEN_OFF if stopped else EarlierToday.NOTHING


def for_sink(session: Session) -> bool:
    """Whether a session is balance beside the sink, which takes no session's place."""
    return session.plan is not None and is_beside_sink(session.plan)


def is_away(plan: SessionPlan) -> bool:
    """Whether a kept plan was made for a client who is away from home."""
    return any(reason.code is DoseCode.AWAY_FROM_HOME for reason in plan.reasons)


def is_short(plan: SessionPlan) -> bool:
    """Whether a kept plan was made for a client with little time."""
    return any(reason.code is DoseCode.SHORT_OF_TIME for reason in plan.reasons)


def training_of(place: TrainingStatus, facts: Facts) -> Training:
    """The plan on record for today, or a new one; and its session row, if there is one.

    Raises:
        ValueError: today's check-in is not there; the gate was not asked.
    """
    session = facts.session(place.record.id, place.today)
    kept = session if session is not None and session.status in ("planned", "running") else None
    asked_for = kept is not None and (kept.status == "running" or not for_sink(kept))
    if kept is not None and kept.plan is not None and asked_for:
        return Training(facts, place, kept.plan, kept)
    if place.checkin is None:
        raise ValueError("a plan needs today's check-in")
    open_row = session if session is not None and session.status == "planned" else None
    return Training(facts, place, planned(place.record, place.checkin, facts), open_row)


def is_training_day(record: ClientRecord, today: date) -> bool:
    """Whether a session is planned for this weekday."""
    return today.isoweekday() in record.client.training_days


def next_training_day(record: ClientRecord, today: date) -> date | None:
    """The next day with a session, today included; ``None`` when no day is set."""
    days = (today + timedelta(days=ahead) for ahead in range(7))
    return next((day for day in days if is_training_day(record, day)), None)
