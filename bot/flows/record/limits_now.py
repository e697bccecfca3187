"""A plan against the client's limits of this moment, which may be newer than the plan."""

from collections.abc import Collection
from dataclasses import replace

from bot.flows.facts import ClientRecord
from core.dose.bounds import never_offered
from core.dose.prescription import DoseCode, DoseReason, LeftOut, Prescription, SessionPlan

FROM_LIMITS = (DoseCode.FORBIDDEN, DoseCode.SPARED, DoseCode.OVER_CEILING)
"""Rules that a coach's tap may change in the middle of a session; kit is not for them."""


def within_limits(
    plan: SessionPlan, record: ClientRecord, keep: Collection[int] = ()
) -> tuple[SessionPlan, tuple[int, ...]]:
    """The plan without the movements that may not be done any more, and their former places.

    Args:
        keep: places that stay whatever the limits say (a set that has been done already).
    """
    allowed: list[Prescription] = []
    left_out, out = list(plan.left_out), []
    for place, item in enumerate(plan.prescriptions):
        reason = None if place in keep else forbidden_now(item, record)
        if reason is None:
            allowed.append(item)
            continue
        out.append(place)
        left_out.append(LeftOut(item.family, reason))
    kept = replace(plan, prescriptions=tuple(allowed), left_out=tuple(left_out))
    return kept, tuple(out)


def forbidden_now(item: Prescription, record: ClientRecord) -> DoseReason | None:
    """What the limits of this moment have against a movement; None: nothing."""
    reason = never_offered(record.client, no_holds=False)(item.step)
    return reason if reason is not None and reason.code in FROM_LIMITS else None
