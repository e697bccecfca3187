"""A test at home that the coach has asked for: care first, then how, the count, and what it means.

What was asked for waits on the record and is offered in the menu. The gate is asked anew at each
step before the test itself, so that a pause, a sign or a bad morning comes first.
"""

from datetime import datetime, timedelta
from statistics import fmean
from zoneinfo import ZoneInfo

from bot.flows.changes import Audit, Change, RaiseAlert, SaveCheckin
from bot.flows.client.feeling import said_on_the_way
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    pressed,
    rows_of,
)
from bot.flows.parsing import Reask, read_number
from bot.flows.record.home_test_record import (
    SECONDS,
    STANDS,
    asked_of,
    keeps,
    no_more_asked,
    result_values,
)
from bot.flows.record.planning import Gate, TrainingStatus, signs_are_old, training_status
from bot.flows.record.said_unwell import asked_before
from bot.flows.safety.signs_first import ask_signs, told_of_a_sign
from bot.messages import Kind
from core.client.home_test_care import ONE_LEG_TRIES, POSSIBLE, can_be, needs_company
from core.client.home_tests import CAUTIONS, CURL_KG, HomeTest
from core.dose.home_test_word import HomeTestDone
from core.slots import after_quiet
from core.vocabulary import AlertLevel, DayPlan, Sign

NAME = "home_test"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
WAITS_AT = ("invited",)
"""What was asked for waits; whether it may be done is asked anew."""
SLOT = "home_test"
BEFORE = ("invited", "signs", "company", "how")
MAY_BE_INVITED = (Gate.OPEN, Gate.NO_CHECKIN, Gate.REST_DAY)
ALL_RIGHT, TOLD = "all_right", "told"
ASK_AFTER = timedelta(minutes=10)
TELL_AFTER = timedelta(minutes=5)
"""As in a session (:mod:`bot.schedule.due`), since a test is hard work too (ours)."""

UNDER_WAY = ("count", "arms", ALL_RIGHT)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    place = training_status(facts)
    if event.kind is EventKind.BEGIN:
        return _begin(state, place, facts, prompted="test" in event.args)
    if event.kind is EventKind.DUE:
        return _due(state, place, facts)
    if event.kind is EventKind.RESUME:
        return _ask(state, place, facts)
    value = pressed(event, NAME, facts)
    if value in ("stop", "unwell") and state.step in ("how", *UNDER_WAY, TOLD):
        return _broken_off(state, value, place)
    if state.step == TOLD:
        return Turn(None, says=(Say("session/good_to_hear", {"goes_on": True, "paused": False}),))
    if value in ("later", "rather_not") and state.step in BEFORE:
        return _put_off(state, value, place)
    closed = _closed(state, place, facts)
    if closed is not None:
        return closed
    if state.step in BEFORE:
        return _make_ready(state, value, place, facts)
    return _under_way(state, value, place, facts)


def is_under_way(state: State) -> bool:
    """Whether a test is being done, and its silence watched."""
    return state.flow == NAME and state.step in UNDER_WAY


def test_of(state: State) -> HomeTest:
    """The test that this conversation is about."""
    return HomeTest(state.answers["test"])


def _begin(state: State, place: TrainingStatus, facts: Facts, *, prompted: bool) -> Turn:
    """The invitation: at once when the client asks, after her quiet hours when the coach does."""
    test = asked_of(place.record, facts)
    if test is None:
        return Turn(None, says=(Say("home_test/nothing_asked"),))
    first = asked_before(place.gate, NAME)
    if first is not None and not prompted:
        return Turn(None, begin=(first,))
    if place.gate not in MAY_BE_INVITED:
        return Turn(None, says=(Say("today/closed", {"gate": place.gate.value}),))
    state = state.at("invited", test=test.value, tries=[])
    waits_until = _after_quiet(place.record, facts) if prompted else facts.now
    if waits_until > facts.now:
        return Turn(state.at("waiting"), due_at=waits_until, quiet=True)
    return _invite(state, place, facts)


def _after_quiet(record: ClientRecord, facts: Facts) -> datetime:
    zone = ZoneInfo(record.person.zone)
    return after_quiet(zone, facts.now, record.quiet_from, record.quiet_until)


