"""An absolute rule beside the readiness score: what the day may be, who is told, and why."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from core.readiness.morning_questions import PainPlace
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, Sign


@dataclass(frozen=True, slots=True)
class AbsoluteRule:
    """One absolute rule that applies today.

    Attributes:
        plan: the hardest day that is still allowed.
        alert: how the coach is told; None means no alert.
        sign: the red-flag sign raised with the alert, where there is one.
        no_holds: no held or straining work today.
        spare_place: the place to spare today.
        numbers: by the name that the sentence uses.
    """

    code: DayReasonCode
    plan: DayPlan
    alert: AlertLevel | None = None
    sign: Sign | None = None
    no_holds: bool = False
    spare_place: PainPlace | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)


HARSHNESS = {DayPlan.AS_PLANNED: 0, DayPlan.EASE_OFF: 1, DayPlan.REST: 2}


def easier_of(one: DayPlan, other: DayPlan) -> DayPlan:
    """The easier of two day plans."""
    return max(one, other, key=HARSHNESS.__getitem__)
