"""A judgement of the morning as the coach reads it: third person, the number told, the place."""

from collections.abc import Iterable, Mapping

from bot.flows.facts import Answers, Checkin, Facts
from bot.flows.reasons import Reason
from core.client.client import Client
from core.client.operations import Operation, Side
from core.readiness.absolute_rule import AbsoluteRule
from core.readiness.morning_questions import (
    MorningQuestion,
    PainPlace,
    PainReport,
    read_pain_place,
)
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import MMOL_PER_MG

ELSEWHERE = "body"


def told_reason(code: DayReasonCode, numbers: Mapping[str, float | str]) -> Reason:
    """A reason as an alert keeps it."""
    return Reason("readiness_coach", code.value, numbers)


def told_rule(rule: AbsoluteRule, given: Answers, facts: Facts) -> Reason:
    """A rule that spoke, with what its sentence needs.

    Args:
        given: the morning's answers; a sugar is kept there in mmol/L, as exact as it was typed.
    """
    numbers: dict[str, float | str] = dict(rule.numbers)
    client = facts.client(facts.me.id).client
    if rule.spare_place is not None:
        told = read_pain_place(str(given.get(MorningQuestion.PAIN_PLACE.value) or ""))
        side = told[1] if told is not None and told[0] is rule.spare_place else None
        return told_pain(rule, PainReport(rule.spare_place, side=side), client)
    if rule.code is DayReasonCode.FEVER_JOINT:
        numbers["operated"] = operations_named(client.replaced_joints)
    if "sugar" in numbers:
        unit = client.limits.glucose_unit
        judged = float(numbers["sugar"])
        typed = float(given.get(MorningQuestion.GLUCOSE.value) or judged)
        same = round(typed, 1) == round(judged, 1)
        numbers["sugar_told"] = sugar_as_told(typed if same else judged, unit)
    return told_reason(rule.code, numbers)


def reasons_of_day(checkin: Checkin, client: Client) -> list[Reason]:
    """Why a kept day was judged so, weightiest first, as the coach reads it."""
    return [_kept_reason(reason, checkin.answers, client) for reason in checkin.reasons]


def _kept_reason(reason: DayReason, given: Answers, client: Client) -> Reason:
    told = read_pain_place(str(given.get(MorningQuestion.PAIN_PLACE.value) or ""))
    numbers: dict[str, float | str] = {"where": ELSEWHERE, "operated": "", **reason.numbers}
    if told is not None:
        report = PainReport(told[0], side=told[1])
        numbers["where"] = place_named(*told)
        numbers["operated"] = operations_named(client.operations_at(report.place))
    if "sugar" in numbers:
        typed = given.get(MorningQuestion.GLUCOSE.value)
        numbers["sugar_told"] = sugar_as_told(
            float(typed or numbers["sugar"]), client.limits.glucose_unit
        )
    return told_reason(reason.code, numbers)


def told_pain(rule: AbsoluteRule, report: PainReport, client: Client) -> Reason:
    """A pain rule that spoke, with where it hurts and the operations that can be meant there."""
    operated = operations_named(client.operations_at(report.place))
    where = place_named(report.where, report.side)
    return told_reason(rule.code, {**rule.numbers, "where": where, "operated": operated})


def operations_named(operations: Iterable[Operation]) -> str:
    """Operations as codes for a sentence to name: "repair knee left, replacement hip"."""
    told = [
        (one.kind, one.joint, one.side) if one.joint is not None else (one.kind,)
        for one in operations
    ]
    return ", ".join(" ".join(code for code in codes if code) for codes in told)


def place_named(place: PainPlace, side: Side | None = None) -> str:
    """Where it hurts, as a sentence says it after "in the"; with its side where that was told."""
    if place is PainPlace.ELSEWHERE:
        return ELSEWHERE
    return f"{side.value} {place.value}" if side is not None else place.value


def sugar_as_told(mmol: float, unit: str) -> str:
    """A sugar of ``mmol`` mmol/L in the client's own unit."""
    if unit == "mg/dL":
        return f"{mmol / MMOL_PER_MG:.0f} {unit}"
    return f"{mmol:g} {unit}"
