"""The pain rule: how much, where and since when decide what is done about a pain told today."""

from collections.abc import Mapping

from core.readiness.absolute_rule import AbsoluteRule
from core.readiness.morning_questions import PainPlace, PainReport, PainSince
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, Sign

# Thomee 1997 and Silbernagel 2007 (pain-monitoring model); bands as in Ageberg 2010, people of 60
# to 77 with severe joint disease: 0-2 safe, over 2 to 5 acceptable, over 5 too much.
_PAIN_SAFE, _PAIN_ACCEPTABLE = 2, 5
_PAIN_STOP_CAREFUL, _PAIN_RISE_CAREFUL = 4, 2
# Boonstra 2014: 7.5 and over is severe; on whole numbers, 8.
_PAIN_SEVERE = 8


def pain_rule(
    pain: PainReport, *, careful: bool = False, before: int | None = None
) -> AbsoluteRule | None:
    """The pain rule for one report; ``None`` for no pain at all.

    An unanswered amount counts as the top of the acceptable band, in a careful joint as stop.

    Args:
        careful: a replaced, operated, hot or swollen joint.
        before: the pain there when last told, 0 to 10.
    """
    level = _PAIN_ACCEPTABLE if pain.how_much is None else pain.how_much
    where, numbers = pain.where, {"level": float(level)}
    special = _special_place(pain, numbers)
    if special is not None:
        return special
    if careful and level >= _PAIN_STOP_CAREFUL:
        return _stop(DayReasonCode.PAIN_STOP_CAREFUL, AlertLevel.URGENT, where, numbers)
    if careful and before is not None and level - before >= _PAIN_RISE_CAREFUL:
        numbers["before"] = float(before)
        return _stop(DayReasonCode.PAIN_RISING, AlertLevel.URGENT, where, numbers)
    if level > _PAIN_ACCEPTABLE:
        alert = AlertLevel.URGENT if level >= _PAIN_SEVERE else AlertLevel.MENTION
        return _stop(DayReasonCode.PAIN_STOP, alert, where, numbers)
    if level > _PAIN_SAFE:
        return AbsoluteRule(
            DayReasonCode.PAIN_EASIER,
            DayPlan.EASE_OFF,
            AlertLevel.MENTION,
            spare_place=where,
            numbers=numbers,
        )
    if level > 0:
        return AbsoluteRule(
            DayReasonCode.PAIN_WATCH, DayPlan.AS_PLANNED, spare_place=where, numbers=numbers
        )
    return None


def _special_place(pain: PainReport, numbers: dict[str, float]) -> AbsoluteRule | None:
    """Places where pain may be something else than a joint or muscle, whatever the number."""
    if pain.where is PainPlace.CHEST:
        return AbsoluteRule(
            DayReasonCode.PAIN_CHEST, DayPlan.REST, AlertLevel.EMERGENCY, Sign.CHEST_PAIN
        )
    if numbers["level"] == 0:
        return None
    if pain.where is PainPlace.CALF:
        # Neither swollen nor warm: still rest, and the coach reads of it.
        return AbsoluteRule(
            DayReasonCode.PAIN_CALF,
            DayPlan.REST,
            AlertLevel.URGENT if pain.clot_signs else AlertLevel.MENTION,
            Sign.CALF_CLOT if pain.clot_signs else Sign.NEW_PAIN,
            spare_place=pain.where,
            numbers=numbers,
        )
    sudden = pain.since in (None, PainSince.TODAY) and numbers["level"] >= _PAIN_SEVERE
    if pain.where is PainPlace.HEAD and sudden:
        return AbsoluteRule(
            DayReasonCode.PAIN_HEAD_SUDDEN,
            DayPlan.REST,
            AlertLevel.EMERGENCY,
            Sign.THUNDERCLAP_HEADACHE,
            numbers=numbers,
        )
    return None


def _stop(
    code: DayReasonCode, alert: AlertLevel, where: PainPlace, numbers: Mapping[str, float]
) -> AbsoluteRule:
    return AbsoluteRule(
        code, DayPlan.REST, alert, Sign.NEW_PAIN, spare_place=where, numbers=numbers
    )
