"""One movement today: from ladder, record and capacity to a prescription with its reasons."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from core.client.care import Care, is_careful
from core.client.client import Client
from core.dose.bounds import LARGEST_RISE, Bounds, never_offered, safe_bounds
from core.dose.calibration import calibration_step, most_of, stop_at_left
from core.dose.capacity import Capacity, Forecast
from core.dose.day_order import DayOrder
from core.dose.explain import considered_steps, dose_reasons
from core.dose.family_record import (
    GOOD_HOLDS_FOR_A_STEP,
    GOOD_SESSIONS_FOR_A_STEP,
    NEARLY_LIKE,
    FamilyRecord,
)
from core.dose.history import SetDone, Unit
from core.dose.prescription import (
    DoseCode,
    DoseReason,
    EffortWords,
    Prescription,
    TalkTest,
)
from core.dose.selection import Amounts, Selection, Weights, predicted_left, select_rungs
from core.movements.catalogue import Catalogue, Setting
from core.movements.ladder import LadderStep
from core.vocabulary import Aim, Band, Condition, Family, Spare

REPS_OF_AIM: Final = {Aim.ENDURANCE: (15, 20), Aim.STRENGTH: (8, 12), Aim.OPEN: (8, 20)}
"""Common practice: lighter for endurance, heavier for strength; never under eight alone."""

SECONDS_OF_HOLD: Final = (10, 30)
SETS_ESTABLISHED: Final = 2
FAILED_SESSIONS: Final = 2
"""So many sessions at none left ask for fewer repetitions; one more, for a step down."""
FELT_FEWER: Final = 0.75
"""Share of the repetitions, or seconds, that is felt as fewer (ours)."""
SURE_SD: Final = 0.10
"""Up to this uncertainty of log capacity the forecast is taken as it is; beyond, cautiously."""

CAUTION: Final = 0.6
"""Share of the uncertainty beyond that by which the forecast is lowered."""

WEIGHTS: Final = {
    1: Weights(none_left=0.8, short=0.5, slack=0.5),
    2: Weights(none_left=0.6),
    3: Weights(none_left=0.6),
    4: Weights(none_left=1.0, short=0.5),
}
"""By the number left at which the client is told to stop. One left: expected left rounds to one."""


SHORT_TELLS: Final = 0.15
"""Cost of a plan that is cut short, of a client whose numbers say nothing (ours)."""


@dataclass(frozen=True, slots=True)
class LeftTarget:
    """Range of left in hand aimed at, and where to stop."""

    low: int
    high: int
    stop_at: int

    @property
    def range(self) -> tuple[int, int]:
        """Both ends."""
        return self.low, self.high


TURN_LOW: Final = 1 / LARGEST_RISE
"""Share of the highest demand from which on another rung takes turns with it: the way back up is
one step (ours)."""
_ROUNDING: Final = 1.0 + 1e-9

NEAR_LOW, NEAR_HIGH = 0.90, 1.05
"""Shares of the usual demand between which another rung is a change of shape (ours)."""

ESTABLISHED: Final = LeftTarget(1, 3, 1)
CAREFUL: Final = LeftTarget(3, 4, 3)
CALM_PRESSURE: Final = LeftTarget(2, 3, 2)
LIGHT: Final = LeftTarget(4, 5, 4)


def left_target(client: Client, record: FamilyRecord, day: DayOrder) -> LeftTarget:
    """How much to leave in hand today."""
    if record.hard_yesterday:
        return LIGHT
    careful = (
        day.ease_off
        or record.first_sessions
        or record.first_time
        or record.after_gap
        or is_careful(client, day.cares)
    )
    if careful:
        return CAREFUL
    return CALM_PRESSURE if Care.IN_HAND_UNTIL_CALM in day.cares else ESTABLISHED


def with_spares(client: Client, spared: frozenset[Spare]) -> Client:
    """The client with more joints to spare, for today."""
    return replace(client, spares=client.spares | spared) if spared else client


def amounts_for(client: Client, step: LadderStep, catalogue: Catalogue | None) -> Amounts:
    """Range of repetitions by the aim; of a hold, and of getting up, what its rung states."""
    rung = catalogue.by_id.get(step.rung) if catalogue else None
    stated = rung.amounts.get(client.aim) if rung else None
    if step.unit == Unit.REPS:
        if stated is not None and step.family is Family.GET_UP:
            return Amounts(stated.low, stated.high, Unit.REPS)
        return Amounts(*REPS_OF_AIM[client.aim], Unit.REPS)
    low, high = (stated.low, stated.high) if stated else SECONDS_OF_HOLD
    return Amounts(low, high, Unit.SECONDS)


def cautious(forecast: Forecast) -> Forecast:
    """The forecast lowered by part of what is not known yet."""
    unsure = max(0.0, forecast.sd - SURE_SD)
    return replace(forecast, mean=forecast.mean - CAUTION * unsure)


def prescribe(
    client: Client,
    steps: Sequence[LadderStep],
    record: FamilyRecord,
    capacity: Capacity,
    day: DayOrder,
    catalogue: Catalogue | None = None,
    *,
    explain: bool = True,
    turns: bool = True,
) -> Prescription | None:
    """Today's step, amount and sets of one family; ``None`` when nothing may be offered.

    Args:
        steps: the client's ladder of the family, easy to hard.
        capacity: believed capacity with today open.
        explain: whether to list all steps considered.
        turns: whether ``steps`` go up to the top, so that two rungs may take turns there.
    """
    if not steps:
        return None
    target = left_target(client, record, day)
    fewer = _fewer_after_none(client, steps, record, capacity, target, catalogue)
    same_told = capacity.tells_always_the_same
    bounds = _bounds(client, steps, record, day, fewer_first=fewer is not None, same_told=same_told)
    if not bounds.allowed:
        return None
    family = steps[0].family
    trial = calibration_step(bounds.allowed, record, capacity, day, catalogue)
    if trial is not None:
        return _calibration(trial, stop_at_left(record), capacity, day)
    if family is Family.BALANCE:
        choices: tuple[Selection, ...] = _balance_choice(client, bounds, record, catalogue)
    else:
        choices = ranked(client, bounds.allowed, record, capacity, target, catalogue)
        if family in client.limits.floors and choices[0].predicted_left < target.low:
            # The coach's floor gives way where too few would be left.
            bounds = _bounds(
                client,
                steps,
                record,
                day,
                fewer_first=fewer is not None,
                same_told=same_told,
                keep_floor=False,
            )
            choices = ranked(client, bounds.allowed, record, capacity, target, catalogue)
        if day.ease_off:
            choices = _near_base_first(choices, record, target)
        elif client.aim is not Aim.OPEN:
            choices = _due_climb_first(choices, record, target)
        if record.bought:
            further = _further_step(client, bounds, record, target, capacity, catalogue)
            if further is not None:
                built = build(client, (further,), bounds, record, target, day, catalogue)
                why = (DoseReason(DoseCode.FURTHER_STEP),)
                return replace(built, sets=1, low=further.amount, reasons=why)
        if record.plateau and not (same_told or day.ease_off or record.today):
            choices = _another_shape_first(choices, record, target)
        other = _other_in_turn(client, steps, choices, record, target, day, catalogue)
        if other is not None and turns:
            built = build(client, (other, *choices), bounds, record, target, day, catalogue)
            why = (DoseReason(DoseCode.IN_TURN),)
            return replace(built, reasons=why, eased=True)
        change = _for_a_change(client, choices, record, target, day, catalogue)
        if change is not None and turns:
            built = build(client, (change, *choices), bounds, record, target, day, catalogue)
            return replace(built, reasons=(DoseReason(DoseCode.FOR_A_CHANGE),))
        if not is_careful(client, day.cares):
            # A heavier thing to grip raises pressure more than another posture does (caution).
            choices = _heavier_first(choices, record, target, catalogue)
        choices = _fixed_first(choices, client.limits.fixed.get(family), target)
        if fewer is not None and any(
            reason.code is DoseCode.FEWER_AFTER_NONE_LEFT for reason in bounds.why
        ):
            rest = (c for c in choices if c.step.key != fewer.step.key)
            choices = (fewer, *rest) if fewer.step in bounds.allowed else choices
    return build(client, choices, bounds, record, target, day, catalogue, explain=explain)


def _bounds(
    client: Client,
    steps: Sequence[LadderStep],
    record: FamilyRecord,
    day: DayOrder,
    *,
    fewer_first: bool,
    same_told: bool,
    keep_floor: bool = True,
) -> Bounds:
    return safe_bounds(
        with_spares(client, day.spared),
        steps,
        record,
        ease_off=day.ease_off,
        careful=is_careful(client, day.cares),
        no_holds=day.no_holds,
        keep_floor=keep_floor,
        fewer_first=fewer_first,
        same_told=same_told,
    )


def _fewer_after_none(
    client: Client,
    steps: Sequence[LadderStep],
    record: FamilyRecord,
    capacity: Capacity,
    target: LeftTarget,
    catalogue: Catalogue | None,
) -> Selection | None:
    """The same step a quarter shorter, after the second session at none left and not the third.

    ``None`` where the range is spent, or where that would not leave enough: then it is a rung.
    """
    last = record.last
    if last is None or last.planned is None or record.none_left_sessions != FAILED_SESSIONS:
        return None
    step = next((one for one in steps if one.key == last.step_key), None)
    if step is None or last.family in (Family.BALANCE, Family.GET_UP):
        return None
    amounts = amounts_for(client, step, catalogue)
    amount = max(amounts.low, math.floor(min(last.planned, last.amount) * FELT_FEWER))
    if amount > last.planned * FELT_FEWER + amounts.step:
        return None
    forecast = cautious(capacity.careful_forecast(step.family))
    left = predicted_left(step.demand, amount, amounts, forecast)
    likely = predicted_left(step.demand, amount, amounts, cautious(capacity.forecast(step.family)))
    return Selection(step, amount, left, 0.0, 0.0, likely) if left >= target.low else None


def _calibration(step: LadderStep, stop_at: int, capacity: Capacity, day: DayOrder) -> Prescription:
    """One set of the step, open at its end, that stops with so many left."""
    amounts = most_of(step)
    left = predicted_left(step.demand, amounts.high, amounts, capacity.forecast(step.family))
    return Prescription(
        family=step.family,
        step=step,
        sets=1,
        low=amounts.low,
        high=amounts.high,
        amount=amounts.high,
        unit=amounts.unit,
        stop_at_left=stop_at,
        left_target=(stop_at, stop_at + 1),
        predicted_left=max(float(stop_at), left),
        effort=EffortWords.TIRING,
        talk_test=TalkTest.FULL_SENTENCES,
        reasons=(DoseReason(DoseCode.CALIBRATION, {"left": stop_at}),),
        day_shift=day.expected_shift,
        calibration=True,
    )


def ranked(
    client: Client,
    allowed: Sequence[LadderStep],
    record: FamilyRecord,
    capacity: Capacity,
    target: LeftTarget,
    catalogue: Catalogue | None,
) -> tuple[Selection, ...]:
    """Allowed steps with their best amounts, best first. Balance holds go by the easiest first."""
    family = allowed[0].family
    if family is Family.BALANCE:
        return tuple(
            Selection(step, amounts_for(client, step, catalogue).low, 0.0, 0.0) for step in allowed
        )
    forecast = cautious(capacity.forecast(family))
    return select_rungs(
        allowed,
        [amounts_for(client, step, catalogue) for step in allowed],
        forecast,
        target.range,
        record.last.step_key if record.last else None,
        _weights(capacity, target),
        capacity.left_at_stop(target.stop_at),
        cautious(capacity.careful_forecast(family)),
    )


def _weights(capacity: Capacity, target: LeftTarget) -> Weights:
    """How outcomes count; of who always tells the same number only a stop says anything."""
    weights = WEIGHTS[target.stop_at]
    return replace(weights, short=SHORT_TELLS) if capacity.tells_always_the_same else weights


def _due_climb_first(
    choices: tuple[Selection, ...], record: FamilyRecord, target: LeftTarget
) -> tuple[Selection, ...]:
    """Two sessions over goal (Baechle and Earle) put steps up first, where enough stays in hand."""
    base = record.base_demand
    if base is None or record.over_goal_sessions < GOOD_SESSIONS_FOR_A_STEP:
        return choices
    due = [c for c in choices if c.step.demand > base and c.predicted_left >= target.low]
    return (*due, *(choice for choice in choices if choice not in due))


def _further_step(
    client: Client,
    bounds: Bounds,
    record: FamilyRecord,
    target: LeftTarget,
    capacity: Capacity,
    catalogue: Catalogue | None,
) -> Selection | None:
    """The step that a whole calibration set buys, at the fewest; ``None`` if too few are left."""
    last = record.last
    above = [one for one in bounds.allowed if last is not None and one.demand > last.demand]
    if not above:
        return None
    step = above[-1]
    amounts = amounts_for(client, step, catalogue)
    fewest = min(amounts.low, most_of(step).low)
    forecast = cautious(capacity.careful_forecast(step.family))
    left = predicted_left(step.demand, fewest, amounts, forecast)
    return Selection(step, fewest, left, 0.0, 0.0, left) if left >= target.low else None


def _another_shape_first(
    choices: tuple[Selection, ...], record: FamilyRecord, target: LeftTarget
) -> tuple[Selection, ...]:
    """On a plateau, another rung of about the same demand: something changes, not how hard."""
    last, base = record.last, record.base_demand
    if last is None or base is None:
        return choices
    near = _of_other_rungs(choices, last, target, base * NEAR_LOW, base * NEAR_HIGH)
    return (*near, *(choice for choice in choices if choice not in near))


def _of_other_rungs(
    choices: Sequence[Selection], last: SetDone, target: LeftTarget, low: float, high: float
) -> Sequence[Selection]:
    """Choices of another rung than the last set's, with a demand from ``low`` to ``high``."""
    rung = last.step_key.partition("@")[0]
    return [
        one
        for one in choices
        if one.step.rung != rung
        and low <= one.step.demand <= high
        and one.predicted_left >= target.low
    ]


