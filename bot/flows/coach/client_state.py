"""Where each client stands, in one word, for the coach's list."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TypedDict

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.overload_watch import said
from bot.flows.record.planning import restarts_on
from core.client.screening import clearance_holds
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan

LATE_AFTER = timedelta(hours=2)
"""So long after the check-in time, no answer counts as silence."""

MENTION_STANDS = timedelta(hours=24)


class ClientState(StrEnum):
    """The one word, most pressing first. Names are in names.yaml, "status"."""

    NEEDS_YOU = "needs_you"
    ON_HOLD = "on_hold"
    SILENT = "silent"
    EASED_OFF = "eased_off"
    JOINING = "joining"
    AWAY = "away"
    FINE = "fine"


class StateReason(StrEnum):
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
    AFTER_HOLD = "after_hold"
    CHECKED_IN = "checked_in"
    NOT_YET = "not_yet"


@dataclass(frozen=True, slots=True)
class ClientWithState:
    """One line of the coach's list."""

    record: ClientRecord
    state: ClientState
    because: StateReason


def state_of(record: ClientRecord, facts: Facts) -> ClientWithState:
    """Where one client stands now."""
    because = _pressing(record, facts) or _quiet(record, facts)
    return ClientWithState(record, WORD[because], because)


def client_states(facts: Facts) -> list[ClientWithState]:
    """All clients of this coach and those she stands in for, most pressing first."""
    order = list(ClientState)
    found = [state_of(record, facts) for record in facts.clients()]
    return sorted(found, key=lambda one: (order.index(one.state), one.record.person.name))


class ClientLine(TypedDict):
    """A client in a list, for the templates; ``coach``: whom the reader stands in for, or ""."""

    id: str
    name: str
    standing: str
    because: str
    left: bool
    coach: str


def line_of(one: ClientWithState, facts: Facts) -> ClientLine:
    """A client as a line of a list."""
    record = one.record
    return {
        "id": str(record.id),
        "name": record.person.name,
        "standing": one.state.value,
        "because": one.because.value,
        "left": record.person.left,
        "coach": "" if record.coach_id == facts.me.id else facts.person(record.coach_id).name,
    }


def _pressing(record: ClientRecord, facts: Facts) -> StateReason | None:
    """What the coach must act on, and pauses."""
    today = record.person.local(facts.now).date()
    alert = facts.open_alert(record.id)
    if alert is not None and alert.seen_at is None:
        return StateReason.ALERT_UNSEEN
    if alert is not None and record.person.left:
        return StateReason.ALERT_OPEN
    if record.joined and not record.cleared:
        return StateReason.TO_CLEAR
    if record.cleared and not clearance_holds(record.client.clearance, today):
        return StateReason.CLEARANCE_OVER
    if facts.hold(record.id) is not None:
        return StateReason.PAUSED
    if alert is not None:
        return StateReason.ALERT_OPEN
    if not record.joined:
        return StateReason.NOT_JOINED
    mentions = facts.alerts([record.id], 2)
    if any(
        mention.level is AlertLevel.MENTION
        and mention.signs
        and mention.seen_at is None
        and facts.now - mention.raised_at < MENTION_STANDS
        for mention in mentions
    ):
        return StateReason.MENTION
    if record.away_until is not None and record.away_until >= today:
        return StateReason.AWAY
    return None


def _quiet(record: ClientRecord, facts: Facts) -> StateReason:
    """What the last check-ins say."""
    local = record.person.local(facts.now)
    today = facts.checkin(record.id, local.date())
    if today is not None and today.finished:
        because = _of_day(today)
        eased = because is StateReason.CHECKED_IN and restarts_on(record, local.date(), facts)
        return StateReason.AFTER_HOLD if eased else because
    due = local.replace(hour=record.client.checkin_at.hour, minute=record.client.checkin_at.minute)
    lately = facts.checkins(record.id, 1)
    clearance = record.client.clearance
    new_here = clearance is not None and (local.date() - clearance.on).days <= 1
    if not lately and not new_here:
        return StateReason.NO_CHECKIN_FOR_DAYS
    return StateReason.NO_CHECKIN if local >= due + LATE_AFTER else StateReason.NOT_YET


def _of_day(checkin: Checkin) -> StateReason:
    if said(checkin, DayReasonCode.OVERLOAD_SEE_DOCTOR):
        return StateReason.SEE_DOCTOR
    if said(checkin, DayReasonCode.OVERLOAD_DAY_OFF):
        return StateReason.TOO_MUCH
    if checkin.day_plan == DayPlan.REST:
        return StateReason.REST
    return StateReason.EASE_OFF if checkin.day_plan == DayPlan.EASE_OFF else StateReason.CHECKED_IN


WORD = {
    StateReason.ALERT_UNSEEN: ClientState.NEEDS_YOU,
    StateReason.ALERT_OPEN: ClientState.NEEDS_YOU,
    StateReason.TO_CLEAR: ClientState.NEEDS_YOU,
    StateReason.CLEARANCE_OVER: ClientState.NEEDS_YOU,
    StateReason.MENTION: ClientState.NEEDS_YOU,
    StateReason.PAUSED: ClientState.ON_HOLD,
    StateReason.SEE_DOCTOR: ClientState.EASED_OFF,
    StateReason.TOO_MUCH: ClientState.EASED_OFF,
    StateReason.REST: ClientState.EASED_OFF,
    StateReason.EASE_OFF: ClientState.EASED_OFF,
    StateReason.AFTER_HOLD: ClientState.EASED_OFF,
    StateReason.NO_CHECKIN: ClientState.SILENT,
    StateReason.NO_CHECKIN_FOR_DAYS: ClientState.SILENT,
    StateReason.NOT_JOINED: ClientState.JOINING,
    StateReason.AWAY: ClientState.AWAY,
    StateReason.CHECKED_IN: ClientState.FINE,
    StateReason.NOT_YET: ClientState.FINE,
}
