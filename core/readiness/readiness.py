"""Readiness: today's answers against the client's own baseline; a day plan, and what moved it.

The score is points below the client's own baseline; illness counts as a low day; yesterday counts a
quarter. Beside it stand the absolute rules of :mod:`core.readiness.absolute_rules`, which can only
make a day easier. Missing items lower the certainty, never the score.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from core.client.client import Client
from core.errors import OutOfRangeError
from core.readiness.absolute_rule import AbsoluteRule, easier_of
from core.readiness.absolute_rules import absolute_rules
from core.readiness.baseline import DayShortfall, shortfalls
from core.readiness.morning_questions import Morning, MorningItem
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import AlertLevel, DayPlan

TODAY_SHARE = 0.75
_YESTERDAY_SHARE = 1 - TODAY_SHARE

EASE_OFF_FROM = 0.56
"""Points below baseline from which a day is eased; about one day in ten of a steady client."""
REST_FROM = 1.7
"""Points below baseline from which a day is rest, whatever the single answers."""

# A usual day is 75; a point below baseline costs 30, so that ease off begins under 60.
_BASELINE_SCORE, _SCORE_PER_POINT = 75.0, 30.0
TYPICAL_SPREAD = 0.46
"""Standard deviation of the shortfall over ordinary days, in points; turns it into a day shift."""
_LARGEST_SHIFT = 2.5

_LEARNED_DAYS, _RECENT_DAYS = 14, 28
_UNANSWERED_SHARE = 0.1
USUAL_FROM = 3
"""Answered mornings before a client is told of "your usual" (ours)."""
GOOD_FROM = 4
"""Answers from here on (of 5, 5 best) are good by their buttons; none is told as low (ours)."""
# A difference of less than this is not worth a sentence.
_WORTH_SAYING = 0.06
_LEAST_WEIGHT = 0.01
_LOW_CODES = {
    MorningItem.SLEEP: DayReasonCode.SLEEP_LOW,
    MorningItem.TIREDNESS: DayReasonCode.TIREDNESS_LOW,
    MorningItem.SORENESS: DayReasonCode.SORENESS_LOW,
    MorningItem.STRESS: DayReasonCode.STRESS_LOW,
    MorningItem.MOOD: DayReasonCode.MOOD_LOW,
}
# Rules come before what merely moved the score, and louder rules first.
_RULE_WEIGHT: Mapping[AlertLevel | None, float] = {
    AlertLevel.EMERGENCY: 40.0,
    AlertLevel.URGENT: 30.0,
    AlertLevel.MENTION: 20.0,
    None: 10.0,
}


@dataclass(frozen=True, slots=True)
class Readiness:
    """How today compares with this client's baseline, and what follows.

    Attributes:
        score: 0 to 100; 75 is the client's baseline.
        plan: the day plan, the easiest of the score's and of all absolute rules'.
        certainty: 0 to 1; low with few mornings, missing items or answers that never change.
        reasons: sorted, the first two are what moved the day.
        shortfall: points below baseline, today and a quarter of yesterday, illness included.
        day_shift: the items' part in typical spreads, -2.5 to 2.5, below baseline negative; 0 when
            nothing was answered today. Illness is not in it: see ``ill``.
        ill: illness told today.
        answered: whether any item was answered today.
        absolute_rules: the absolute rules that apply, strictest first.
    """

    on: date
    score: float
    plan: DayPlan
    certainty: float
    reasons: tuple[DayReason, ...]
    shortfall: float
    day_shift: float
    ill: bool
    answered: bool
    absolute_rules: tuple[AbsoluteRule, ...]

    @property
    def score_plan(self) -> DayPlan:
        """The day plan that the score alone gives."""
        return plan_of(self.shortfall)


def assess(
    history: Sequence[Morning], today: Morning | None, client: Client, *, on: date
) -> Readiness:
    """Judge the day ``on``.

    Args:
        history: mornings before ``on``, any order; later ones are passed over.
        today: this morning's answers, finished or not; ``None`` when there are none.

    Raises:
        OutOfRangeError: ``today`` is not of the day ``on``.
    """
    if today is not None and today.on != on:
        raise OutOfRangeError(f"answers of {today.on} cannot judge {on}")
    earlier = [morning for morning in history if morning.on < on]
    mornings = [*earlier, today] if today is not None else earlier
    days = list(shortfalls(mornings, on))
    day = days[-1] if days else None
    before = days[-2] if len(days) > 1 else None
    shortfall = blend(day.points if day else 0.0, before.points if before else 0.0)
    spoken = absolute_rules(today, client, earlier) if today is not None else ()
    plan = plan_of(shortfall)
    for rule in spoken:
        plan = easier_of(plan, rule.plan)
    answered = day is not None and day.answered
    shift = _day_shift(day, before) if day is not None and day.answered else 0.0
    return Readiness(
        on=on,
        score=max(0.0, min(100.0, _BASELINE_SCORE - _SCORE_PER_POINT * shortfall)),
        plan=plan,
        certainty=_certainty(earlier, today, on),
        reasons=reasons_of(day, before, spoken, shortfall, usual_known=_usual_known(earlier)),
        shortfall=shortfall,
        day_shift=shift,
        ill=today is not None and today.is_ill,
        answered=answered,
        absolute_rules=spoken,
    )


def distance_from_usual(score: float) -> float:
    """Points above the client's own usual (negative: below it) that a score stands for."""
    return (score - _BASELINE_SCORE) / _SCORE_PER_POINT