def _not_put_down(
    near: Sequence[Selection],
    choices: Sequence[Selection],
    last: SetDone,
    catalogue: Catalogue | None,
) -> Sequence[Selection]:
    """Of other rungs those with as much in the hands as the last set; else with half of it."""
    before = next((one.step for one in choices if one.step.key == last.step_key), None)
    if catalogue is None or before is None:
        return near
    kilograms = _in_hands(before, catalogue)
    held = [(one, _in_hands(one.step, catalogue)) for one in near]
    as_much = [one for one, there in held if there >= kilograms]
    return as_much or [one for one, there in held if there >= kilograms / 2]


def _other_in_turn(
    client: Client,
    steps: Sequence[LadderStep],
    choices: Sequence[Selection],
    record: FamilyRecord,
    target: LeftTarget,
    day: DayOrder,
    catalogue: Catalogue | None,
) -> Selection | None:
    """At the top of the ladder, each second time another rung, somewhat easier; else ``None``.

    Before the top nothing takes turns, as each step there rests on the one before.
    """
    last, base = record.last, record.base_demand
    family = steps[0].family
    plain = not (day.ease_off or record.today or record.after_gap or record.slipped)
    settled = record.good_sessions >= GOOD_SESSIONS_FOR_A_STEP and not record.first_sessions
    picked = client.limits.fixed.get(family) is not None or family is Family.GET_UP
    if last is None or base is None or picked or not (plain and settled):
        return None
    never = never_offered(with_spares(client, day.spared), no_holds=day.no_holds)
    if any(step.demand > base * _ROUNDING and never(step) is None for step in steps):
        return None
    near = _of_other_rungs(choices, last, target, base * TURN_LOW, base * _ROUNDING)
    near = _not_put_down(near, choices, last, catalogue) or near
    if last.demand < base or not near:
        return None
    return max(near, key=lambda one: one.step.demand)


