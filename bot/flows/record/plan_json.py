"""Prescriptions as plain JSON values, for the record and for templates, and back."""

from collections.abc import Mapping
from typing import Any

from core.dose.history import Unit
from core.dose.prescription import (
    DoseCode,
    DoseReason,
    EffortWords,
    Prescription,
    SessionPlan,
    TalkTest,
)
from core.movements.ladder import LadderStep
from core.vocabulary import Family, Kit, Spare

Json = Mapping[str, Any]


def plan_json(plan: SessionPlan) -> dict[str, Any]:
    """A whole session."""
    return {
        "day": plan.day.value,
        "items": [prescription_json(item) for item in plan.prescriptions],
        "left_out": [
            {"family": left.family.value, "reason": reason_json(left.reason)}
            for left in plan.left_out
        ],
        "reasons": [reason_json(reason) for reason in plan.reasons],
        "minutes": plan.minutes,
        "warm_up_minutes": plan.warm_up_minutes,
        "cool_down_minutes": plan.cool_down_minutes,
        "slow_stand_ups": plan.slow_stand_ups,
    }


def prescription_json(item: Prescription) -> dict[str, Any]:
    """One movement of a session; ``considered`` is left out, core works it out anew when asked."""
    step = item.step
    return {
        "family": item.family.value,
        "rung": step.rung,
        "setting": [list(pair) for pair in step.setting],
        "key": step.key,
        "demand": step.demand,
        "step_unit": step.unit,
        "needs": [need.value for need in step.needs],
        "stresses": sorted(spare.value for spare in step.stresses),
        "hole_above": step.hole_above,
        "sets": item.sets,
        "low": item.low,
        "high": item.high,
        "amount": item.amount,
        "unit": item.unit.value,
        "stop_at_left": item.stop_at_left,
        "left_target": list(item.left_target),
        "predicted_left": item.predicted_left,
        "effort": item.effort.value,
        "talk_test": item.talk_test.value,
        "reasons": [reason_json(reason) for reason in item.reasons],
        "day_shift": item.day_shift,
        "eased": item.eased,
        "tell_coach": item.tell_coach,
    }


def prescription_of(data: Json) -> Prescription:
    """What :func:`prescription_json` gave."""
    low_left, high_left = data["left_target"]
    step = LadderStep(
        family=Family(data["family"]),
        rung=data["rung"],
        setting=tuple((name, value) for name, value in data["setting"]),
        demand=data["demand"],
        unit=data["step_unit"],
        needs=tuple(Kit(need) for need in data["needs"]),
        stresses=frozenset(Spare(spare) for spare in data["stresses"]),
        hole_above=data["hole_above"],
    )
    return Prescription(
        family=Family(data["family"]),
        step=step,
        sets=data["sets"],
        low=data["low"],
        high=data["high"],
        amount=data["amount"],
        unit=Unit(data["unit"]),
        stop_at_left=data["stop_at_left"],
        left_target=(low_left, high_left),
        predicted_left=data["predicted_left"],
        effort=EffortWords(data["effort"]),
        talk_test=TalkTest(data["talk_test"]),
        reasons=tuple(
            DoseReason(DoseCode(reason["code"]), reason["numbers"]) for reason in data["reasons"]
        ),
        day_shift=data["day_shift"],
        eased=data["eased"],
        tell_coach=data["tell_coach"],
    )


def reason_json(reason: DoseReason) -> dict[str, Any]:
    """Why, as code and numbers."""
    return {"code": reason.code.value, "numbers": dict(reason.numbers)}
