"""A session's plan as it is stored, and back.

A stored movement holds its step's fields beside its own, the step's key and, as ``step_unit``, its
unit; the movements stand under ``items``. What was considered is left out: core works it out anew
when asked.
"""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, TypeAdapter

from core.dose.prescription import Prescription, SessionPlan

Stored = Mapping[str, Any]


def _nested(item: Stored) -> dict[str, Any]:
    """A stored movement with its step as a value of its own."""
    return {**item, "step": {**item, "unit": item["step_unit"]}}


def _read(stored: Stored) -> dict[str, Any]:
    asked = stored.get("asked", {})
    return {
        **stored,
        "prescriptions": [_nested(item) for item in stored["items"]],
        "asked": {family: _nested(item) for family, item in asked.items()},
    }


_PLAN: TypeAdapter[SessionPlan] = TypeAdapter(Annotated[SessionPlan, BeforeValidator(_read)])
_UNSTORED = {"prescriptions": {"__all__": {"considered"}}}


def plan_of(stored: Stored) -> SessionPlan | None:
    """The plan that :func:`stored_plan` gave; None for a row without one.

    Raises:
        ValueError: it is not a plan.
    """
    return _PLAN.validate_python(stored) if stored else None


def stored_plan(plan: SessionPlan) -> dict[str, Any]:
    """A whole session as a plain JSON value."""
    data: dict[str, Any] = _PLAN.dump_python(plan, mode="json", exclude=_UNSTORED)
    found = {"day": data.pop("day")}
    found["items"] = list(map(_flat, plan.prescriptions, data.pop("prescriptions")))
    asked = zip(plan.asked.values(), data.pop("asked").items(), strict=True)
    kept = {family: _flat(item, values) for item, (family, values) in asked}
    return {**found, **data, **({"asked": kept} if kept else {})}


def _flat(item: Prescription, data: dict[str, Any]) -> dict[str, Any]:
    """A movement with its step's fields beside its own."""
    step = data.pop("step")
    data.pop("considered", None)
    if not item.calibration:
        del data["calibration"]
    if not item.step.further_load:
        del step["further_load"]
    keyed = {"key": item.step.key, "step_unit": step["unit"], "stresses": sorted(step["stresses"])}
    return {**step, **keyed, **data}
