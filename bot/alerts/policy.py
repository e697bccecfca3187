"""Who hears of an alert now, why, and when it is looked at next: a pure decision.

Emergency: every 2 minutes, urgent: every 10, until somebody has seen it. The back-up coach joins
with the third repeat, the second route (e-mail, SMS) with the fifth, or with the third where there
is no back-up; all of them at once where the client cannot call for help. Nobody is dropped before
somebody has seen it. A voice note or picture that could not be read, and words passed on outside an
alert, are told once; ten minutes later it is looked at whether that reached the coach.
"""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from core.vocabulary import AlertLevel

EVERY = {AlertLevel.EMERGENCY: timedelta(minutes=2), AlertLevel.URGENT: timedelta(minutes=10)}
BACKUP_FROM = 3
SECOND_ROUTE_FROM = 5
SECOND_ROUTE_WITHOUT_BACKUP_FROM = 3


class ChaseReason(StrEnum):
    """Why something is said now, or not."""

    FIRST = "first"
    REOPENED = "reopened"
    UNSEEN = "unseen"
    COACH_UNREACHABLE = "coach_unreachable"
    CANNOT_CALL = "cannot_call"
    NOT_CHASED = "not_chased"
    PASSED_ON = "passed_on"
    SEEN = "seen"


@dataclass(frozen=True, slots=True)
class AlertStatus:
    """Where an alert stands.

    Attributes:
        round: 1, and one more with each re-opening.
        sent_count: how often it has been sent out since somebody last saw it.
        cannot_call: the client cannot call for help and nobody has seen that yet.
        passed_on: a mention that the coach gets a message of, as the client was told.
    """

    level: AlertLevel
    round: int
    sent_count: int
    seen: bool
    closed: bool
    cannot_call: bool
    coach_reachable: bool
    has_backup: bool
    has_second_route: bool
    passed_on: bool = False


@dataclass(frozen=True, slots=True)
class Chase:
    """What to do now.

    Attributes:
        next_in: when to look again; ``None``: never.
    """

    reason: ChaseReason
    coach: bool = False
    backup: bool = False
    second_route: bool = False
    next_in: timedelta | None = None


def next_chase(alert: AlertStatus) -> Chase:
    """Decide who is told now."""
    if alert.seen or alert.closed:
        return Chase(ChaseReason.SEEN)
    if alert.level is AlertLevel.MENTION:
        return _passed_on(alert) if alert.passed_on else Chase(ChaseReason.NOT_CHASED)
    if not alert.coach_reachable:
        reason = ChaseReason.COACH_UNREACHABLE
    elif alert.cannot_call:
        reason = ChaseReason.CANNOT_CALL
    elif alert.sent_count:
        reason = ChaseReason.UNSEEN
    else:
        reason = ChaseReason.FIRST if alert.round == 1 else ChaseReason.REOPENED
    route_from = SECOND_ROUTE_FROM if alert.has_backup else SECOND_ROUTE_WITHOUT_BACKUP_FROM
    return Chase(
        reason=reason,
        coach=True,
        backup=backup_hears(alert),
        second_route=alert.has_second_route
        and (alert.sent_count >= route_from or alert.cannot_call or _reaches_nobody(alert)),
        next_in=EVERY[alert.level],
    )


def backup_hears(alert: AlertStatus) -> bool:
    """Whether the back-up coach is among those who are told of this alert by now."""
    return alert.has_backup and (_needs_everybody(alert) or alert.sent_count >= BACKUP_FROM)


def _needs_everybody(alert: AlertStatus) -> bool:
    """Whoever cannot call for help, or has a coach that cannot be reached, needs all at once."""
    return alert.cannot_call or not alert.coach_reachable


def _reaches_nobody(alert: AlertStatus) -> bool:
    return not (alert.coach_reachable or alert.has_backup)


def _passed_on(alert: AlertStatus) -> Chase:
    """Once to the coach; to the next person where that has not reached her."""
    if alert.sent_count and alert.coach_reachable:
        return Chase(ChaseReason.NOT_CHASED)
    return Chase(
        reason=ChaseReason.PASSED_ON,
        coach=alert.coach_reachable,
        backup=alert.has_backup and not alert.coach_reachable,
        second_route=alert.has_second_route and _reaches_nobody(alert),
        next_in=None if alert.sent_count else EVERY[AlertLevel.URGENT],
    )