def _for_a_change(
    client: Client,
    choices: Sequence[Selection],
    record: FamilyRecord,
    target: LeftTarget,
    day: DayOrder,
    catalogue: Catalogue | None,
) -> Selection | None:
    """Another rung of nearly the same demand, where the same one would come once more.

    Nothing is changed where a step up is due, where anything went wrong or is new, nor for who
    forgets and is safest with what is known. Its sets count like those of the rung with which it
    takes turns.
    """
    last, base, family = record.last, record.base_demand, choices[0].step.family
    plain = not (day.ease_off or record.today or record.after_gap or record.way_back)
    well = record.good_sessions > 0 and record.pain_limit is None and not record.first_sessions
    if (
        last is None
        or base is None
        or not (plain and well)
        or Condition.DEMENTIA in client.conditions
    ):
        return None
    picked = client.limits.fixed.get(family) is not None or family is Family.GET_UP
    first = choices[0].step
    again = first.rung == last.step_key.partition("@")[0] and first.demand <= base * _ROUNDING
    if picked or not again:
        return None
    near = _of_other_rungs(choices, last, target, base * NEARLY_LIKE, base * _ROUNDING)
    near = _not_put_down(near, choices, last, catalogue)
    return near[0] if near else None


def _heavier_first(
    choices: tuple[Selection, ...],
    record: FamilyRecord,
    target: LeftTarget,
    catalogue: Catalogue | None,
) -> tuple[Selection, ...]:
    """On the way up a heavier load, or a stiffer band, in the same posture before another posture.

    Else what is held would go from two bottles to none and back to one, as demand alone ranks them.
    Where the rung itself has no heavier one, a step that asks about as much as the posture and
    takes nothing out of the hands, and else a further load.
    """
    last = record.last
    if last is None or catalogue is None or not choices:
        return choices
    rung, _, _ = last.step_key.partition("@")
    up = choices[0].step.demand > last.demand * _ROUNDING
    before = next((c.step for c in choices if c.step.key == last.step_key), None)
    if before is None or not up:
        return choices
    kilograms = _in_hands(before, catalogue)
    if choices[0].step.rung == rung and _in_hands(choices[0].step, catalogue) >= kilograms:
        return choices
    held, posture = _held(before, catalogue)
    heavier = [
        choice
        for choice in choices
        if choice.step.rung == rung
        and choice.step.demand > last.demand * _ROUNDING
        and _held(choice.step, catalogue)[1] == posture
        and _held(choice.step, catalogue)[0] > held
        and choice.predicted_left >= target.low
    ]
    if not heavier:
        near = max(last.demand * _ROUNDING, choices[0].step.demand * NEAR_LOW)
        like = [choice for choice in choices if near < choice.step.demand]
        kept = [c for c in like if kilograms and _in_hands(c.step, catalogue) >= kilograms]
        if kept:
            # Until one of them suits, more of what was done: what is held is not put down again.
            kept.extend(choice for choice in choices if choice.step.key == last.step_key)
        elif choices[0].step.further_load or _held(choices[0].step, catalogue)[0] == EMPTY_HANDED:
            # Who has held nothing begins with the lightest.
            top = choices[0].step.demand * _ROUNDING
            further = [c for c in like if c.step.further_load and c.step.demand <= top]
            kept = sorted(further, key=lambda c: _in_hands(c.step, catalogue))
        heavier = [choice for choice in kept if choice.predicted_left >= target.low]
    return (*heavier, *(choice for choice in choices if choice not in heavier))


