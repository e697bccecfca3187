"""Balance: where it begins, how it goes on one factor at a time, and what falls back after a break.

The dose says which steps a client may be offered (facts, kit, spares, slips); this says which of
them it is. Stance, hand and ground are factors; a step makes at most one of them harder.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from core.client.care import is_careful
from core.client.client import Client
from core.client.home_tests import HomeTest
from core.dose.bounds import Bounds, safe_bounds
from core.dose.family_record import (
    GOOD_HOLDS_FOR_A_STEP,
    MOST_PAIN_OF_A_GOOD_SET,
    FamilyRecord,
)
from core.dose.history import SetDone
from core.dose.home_test_word import HomeTestDone
from core.dose.prescribe import TURN_LOW, amounts_for, with_spares
from core.dose.prescription import (
    Considered,
    DoseChoice,
    DoseCode,
    DoseReason,
    Prescription,
    SessionPlan,
)
from core.dose.session import Today
from core.mechanics.pose_input import HAND_SUPPORT
from core.movements.dials import SOFT
from core.movements.ladder import LadderStep
from core.vocabulary import Family, WalkingAid

HAND_ON_AFTER: Final = timedelta(weeks=2)
STANCE_DOWN_AFTER: Final = timedelta(weeks=4)
BEGIN_ANEW_AFTER: Final = timedelta(weeks=8)
"""Balance fades: half of it was lost twelve weeks after training (Vogler 2012); the weeks are ours,
on the careful side of what was kept at eight (Modaberi 2021)."""

HOLDS: Final = 3
HOLDS_OF_NEED: Final = 4
"""Holds a session, each side counted once, of whoever is steady and of whoever needs balance most:
with the rests four minutes, and five or more (ours)."""
REST_SECONDS: Final = 60.0
FIVE_MINUTES: Final = 5.0
"""Of balance on a training day of somebody who needs it, the rests counted, where the time is."""
OLDER_FROM: Final = 65
"""Balance on three or more days a week is for people from this age on (WHO 2020)."""
LARGEST_BY_FACTOR: Final = 1.4
"""Most demand of the next step by one factor, of the one before (ours)."""
_TOO_FAR: Final = frozenset({DoseCode.ACROSS_HOLE, DoseCode.STEP_TOO_LARGE})
LONG_HOLD_SECONDS: Final = 30
"""Who may be alone stands free on a narrow base only after such a hold with a hand on something."""

STANCES: Final[Mapping[str, int]] = {
    "balance_apart": 0,
    "balance_shift": 0,
    "balance_together": 1,
    "balance_together_chair": 1,
    "balance_together_table": 1,
    "balance_head_turns": 1,
    "balance_side_steps": 1,
    "balance_half_step_task": 2,
    "balance_back_steps": 2,
    "balance_half_step": 2,
    "balance_half_step_chair": 2,
    "balance_half_step_table": 2,
    "balance_heel_to_toe": 3,
    "balance_heel_to_toe_chair": 3,
    "balance_heel_to_toe_table": 3,
    "balance_line_walk": 3,
    "balance_one_leg": 4,
    "balance_one_leg_chair": 4,
    "balance_one_leg_table": 4,
    "balance_one_leg_reach": 4,
    "balance_one_leg_reach_chair": 4,
    "balance_one_leg_reach_table": 4,
}
"""How narrow a rung stands: half-step before heel-to-toe before one leg (sway of standing trials).
A rung that is not known stands the narrowest."""
_NARROWEST: Final = 5
_HALF_STEP: Final = 2
_ROUNDING: Final = 0.1
MOVING: Final = frozenset(
    {
        "balance_shift",
        "balance_head_turns",
        "balance_side_steps",
        "balance_half_step_task",
        "balance_back_steps",
        "balance_line_walk",
        "balance_one_leg_reach",
        "balance_one_leg_reach_chair",
        "balance_one_leg_reach_table",
    }
)
"""Rungs that add a movement, steps or a task; none is a beginning."""

BACKWARD: Final = frozenset({"balance_back_steps"})
"""Only with somebody there (common practice)."""

START_BY_SECONDS: Final = (
    (20.0, 4, "fingertips"),
    (10.0, 3, "none"),
    (5.0, 3, "fingertips"),
    (0.0, 2, "one_hand"),
)
"""Seconds on one leg, from which on: stance and hand to begin with (common practice; under five
seconds is the published sign of risk). Without a test the easiest of all."""


def needs_much_balance(client: Client, on: date) -> bool:
    """Whether falls are near: 65 years, a fall, an aid, the fear of a fall, or in doubt."""
    steady = client.falls == 0 and client.walking_aid is WalkingAid.NONE
    return not steady or bool(client.fears_falling) or client.age_in(on.year) >= OLDER_FROM


def holds_of(client: Client, on: date) -> int:
    """Holds of a session, where there is time."""
    return HOLDS_OF_NEED if needs_much_balance(client, on) else HOLDS


def stance_of(step: LadderStep) -> int:
    """How narrow, 0 feet apart .. 4 one leg."""
    return STANCES.get(step.rung, _NARROWEST)


def hand_of(step: LadderStep) -> float:
    """Share of body weight that the hand may carry: 0 for none."""
    return HAND_SUPPORT[str(step.dial.get("support", "none"))]


def harder_factors(step: LadderStep, than: LadderStep) -> int:
    """How many of stance, hand, ground and movement are harder than in another step."""
    soft, softer_than = (SOFT[str(one.dial.get("soft", "firm"))] for one in (step, than))
    moves, moved = step.rung in MOVING, than.rung in MOVING
    return (
        (stance_of(step) > stance_of(than))
        + (hand_of(step) < hand_of(than))
        + (soft > softer_than)
        + (moves and not moved)
    )


def start_step(
    allowed: Sequence[LadderStep], tests: Sequence[HomeTestDone], since: date | None = None
) -> LadderStep:
    """Where balance begins: by the newest one-leg stand, else the easiest step.

    Args:
        allowed: easy to hard, not empty.
        since: tests before this day say nothing any more.
    """
    seconds = [
        done.result
        for done in sorted(tests, key=lambda one: one.on)
        if done.test is HomeTest.ONE_LEG_STAND and (since is None or done.on >= since)
    ]
    if not seconds:
        return allowed[0]
    stance, hand = next(row[1:] for row in START_BY_SECONDS if seconds[-1] >= row[0])
    fits = [
        step
        for step in allowed
        if stance_of(step) <= stance
        and hand_of(step) >= HAND_SUPPORT[hand]
        and step.rung not in MOVING
        and "soft" not in step.dial
    ]
    return max(fits, key=lambda step: (stance_of(step), step.demand), default=allowed[0])


def allowed_steps(today: Today) -> tuple[LadderStep, ...]:
    """What may be held today, easy to hard: the dose's bounds, and nothing free and narrow for
    somebody who may be alone, before a long hold of it with a hand on something.
    """
    client = with_spares(today.client, today.order.spared)
    record = today.record(Family.BALANCE)
    steps = today.painless_steps(Family.BALANCE)
    careful = is_careful(client, today.order.cares)
    bounds = safe_bounds(client, steps, record, ease_off=today.order.ease_off, careful=careful)
    held = _held_long(today.history.of_family(Family.BALANCE))
    may = [step for step in steps if _may_alone(client, step, held)]
    by_factor = None if today.order.ease_off else _next_by_factor(bounds, may, record)
    known = {step.key for step in bounds.allowed}
    return tuple(step for step in may if step.key in known or step is by_factor)


def _next_by_factor(
    bounds: Bounds, steps: Sequence[LadderStep], record: FamilyRecord
) -> LadderStep | None:
    """The next step of one more factor that only the size of the step keeps away, when earned.

    A hold is not counted in repetitions left, so that the dose's own way up, by demand, often has
    only steps that change two factors at once; balance goes on by factors.
    """
    last = record.last
    before = next((step for step in steps if last and step.key == last.step_key), None)
    if before is None or last is None or record.good_holds < GOOD_HOLDS_FOR_A_STEP:
        return None
    above = [
        step
        for step in steps
        if before.demand < step.demand <= LARGEST_BY_FACTOR * before.demand
        and harder_factors(step, before) <= 1
    ]
    if any(step in bounds.allowed for step in above):
        return None
    kept_away = {step.key for step, why in bounds.ruled_out if why.code in _TOO_FAR}
    return next((step for step in above if step.key in kept_away), None)


def _may_alone(client: Client, step: LadderStep, held: frozenset[str]) -> bool:
    if step.rung in BACKWARD:
        return client.lives_alone is False
    free_and_narrow = stance_of(step) > _HALF_STEP and not hand_of(step)
    return client.lives_alone is False or not free_and_narrow or _plain(step.rung) in held


def _plain(rung: str) -> str:
    """A rung beside the bench and the same beside a chair or a table are one."""
    return rung.removesuffix("_chair").removesuffix("_table")


def _held_long(sets: Sequence[SetDone]) -> frozenset[str]:
    return frozenset(
        _plain(one.step_key.partition("@")[0])
        for one in sets
        if one.amount >= LONG_HOLD_SECONDS and not one.slip and one.pain <= MOST_PAIN_OF_A_GOOD_SET
    )


def balance_today(
    today: Today,
    current: Prescription,
    tests: Sequence[HomeTestDone],
    *,
    lighter: bool = False,
) -> Prescription:
    """Today's hold.

    Args:
        current: the one that the dose chose.
        tests: home tests, in any order.
        lighter: a week without a step up.
    """
    allowed = allowed_steps(today)
    if today.lightest or not allowed:
        return current
    step = _step_of(today, current, allowed, tests, lighter=lighter)
    amounts = amounts_for(today.client, step, today.catalogue)
    amount = current.amount if step.key == current.step.key else amounts.low
    if step.key != current.step.key:
        lately = [one for one in _clean_lately(today) if one.step_key == step.key]
        amount = max(amounts.low, min(lately[-1].amount, amounts.high)) if lately else amount
    holds = holds_of(today.client, today.order.on)
    sets = current.sets if today.order.ease_off else max(current.sets, holds)
    if _is_in_turn(today, step):
        current = replace(current, eased=True, reasons=(DoseReason(DoseCode.IN_TURN),))
    return replace(
        current,
        step=step,
        low=amounts.low,
        high=amounts.high,
        amount=amount,
        sets=sets,
        considered=_considered(current, step),
    )


def _considered(current: Prescription, step: LadderStep) -> tuple[Considered, ...]:
    """All that the dose looked at, with the step that is taken in place of its own."""
    harder = current.step.demand > step.demand
    left = DoseReason(DoseCode.STEADY_FIRST if harder else DoseCode.TOO_EASY_TODAY)
    taken = {current.step.key: left, step.key: None}
    return tuple(
        replace(one, ruled_out=taken[one.step_key]) if one.step_key in taken else one
        for one in current.considered
    )


def _step_of(
    today: Today,
    current: Prescription,
    allowed: Sequence[LadderStep],
    tests: Sequence[HomeTestDone],
    *,
    lighter: bool,
) -> LadderStep:
    earlier = [one for one in today.history.of_family(Family.BALANCE) if one.on < today.order.on]
    if not earlier:
        return start_step(allowed, tests)
    last = earlier[-1]
    away = today.order.on - last.on
    if away >= BEGIN_ANEW_AFTER:
        return start_step(allowed, tests, since=last.on)
    before = next((step for step in allowed if step.key == last.step_key), None)
    if away >= HAND_ON_AFTER:
        stance = STANCES.get(last.step_key.partition("@")[0], _NARROWEST)
        down = 1 if away >= STANCE_DOWN_AFTER else 0
        return _hardest(allowed, last.demand, stance - down, hand_on=True)
    top = _top_of_turns(today, allowed)
    if top is not None:
        return top
    if current.step not in allowed:
        return _hardest(allowed, current.step.demand, _NARROWEST, hand_on=False)
    if before is not None and current.step.demand > last.demand:
        return _one_factor_up(before, current.step, allowed)
    full = before is not None and last.amount >= _top(today, before)
    if before is not None and current.step.key == before.key and full and not lighter:
        up = _one_factor_up(before, before, allowed[allowed.index(before) + 1 :])
        return _other_in_turn(today, before, allowed) if up is before else up
    return current.step


def _other_in_turn(today: Today, before: LadderStep, allowed: Sequence[LadderStep]) -> LadderStep:
    """At the top, a movement, steps or a task in turn with the hold; the hold where none is."""
    if today.record(Family.BALANCE).good_holds < GOOD_HOLDS_FOR_A_STEP:
        return before
    others = [
        step
        for step in allowed
        if step.rung in MOVING
        and step.rung != before.rung
        and TURN_LOW * before.demand <= step.demand <= before.demand
    ]
    told = [one.step_key for one in today.history.of_family(Family.BALANCE)]
    longest_ago = {key: place for place, key in enumerate(told)}

    def turn(step: LadderStep) -> tuple[int, float]:
        return longest_ago.get(step.key, -1), -step.demand

    return min(others, key=turn, default=before)


def _is_in_turn(today: Today, step: LadderStep) -> bool:
    """Whether a step stands in for a harder one of the last time; no measure of what comes next."""
    lately = _clean_lately(today)
    easier = bool(lately) and step.demand < lately[-1].demand
    return easier and step.rung in MOVING and not today.order.ease_off


def _top_of_turns(today: Today, allowed: Sequence[LadderStep]) -> LadderStep | None:
    """The hold to come back to after a turn of something easier; ``None`` where that was none."""
    lately, record = _clean_lately(today), today.record(Family.BALANCE)
    if not lately or record.last is None or record.last.slip or record.today:
        return None
    top = max(lately, key=lambda one: one.demand)
    easier = record.last.step_key.partition("@")[0] in MOVING and record.last.demand < top.demand
    return next((step for step in allowed if easier and step.key == top.step_key), None)


def _clean_lately(today: Today) -> list[SetDone]:
    """Holds of two weeks before today; none where one of them slipped or hurt."""
    on = today.order.on
    lately = [
        one for one in today.history.of_family(Family.BALANCE) if on - HAND_ON_AFTER < one.on < on
    ]
    good = all(not one.slip and one.pain <= MOST_PAIN_OF_A_GOOD_SET for one in lately)
    return lately if good else []


def _top(today: Today, step: LadderStep) -> int:
    return amounts_for(today.client, step, today.catalogue).high


def _hardest(
    allowed: Sequence[LadderStep], demand: float, stance: int, *, hand_on: bool
) -> LadderStep:
    fits = [
        step
        for step in allowed
        if step.demand <= demand * (1 + 1e-9)
        and stance_of(step) <= max(stance, 0)
        and (not hand_on or hand_of(step) > 0)
    ]
    return fits[-1] if fits else allowed[0]


def _one_factor_up(
    before: LadderStep, wanted: LadderStep, allowed: Sequence[LadderStep]
) -> LadderStep:
    """The next step that makes one factor harder; the same one again where there is none."""
    above = [step for step in allowed if step.demand >= wanted.demand]
    return next((step for step in above if harder_factors(step, before) <= 1), before)


def harder_hold(today: Today, current: Prescription, tests: Sequence[HomeTestDone]) -> DoseChoice:
    """One factor harder where a client asks; one step over where it began, until it was held."""
    if today.order.ease_off or today.lightest:
        return DoseChoice(current, DoseReason(DoseCode.NOT_HARDER_TODAY))
    allowed = allowed_steps(today)
    above = [
        step
        for step in allowed
        if step.demand > current.step.demand and harder_factors(step, current.step) <= 1
    ]
    if not above:
        steps = today.painless_steps(Family.BALANCE)
        highest = not any(step.demand > current.step.demand for step in steps)
        code = DoseCode.ALREADY_HIGHEST if highest else DoseCode.STEADY_FIRST
        return DoseChoice(current, DoseReason(code))
    if today.record(Family.BALANCE).first_time and _went_up(current, allowed, tests):
        return DoseChoice(current, DoseReason(DoseCode.STEADY_FIRST))
    step = above[0]
    amounts = amounts_for(today.client, step, today.catalogue)
    percent = round(100.0 * (step.demand / current.step.demand - 1.0))
    reason = DoseReason(DoseCode.MADE_HARDER, {"percent": float(percent)})
    built = replace(
        current,
        step=step,
        low=amounts.low,
        high=amounts.high,
        amount=amounts.low,
        reasons=(reason,),
    )
    return DoseChoice(built, reason)


def _went_up(
    current: Prescription, allowed: Sequence[LadderStep], tests: Sequence[HomeTestDone]
) -> bool:
    return current.step.demand > start_step(allowed, tests).demand


def with_balance(
    plan: SessionPlan,
    today: Today,
    tests: Sequence[HomeTestDone],
    most_minutes: float | None = None,
) -> SessionPlan:
    """A plan with its hold chosen here; its further sets only where there is time for them.

    Args:
        most_minutes: of the whole session; ``None`` for no limit.
    """
    place = next(
        (at for at, one in enumerate(plan.prescriptions) if one.family is Family.BALANCE), None
    )
    if place is None:
        return plan
    current = plan.prescriptions[place]
    lighter = any(reason.code is DoseCode.LIGHTER_WEEK for reason in plan.reasons)
    chosen = balance_today(today, current, tests, lighter=lighter)
    if not (today.lightest or today.order.ease_off):
        chosen = replace(chosen, sets=max(chosen.sets, _holds_for_five_minutes(chosen, today)))
    around = plan.minutes - _minutes(current, today)
    while (
        chosen.sets > 1
        and most_minutes is not None
        and around + _minutes(chosen, today) > most_minutes
    ):
        chosen = replace(chosen, sets=chosen.sets - 1)
    minutes = around + _minutes(chosen, today)
    items = (*plan.prescriptions[:place], chosen, *plan.prescriptions[place + 1 :])
    return replace(plan, prescriptions=items, minutes=round(minutes))


def _holds_for_five_minutes(hold: Prescription, today: Today) -> int:
    """Holds that last as long, by the clock of whoever is not slow; none for who needs no more."""
    if not needs_much_balance(today.client, today.order.on):
        return 0
    one = _minutes(replace(hold, sets=1), replace(today, pace=1.0))
    return math.ceil(FIVE_MINUTES / one - _ROUNDING)


def _minutes(hold: Prescription, today: Today) -> float:
    rung = today.catalogue.by_id.get(hold.step.rung)
    sides = 2 if rung is not None and rung.each_side else 1
    return today.pace * hold.sets * (hold.amount * sides + REST_SECONDS) / 60.0
