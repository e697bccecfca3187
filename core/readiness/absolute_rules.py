"""Rules that stand on their own beside the readiness score, so that no average can drown them.

Each looks at one answer. Where bodies differ, the lower line is taken. None of these is a
diagnosis. The pain rule is in :mod:`core.readiness.pain_rule`, the numbers in
:mod:`core.readiness.morning_numbers`.
"""

from collections.abc import Sequence
from datetime import date, timedelta

from core.client.client import Client
from core.client.medicines import lows_possible
from core.intensity.effort_guide import DOSE_SETTLES
from core.readiness.absolute_rule import HARSHNESS, AbsoluteRule
from core.readiness.morning_numbers import (
    pressure_rules,
    pulse_rules,
    sugar_rules,
    weight_rules,
)
from core.readiness.morning_questions import IllKind, Morning, MorningItem, Settled
from core.readiness.pain_rule import pain_rule
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, Condition, DayPlan, Sign

_WORST, _POOR = 1, 2
_WORST_CODES = {
    MorningItem.SLEEP: DayReasonCode.SLEEP_WORST,
    MorningItem.TIREDNESS: DayReasonCode.TIREDNESS_WORST,
    MorningItem.SORENESS: DayReasonCode.SORENESS_WORST,
    MorningItem.STRESS: DayReasonCode.STRESS_WORST,
    MorningItem.MOOD: DayReasonCode.MOOD_WORST,
}

_LOUDNESS = [AlertLevel.EMERGENCY, AlertLevel.URGENT, AlertLevel.MENTION, None]


def absolute_rules(
    morning: Morning, client: Client, history: Sequence[Morning] = ()
) -> tuple[AbsoluteRule, ...]:
    """All rules that speak this morning, the strictest first.

    Args:
        history: earlier mornings, any order; weight, sugar and pain are compared with them.
    """
    earlier = [past for past in history if past.on < morning.on]
    found = [
        *_warning_sign(morning),
        *illness_rules(morning, client),
        *item_rules(morning, earlier),
        *_pain_rules(morning, client, earlier),
        *dose_change_rules(morning.on, client),
        *pulse_rules(morning.pulse, morning.pulse_again, client.resting_pulse_line),
        *pressure_rules(
            morning.systolic, morning.diastolic, with_symptoms=morning.warning_sign is True
        ),
        *sugar_rules(
            morning.glucose_mmol,
            _lowest_sugar_yesterday(morning, earlier),
            ill=morning.ill not in (None, IllKind.NONE, IllKind.ABOVE_NECK),
            lows_possible=lows_possible(
                client.medicines, diabetes=Condition.DIABETES in client.conditions
            ),
        ),
    ]
    if Condition.HEART_FAILURE in client.conditions:
        found += weight_rules(morning, earlier)
    return tuple(sorted(found, key=lambda g: (_LOUDNESS.index(g.alert), -HARSHNESS[g.plan])))


def _lowest_sugar_yesterday(morning: Morning, earlier: Sequence[Morning]) -> float | None:
    yesterday = morning.on - timedelta(days=1)
    return min(
        (p.glucose_mmol for p in earlier if p.on == yesterday and p.glucose_mmol is not None),
        default=None,
    )


def _warning_sign(morning: Morning) -> list[AbsoluteRule]:
    if not morning.warning_sign:
        return []
    # Which sign it is the red-flag flow asks; until then nothing is trained.
    return [AbsoluteRule(DayReasonCode.WARNING_SIGN, DayPlan.REST, AlertLevel.URGENT, Sign.UNSURE)]


def illness_rules(morning: Morning, client: Client) -> list[AbsoluteRule]:
    """Fever (over 38 C) or illness below the neck: rest. A cold above the neck: ease off.

    Source: exercise contraindication lists (fever over 38 C, systemic illness); the split at the
    neck is common practice. Fever with a replaced joint may be an infection of it, even years
    later: the same day.
    """
    replaced = Condition.JOINT_REPLACEMENT in client.known_conditions
    if morning.ill is IllKind.FEVER and replaced:
        return [
            AbsoluteRule(DayReasonCode.FEVER_JOINT, DayPlan.REST, AlertLevel.URGENT, Sign.FEVER)
        ]
    if morning.ill is IllKind.FEVER:
        return [AbsoluteRule(DayReasonCode.FEVER, DayPlan.REST, AlertLevel.MENTION, Sign.FEVER)]
    if morning.ill is IllKind.BELOW_NECK:
        return [AbsoluteRule(DayReasonCode.ILL_BELOW_NECK, DayPlan.REST, AlertLevel.MENTION)]
    if morning.ill is IllKind.ABOVE_NECK:
        return [AbsoluteRule(DayReasonCode.ILL_ABOVE_NECK, DayPlan.EASE_OFF)]
    return []


def dose_change_rules(on: date, client: Client) -> list[AbsoluteRule]:
    """A medicine or its dose changed within two weeks: at most ease off (ours, the careful side).

    Pressure, pulse and balance settle with the new dose; the coach hears of the change when told.
    """
    changed = client.medicine_changed_on
    if changed is None or not timedelta(0) <= on - changed < DOSE_SETTLES:
        return []
    return [AbsoluteRule(DayReasonCode.DOSE_CHANGED, DayPlan.EASE_OFF)]


def item_rules(morning: Morning, earlier: Sequence[Morning] = ()) -> list[AbsoluteRule]:
    """Any item at its worst, or two at second worst or below: at most ease off.

    Args:
        earlier: a worst answer given days running is told with their number.
    """
    items = morning.items()
    found = [
        AbsoluteRule(
            _WORST_CODES[item],
            DayPlan.EASE_OFF,
            numbers={"running": _days_running(item, morning.on, earlier)},
        )
        for item, value in items.items()
        if value <= _WORST
    ]
    poor = sum(value <= _POOR for value in items.values())
    if poor >= 2:
        found.append(
            AbsoluteRule(DayReasonCode.TWO_POOR, DayPlan.EASE_OFF, numbers={"count": poor})
        )
    return found


def _days_running(item: MorningItem, on: date, earlier: Sequence[Morning]) -> int:
    """Mornings in a row up to ``on`` with this item at its worst."""
    worst = {past.on for past in earlier if past.items().get(item, _POOR) <= _WORST}
    count = 1
    while on - timedelta(days=count) in worst:
        count += 1
    return count


def _pain_rules(morning: Morning, client: Client, earlier: Sequence[Morning]) -> list[AbsoluteRule]:
    found: list[AbsoluteRule] = []
    if morning.new_pain is not None:
        told = [
            past.new_pain.how_much
            for past in sorted(earlier, key=lambda past: past.on)
            if past.new_pain is not None and past.new_pain.may_be_where(morning.new_pain)
        ]
        before = next((level for level in reversed(told) if level is not None), None)
        careful = client.is_careful_at(morning.new_pain.place)
        rule = pain_rule(morning.new_pain, careful=careful, before=before)
        found += [rule] if rule is not None else []
    if morning.settled is Settled.NO:
        # Silbernagel 2007: pain from training must have settled by the next morning.
        found.append(AbsoluteRule(DayReasonCode.NOT_SETTLED, DayPlan.EASE_OFF, AlertLevel.MENTION))
    return found