def _invite(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    test = test_of(state)
    values = {
        "test": test.value,
        "minds": [mind.value for mind in CAUTIONS[test]],
        "company": _must_have_company(state, place, facts),
    }
    rows = rows_of("go_on", "later rather_not")
    say = Say("home_test/invite", values, rows=rows, slot=SLOT, kind=Kind.PROMPT)
    # Whatever else the client is in the middle of stays on top.
    return Turn(state.at("invited"), says=(say,), quiet=True)


def _put_off(state: State, value: str, place: TrainingStatus) -> Turn:
    """Later: it goes on waiting. Rather not: the coach is told, and nothing waits."""
    if value == "later":
        return Turn(None, says=(Say("home_test/later", slot=SLOT),))
    said = (Say("home_test/not_done", {"why": value}, slot=SLOT), _to_coach(state, place, value))
    return Turn(None, says=said, changes=(no_more_asked(place.record),))


def _closed(state: State, place: TrainingStatus, facts: Facts) -> Turn | None:
    """No test now: not cleared, on hold, a sign, a day of rest or ease, a session, no check-in."""
    back = state.at("invited", tries=[])
    if place.gate is Gate.NO_CHECKIN:
        said = (Say("today/checkin_first"),)
        return Turn(back, says=said, begin=(Begin("checkin"),), quiet=True)
    first = asked_before(place.gate, NAME)
    if first is not None:
        return Turn(None, begin=(first,))
    if place.gate is not Gate.OPEN:
        closed = Say("today/closed", {"gate": place.gate.value})
        return Turn(back, says=(closed,), quiet=True)
    if place.checkin is None or place.checkin.day_plan != DayPlan.AS_PLANNED:
        return Turn(back, says=(Say("home_test/another_day"),), quiet=True)
    if facts.running_session(place.record.id) is not None:
        return Turn(back, says=(Say("home_test/after_session"),), quiet=True)
    return None


def _make_ready(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """Signs again where they are old, then company, then how it is done."""
    checkin, record = place.checkin, place.record
    if state.step == "invited" and value == "go_on" and checkin is not None:
        if signs_are_old(checkin, facts):
            return Turn(state.at("signs"), says=(ask_signs(SLOT),))
        return Turn(state.at("company"), says=(_company(state, place, facts),))
    if state.step == "signs" and value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if state.step == "signs" and value == "none" and checkin is not None:
        kept = SaveCheckin(record.id, place.today, checkin.answers, signs_asked=True)
        return Turn(state.at("company"), says=(_company(state, place, facts),), changes=(kept,))
    if state.step == "company" and value == "alone":
        if _must_have_company(state, place, facts):
            told = _to_coach(state, place, "alone")
            return Turn(None, says=(Say("home_test/not_done", {"why": "alone"}, slot=SLOT), told))
        return Turn(state.at("how"), says=(_how(state, place),))
    if state.step == "company" and value == "both":
        return Turn(state.at("how"), says=(_how(state, place),))
    if state.step == "how" and value == "ready":
        if checkin is None or signs_are_old(checkin, facts):
            return Turn(state.at("signs"), says=(ask_signs(SLOT),))
        return _watched(state.at("count"), _count(state), facts)
    return Turn(state, understood=False)


def _must_have_company(state: State, place: TrainingStatus, facts: Facts) -> bool:
    steering = facts.reference.catalogue.steering
    return needs_company(test_of(state), place.record.client, place.today, steering)


def _company(state: State, place: TrainingStatus, facts: Facts) -> Say:
    values = {"company": _must_have_company(state, place, facts)}
    return Say("home_test/company", values, rows=rows_of("both", "alone", "later"), slot=SLOT)


def _how(state: State, place: TrainingStatus) -> Say:
    test = test_of(state)
    values = {
        "test": test.value,
        "minds": [mind.value for mind in CAUTIONS[test]],
        "kilos": CURL_KG[place.record.client.sex],
    }
    return Say("home_test/how", values, rows=rows_of("ready", "later unwell"), slot=SLOT)


def _under_way(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    if state.step == ALL_RIGHT:
        back = state.at(str(state.answers["before"]))
        return _ask(back, place, facts) if value == "fine" else Turn(state, understood=False)
    if state.step == "arms":
        if value not in ("yes", "no"):
            return Turn(state, understood=False)
        return _result(state, place, arms_used=value == "yes")
    return _counted(state, value, place, facts)


def _counted(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    test = test_of(state)
    number = read_number(
        value.removeprefix("n="), float("-inf"), float("inf"), facts.reference.words.numbers
    )
    if isinstance(number, Reask):
        return Turn(state, understood=False)
    half = test not in SECONDS and number != int(number)
    if half or not can_be(test, number):
        return _watched(state, _count(state, again=True), facts)
    state = state.at("count", tries=[*state.answers["tries"], number])
    if test is HomeTest.ONE_LEG_STAND and len(state.answers["tries"]) < ONE_LEG_TRIES:
        return _watched(state, _count(state), facts)
    if test in STANDS:
        return _watched(state.at("arms"), _arms(), facts)
    return _result(state, place, arms_used=False)


def _count(state: State, *, again: bool = False) -> Say:
    test = test_of(state)
    low, high = POSSIBLE[test]
    values = {
        "test": test.value,
        "again": again,
        "low": int(low),
        "high": int(high),
        "number": len(state.answers["tries"]) + 1,
        "of": ONE_LEG_TRIES,
    }
    rows = (*_numbers(test), *rows_of("stop unwell"))
    return Say("home_test/count", values, rows=rows, slot=SLOT)


def _numbers(test: HomeTest) -> Rows:
    """The amounts to tap; whatever else can be typed."""
    amounts: tuple[int, ...] = tuple(range(4, 24))
    if test is HomeTest.ONE_LEG_STAND:
        amounts = (0, 1, 2, 3, 4, 5, 7, 10, 15, 20, 30, 60)
    elif test is HomeTest.FIVE_CHAIR_STANDS:
        amounts = tuple(range(8, 20))
    buttons = [Button(f"n={amount}", label=str(amount)) for amount in amounts]
    return tuple(tuple(buttons[at : at + 4]) for at in range(0, len(buttons), 4))


def _arms() -> Say:
    return Say("home_test/arms", rows=rows_of("yes no"), slot=SLOT)


def _result(state: State, place: TrainingStatus, *, arms_used: bool) -> Turn:
    """Kept, said to the client in plain words, and to the coach with what it proposes."""
    record = place.record
    result = round(fmean(state.answers["tries"]), 1)
    done = HomeTestDone(test_of(state), place.today, result, arms_used)
    found = result_values(record, done)
    told = Say(
        "coach/test_result",
        {"client_name": record.person.name, "found": found},
        rows=((Button("open", handler="client", ref=str(record.id)),),),
        to=record.coach_id,
    )
    changes: tuple[Change, ...] = (
        keeps(record, done),
        Audit(record.id, "home_test_done", done.test.value),
    )
    said = Say("home_test/result", {"found": found}, slot=SLOT)
    return Turn(None, says=(said, told), changes=changes)


def _to_coach(state: State, place: TrainingStatus, why: str) -> Say:
    record = place.record
    values = {"client_name": record.person.name, "test": test_of(state).value, "why": why}
    rows = ((Button("open", handler="client", ref=str(record.id)),),)
    return Say("coach/test_not_done", values, rows=rows, to=record.coach_id)


def _broken_off(state: State, value: str, place: TrainingStatus) -> Turn:
    told = _to_coach(state, place, value)
    changes = (no_more_asked(place.record),)
    if value == "unwell":
        return Turn(None, says=(told,), changes=changes, begin=(said_on_the_way(),))
    said = Say("home_test/not_done", {"why": value}, slot=SLOT)
    return Turn(None, says=(said, told), changes=changes)


def _ask(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    """Ask again what this step waits for."""
    if state.step in ("invited", "waiting"):
        return Turn(state, quiet=True)
    closed = _closed(state, place, facts)
    if closed is not None:
        return closed
    if state.step == TOLD:
        return Turn(state, quiet=True)
    if state.step in UNDER_WAY:
        return _watched(state, _count(state) if state.step == "count" else _arms(), facts)
    says = {
        "signs": ask_signs(SLOT),
        "company": _company(state, place, facts),
        "how": _how(state, place),
    }
    return Turn(state, says=(says[state.step],))


def _due(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    """Quiet hours are over, or nothing was heard of a test on its way."""
    if state.step == "waiting":
        # A pause that came in the night: what was asked for waits on the record.
        invited = place.gate in MAY_BE_INVITED
        return _invite(state, place, facts) if invited else Turn(None)
    if state.step in UNDER_WAY:
        # Whatever has become of the day meanwhile: nobody was heard.
        return _silent(state, facts)
    return Turn(state)


def _watched(state: State, say: Say, facts: Facts) -> Turn:
    """A turn of a test on its way; any sign of life starts the watch anew."""
    return Turn(state, says=(say,), due_at=facts.now + ASK_AFTER)


def _silent(state: State, facts: Facts) -> Turn:
    """Nothing was heard: ask; when that has been asked, tell the coach."""
    if state.step != ALL_RIGHT:
        asked = state.at(ALL_RIGHT, before=state.step)
        say = Say("session/all_right", rows=rows_of("fine", "unwell"), kind=Kind.SAFETY)
        return Turn(asked, says=(say,), due_at=facts.now + TELL_AFTER)
    raised = RaiseAlert(facts.me.id, AlertLevel.URGENT, (Sign.SILENT_SESSION,), holds=False)
    told = Say("session/coach_told_silent", kind=Kind.SAFETY)
    return Turn(state.at(TOLD), says=(told,), changes=(raised,), quiet=True)
