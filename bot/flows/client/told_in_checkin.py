"""What a check-in answer must bring about at once: late is not never.

A rule that speaks with an alert speaks with the tap, not after the last question. An illness or a
pain whose check-in is left there is followed up; what was told before a silence is asked about on
the return.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from bot.flows.changes import RaiseAlert
from bot.flows.facts import Alert, Answers, ClientRecord, Facts
from bot.flows.machine import Begin
from bot.flows.reasons import Reason
from bot.flows.record.planning import (
    GAP,
    GAP_FROM,
    GAP_ILL,
    GAP_WELL,
    TOLD_ILL,
    morning_of_answers,
    unseen_since,
)
from bot.flows.record.told_to_coach import told_rule
from bot.flows.safety.opening import SafetyOpening, begin_safety
from core.readiness.absolute_rule import AbsoluteRule
from core.readiness.absolute_rules import absolute_rules, illness_rules
from core.readiness.morning_questions import (
    IllKind,
    Morning,
    MorningQuestion,
    PainPlace,
    Trouble,
)
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, Sign, TextLevel

ALARMED = "alarmed"
"""Key of the rules that have raised their alert; the rules of the day do not read it."""

SINCE = "since"
"""Key of the answer to what was told before a silence."""

ILL_BESIDE = {
    Trouble.PAIN.value: Trouble.ILL_AND_PAIN.value,
    Trouble.ILL_AND_PAIN.value: Trouble.ILL_AND_PAIN.value,
    Trouble.WARNING_SIGN.value: Trouble.WARNING_SIGN.value,
}
"""What the first question's answer is where a fever stands beside it; else just ill."""

SINCE_ANSWERS = ("better", "same", "worse")
GAP_ANSWERS = (GAP_WELL, GAP_ILL, "hospital")
CALF_WAITS = timedelta(minutes=2)
TOLD_WAITS = timedelta(minutes=30)
"""A check-in that is left after an illness or a pain was told is followed up then (ours)."""

LOOK_BACK_DAYS = 14
NEVER_ASKED = frozenset({Sign.ABUSE, Sign.SELF_HARM, Sign.UNREAD, Sign.SILENT_SESSION})
"""Not to be asked about in a check-in: others may read along, or there is nothing to ask."""

LOUD = (AlertLevel.EMERGENCY, AlertLevel.URGENT)
PAIN_QUESTIONS = (
    MorningQuestion.PAIN_PLACE,
    MorningQuestion.CALF_SIGNS,
    MorningQuestion.PAIN_LEVEL,
    MorningQuestion.PAIN_SINCE,
)


PAIN_CODES = frozenset(
    {
        DayReasonCode.PAIN_STOP,
        DayReasonCode.PAIN_STOP_CAREFUL,
        DayReasonCode.PAIN_RISING,
        DayReasonCode.PAIN_EASIER,
        DayReasonCode.PAIN_CALF,
        DayReasonCode.PAIN_HEAD_SUDDEN,
    }
)
"""What the rule of pain comes to, where the coach hears of it."""


def loud_now(
    question: MorningQuestion,
    given: Answers,
    record: ClientRecord,
    on: date,
    facts: Facts,
) -> list[AbsoluteRule]:
    """The rules that raise an alert with this answer, the strictest first."""
    morning = morning_of_answers(on, given)
    rules: Sequence[AbsoluteRule]
    if question is MorningQuestion.ILL_KIND:
        rules = illness_rules(morning, record.client)
    elif question in PAIN_QUESTIONS and not _pain_is_told(morning, question, given):
        return []
    else:
        rules = absolute_rules(morning, record.client, facts.mornings(record.id))
    return still_loud(rules, given)


def still_loud(rules: Sequence[AbsoluteRule], given: Answers) -> list[AbsoluteRule]:
    """Those of the rules whose alert has not been raised by an earlier answer."""
    told = given.get(ALARMED, ())
    return [rule for rule in rules if rule.alert in LOUD and rule.code.value not in told]


def alarmed(given: Answers, rules: Sequence[AbsoluteRule]) -> dict[str, Any]:
    """The answers with these rules written down as told."""
    told = [*given.get(ALARMED, ()), *(rule.code.value for rule in rules)]
    return {**given, ALARMED: list(dict.fromkeys(told))}


def _pain_is_told(morning: Morning, question: MorningQuestion, given: Answers) -> bool:
    """Whether enough is known of a pain to judge it: an unknown amount counts as much."""
    pain = morning.new_pain
    if pain is None:
        return False
    if pain.where is PainPlace.CALF and MorningQuestion.CALF_SIGNS in given and pain.clot_signs:
        return True
    if pain.where is PainPlace.HEAD:
        return question is MorningQuestion.PAIN_SINCE
    return question in (MorningQuestion.PAIN_LEVEL, MorningQuestion.PAIN_SINCE)


