"""Who hears of an alert now, why, and when it is looked at next: a pure decision.

Emergency: every 2 minutes, urgent: every 10, until somebody has seen it. The back-up coach joins
with the third repeat, the second road (e-mail, SMS) with the fifth, or with the third where there
is no back-up. Nobody is ever dropped once told.
"""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from core.vocabulary import AlertLevel

EVERY = {AlertLevel.EMERGENCY: timedelta(minutes=2), AlertLevel.URGENT: timedelta(minutes=10)}
BACKUP_FROM = 3
SECOND_ROAD_FROM = 5
SECOND_ROAD_WITHOUT_BACKUP_FROM = 3


class ChaseReason(StrEnum):
    """Why something is said now, or not."""

    FIRST = "first"
    REOPENED = "reopened"
    UNSEEN = "unseen"
    COACH_UNREACHABLE = "coach_unreachable"
    CANNOT_CALL = "cannot_call"
    NOT_CHASED = "not_chased"
    SEEN = "seen"


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an alert stands.

    Attributes:
        round: 1, and one more with each re-opening.
        told: how often it has been sent out in this round.
        cannot_call: the client cannot call for help and nobody has seen that yet.
    """

    level: AlertLevel
    round: int
    told: int
    seen: bool
    closed: bool
    cannot_call: bool
    coach_reachable: bool
    has_backup: bool
    has_second_road: bool


@dataclass(frozen=True, slots=True)
class Chase:
    """What to do now.

    Attributes:
        next_in: when to look again; ``None``: never.
    """

    reason: ChaseReason
    coach: bool = False
    backup: bool = False
    second_road: bool = False
    next_in: timedelta | None = None


def next_chase(alert: Standing) -> Chase:
    """Decide who is told now."""
    if alert.level is AlertLevel.MENTION:
        return Chase(ChaseReason.NOT_CHASED)
    if alert.seen or alert.closed:
        return Chase(ChaseReason.SEEN)
    # Whoever cannot call for help, or has a coach that cannot be reached, needs everybody now.
    everybody = alert.cannot_call or not alert.coach_reachable
    road_from = SECOND_ROAD_FROM if alert.has_backup else SECOND_ROAD_WITHOUT_BACKUP_FROM
    if not alert.coach_reachable:
        reason = ChaseReason.COACH_UNREACHABLE
    elif alert.cannot_call:
        reason = ChaseReason.CANNOT_CALL
    elif alert.told:
        reason = ChaseReason.UNSEEN
    else:
        reason = ChaseReason.FIRST if alert.round == 1 else ChaseReason.REOPENED
    return Chase(
        reason=reason,
        coach=True,
        backup=alert.has_backup and (everybody or alert.told >= BACKUP_FROM),
        second_road=alert.has_second_road
        and (alert.told >= road_from or (everybody and not alert.has_backup)),
        next_in=EVERY[alert.level],
    )