EMPTY_HANDED = (0.0, -1)
"""No weight, no band (:func:`_held`)."""


def _in_hands(step: LadderStep, catalogue: Catalogue) -> float:
    """Kilograms in both hands together."""
    hands = 2 if catalogue.by_id[step.rung].pose.get("load_in", "both") == "both" else 1
    return hands * _held(step, catalogue)[0][0]


def _held(step: LadderStep, catalogue: Catalogue) -> tuple[tuple[float, int], Setting]:
    """Kilograms in a hand and the band's place among the bands; and all other dials turned."""
    rung = catalogue.by_id[step.rung]
    plain = {name: values[0] for name, values in rung.dials.items() if values}
    dials = {**plain, **step.dial}
    band = dials.get("band")
    bands = [one.value for one in Band]
    load = float(dials.get("load", 0.0))
    others = tuple(entry for entry in step.setting if entry[0] not in ("load", "band"))
    return (load, bands.index(str(band)) if band in bands else -1), others


def _fixed_first(
    choices: tuple[Selection, ...], rung: str | None, target: LeftTarget
) -> tuple[Selection, ...]:
    """The rung that the coach has fixed, where no rule excludes it and enough stays in hand."""
    kept = [c for c in choices if c.step.rung == rung and c.predicted_left >= target.low]
    return (*kept, *(choice for choice in choices if choice not in kept))


