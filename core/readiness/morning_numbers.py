"""Rules for the optional morning numbers: pulse, pressure, sugar and weight.

Each line is a fixed one. Where bodies differ the lower is taken; a coach can only be stricter.
"""

from collections.abc import Sequence
from datetime import timedelta

from core.client.client import PULSE_LINE
from core.readiness.absolute_rule import AbsoluteRule
from core.readiness.morning_questions import Morning
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, Sign

PULSE_VERY_FAST_OVER = 120
PULSE_SLOW_UNDER = 40


def pulse_rules(
    pulse: int | None, again: int | None, line: float = PULSE_LINE
) -> list[AbsoluteRule]:
    """Resting pulse: 100 and over twice, 5 minutes apart: no session; over 120: urgent.

    ``line`` stands in for the 100 where a coach has raised it (at most to 110, for an uneven rhythm
    with a doctor's word: ours); the 120 stays.

    A second reading under 100 clears the first one unless that was over 120. Under 40 is common
    practice and a question to the coach, no rule of a body.
    """
    readings = [value for value in (pulse, again) if value is not None]
    if not readings:
        return []
    numbers = {"pulse": float(max(readings))}
    if max(readings) > PULSE_VERY_FAST_OVER:
        return [
            AbsoluteRule(
                DayReasonCode.PULSE_VERY_FAST,
                DayPlan.REST,
                AlertLevel.URGENT,
                Sign.FAST_PULSE,
                numbers=numbers,
            )
        ]
    if readings[-1] >= line:
        if again is None:
            return [AbsoluteRule(DayReasonCode.PULSE_REPEAT, DayPlan.REST, numbers=numbers)]
        return [
            AbsoluteRule(
                DayReasonCode.PULSE_FAST,
                DayPlan.REST,
                AlertLevel.MENTION,
                Sign.FAST_PULSE,
                numbers=numbers,
            )
        ]
    if min(readings) < PULSE_SLOW_UNDER:
        numbers = {"pulse": float(min(readings))}
        return [
            AbsoluteRule(
                DayReasonCode.PULSE_SLOW, DayPlan.REST, AlertLevel.MENTION, numbers=numbers
            )
        ]
    return []


PRESSURE_HOLD = 180, 110
"""mmHg, top and bottom, from which nothing is trained."""
PRESSURE_LIGHT = 160, 100
"""mmHg, top and bottom, from which the day is light."""
_LOW_SYSTOLIC = 90


def pressure_rules(
    systolic: int | None, diastolic: int | None, *, with_symptoms: bool = False
) -> list[AbsoluteRule]:
    """Resting pressure, mmHg: 180 or 110 and over no session, 160 or 100 and over light.

    Sources: AHA resistance-training statement (160/100 relative, 180/110 absolute). With symptoms
    (chest, breath, head, sight, speech) the hold is an emergency. Under 90 is common practice.
    """
    upper, lower = systolic or 0, diastolic or 0
    numbers = {"systolic": float(upper), "diastolic": float(lower)}
    if upper >= PRESSURE_HOLD[0] or lower >= PRESSURE_HOLD[1]:
        level = AlertLevel.EMERGENCY if with_symptoms else AlertLevel.URGENT
        return [
            AbsoluteRule(
                DayReasonCode.PRESSURE_HOLD,
                DayPlan.REST,
                level,
                Sign.HIGH_PRESSURE,
                no_holds=True,
                numbers=numbers,
            )
        ]
    if upper >= PRESSURE_LIGHT[0] or lower >= PRESSURE_LIGHT[1]:
        return [
            AbsoluteRule(
                DayReasonCode.PRESSURE_LIGHT,
                DayPlan.EASE_OFF,
                AlertLevel.MENTION,
                Sign.HIGH_PRESSURE,
                no_holds=True,
                numbers=numbers,
            )
        ]
    if systolic is not None and systolic < _LOW_SYSTOLIC:
        return [
            AbsoluteRule(
                DayReasonCode.PRESSURE_LOW, DayPlan.REST, AlertLevel.MENTION, numbers=numbers
            )
        ]
    return []


