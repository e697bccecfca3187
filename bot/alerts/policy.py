"""Who hears of an alert now, why, and when it is looked at next: a pure decision.

Until somebody has seen it the coach hears of an emergency after 2, 2, 2, 2, 2, 5, 10 and 30
minutes, of an urgent alert after 10, 10, 10, 20 and 30, then hourly; every 2 minutes where the
client cannot call for help. The back-up coach and the second route (e-mail, SMS) join by the
minutes that nobody has seen it; all of them at once where the client cannot call. A new sign starts
the intervals anew and drops nobody who was told. The client hears that nobody has seen it, and what
to do meanwhile. A voice note or picture that could not be read, and words passed on outside an
alert, are told once; ten minutes later it is looked at whether that reached the coach. All
intervals are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from core.vocabulary import AlertLevel, Sign


def _minutes(*numbers: int) -> tuple[timedelta, ...]:
    return tuple(timedelta(minutes=number) for number in numbers)


COACH_HEARS_AFTER = {
    AlertLevel.EMERGENCY: _minutes(2, 2, 2, 2, 2, 5, 10, 30, 60),
    AlertLevel.URGENT: _minutes(10, 10, 10, 20, 30, 60),
}
"""Pauses between two messages to a coach; the last one for good."""

CANNOT_CALL_EVERY = timedelta(minutes=2)

BACKUP_FROM = {
    AlertLevel.EMERGENCY: timedelta(minutes=6),
    AlertLevel.URGENT: timedelta(minutes=30),
}
SECOND_ROUTE_FROM = {
    AlertLevel.EMERGENCY: timedelta(minutes=10),
    AlertLevel.URGENT: timedelta(minutes=50),
}
SECOND_ROUTE_WITHOUT_BACKUP_FROM = BACKUP_FROM

CLIENT_HEARS_AFTER = {
    AlertLevel.EMERGENCY: _minutes(10, 20, 60, 180),
    AlertLevel.URGENT: _minutes(30, 90, 360),
}
"""Pauses until the client is told (again) that nobody has seen it; the last one for good."""

LOOKED_AT_AGAIN = timedelta(minutes=10)
"""When it is seen to whether words that were passed on have reached the coach."""


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


class UnseenText(StrEnum):
    """What a client reads while nobody has seen the alert: a template of ``safety``."""

    EMERGENCY = "unseen_emergency"
    URGENT = "unseen_urgent"
    FOR_OTHER = "unseen_for_other"
    CARE = "unseen_care"


@dataclass(frozen=True, slots=True)
class AlertStatus:
    """Where an alert stands.

    Attributes:
        round: 1, and one more with each re-opening.
        sent_count: how often it has been sent out since its newest sign.
        waited: how long nobody has seen it.
        cannot_call: the client cannot call for help and nobody has seen that yet.
        backup_told: the stand-in has been told while nobody had seen it.
        passed_on: a mention that the coach gets a message of, as the client was told.
        untold: what was last to be said of it reached nobody.
        coach_away: the coach has said that she is away: her stand-in hears at once, beside her.
    """

    level: AlertLevel
    round: int
    sent_count: int
    waited: timedelta
    seen: bool
    closed: bool
    cannot_call: bool
    coach_reachable: bool
    has_backup: bool
    has_second_route: bool
    backup_told: bool = False
    passed_on: bool = False
    untold: bool = False
    coach_away: bool = False


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
    return Chase(
        reason=reason,
        coach=True,
        backup=backup_hears(alert),
        second_route=alert.has_second_route
        and (
            alert.cannot_call or _reaches_nobody(alert) or alert.waited >= _second_route_from(alert)
        ),
        next_in=_next_in(alert),
    )


def backup_hears(alert: AlertStatus) -> bool:
    """Whether the back-up coach is among those who are told of this alert by now."""
    if not alert.has_backup:
        return False
    due = alert.level is not AlertLevel.MENTION and alert.waited >= BACKUP_FROM[alert.level]
    return _needs_everybody(alert) or alert.coach_away or alert.backup_told or due


def client_hears_after(level: AlertLevel, told: int) -> timedelta:
    """How long until the client hears (again) that nobody has seen an urgent alert or emergency.

    Args:
        told: how often that was said since the newest sign.
    """
    return _nth(CLIENT_HEARS_AFTER[level], told)


def unseen_text(level: AlertLevel, signs: Sequence[Sign], *, for_other: bool) -> UnseenText | None:
    """What the client reads while nobody has seen it; ``None``: nothing may be said on this phone.

    Where the danger may be at home somebody may read along. Whoever despairs gets words of care.
    """
    if level is AlertLevel.MENTION or Sign.ABUSE in signs:
        return None
    if for_other:
        return UnseenText.FOR_OTHER
    if Sign.SELF_HARM in signs:
        return UnseenText.CARE
    return UnseenText.EMERGENCY if level is AlertLevel.EMERGENCY else UnseenText.URGENT


def _next_in(alert: AlertStatus) -> timedelta:
    """The next interval; earlier where somebody else is to be told before it ends."""
    if alert.cannot_call:
        return CANNOT_CALL_EVERY
    pause = _nth(COACH_HEARS_AFTER[alert.level], alert.sent_count)
    joining = [
        *((BACKUP_FROM[alert.level],) if alert.has_backup else ()),
        *((_second_route_from(alert),) if alert.has_second_route else ()),
    ]
    earlier: list[timedelta] = [at - alert.waited for at in joining if at > alert.waited]
    return min([pause, *earlier])


def _nth(pauses: Sequence[timedelta], number: int) -> timedelta:
    return pauses[min(number, len(pauses) - 1)]


def _second_route_from(alert: AlertStatus) -> timedelta:
    table = SECOND_ROUTE_FROM if alert.has_backup else SECOND_ROUTE_WITHOUT_BACKUP_FROM
    return table[alert.level]


def _needs_everybody(alert: AlertStatus) -> bool:
    """Whoever cannot call for help, or has a coach that cannot be reached, needs all at once."""
    return alert.cannot_call or not alert.coach_reachable


def _reaches_nobody(alert: AlertStatus) -> bool:
    return not (alert.coach_reachable or alert.has_backup)


def _passed_on(alert: AlertStatus) -> Chase:
    """Once to the coach; to the next person where that has not reached her."""
    if alert.sent_count and alert.coach_reachable and not alert.untold:
        return Chase(ChaseReason.NOT_CHASED)
    return Chase(
        reason=ChaseReason.PASSED_ON,
        coach=alert.coach_reachable,
        backup=alert.has_backup and (alert.coach_away or not alert.coach_reachable),
        second_route=alert.has_second_route and _reaches_nobody(alert),
        next_in=None if alert.sent_count else LOOKED_AT_AGAIN,
    )