def _near_base_first(
    choices: tuple[Selection, ...], record: FamilyRecord, target: LeftTarget
) -> tuple[Selection, ...]:
    """On an eased day, steps from which the usual one is within reach again the next time."""
    if record.base_demand is None:
        return choices
    near = record.base_demand / LARGEST_RISE
    kept = [c for c in choices if c.step.demand >= near and c.predicted_left >= target.low]
    return (*kept, *(choice for choice in choices if choice not in kept))


def _balance_choice(
    client: Client, bounds: Bounds, record: FamilyRecord, catalogue: Catalogue | None
) -> tuple[Selection, ...]:
    """The easiest hold first; longer, then harder, after two holds without a touch."""
    last = record.last
    if last is None:
        step = bounds.allowed[0]
        return (Selection(step, amounts_for(client, step, catalogue).low, 0.0, 0.0),)
    at_or_under = [s for s in bounds.allowed if s.demand <= last.demand * (1 + 1e-9)]
    step = at_or_under[-1] if at_or_under else bounds.allowed[0]
    amounts = amounts_for(client, step, catalogue)
    amount = min(max(last.planned or amounts.low, amounts.low), amounts.high)
    if step.key == last.step_key and record.good_holds >= GOOD_HOLDS_FOR_A_STEP:
        above = [s for s in bounds.allowed if s.demand > last.demand]
        if amount < amounts.high:
            amount = min(amount + 2 * amounts.step, amounts.high)
        elif above:
            step = above[0]
            amount = amounts_for(client, step, catalogue).low
    return (Selection(step, amount, 0.0, 0.0),)