def rules_of_told(
    given: Answers, record: ClientRecord, on: date, facts: Facts
) -> Sequence[AbsoluteRule]:
    """What an illness or a pain told so far comes to, though its check-in is left there.

    An unknown amount of pain counts as much, an unknown illness as one below the neck.
    """
    morning = morning_of_answers(on, given)
    rules = list(illness_rules(morning, record.client))
    if morning.new_pain is not None:
        told = absolute_rules(morning, record.client, facts.mornings(record.id))
        rules += [rule for rule in told if rule.code in PAIN_CODES]
    return [rule for rule in rules if rule.alert]


def to_follow(given: Answers, record: ClientRecord, on: date, facts: Facts) -> bool:
    """Whether an illness or a pain was told that the coach should hear of."""
    if ALARMED in given:
        return False
    return bool(rules_of_told(given, record, on, facts))


def with_illness(given: Answers, *, asked: bool = True) -> dict[str, Any]:
    """The answers with a fever that was told in words.

    Args:
        asked: the first question, which asks of the warning signs too, is not answered by it.
    """
    trouble = given.get(MorningQuestion.TROUBLE)
    if not given.get(TOLD_ILL) or (asked and trouble is None):
        return {**given}
    return {
        **given,
        MorningQuestion.TROUBLE.value: ILL_BESIDE.get(str(trouble), Trouble.ILL.value),
        MorningQuestion.ILL_KIND.value: IllKind.FEVER.value,
    }


def told_mentions(
    given: Answers, record: ClientRecord, on: date, facts: Facts
) -> tuple[Sequence[AbsoluteRule], tuple[RaiseAlert, ...]]:
    """What goes on the coach's list of an illness or a pain whose check-in was left."""
    rules = rules_of_told(given, record, on, facts)
    return rules, tuple(
        RaiseAlert(
            record.id,
            AlertLevel.MENTION,
            (rule.sign,) if rule.sign else (),
            why=told_rule(rule, given, facts),
            holds=False,
        )
        for rule in rules
    )


def told_before(record: ClientRecord, today: date, facts: Facts) -> tuple[Sign, ...] | None:
    """What was told before a silence and not asked about since; None where there is nothing.

    Silence is a day or more without a finished check-in. An illness counts as fever: in doubt.
    """
    begun = facts.begun_checkins(record.id, LOOK_BACK_DAYS)
    mornings = [one for one in reversed(begun) if one.on < today]
    last = next((one.on for one in mornings if one.finished), None)
    if not mornings or last == today - timedelta(days=1):
        return None
    signs: list[Sign] = []
    for one in mornings:
        if last is not None and one.on < last:
            continue
        ill = morning_of_answers(one.on, one.answers).ill
        if ill in (IllKind.FEVER, IllKind.BELOW_NECK):
            signs.append(Sign.FEVER)
    for alert in facts.alerts([record.id], LOOK_BACK_DAYS):
        if _is_since(alert, last, record):
            signs += alert.signs
    found = tuple(dict.fromkeys(sign for sign in signs if sign not in NEVER_ASKED))
    return found or None


def _is_since(alert: Alert, last: date | None, record: ClientRecord) -> bool:
    day = record.person.local(alert.raised_at).date()
    return not alert.for_other and (last is None or day >= last)


def since_told(
    answer: str, signs: Sequence[Sign], record: ClientRecord, facts: Facts
) -> tuple[tuple[RaiseAlert, ...], tuple[Begin, ...]]:
    """What follows from the answer: nothing, a line on the coach's list, or an alert."""
    if answer == "better":
        return (), ()
    why = Reason("coach", f"since_{answer}")
    rules = facts.reference.signs
    quiet = all(rules[sign].level is AlertLevel.MENTION for sign in signs)
    if answer == "same" and quiet:
        return (RaiseAlert(record.id, AlertLevel.MENTION, tuple(signs), why=why, holds=False),), ()
    opening = SafetyOpening(level=TextLevel.URGENT, signs=tuple(signs), why=why)
    return (), (begin_safety(opening),)


def gap_to_ask(record: ClientRecord, today: date, facts: Facts) -> date | None:
    """The first day of a silence that nobody knows the cause of; ``None`` where there is none.

    A time away that was told of is known, and so is a pause: there the coach knows more.
    """
    begun = unseen_since(record, today, facts)
    if begun is None or facts.lifts(record.id, (today - begun).days + 1):
        return None
    return begun


def gap_told(
    answer: str, given: Answers, begun: date, record: ClientRecord
) -> tuple[dict[str, Any], tuple[RaiseAlert, ...], tuple[Begin, ...]]:
    """What was in the days of silence: the answers, a line for the coach, and what is asked next.

    A stay in hospital, an operation or a fall is asked about as any change in health is.
    """
    kept = {**given, GAP: answer, GAP_FROM: begun.isoformat()}
    if answer == GAP_WELL:
        return kept, (), ()
    why = Reason("coach", f"gap_{answer}")
    told = RaiseAlert(record.id, AlertLevel.MENTION, (), why=why, holds=False)
    return kept, (told,), () if answer == GAP_ILL else (Begin("health_change"),)
