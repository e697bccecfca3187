"""What is told of the body in free words: kept with the day's check-in, like what is told there.

Numbers of the body, and a fever, by the same rules as the answer to the question.
"""

from collections.abc import Mapping, Sequence

from bot.flows.changes import Change, SaveCheckin
from bot.flows.client.checkin_result import alarm, judge
from bot.flows.client.told_in_checkin import (
    ALARMED,
    alarmed,
    still_loud,
    with_illness,
)
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Say
from bot.flows.record.on_the_way import watch_ends
from bot.flows.record.planning import TOLD_ILL, morning_of_answers
from bot.json_values import JsonValue
from core.client.client import Client
from core.number_words import NumberWords
from core.readiness.absolute_rules import illness_rules
from core.readiness.morning_questions import AnswerValue, IllKind, MorningQuestion, read_answer
from core.readiness.scales import UnusableAnswer
from core.readiness.told_numbers import celsius, in_mmol, kilograms, per_minute, unit_matters
from core.told_number import NumberKind, ToldNumber
from core.vocabulary import MMOL_PER_MG, DayPlan

ASKED = (
    MorningQuestion.PULSE,
    MorningQuestion.PRESSURE,
    MorningQuestion.GLUCOSE,
    MorningQuestion.WEIGHT,
)
"""The check-in's own numbers."""

BESIDE = ("temperature", "oxygen", "ketones")
"""Keys of numbers that the check-in never asks for; the rules of the day do not read them."""


def keep(numbers: Sequence[ToldNumber], facts: Facts) -> tuple[Change, ...]:
    """Today's check-in with the client's own numbers of now; a day judged already is judged again.

    Nothing is kept that the check-in would have asked about again.
    """
    told = answers_of(numbers, facts)
    if not told:
        return ()
    on = facts.me.local(facts.now).date()
    before = facts.checkin(facts.me.id, on)
    answers = {**(before.answers if before is not None else {}), **told}
    if before is not None and before.finished:
        return (judge(on, answers, facts).saved,)
    return (SaveCheckin(facts.me.id, on, answers),)


def fever_told(text: str, facts: Facts) -> tuple[tuple[Change, ...], Begin | None]:
    """A fever told in words: the day's answer, and the alarm where it may not wait.

    A day judged already is judged again; before the check-in it waits for the rest of it. Nothing
    where it was told today before.
    """
    record, on = facts.client(facts.me.id), facts.me.local(facts.now).date()
    before = facts.checkin(record.id, on)
    answers = before.answers if before is not None else {}
    if answers.get(TOLD_ILL):
        return (), None
    told = {**answers, TOLD_ILL: IllKind.FEVER.value}
    whole = with_illness(told, asked=False)
    rules = illness_rules(morning_of_answers(on, whole), record.client)
    loud = still_loud(rules, answers)
    given = alarmed(with_illness(told), rules)
    begin = alarm(loud, whole, facts, words=text) if loud else None
    if before is not None and before.finished:
        return (judge(on, given, facts).saved,), begin
    return (SaveCheckin(record.id, on, given),), begin


def rests_now(changes: Sequence[Change], facts: Facts) -> tuple[Say, ...]:
    """What is said where these changes make today a day of rest, with something on its way."""
    rests = any(
        isinstance(one, SaveCheckin) and one.finished and one.day_plan == DayPlan.REST
        for one in changes
    )
    return watch_ends(facts) if rests else ()


def kept_of(answers: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
    """The numbers among the stored answers of a day, and a fever told in words."""
    keys = (*(question.value for question in ASKED), *BESIDE, TOLD_ILL, ALARMED)
    return {key: answers[key] for key in keys if answers.get(key) is not None}


def sugar_unit(facts: Facts) -> tuple[str, bool]:
    """My unit of blood sugar ("mmol/L" or "mg/dL"), and whether my coach has fixed it.

    Where she has not, it is the usual one of the country.
    """
    limits = facts.client(facts.me.id).client.limits
    if limits.glucose_unit_fixed:
        return limits.glucose_unit, True
    country = facts.reference.countries.get(facts.me.country)
    return (country.glucose_unit if country else "mmol/L"), False


def answers_of(numbers: Sequence[ToldNumber], facts: Facts) -> dict[str, JsonValue]:
    """Key of the answer -> its value, as the check-in stores it; the number told last counts."""
    if not numbers:
        return {}
    client = facts.client(facts.me.id).client
    unit, fixed = sugar_unit(facts)
    found: dict[str, JsonValue] = {}
    for number in numbers:
        if not number.counts or number.off_scale is not None or not number.values:
            continue
        if unit_matters(number) and not (fixed and unit == "mmol/L"):
            continue
        key, value = _answer(number, client, unit, facts.reference.words.numbers)
        if value is not None:
            found[key] = value
    return found


def _answer(
    number: ToldNumber, client: Client, unit: str, words: NumberWords
) -> tuple[str, AnswerValue]:
    last = number.values[-1]
    if number.kind is NumberKind.PULSE and not number.after_effort:
        beats = str(round(per_minute(last, number.unit)))
        return _read(MorningQuestion.PULSE, beats, client, words)
    if number.kind is NumberKind.PRESSURE and number.unit and len(number.values) == 2:
        top, low = (round(value) for value in number.values)
        return _read(MorningQuestion.PRESSURE, f"{top}/{low}", client, words)
    if number.kind is NumberKind.SUGAR:
        mmol = in_mmol(last, number.unit, unit)
        in_mg = client.limits.glucose_unit == "mg/dL"
        said = str(round(mmol / MMOL_PER_MG) if in_mg else round(mmol, 1))
        return _read(MorningQuestion.GLUCOSE, said, client, words)
    if number.kind is NumberKind.WEIGHT and number.unit != "st":
        return _read(MorningQuestion.WEIGHT, f"{kilograms(last, number.unit):.1f}", client, words)
    if number.kind is NumberKind.TEMPERATURE:
        return "temperature", round(celsius(last, number.unit), 1)
    if number.kind in (NumberKind.OXYGEN, NumberKind.KETONES):
        return number.kind.value, last
    return number.kind.value, None


def _read(
    question: MorningQuestion, text: str, client: Client, words: NumberWords
) -> tuple[str, AnswerValue]:
    answer = read_answer(question, text, client, words)
    return question.value, None if isinstance(answer, UnusableAnswer) else answer