def build(
    client: Client,
    choices: Sequence[Selection],
    bounds: Bounds,
    record: FamilyRecord,
    target: LeftTarget,
    day: DayOrder,
    catalogue: Catalogue | None,
    *,
    explain: bool = True,
) -> Prescription:
    """A prescription of the first choice, with reasons and all that was considered."""
    chosen = choices[0]
    step = chosen.step
    amounts = amounts_for(client, step, catalogue)
    over_hole = step is bounds.across_hole
    amount = amounts.low if over_hole else chosen.amount
    spared_by_fewer = (chosen.amount - amount) / amounts.per_left
    sets = _sets(client, step, record, day, catalogue)
    return Prescription(
        family=step.family,
        step=step,
        sets=1 if over_hole else sets,
        low=amounts.low,
        high=amounts.high,
        amount=amount,
        unit=amounts.unit,
        stop_at_left=target.stop_at,
        left_target=target.range,
        predicted_left=max(0.0, chosen.expected_left + spared_by_fewer),
        effort=_effort(target, day),
        talk_test=TalkTest.SINGING if day.ease_off else TalkTest.FULL_SENTENCES,
        reasons=dose_reasons(client, step, amount, bounds, record, day),
        considered=considered_steps(choices, bounds, target.range) if explain else (),
        day_shift=day.expected_shift,
        eased=day.ease_off,
        tell_coach=over_hole,
    )


def _sets(
    client: Client,
    step: LadderStep,
    record: FamilyRecord,
    day: DayOrder,
    catalogue: Catalogue | None,
) -> int:
    """One set while new (Fragala 2019) and on an ease-off day at most one less than usual."""
    rung = catalogue.by_id.get(step.rung) if catalogue else None
    stated = rung.amounts.get(client.aim) if rung else None
    sets = stated.sets if stated else SETS_ESTABLISHED
    if record.first_sessions or record.first_time:
        return 1
    return max(1, sets - 1) if day.ease_off or record.after_gap else sets


def _effort(target: LeftTarget, day: DayOrder) -> EffortWords:
    if day.ease_off or target is LIGHT:
        return EffortWords.LIGHT
    return EffortWords.TIRING if target is ESTABLISHED else EffortWords.SOMEWHAT_TIRING


def forced_lowest(
    client: Client,
    steps: Sequence[LadderStep],
    day: DayOrder,
    catalogue: Catalogue | None = None,
) -> Prescription:
    """The easiest step, one light set at the fewest repetitions, for a caller who must have one.

    Used where every step is ruled out; the chat leaves the movement out instead.
    """
    step = next((one for one in steps if one.rung not in client.limits.forbidden), steps[0])
    amounts = amounts_for(client, step, catalogue)
    return Prescription(
        family=step.family,
        step=step,
        sets=1,
        low=amounts.low,
        high=amounts.high,
        amount=amounts.low,
        unit=amounts.unit,
        stop_at_left=LIGHT.stop_at,
        left_target=LIGHT.range,
        predicted_left=float(LIGHT.low),
        effort=EffortWords.LIGHT,
        talk_test=TalkTest.SINGING,
        reasons=(DoseReason(DoseCode.NOTHING_ALLOWED),),
        day_shift=day.expected_shift,
        eased=day.ease_off,
    )
