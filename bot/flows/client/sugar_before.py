"""Blood sugar before a session, where a medicine can bring it low and the coach has it asked.

The number is kept with the morning's answers and the day judged anew: the lines are those of
:mod:`core.readiness.morning_numbers`.
"""

from dataclasses import replace
from datetime import datetime, timedelta

from bot.flows.changes import Change, SavePlan
from bot.flows.client.cards import SLOT
from bot.flows.client.checkin_result import alarm, judge
from bot.flows.client.told_in_checkin import alarmed, still_loud
from bot.flows.client.told_numbers import sugar_unit
from bot.flows.facts import ClientRecord
from bot.flows.machine import Begin, Say, State, Turn, rows_of
from bot.flows.record.planning import Training, planned
from core.client.medicines import lows_possible
from core.readiness.absolute_rule import HARSHNESS
from core.readiness.morning_questions import MorningQuestion
from core.readiness.reasons import DayReasonCode
from core.readiness.scales import UnusableAnswer, parse_glucose
from core.vocabulary import Condition, DayPlan

SUGAR_AT = "sugar_at"
"""Key among a morning's answers: when the sugar was told before a session, an ISO moment."""

GOOD_FOR = timedelta(minutes=30)
"""So long a number counts as that before the session (ours)."""

EATEN, CANNOT = "eaten", "cannot"


def can_go_low(record: ClientRecord) -> bool:
    """Whether a medicine of this client can bring the sugar too low."""
    client = record.client
    return lows_possible(client.medicines, diabetes=Condition.DIABETES in client.conditions)


def asks_sugar(training: Training) -> bool:
    """Whether the number is wanted before the ready check."""
    record, checkin = training.place.record, training.place.checkin
    if checkin is None or "glucose" not in record.client.limits.numbers_asked:
        return False
    told = checkin.answers.get(SUGAR_AT)
    fresh = bool(told) and training.facts.now - datetime.fromisoformat(str(told)) < GOOD_FOR
    return can_go_low(record) and not fresh


def ask_sugar(state: State, training: Training, why: str = "") -> Turn:
    """The question; ``why``: "unread" or "eat_first" where it is put again."""
    unit, _ = sugar_unit(training.facts)
    rows = rows_of(EATEN) if why == "eat_first" else rows_of(CANNOT)
    say = Say("session/sugar", {"unit": unit, "why": why}, rows=rows, slot=SLOT)
    return Turn(state.at("sugar", why=why), says=(say,))


def sugar_told(
    state: State, value: str, training: Training
) -> tuple[Turn | None, Training, tuple[Change, ...]]:
    """What the answer brings: a turn of its own, or ``None`` where the ready check comes next.

    Returns:
        The training as it is after the answer, and what is to be kept.
    """
    facts, place, checkin = training.facts, training.place, training.place.checkin
    if checkin is None:
        return Turn(state, understood=False), training, ()
    why = str(state.answers.get("why", ""))
    if value == CANNOT and why != "eat_first":
        return ask_sugar(state, training, "eat_first"), training, ()
    if value == EATEN and why == "eat_first":
        eaten = {**checkin.answers, SUGAR_AT: facts.now.isoformat()}
        known = replace(training, place=replace(place, checkin=replace(checkin, answers=eaten)))
        return None, known, (judge(place.today, eaten, facts).saved,)
    unit, _ = sugar_unit(facts)
    sugar = parse_glucose(value, unit, facts.reference.words.numbers)
    if isinstance(sugar, UnusableAnswer):
        typed = any(letter.isdigit() for letter in value)
        turn = ask_sugar(state, training, "unread") if typed else Turn(state, understood=False)
        return turn, training, ()
    answers = {
        **checkin.answers,
        MorningQuestion.GLUCOSE.value: sugar,
        SUGAR_AT: facts.now.isoformat(),
    }
    judged = judge(place.today, answers, facts)
    rules = judged.readiness.absolute_rules
    loud = still_loud(rules, answers)
    if loud:
        kept = replace(judged.saved, answers=alarmed(answers, loud))
        return Turn(None, begin=(alarm(loud, answers, facts),)), training, (kept,)
    now = replace(checkin, answers=answers, day_plan=judged.plan.value, reasons=judged.reasons)
    known = replace(training, place=replace(place, checkin=now))
    if HARSHNESS[judged.plan] > HARSHNESS[DayPlan(checkin.day_plan)]:
        # The day has become an easier one: its list is shown anew.
        plan = SavePlan(place.record.id, place.today, planned(place.record, now, facts))
        return Turn(None, begin=(Begin("today"),)), known, (judged.saved, plan)
    if any(rule.code is DayReasonCode.SUGAR_EAT_FIRST for rule in rules):
        # Not the number before the session: a snack and another one come first.
        low = {key: told for key, told in answers.items() if key != SUGAR_AT}
        kept = replace(judged.saved, answers=low)
        return ask_sugar(state, known, "eat_first"), known, (kept,)
    return None, known, (judged.saved,)
