"""One movement of today as a card, and what becomes of it when the client asks for a change."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from bot.flows.changes import Change, RaiseAlert, SavePlan, TouchSession
from bot.flows.machine import Button, PictureRequest, Rows, Say, State, Turn, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.home_test_record import tests_of
from bot.flows.record.planning import Training, TrainingStatus, is_away, today_for
from bot.flows.record.steered import cautions_beside
from bot.json_values import JsonValue
from core.client.client import KitAtHome
from core.dose.adjustments import easier, harder, hurts, without_kit
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import Unit
from core.dose.prescription import (
    DoseChoice,
    DoseCode,
    DoseReason,
    LeftOut,
    Prescription,
    SessionPlan,
)
from core.movements.ladder import LadderStep
from core.programme.balance import harder_hold
from core.vocabulary import AlertLevel, Family, Kit, Spare

SLOT = "today"
WISHES = ("easier", "harder", "no_kit")
WATCH = "watch"
MORE, BACK = "more", "back"
"""The rest of a card, and its short face again."""
UNDO = "undo"
"""Takes the last set back."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A plan after a wish.

    Attributes:
        why: the reason to say.
        gone: the movement was left out of today.
    """

    plan: SessionPlan
    why: DoseReason
    instead: str
    gone: bool
    tell_coach: bool


def card(
    state: State,
    training: Training,
    *,
    why: DoseReason | None = None,
    before: LadderStep | None = None,
    rest_over: bool = False,
    more: bool = False,
) -> Say:
    """The card of the movement that ``state`` stands at, with its picture and buttons.

    Args:
        before: what the movement was until now.
        more: with how it goes in steps, and with the buttons that are needed less often.
    """
    at = int(state.answers["at"])
    plan, item = training.plan, training.items[at]
    running = bool(state.answers.get("running"))
    undo = running and bool(state.answers.get("undo")) and not rest_over
    wishes = _more_rows(running=running) if more else _wish_rows(running=running, undo=undo)
    rows = (*(_amount_rows(item) if running else ()), *wishes)
    if more and undo:
        rows = (*rows, *rows_of(UNDO))
    return Say(
        "today/card",
        {
            "item": item,
            "cautions": cautions_beside(training, item.step.rung),
            "number": at + 1,
            "of": len(plan.prescriptions),
            "why": why,
            "back": () if before is None else _turned_back(before, item.step),
            "instead": state.answers.get("instead", ""),
            "running": running,
            "more": more,
            "rest_first": bool(state.answers.get("rest_first")),
            "rest_over": rest_over,
            "noted": noted_of(state) if not rest_over else None,
            "middle": running and at == len(plan.prescriptions) // 2 and at > 0,
        },
        rows=rows,
        slot=SLOT,
        picture=PictureRequest(step_key=item.step.key, args={"family": item.family.value}),
    )


def noted_of(state: State) -> Mapping[str, JsonValue] | None:
    """The set before as it was understood of one line, for the next message; or ``None``."""
    noted = state.answers.get("noted")
    return noted if isinstance(noted, Mapping) else None


def turned(state: State, value: str, training: Training) -> Turn | None:
    """The card's other face, where one is asked for."""
    if value not in (MORE, BACK):
        return None
    return Turn(state, says=(card(state, training, more=value == MORE),))


def watch(state: State, plan: SessionPlan) -> Turn:
    """The movement that ``state`` stands at as a moving picture; nothing else changes."""
    item = plan.prescriptions[int(state.answers["at"])]
    moving = {"family": item.family.value, "moving": True}
    shown = PictureRequest(step_key=item.step.key, args=moving)
    return Turn(state, says=(Say("today/watch", {"item": item}, picture=shown),))


def changed(
    wish: str,
    training: Training,
    at: int,
    pain: tuple[Spare | None, int, bool] | None = None,
    *,
    careful_joint: bool = False,
) -> Changed:
    """The plan after "easier", "harder", "no_kit" or, with ``pain``, "hurts".

    Args:
        pain: where, how much (0 to 10), whether it is sharp.
        careful_joint: an operated joint can be meant, which stops sooner.

    Raises:
        ValueError: today's check-in is not there; the gate was not asked.
    """
    record, checkin = training.place.record, training.place.checkin
    if checkin is None:
        raise ValueError("a wish needs today's check-in")
    today = today_for(record, checkin, training.facts, away=is_away(training.plan))
    current = training.items[at]
    choice: DoseChoice
    if pain is not None:
        where, how_much, sharp = pain
        choice = hurts(today, current, where, how_much, sharp=sharp, careful_joint=careful_joint)
    elif wish == "easier":
        choice = easier(today, current)
    elif wish == "harder" and current.family is Family.BALANCE:
        choice = harder_hold(today, current, tests_of(record.answers))
    elif wish == "harder":
        choice = harder(today, current)
    else:
        choice = without_kit(today, current, _without(today.client.kit, current.step.needs))
    items = list(training.items)
    if choice.prescription is None:
        del items[at]
    else:
        items[at] = choice.prescription
    return Changed(
        plan=replace(training.plan, prescriptions=tuple(items)),
        why=choice.reason,
        instead=choice.instead.value if choice.instead else "",
        gone=choice.prescription is None,
        tell_coach=choice.tell_coach,
    )


