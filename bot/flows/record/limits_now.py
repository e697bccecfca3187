"""A plan against the client's limits of this moment, which may be newer than the plan."""

from collections.abc import Collection, Mapping
from typing import Any

from bot.flows.facts import ClientRecord
from bot.flows.record.plan_json import prescription_of, reason_json
from core.dose.bounds import never_offered
from core.dose.prescription import DoseCode

FROM_LIMITS = (DoseCode.FORBIDDEN, DoseCode.SPARED, DoseCode.OVER_CEILING)
"""Rules that a coach's tap may change in the middle of a session; kit is not for them."""


def within_limits(
    plan: Mapping[str, Any], record: ClientRecord, keep: Collection[int] = ()
) -> tuple[dict[str, Any], tuple[int, ...]]:
    """The plan without the movements that may not be done any more, and their former places.

    Args:
        keep: places that stay whatever the limits say (a set that has been done already).
    """
    never = never_offered(record.client, no_holds=False)
    items, left_out, out = [], list(plan["left_out"]), []
    for place, item in enumerate(plan["items"]):
        reason = None if place in keep else never(prescription_of(item).step)
        if reason is None or reason.code not in FROM_LIMITS:
            items.append(item)
            continue
        out.append(place)
        left_out.append({"family": item["family"], "reason": reason_json(reason)})
    return {**plan, "items": items, "left_out": left_out}, tuple(out)