# Colberg 2016 (ADA) and Turner 2019, mmol/L: under 3.9 treat and stop (we take the 4.0 of UK
# patient leaflets, from memory: the careful side); under 5.0 eat first, where a medicine can cause
# lows; 13.9 and over light at most, with ketones checked; 19.4 and over nothing. Under 2.9 is a
# severe low and forbids exercise for 24 hours.
SUGAR_SEVERE, SUGAR_LOW = 2.9, 4.0
_SUGAR_EAT = 5.0
SUGAR_HIGH_FROM, _SUGAR_VERY_HIGH = 13.9, 19.4


def sugar_rules(
    glucose_mmol: float | None,
    yesterday_mmol: float | None = None,
    *,
    ill: bool = False,
    lows_possible: bool = True,
) -> list[AbsoluteRule]:
    """Blood sugar before exercise, mmol/L.

    Compared after rounding to a tenth, so that 70, 90, 250 and 350 mg/dL fall on the printed lines.

    Args:
        yesterday_mmol: the lowest sugar told in the last 24 hours.
        lows_possible: a medicine may cause lows; else under 5.0 asks for nothing.
        ill: an illness was told too; with a high sugar that is an emergency (HSE Ireland).
    """
    if yesterday_mmol is not None and round(yesterday_mmol, 1) < SUGAR_SEVERE:
        return [_low(DayReasonCode.SUGAR_VERY_LOW, yesterday_mmol)]
    if glucose_mmol is None:
        return []
    tenths = round(glucose_mmol, 1)
    if tenths < SUGAR_SEVERE:
        return [_low(DayReasonCode.SUGAR_VERY_LOW, tenths)]
    if tenths < SUGAR_LOW:
        return [_low(DayReasonCode.SUGAR_LOW, tenths)]
    numbers = {"sugar": tenths}
    if tenths < _SUGAR_EAT:
        if not lows_possible:
            return []
        return [AbsoluteRule(DayReasonCode.SUGAR_EAT_FIRST, DayPlan.AS_PLANNED, numbers=numbers)]
    very = tenths >= _SUGAR_VERY_HIGH
    if very or tenths >= SUGAR_HIGH_FROM:
        code = DayReasonCode.SUGAR_VERY_HIGH if very else DayReasonCode.SUGAR_HIGH
        level = AlertLevel.URGENT if very else AlertLevel.MENTION
        plan = DayPlan.REST if very else DayPlan.EASE_OFF
        if ill:
            emergency = AlertLevel.EMERGENCY
            return [AbsoluteRule(code, DayPlan.REST, emergency, Sign.SUGAR_ILL, numbers=numbers)]
        return [AbsoluteRule(code, plan, level, Sign.SUGAR_HIGH, numbers=numbers)]
    return []


def _low(code: DayReasonCode, sugar: float) -> AbsoluteRule:
    return AbsoluteRule(code, DayPlan.REST, AlertLevel.URGENT, Sign.HYPO, numbers={"sugar": sugar})


_WEIGHT_RISE_KG = 2.0
_WEIGHT_DAYS = 3


def weight_rules(morning: Morning, earlier: Sequence[Morning]) -> list[AbsoluteRule]:
    """Heart failure and 2 kg up within one to three days: no session, urgent.

    Source: heart-failure exercise advice (2 kg in 1 to 3 days, a relative contraindication).
    """
    if morning.weight_kg is None:
        return []
    first = morning.on - timedelta(days=_WEIGHT_DAYS)
    recent = [
        past.weight_kg
        for past in earlier
        if first <= past.on < morning.on and past.weight_kg is not None
    ]
    rise = round(morning.weight_kg - min(recent), 1) if recent else 0.0
    if rise < _WEIGHT_RISE_KG:
        return []
    return [
        AbsoluteRule(
            DayReasonCode.WEIGHT_UP,
            DayPlan.REST,
            AlertLevel.URGENT,
            Sign.ANKLE_SWELLING,
            numbers={"rise": rise},
        )
    ]