def show_change(
    state: State,
    after: Changed,
    training: Training,
    changes: tuple[Change, ...] = (),
    *,
    where: str = "",
) -> Turn:
    """Keep the changed plan and show the new card, or say that the movement is left out.

    Args:
        where: the place that hurt, for the coach.
    """
    family = training.items[int(state.answers["at"])].family
    running = bool(state.answers.get("running"))
    changes = (*changes, keep_plan(after.plan, training, running=running))
    if after.tell_coach:
        changes = (*changes, coach_hears(training.place, after.why, family, where))
    state = state.at("move" if running else "card", instead=after.instead, rest_first=False)
    if after.gone:
        values = {"why": after.why, "instead": after.instead, "told": after.tell_coach}
        rows: Rows = ((Button("on"),), *(((Button("stop"),),) if running else ()))
        say = Say("session/left_out", values, rows=rows, slot=SLOT)
        return Turn(state.at("gone"), says=(say,), changes=changes)
    changed_training = replace(training, plan=after.plan)
    before = training.items[int(state.answers["at"])].step
    shown = card(state, changed_training, why=after.why, before=before)
    return Turn(state, says=(shown,), changes=changes)


def _turned_back(before: LadderStep, now: LadderStep) -> tuple[str, ...]:
    """Dials of one and the same rung that were turned and stand plain now.

    A plain setting goes without saying, but here it is what has changed.
    """
    if before.rung != now.rung:
        return ()
    turned = dict(now.setting)
    return tuple(name for name, _ in before.setting if name not in turned)


HURT = frozenset({DoseCode.PAIN_SUBSTITUTE, DoseCode.PAIN_EASIER})
ASKED_LIGHTER = HURT | {DoseCode.MADE_EASIER, DoseCode.KIT_SUBSTITUTE}
"""What a client asked for today and need not ask for again in another plan of the day."""


def with_wishes_kept(plan: SessionPlan, before: SessionPlan, *, away: bool) -> SessionPlan:
    """A new plan of the day, with the lighter movements that were asked for in the one before.

    Away from home only what needs no more than a chair and a wall is kept; a movement that hurt and
    whose lighter form needs more is left out. What was asked for stays in the plan as ``asked``.
    """
    lighter = (one for one in before.prescriptions if one.reasons[0].code in ASKED_LIGHTER)
    asked = {**before.asked, **{item.family: item for item in lighter}}
    items, left_out = [], list(plan.left_out)
    for item in plan.prescriptions:
        old = asked.get(item.family)
        at_hand = old is not None and (not away or set(old.step.needs) <= {Kit.CHAIR, Kit.WALL})
        if old is not None and at_hand and old.step.demand <= item.step.demand:
            items.append(old)
        elif old is not None and not at_hand and old.reasons[0].code in HURT:
            left_out.append(LeftOut(item.family, DoseReason(DoseCode.PAIN_NOT_SETTLED)))
        else:
            items.append(item)
    return replace(plan, prescriptions=tuple(items), left_out=tuple(left_out), asked=asked)


def keep_plan(plan: SessionPlan, training: Training, *, running: bool) -> SavePlan | TouchSession:
    """The change that keeps a plan: in the running session, or as the plan of the day."""
    if running and training.session is not None:
        return TouchSession(training.session.id, plan)
    return SavePlan(training.place.record.id, training.place.today, plan)


def coach_hears(
    place: TrainingStatus, why: DoseReason, family: Family, where: str = ""
) -> RaiseAlert:
    """A line on the coach's list about a change she must know of.

    Args:
        where: the place that hurt, as a sentence says it.
    """
    told = Reason("coach", "movement", {"family": family.value, "why": why, "where": where})
    return RaiseAlert(place.record.id, AlertLevel.MENTION, (), why=told, holds=False)


def _without(kit: KitAtHome, needs: tuple[Kit, ...]) -> KitAtHome:
    """The kit at home without what a movement needs."""
    return KitAtHome(
        chair=None if Kit.CHAIR in needs else kit.chair,
        bench=None if Kit.BENCH in needs else kit.bench,
        table=None if Kit.TABLE in needs else kit.table,
        step=None if Kit.STEP in needs else kit.step,
        bottle=None if Kit.BOTTLE in needs else kit.bottle,
        band=None if Kit.BAND in needs else kit.band,
        wall=kit.wall and Kit.WALL not in needs,
        mat=kit.mat and Kit.MAT not in needs,
        cushion=None if Kit.CUSHION in needs else kit.cushion,
    )


def _wish_rows(*, running: bool, undo: bool) -> Rows:
    """What is needed at once: whatever tells of harm never waits behind another button."""
    if running:
        return rows_of("easier hurts puffed", f"stop {UNDO} more" if undo else "stop more")
    return (*rows_of("easier hurts"), *rows_of("list more"))


def _more_rows(*, running: bool) -> Rows:
    """All that can be asked for; the count stays too, so that nobody has to find the way back."""
    wishes = rows_of("easier hurts", "harder no_kit")
    if running:
        return (*wishes, *rows_of("puffed leave_out", "watch stop", "back"))
    return (*wishes, *rows_of("watch list", "back"))


def _calibration_rows(item: Prescription) -> Rows:
    """Every amount from the fewest to the most; of seconds every fifth."""
    grain = 1 if item.unit is Unit.REPS else int(SECONDS_PER_LEFT)
    amounts = range(item.low, item.amount + 1, grain)
    buttons = [Button(f"did={amount}", label=str(amount)) for amount in amounts]
    return tuple(tuple(buttons[at : at + 5]) for at in range(0, len(buttons), 5))


def _amount_rows(item: Prescription) -> Rows:
    """Five amounts around the plan; the last stands for "or more". All of a calibration set."""
    if item.calibration:
        return _calibration_rows(item)
    planned, seconds = item.amount, item.unit is Unit.SECONDS
    step = max(5, planned // 5) if seconds else 1
    first = max(0 if seconds else 1, planned - 2 * step)
    amounts = [first + step * number for number in range(5)]
    buttons = tuple(
        Button(f"did={amount}", label=f"{amount}+" if number == 4 else str(amount))
        for number, amount in enumerate(amounts)
    )
    return (buttons,)
