"""Where each client stands, in one word, for the coach's list."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.overload_watch import said
from core.client.screening import clearance_holds
from core.readiness.reasons import ReasonCode
from core.vocabulary import AlertLevel, DayPlan

LATE_AFTER = timedelta(hours=2)
"""So long after the check-in time, no answer counts as silence."""

MENTION_STANDS = timedelta(hours=24)


class Standing(StrEnum):
    """The one word, most pressing first. Names are in names.yaml, "status"."""

    NEEDS_YOU = "needs_you"
    ON_HOLD = "on_hold"
    SILENT = "silent"
    EASED_OFF = "eased_off"
    JOINING = "joining"
    AWAY = "away"
    FINE = "fine"


class Because(StrEnum):
    """What is behind the word; a short phrase each in names.yaml, "because"."""

    ALERT_UNSEEN = "alert_unseen"
    ALERT_OPEN = "alert_open"
    TO_CLEAR = "to_clear"
    CLEARANCE_OVER = "clearance_over"
    MENTION = "mention"
    PAUSED = "paused"
    SEE_DOCTOR = "see_doctor"
    TOO_MUCH = "too_much"
    REST = "rest"
    EASE_OFF = "ease_off"
    NO_CHECKIN = "no_checkin"
    NO_CHECKIN_FOR_DAYS = "no_checkin_for_days"
    NOT_JOINED = "not_joined"
    AWAY = "away"
    CHECKED_IN = "checked_in"
    NOT_YET = "not_yet"


@dataclass(frozen=True, slots=True)
class ClientStanding:
    """One line of the coach's list."""

    record: ClientRecord
    standing: Standing
    because: Because


def standing_of(record: ClientRecord, facts: Facts) -> ClientStanding:
    """Where one client stands now."""
    because = _pressing(record, facts) or _quiet(record, facts)
    return ClientStanding(record, WORD[because], because)


def standings(facts: Facts) -> list[ClientStanding]:
    """All clients of this coach and those she stands in for, most pressing first."""
    order = list(Standing)
    found = [standing_of(record, facts) for record in facts.clients()]
    return sorted(found, key=lambda one: (order.index(one.standing), one.record.person.name))


def _pressing(record: ClientRecord, facts: Facts) -> Because | None:
    """What the coach must act on, and pauses."""
    today = record.person.local(facts.now).date()
    alert = facts.open_alert(record.id)
    if alert is not None and alert.seen_at is None:
        return Because.ALERT_UNSEEN
    if record.joined and not record.cleared:
        return Because.TO_CLEAR
    if record.cleared and not clearance_holds(record.client.clearance, today):
        return Because.CLEARANCE_OVER
    if facts.hold(record.id) is not None:
        return Because.PAUSED
    if alert is not None:
        return Because.ALERT_OPEN
    if not record.joined:
        return Because.NOT_JOINED
    mentions = facts.alerts([record.id], 2)
    if any(
        mention.level is AlertLevel.MENTION
        and mention.signs
        and mention.seen_at is None
        and facts.now - mention.raised_at < MENTION_STANDS
        for mention in mentions
    ):
        return Because.MENTION
    if record.away_until is not None and record.away_until >= today:
        return Because.AWAY
    return None


def _quiet(record: ClientRecord, facts: Facts) -> Because:
    """What the last check-ins say."""
    local = record.person.local(facts.now)
    today = facts.checkin(record.id, local.date())
    if today is not None and today.finished:
        return _of_day(today)
    due = local.replace(hour=record.client.checkin_at.hour, minute=record.client.checkin_at.minute)
    lately = facts.checkins(record.id, 1)
    clearance = record.client.clearance
    new_here = clearance is not None and (local.date() - clearance.on).days <= 1
    if not lately and not new_here:
        return Because.NO_CHECKIN_FOR_DAYS
    return Because.NO_CHECKIN if local >= due + LATE_AFTER else Because.NOT_YET


def _of_day(checkin: Checkin) -> Because:
    if said(checkin, ReasonCode.OVERLOAD_SEE_DOCTOR):
        return Because.SEE_DOCTOR
    if said(checkin, ReasonCode.OVERLOAD_DAY_OFF):
        return Because.TOO_MUCH
    if checkin.day_plan == DayPlan.REST:
        return Because.REST
    return Because.EASE_OFF if checkin.day_plan == DayPlan.EASE_OFF else Because.CHECKED_IN


WORD = {
    Because.ALERT_UNSEEN: Standing.NEEDS_YOU,
    Because.ALERT_OPEN: Standing.NEEDS_YOU,
    Because.TO_CLEAR: Standing.NEEDS_YOU,
    Because.CLEARANCE_OVER: Standing.NEEDS_YOU,
    Because.MENTION: Standing.NEEDS_YOU,
    Because.PAUSED: Standing.ON_HOLD,
    Because.SEE_DOCTOR: Standing.EASED_OFF,
    Because.TOO_MUCH: Standing.EASED_OFF,
    Because.REST: Standing.EASED_OFF,
    Because.EASE_OFF: Standing.EASED_OFF,
    Because.NO_CHECKIN: Standing.SILENT,
    Because.NO_CHECKIN_FOR_DAYS: Standing.SILENT,
    Because.NOT_JOINED: Standing.JOINING,
    Because.AWAY: Standing.AWAY,
    Because.CHECKED_IN: Standing.FINE,
    Because.NOT_YET: Standing.FINE,
}
