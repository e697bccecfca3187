"""Where each client stands, in one word and why, for the coach's list."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from typing import TypedDict

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.overload_watch import said
from bot.flows.record.paused import pause_until
from bot.flows.record.planning import restarts_on
from bot.flows.record.walks import walked_lately
from core.client.screening import clearance_holds
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan

LATE_AFTER = timedelta(hours=2)
"""So long after the check-in time, no answer counts as silence."""

MENTION_STANDS = timedelta(hours=24)

SILENCE_LOOKED_BACK = 90
"""Days within which the last check-in is looked for."""

CLEARANCE_ENDS_SOON = timedelta(days=14)
"""So long before its end a clearance is named on the list."""


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
    """What is behind the word, most pressing first; a phrase each in ``reasons/standing.yaml``."""

    ALERT_UNSEEN = "alert_unseen"
    ALERT_OPEN = "alert_open"
    TO_CLEAR = "to_clear"
    CLEARANCE_OVER = "clearance_over"
    MENTION = "mention"
    PAUSE_OVER = "pause_over"
    PAUSED = "paused"
    SEE_DOCTOR = "see_doctor"
    TOO_MUCH = "too_much"
    REST = "rest"
    EASE_OFF = "ease_off"
    REST_BEFORE = "rest_before"
    EASE_OFF_BEFORE = "ease_off_before"
    NO_CHECKIN_FOR_DAYS = "no_checkin_for_days"
    NO_CHECKIN_YET = "no_checkin_yet"
    NO_CHECKIN_YESTERDAY = "no_checkin_yesterday"
    NO_CHECKIN = "no_checkin"
    NOT_JOINED = "not_joined"
    AWAY = "away"
    AFTER_HOLD = "after_hold"
    CHECKED_IN = "checked_in"
    NOT_YET = "not_yet"


@dataclass(frozen=True, slots=True)
class ClientWithState:
    """One line of the coach's list.

    Attributes:
        because, numbers: the phrase behind the word, and what it names (days, signs).
        clearance_ends: when the clearance runs out, where that is soon.
    """

    record: ClientRecord
    state: ClientState
    because: StateReason
    numbers: Mapping[str, int | list[str]] = field(default_factory=dict)
    clearance_ends: date | None = None


def state_of(record: ClientRecord, facts: Facts) -> ClientWithState:
    """Where one client stands now."""
    because = _pressing(record, facts) or _quiet(record, facts)
    numbers = _numbers(because, record, facts)
    return ClientWithState(record, WORD[because], because, numbers, _ends_soon(record, facts))


def client_states(facts: Facts) -> list[ClientWithState]:
    """All clients of this coach and those she stands in for, most pressing first."""
    words, reasons = list(ClientState), list(StateReason)

    def place(one: ClientWithState) -> tuple[int, int, str]:
        return words.index(one.state), reasons.index(one.because), one.record.person.name

    return sorted((state_of(record, facts) for record in facts.clients()), key=place)


class ClientLine(TypedDict):
    """A client in a list, for the templates.

    Attributes:
        walked: minutes in the last seven days.
        coach: whom the reader stands in for, or "".
    """

    id: str
    name: str
    standing: str
    because: str
    numbers: Mapping[str, int | list[str]]
    clearance_ends: date | None
    walked: int
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
        "numbers": one.numbers,
        "clearance_ends": one.clearance_ends,
        "walked": walked_lately(record, facts),
        "left": record.person.left,
        "coach": "" if record.coach_id == facts.me.id else facts.person(record.coach_id).name,
    }


def _numbers(
    because: StateReason, record: ClientRecord, facts: Facts
) -> Mapping[str, int | list[str]]:
    """What the phrase names: since how many days, and after which signs."""
    today = record.person.local(facts.now).date()
    if because is StateReason.PAUSED and (hold := facts.hold(record.id)) is not None:
        since = record.person.local(hold.placed_at).date()
        until = pause_until(record)
        told = [until.strftime("%d %b")] if until is not None else []
        signs = [sign.value for sign in hold.signs]
        return {"days": (today - since).days, "signs": signs, "until": told}
    if because is StateReason.AWAY and record.away_until is not None:
        return {"until": [record.away_until.strftime("%d %b")]}
    if because is StateReason.NO_CHECKIN_FOR_DAYS:
        return {"days": _silent_days(record, today, facts)}
    return {}


def _silent_days(record: ClientRecord, today: date, facts: Facts) -> int:
    """Days since the last check-in, or since a holiday or pause after it; 0: beyond the look back.

    Neither a holiday nor a pause asks for a check-in: its days are no silence.
    """
    found = facts.checkins(record.id, SILENCE_LOOKED_BACK)
    away = record.away_until
    ends = [one.on for one in found[-1:]]
    if away is not None and timedelta() < today - away < timedelta(days=SILENCE_LOOKED_BACK):
        ends.append(away)
    lifts = facts.lifts(record.id, SILENCE_LOOKED_BACK)
    ends += [record.person.local(lift.lifted_at).date() for lift in lifts if lift.lifted_at]
    return max(1, (today - max(ends)).days) if ends else 0


def _ends_soon(record: ClientRecord, facts: Facts) -> date | None:
    """When the clearance ends, if that is within two weeks."""
    clearance = record.client.clearance
    if not record.cleared or clearance is None or clearance.until is None:
        return None
    left = clearance.until - record.person.local(facts.now).date()
    return clearance.until if timedelta() <= left <= CLEARANCE_ENDS_SOON else None


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
        until = pause_until(record)
        over = until is not None and until <= today
        return StateReason.PAUSE_OVER if over else StateReason.PAUSED
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
    if record.is_away(today):
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
    late = local >= due + LATE_AFTER
    if not lately and not new_here:
        return _silence(record, local.date(), facts, late=late)
    if lately and not late:
        # Yesterday's list was sent before yesterday's check-in: what came of it is still news.
        before = EARLIER.get(_of_day(lately[-1]))
        if before is not None:
            return before
    return StateReason.NO_CHECKIN if late else StateReason.NOT_YET


def _silence(record: ClientRecord, today: date, facts: Facts, *, late: bool) -> StateReason:
    """How long nothing has come, of somebody without a check-in today and yesterday."""
    days = _silent_days(record, today, facts)
    if days == 1:  # the first day after a holiday or a pause
        return StateReason.NO_CHECKIN if late else StateReason.NOT_YET
    if days == 2 and not late:
        return StateReason.NO_CHECKIN_YESTERDAY
    clearance = record.client.clearance
    looked_back = today - timedelta(days=SILENCE_LOOKED_BACK)
    if not days and clearance is not None and clearance.on > looked_back:
        return StateReason.NO_CHECKIN_YET
    return StateReason.NO_CHECKIN_FOR_DAYS


def _of_day(checkin: Checkin) -> StateReason:
    if said(checkin, DayReasonCode.OVERLOAD_SEE_DOCTOR):
        return StateReason.SEE_DOCTOR
    if said(checkin, DayReasonCode.OVERLOAD_DAY_OFF):
        return StateReason.TOO_MUCH
    if checkin.day_plan == DayPlan.REST:
        return StateReason.REST
    return StateReason.EASE_OFF if checkin.day_plan == DayPlan.EASE_OFF else StateReason.CHECKED_IN


EARLIER = {
    StateReason.REST: StateReason.REST_BEFORE,
    StateReason.EASE_OFF: StateReason.EASE_OFF_BEFORE,
    StateReason.SEE_DOCTOR: StateReason.SEE_DOCTOR,
    StateReason.TOO_MUCH: StateReason.TOO_MUCH,
}
"""What is said of yesterday's check-in while today's is still to come."""

WORD = {
    StateReason.ALERT_UNSEEN: ClientState.NEEDS_YOU,
    StateReason.ALERT_OPEN: ClientState.NEEDS_YOU,
    StateReason.TO_CLEAR: ClientState.NEEDS_YOU,
    StateReason.CLEARANCE_OVER: ClientState.NEEDS_YOU,
    StateReason.MENTION: ClientState.NEEDS_YOU,
    StateReason.PAUSE_OVER: ClientState.NEEDS_YOU,
    StateReason.PAUSED: ClientState.ON_HOLD,
    StateReason.SEE_DOCTOR: ClientState.EASED_OFF,
    StateReason.TOO_MUCH: ClientState.EASED_OFF,
    StateReason.REST: ClientState.EASED_OFF,
    StateReason.EASE_OFF: ClientState.EASED_OFF,
    StateReason.REST_BEFORE: ClientState.EASED_OFF,
    StateReason.EASE_OFF_BEFORE: ClientState.EASED_OFF,
    StateReason.AFTER_HOLD: ClientState.EASED_OFF,
    StateReason.NO_CHECKIN: ClientState.SILENT,
    StateReason.NO_CHECKIN_YESTERDAY: ClientState.SILENT,
    StateReason.NO_CHECKIN_FOR_DAYS: ClientState.SILENT,
    StateReason.NO_CHECKIN_YET: ClientState.SILENT,
    StateReason.NOT_JOINED: ClientState.JOINING,
    StateReason.AWAY: ClientState.AWAY,
    StateReason.CHECKED_IN: ClientState.FINE,
    StateReason.NOT_YET: ClientState.FINE,
}
