"""Why a client's plan is as it is: what was looked at, what ruled it out, what decided; as values.

The plan on record keeps what decided. What else was looked at is worked out again from the record
as it stood before that day's first set.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.limits_now import within_limits
from bot.flows.record.plan_json import plan_json, reason_json
from bot.flows.record.planning import Gate, is_away, planned, today_before, training_status_of
from core.dose.prescribe import prescribe
from core.dose.prescription import Considered, Prescription
from core.movements.ladder import LadderStep
from core.vocabulary import Family

LOOK_BACK_DAYS = 60
NEIGHBOURS = 3
"""Steps on each side of the chosen one that are listed one by one; the others are counted."""


@dataclass(frozen=True, slots=True)
class ShownPlan:
    """A plan that a coach may ask about, with the morning that it rests on."""

    on: date
    plan: Mapping[str, Any]
    checkin: Checkin


def shown_plan(record: ClientRecord, facts: Facts) -> ShownPlan | None:
    """Today's plan, also one that the client has not looked at yet; else the last one."""
    place = training_status_of(record, facts)
    planless = facts.session(record.id, place.today) is None
    if planless and place.gate is Gate.OPEN and place.checkin is not None:
        plan = plan_json(planned(record, place.checkin, facts))
        return ShownPlan(place.today, plan, place.checkin)
    for session in reversed(facts.sessions(record.id, LOOK_BACK_DAYS)):
        checkin = facts.checkin(record.id, session.on)
        if session.plan and checkin is not None and _is_known(session.plan, facts):
            plan = dict(session.plan)
            if session.on == place.today:
                plan, _ = within_limits(plan, record)
            return ShownPlan(session.on, plan, checkin)
    return None


def _is_known(plan: Mapping[str, Any], facts: Facts) -> bool:
    """Whether all its rungs still are in the catalogue; a practice may take its own out again."""
    return all(item["rung"] in facts.reference.catalogue.by_id for item in plan["items"])


def why_page(record: ClientRecord, shown: ShownPlan | None) -> dict[str, Any]:
    """All movements of the plan, each with what decided most."""
    values: dict[str, Any] = {"name": record.person.name, "on": None}
    if shown is None:
        return values
    return {
        **values,
        "on": shown.on,
        "day": shown.plan["day"],
        "reasons": shown.plan["reasons"],
        "items": shown.plan["items"],
        "left_out": shown.plan["left_out"],
    }


def why_movement(
    record: ClientRecord, shown: ShownPlan, family: Family, facts: Facts
) -> dict[str, Any]:
    """Everything about one movement of the plan."""
    item = next(one for one in shown.plan["items"] if one["family"] == family.value)
    anew, steps = _worked_out_anew(record, shown, family, facts)
    lines = _lines(anew.considered, steps) if anew else []
    at = next((place for place, line in enumerate(lines) if line["chosen"]), 0)
    near = lines[max(0, at - NEIGHBOURS) : at + NEIGHBOURS + 1]
    return {
        "name": record.person.name,
        "on": shown.on,
        "item": item,
        "first": _first_choice(anew, item),
        "near": near[::-1],
        "harder": _counted(lines[at + NEIGHBOURS + 1 :]),
        "easier": _counted(lines[: max(0, at - NEIGHBOURS)]),
        "count": len(lines),
        "day_shift": item["day_shift"],
    }


def _worked_out_anew(
    record: ClientRecord, shown: ShownPlan, family: Family, facts: Facts
) -> tuple[Prescription | None, Sequence[LadderStep]]:
    today = today_before(record, shown.checkin, facts, away=is_away(shown.plan))
    steps = today.steps(family)
    found = prescribe(
        today.client,
        steps,
        today.record(family),
        today.capacity,
        today.order,
        today.catalogue,
    )
    return found, steps


def _lines(considered: Sequence[Considered], steps: Sequence[LadderStep]) -> list[dict[str, Any]]:
    """The steps looked at, easy to hard."""
    known = {step.key: step for step in steps}
    return [
        {
            "rung": known[one.step_key].rung,
            "setting": known[one.step_key].setting,
            "seconds": known[one.step_key].unit == "seconds",
            "chosen": one.ruled_out is None,
            "reason": None if one.ruled_out is None else reason_json(one.ruled_out),
            "left": one.predicted_left,
        }
        for one in considered
        if one.step_key in known
    ]


def _counted(lines: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """How many steps each reason ruled out, most first."""
    found: dict[str, dict[str, Any]] = {}
    for line in lines:
        if line["reason"] is not None:
            one = found.setdefault(line["reason"]["code"], {"reason": line["reason"], "count": 0})
            one["count"] += 1
    return sorted(found.values(), key=lambda one: -one["count"])


def _first_choice(anew: Prescription | None, item: Mapping[str, Any]) -> dict[str, Any] | None:
    """What the rules chose before the client asked for a change, if she did."""
    if anew is None or anew.step.key == item["key"]:
        return None
    return {
        "rung": anew.step.rung,
        "setting": anew.step.setting,
        "reasons": [reason_json(reason) for reason in anew.reasons],
    }
