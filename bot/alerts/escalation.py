"""Telling people about alerts: what the policy decides becomes rows of the outbox."""

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from bot.alerts.policy import AlertStatus, Chase, ChaseReason, backup_hears, next_chase
from bot.engine.speaking import Post
from bot.flows.facts import Alert, ClientRecord, Person
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Rows, Say
from bot.messages import Kind
from bot.storage.chased_alerts import chased_alert, claim_chases, count_chase, set_chase_due
from bot.storage.facts import StoreFacts
from bot.storage.people import Address, addresses_of, get_person
from bot.storage.unit import UnitOfWork, one_by_one
from core.vocabulary import AlertId, AlertLevel, Sign

log = logging.getLogger(__name__)

SECOND_ROUTE = "second_road"
"""Name of the channel to e-mail and SMS gateways.

Its addresses are "0", "1" ... in the order of the settings: one out of order holds up no other.
"""

AFTER_A_FAULT = timedelta(seconds=30)
"""An alert that could not be put into words is tried again this soon."""


@dataclass(frozen=True, slots=True)
class AlertRounds:
    """Tells of alerts now, and chases those that nobody has seen.

    Attributes:
        second_routes: how many addresses there are for alerts that nobody has seen.
    """

    post: Post
    second_routes: int

    def tell(self, unit: UnitOfWork, alert_id: AlertId, now: datetime) -> None:
        """Say what must be said about one alert now; the caller commits."""
        chased = chased_alert(unit, alert_id)
        client = get_person(unit, chased.client_id)
        facts = StoreFacts(unit, client, now, self.post.reference)
        alert = facts.alert(alert_id)
        if alert is None or alert.closed:
            return
        record = facts.client(client.id)
        coach = facts.person(record.coach_id)
        backup = facts.backup_of(record.coach_id)
        passed_on = chased.chase_due_at is not None
        status = self._status_of(unit, alert, coach, backup, passed_on=passed_on)
        if chased.chase_due_at is None or chased.chase_due_at > now:
            self._more_words(unit, facts, alert, record, status)
            return
        chase = next_chase(status)
        set_chase_due(unit, alert_id, None if chase.next_in is None else now + chase.next_in)
        if chase.reason in (ChaseReason.SEEN, ChaseReason.NOT_CHASED):
            return
        if chase.coach:
            self._to_person(unit, facts, alert, record, coach, chase)
        if chase.backup and backup is not None:
            self._to_person(unit, facts, alert, record, backup, chase)
        if chase.second_route:
            self._to_second_route(unit, facts, alert, record, chase)
        count_chase(unit, alert_id)
        if not (status.coach_reachable or status.has_backup or chase.second_route):
            log.error("alert %d reaches nobody: no coach has an open chat", alert_id)
            self._client_hears_that_nobody_does(unit, facts, alert)

    def chase_due(self, unit: UnitOfWork, now: datetime, most: int = 100) -> int:
        """Chase every alert whose moment has come and commit; gives how many."""
        return one_by_one(
            unit,
            claim_chases(unit, now, most),
            lambda alert_id: self.tell(unit, alert_id, now),
            lambda alert_id: set_chase_due(unit, alert_id, now + AFTER_A_FAULT),
        )

    def _status_of(
        self,
        unit: UnitOfWork,
        alert: Alert,
        coach: Person,
        backup: Person | None,
        *,
        passed_on: bool,
    ) -> AlertStatus:
        return AlertStatus(
            level=alert.level,
            round=alert.round,
            sent_count=alert.chases,
            seen=alert.seen_at is not None,
            closed=alert.closed,
            cannot_call=alert.called == "cannot",
            coach_reachable=bool(addresses_of(unit, coach.id)),
            has_backup=backup is not None and bool(addresses_of(unit, backup.id)),
            has_second_route=self.second_routes > 0,
            passed_on=passed_on,
        )

    def _to_person(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        to: Person,
        chase: Chase,
    ) -> None:
        values = self._values(facts, alert, record, to, chase)
        template = "alerts/alert"
        if alert.level is AlertLevel.MENTION:
            template = "alerts/unread" if Sign.UNREAD in alert.signs else "alerts/message"
        say = Say(template, values, rows=_rows(alert), kind=Kind.ALERT)
        self._put(unit, facts, say, to, _key(alert))

    def _client_hears_that_nobody_does(
        self, unit: UnitOfWork, facts: StoreFacts, alert: Alert
    ) -> None:
        """The safety reply promised that the coach is told: take that back, once a round."""
        if Sign.ABUSE in alert.signs:
            return
        # As an alert it follows the safety reply, whose first line is what to do.
        say = Say("alerts/reaches_nobody", kind=Kind.ALERT)
        self._put(unit, facts, say, facts.me, f"alert:{alert.id}:{alert.round}:reaches_nobody")

    def _more_words(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        status: AlertStatus,
    ) -> None:
        """The client has said more while the alert is seen, or between two chases."""
        listeners = [facts.person(record.coach_id)]
        backup = facts.backup_of(record.coach_id)
        if backup is not None and (alert.seen_by == backup.name or backup_hears(status)):
            listeners.append(backup)
        for to in listeners:
            values = self._values(facts, alert, record, to, Chase(ChaseReason.UNSEEN))
            say = Say("alerts/more_words", values, rows=_rows(alert), kind=Kind.ALERT)
            self._put(
                unit, facts, say, to, f"alert:{alert.id}:words:{len(alert.words)}:{alert.called}"
            )

    def _put(self, unit: UnitOfWork, facts: StoreFacts, say: Say, to: Person, key: str) -> None:
        self.post.put(unit, facts, say, to, addresses_of(unit, to.id), key=key)

    def _to_second_route(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        chase: Chase,
    ) -> None:
        coach = facts.person(record.coach_id)
        values = self._values(facts, alert, record, coach, chase)
        say = Say("alerts/second_route", values, kind=Kind.ALERT)
        routes = [Address(SECOND_ROUTE, str(route)) for route in range(self.second_routes)]
        key = _key(alert)
        self.post.put(unit, facts, say, coach, routes, key=key, own_chat=False)

    def _values(
        self,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        to: Person,
        chase: Chase,
    ) -> Mapping[str, Any]:
        """What an alert says; nobody's contact where the danger may be at home."""
        abuse = Sign.ABUSE in alert.signs
        checkins = facts.checkins(record.id, 14)
        country = self.post.reference.countries.get(record.person.country)
        return {
            "alert": alert,
            "client": record,
            "level": alert.level.value,
            "signs": [sign.value for sign in alert.signs],
            "quotes": list(alert.words),
            "reason": chase.reason.value,
            "chases": alert.chases,
            "reopened": alert.round > 1,
            "cannot_call": alert.called == "cannot",
            "raised": to.local(alert.raised_at),
            "their_time": record.person.local(facts.now),
            "coach_name": facts.person(record.coach_id).name,
            "is_backup": to.id != record.coach_id,
            "contact_hidden": abuse,
            "last_checkin": checkins[-1] if checkins else None,
            "client_country": country,
            "emergency_level": alert.level is AlertLevel.EMERGENCY,
        }


def _key(alert: Alert) -> str:
    """Names a chase of an alert; each is counted in the commit that puts it into the outbox."""
    return f"alert:{alert.id}:{alert.round}:{alert.chases}"


def _rows(alert: Alert) -> Rows:
    ref = str(alert.id)
    if alert.level is AlertLevel.MENTION:
        return tuple((Button(value, handler="alert", ref=ref),) for value in ("seen", "card"))
    # What ends the chasing acts only on the round that its message told of.
    now = f"{ref}{ASKED}{alert.round}"
    return (
        (Button("seen", handler="alert", ref=now),),
        (Button("called", handler="alert", ref=now), Button("doctor", handler="alert", ref=now)),
        (Button("lift", handler="alert", ref=ref), Button("card", handler="alert", ref=ref)),
    )
