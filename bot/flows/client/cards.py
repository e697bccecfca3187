"""One movement of today as a card, and what becomes of it when the client asks for a change."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bot.flows.changes import Change, RaiseAlert, SavePlan, TouchSession
from bot.flows.machine import Button, PictureRequest, Rows, Say, State, Turn
from bot.flows.record.plan_json import prescription_json, prescription_of, reason_json
from bot.flows.record.planning import Training, TrainingStatus, is_away, today_for
from core.client.client import KitAtHome
from core.dose.adjustments import easier, harder, hurts, without_kit
from core.dose.prescription import DoseChoice, DoseCode, DoseReason
from core.vocabulary import AlertLevel, Kit, Spare

SLOT = "today"
WISHES = ("easier", "harder", "no_kit")
WATCH = "watch"
MOST_REPS_SHOWN = 2
"""Buttons above the planned amount; the last of them stands for "or more"."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A plan after a wish.

    Attributes:
        why: the reason to say, as code and numbers.
        gone: the movement was left out of today.
    """

    plan: dict[str, Any]
    why: Mapping[str, Any]
    instead: str
    gone: bool
    tell_coach: bool


def card(
    state: State,
    plan: Mapping[str, Any],
    *,
    why: Mapping[str, Any] | None = None,
    rest_over: bool = False,
) -> Say:
    """The card of the movement that ``state`` stands at, with its picture and buttons."""
    at = int(state.answers["at"])
    item = plan["items"][at]
    running = bool(state.answers.get("running"))
    rows = (*(_amount_rows(item) if running else ()), *_wish_rows(running=running))
    return Say(
        "today/card",
        {
            "item": item,
            "number": at + 1,
            "of": len(plan["items"]),
            "why": why,
            "instead": state.answers.get("instead", ""),
            "running": running,
            "rest_first": bool(state.answers.get("rest_first")),
            "rest_over": rest_over,
            "middle": running and at == len(plan["items"]) // 2 and at > 0,
            "day": plan["day"],
        },
        rows=rows,
        slot=SLOT,
        picture=PictureRequest(step_key=item["key"], args={"family": item["family"]}),
    )


def watch(state: State, plan: Mapping[str, Any]) -> Turn:
    """The movement that ``state`` stands at as a moving picture; nothing else changes."""
    item = plan["items"][int(state.answers["at"])]
    moving = {"family": item["family"], "moving": True}
    shown = PictureRequest(step_key=item["key"], args=moving)
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
    current = prescription_of(training.items[at])
    choice: DoseChoice
    if pain is not None:
        where, how_much, sharp = pain
        choice = hurts(today, current, where, how_much, sharp=sharp, careful_joint=careful_joint)
    elif wish == "easier":
        choice = easier(today, current)
    elif wish == "harder":
        choice = harder(today, current)
    else:
        choice = without_kit(today, current, _without(today.client.kit, current.step.needs))
    items = list(training.items)
    if choice.prescription is None:
        del items[at]
    else:
        items[at] = prescription_json(choice.prescription)
    return Changed(
        plan={**training.plan, "items": items},
        why=reason_json(choice.reason),
        instead=choice.instead.value if choice.instead else "",
        gone=choice.prescription is None,
        tell_coach=choice.tell_coach,
    )


def show_change(
    state: State, after: Changed, training: Training, changes: tuple[Change, ...] = ()
) -> Turn:
    """Keep the changed plan and show the new card, or say that the movement is left out."""
    family = training.items[int(state.answers["at"])]["family"]
    running = bool(state.answers.get("running"))
    changes = (*changes, keep_plan(after.plan, training, running=running))
    if after.tell_coach:
        changes = (*changes, coach_hears(training.place, after.why, family))
    state = state.at("move" if running else "card", instead=after.instead, rest_first=False)
    if after.gone:
        values = {"why": after.why, "instead": after.instead, "told": after.tell_coach}
        rows: Rows = ((Button("on"),), *(((Button("stop"),),) if running else ()))
        say = Say("session/left_out", values, rows=rows, slot=SLOT)
        return Turn(state.at("gone"), says=(say,), changes=changes)
    return Turn(state, says=(card(state, after.plan, why=after.why),), changes=changes)


HURT = frozenset({DoseCode.PAIN_SUBSTITUTE, DoseCode.PAIN_EASIER})
ASKED_LIGHTER = HURT | {DoseCode.MADE_EASIER, DoseCode.KIT_SUBSTITUTE}
"""What a client asked for today and need not ask for again in another plan of the day."""


def with_wishes_kept(
    plan: dict[str, Any], before: Mapping[str, Any], *, away: bool
) -> dict[str, Any]:
    """A new plan of the day, with the lighter movements that were asked for in the one before.

    Away from home only what needs no more than a chair and a wall is kept; a movement that hurt and
    whose lighter form needs more is left out. All that was asked for stays in the plan as "asked".
    """
    lighter = (one for one in before["items"] if one["reasons"][0]["code"] in ASKED_LIGHTER)
    asked = {**before.get("asked", {}), **{item["family"]: item for item in lighter}}
    items, left_out = [], list(plan["left_out"])
    for item in plan["items"]:
        old = asked.get(item["family"])
        at_hand = old is not None and (not away or set(old["needs"]) <= {Kit.CHAIR, Kit.WALL})
        if old is not None and at_hand and old["demand"] <= item["demand"]:
            items.append(old)
        elif old is not None and not at_hand and old["reasons"][0]["code"] in HURT:
            reason = reason_json(DoseReason(DoseCode.PAIN_NOT_SETTLED))
            left_out.append({"family": item["family"], "reason": reason})
        else:
            items.append(item)
    return {**plan, "items": items, "left_out": left_out, "asked": asked}


def keep_plan(
    plan: Mapping[str, Any], training: Training, *, running: bool
) -> SavePlan | TouchSession:
    """The change that keeps a plan: in the running session, or as the plan of the day."""
    if running and training.session is not None:
        return TouchSession(training.session.id, plan)
    return SavePlan(training.place.record.id, training.place.today, plan)


def coach_hears(place: TrainingStatus, why: Mapping[str, Any], family: str) -> RaiseAlert:
    """A line on the coach's list about a change she must know of."""
    told = {"group": "coach", "code": "movement", "numbers": {"family": family, "why": dict(why)}}
    return RaiseAlert(place.record.id, AlertLevel.MENTION, (), why=told, holds=False)


def _without(kit: KitAtHome, needs: tuple[Kit, ...]) -> KitAtHome:
    """The kit at home without what a movement needs."""
    missing: dict[str, Any] = {
        need.value: False if need in (Kit.WALL, Kit.MAT) else None for need in needs
    }
    return replace(kit, **missing)


def _wish_rows(*, running: bool) -> Rows:
    rows: Rows = (
        (Button("easier"), Button("harder")),
        (Button("hurts"), Button("no_kit")),
    )
    if running:
        return (*rows, (Button(WATCH), Button("puffed")), (Button("leave_out"), Button("stop")))
    return (*rows, (Button(WATCH), Button("list")))


def _amount_rows(item: Mapping[str, Any]) -> Rows:
    """Five amounts around the plan; the last stands for "or more"."""
    planned, seconds = int(item["amount"]), item["unit"] == "seconds"
    step = max(5, planned // 5) if seconds else 1
    first = max(0 if seconds else 1, planned - 2 * step)
    amounts = [first + step * number for number in range(5)]
    buttons = tuple(
        Button(f"did={amount}", label=f"{amount}+" if number == 4 else str(amount))
        for number, amount in enumerate(amounts)
    )
    return (buttons,)