def blend(today: float, yesterday: float) -> float:
    """Points below baseline of a day, with a quarter of the day before."""
    return TODAY_SHARE * today + _YESTERDAY_SHARE * yesterday


def plan_of(shortfall: float) -> DayPlan:
    """The day plan that the score alone gives."""
    if shortfall >= REST_FROM:
        return DayPlan.REST
    return DayPlan.EASE_OFF if shortfall >= EASE_OFF_FROM else DayPlan.AS_PLANNED


def _day_shift(day: DayShortfall, before: DayShortfall | None) -> float:
    items = blend(day.items_only, before.items_only if before else 0.0)
    return max(-_LARGEST_SHIFT, min(_LARGEST_SHIFT, -items / TYPICAL_SPREAD))


def _certainty(earlier: Sequence[Morning], today: Morning | None, on: date) -> float:
    """Share answered today times how well the baseline is known; less if answers never change."""
    learned = min(_known_days(earlier, on), _LEARNED_DAYS) / _LEARNED_DAYS
    values: dict[MorningItem, set[int]] = {item: set() for item in MorningItem}
    for morning in [*earlier, *([today] if today is not None else [])]:
        for item, value in morning.items().items():
            values[item].add(value)
    # One tap repeated for weeks tells little, though it may be true.
    flat = all(len(seen) <= 1 for seen in values.values())
    answered = len(today.items()) + (today.ill is not None) if today is not None else 0
    share = max(_UNANSWERED_SHARE, answered / (len(MorningItem) + 1))
    return share * (0.4 + 0.6 * learned) * (1 - 0.3 * learned if flat else 1.0)


def _usual_known(earlier: Sequence[Morning]) -> bool:
    """Whether "than usual" may be said: there are earlier mornings to compare with."""
    return sum(bool(past.items()) for past in earlier) >= USUAL_FROM


def _known_days(earlier: Sequence[Morning], on: date) -> float:
    """Answers of the last four weeks, in full mornings."""
    first = on - timedelta(days=_RECENT_DAYS)
    return sum(len(past.items()) for past in earlier if past.on >= first) / len(MorningItem)


def reasons_of(
    day: DayShortfall | None,
    before: DayShortfall | None,
    spoken: Sequence[AbsoluteRule],
    shortfall: float,
    *,
    usual_known: bool = True,
) -> tuple[DayReason, ...]:
    """What moved the day, the heaviest first; never empty.

    Args:
        usual_known: False in the first days, when no sentence may say "than usual".
    """
    found = [DayReason(rule.code, rule.numbers, _RULE_WEIGHT[rule.alert]) for rule in spoken]
    said = {rule.code for rule in spoken}
    if day is not None and day.answered:
        for item, below in day.by_item.items():
            weight = TODAY_SHARE * below / len(day.by_item)
            worst = DayReasonCode(f"{item.value}_worst")
            answer = day.baseline[item] - below
            # The usual is a mean: told back from it, a whole answer comes out a hair beside.
            good = round(answer) >= GOOD_FROM
            if weight >= _WORTH_SAYING and worst not in said and not good:
                numbers = {"answer": answer, "usual": day.baseline[item]}
                if not usual_known:
                    numbers["new"] = 1
                found.append(DayReason(_LOW_CODES[item], numbers, weight))
    elif not spoken:
        found.append(DayReason(DayReasonCode.NO_ANSWER, {}, _LEAST_WEIGHT))
    if before is not None and _YESTERDAY_SHARE * before.points >= _WORTH_SAYING:
        found.append(DayReason(DayReasonCode.YESTERDAY_LOW, {}, _YESTERDAY_SHARE * before.points))
    if not found:
        found.append(DayReason(_compared(shortfall) if usual_known else DayReasonCode.NO_USUAL_YET))
    return tuple(sorted(found, key=lambda reason: -reason.weight))


def _compared(shortfall: float) -> DayReasonCode:
    """How a day without anything low compares; an eased one is never called as usual."""
    if shortfall <= -EASE_OFF_FROM:
        return DayReasonCode.BETTER_THAN_USUAL
    eased = plan_of(shortfall) is not DayPlan.AS_PLANNED
    return DayReasonCode.GOOD_BUT_LESS if eased else DayReasonCode.AS_USUAL
