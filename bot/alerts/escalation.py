"""Telling people about alerts: what the policy decides becomes rows of the outbox."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from itertools import accumulate
from typing import Any

from bot.alerts.policy import (
    AlertStatus,
    Chase,
    ChaseReason,
    UnseenText,
    backup_hears,
    client_hears_after,
    next_chase,
    unseen_text,
)
from bot.engine.screens import tap_value
from bot.engine.speaking import Post, common_values
from bot.errors import Unopened
from bot.flows.facts import Alert, Checkin, ClientRecord, Country, Person
from bot.flows.forms import ASKED
from bot.flows.joining.operations_reading import ticks_of
from bot.flows.machine import Button, Rows, Say, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.told_to_coach import reasons_of_day
from bot.flows.safety.opening import SAFETY
from bot.flows.safety.told_words import body_parts_told, place_told, street_told
from bot.messages import Kind
from bot.storage.conversations import Conversation, open_of
from bot.storage.facts import StoreFacts
from bot.storage.people import (
    Address,
    addresses_of,
    chats_to_try,
    get_person,
    unreachable_since,
)
from bot.storage.questions.chased_alerts import ChasedAlert, chased_alert, claim_due, look_again
from bot.storage.unit import UnitOfWork, one_by_one
from core.vocabulary import AlertId, AlertLevel, Sign

log = logging.getLogger(__name__)

SECOND_ROUTE = "second_road"
"""Name of the channel to e-mail and SMS gateways.

Its addresses are "0", "1" ... in the order of the settings: one out of order holds up no other.
"""

ONE_MESSAGE = 4000
"""Characters of an alert: one message on every channel (the smallest limit is Telegram's 4096)."""

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
        row = chased_alert(unit, alert_id)
        client = get_person(unit, row.client_id)
        facts = StoreFacts(unit, client, now, self.post.reference)
        alert = facts.alert(alert_id)
        if alert is None or alert.closed:
            return
        record = facts.client(client.id)
        coach = facts.person(record.coach_id)
        backup = facts.backup_of(record.coach_id)
        waited = timedelta() if row.unseen_since is None else now - row.unseen_since
        status = self._status_of(unit, facts, alert, row, coach, backup, waited)
        if row.chase_due_at is None or row.chase_due_at > now:
            self._more_words(unit, facts, alert, record, status, row)
            return
        chase = next_chase(status)
        row.chase_due_at = None if chase.next_in is None else now + chase.next_in
        reaches_nobody = not (status.coach_reachable or status.has_backup or chase.second_route)
        if chase.reason in (ChaseReason.SEEN, ChaseReason.NOT_CHASED):
            row.client_due_at = None
            if alert.seen_at is not None and row.told_upto < len(alert.words):
                # They were put out before, and did not arrive.
                self._more_words(unit, facts, alert, record, status, row)
                if reaches_nobody:
                    self._client_hears_that_nobody_does(unit, facts, alert)
            return
        if chase.coach:
            self._to_person(unit, facts, alert, record, coach, chase)
        if chase.backup and backup is not None:
            self._to_person(unit, facts, alert, record, backup, chase)
            row.backup_told = True
        if chase.second_route:
            self._to_second_route(unit, facts, alert, record, chase)
        row.chases, row.told_upto = row.chases + 1, len(alert.words)
        row.untold = reaches_nobody
        _plan_client(row, alert, status, now)
        if reaches_nobody:
            log.error("alert %d reaches nobody: no coach has an open chat", alert_id)
            self._client_hears_that_nobody_does(unit, facts, alert)

    def chase_due(self, unit: UnitOfWork, now: datetime, most: int = 100) -> int:
        """Chase every alert whose moment has come, and commit; gives how many."""
        return one_by_one(
            unit,
            claim_due(unit, "chase_due_at", now, most),
            lambda alert_id: self.tell(unit, alert_id, now),
            lambda alert_id: look_again(unit, alert_id, "chase_due_at", now + AFTER_A_FAULT),
        )

    def unseen_due(self, unit: UnitOfWork, now: datetime, most: int = 100) -> int:
        """Tell every client whose moment has come that nobody has seen it; gives how many."""
        return one_by_one(
            unit,
            claim_due(unit, "client_due_at", now, most),
            lambda alert_id: self._client_hears_it_is_unseen(unit, alert_id, now),
            lambda alert_id: look_again(unit, alert_id, "client_due_at", now + AFTER_A_FAULT),
        )

    def _status_of(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        row: ChasedAlert,
        coach: Person,
        backup: Person | None,
        waited: timedelta,
    ) -> AlertStatus:
        return AlertStatus(
            level=alert.level,
            round=alert.round,
            sent_count=alert.chases,
            waited=waited,
            seen=alert.seen_at is not None,
            closed=alert.closed,
            cannot_call=alert.called == "cannot",
            coach_reachable=bool(addresses_of(unit, coach.id)),
            has_backup=backup is not None and bool(addresses_of(unit, backup.id)),
            has_second_route=self.second_routes > 0,
            backup_told=alert.backup_told,
            passed_on=row.chase_due_at is not None,
            untold=row.untold,
            coach_away=facts.desk(coach.id).is_away(coach.local(facts.now).date()),
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
        kind = Kind.ALERT if alert.chases else Kind.NEW_ALERT
        say = Say(template, values, rows=_rows(alert), kind=kind)
        self._put(unit, facts, say, to, _key(alert))

    def _client_hears_that_nobody_does(
        self, unit: UnitOfWork, facts: StoreFacts, alert: Alert
    ) -> None:
        """The reply promised that the coach is told: take that back, once a round and closed chat.

        Where the danger may be at home, that phone repeats nothing.
        """
        on = facts.open_alert(facts.me.id)
        if Sign.ABUSE in (*alert.signs, *(on.signs if on is not None else ())):
            return
        coach_id = facts.client(facts.me.id).coach_id
        backup = facts.backup_of(coach_id)
        told = [coach_id, *([backup.id] if backup is not None else [])]
        closed = [one for who in told if (one := unreachable_since(unit, who)) is not None]
        since = int(max(closed).timestamp()) if closed else 0
        mention = alert.level is AlertLevel.MENTION
        # It follows what it takes back: the safety reply, whose first line is what to do, or a
        # reply about words that were passed on.
        kind = Kind.REPLY if mention or alert.seen_at is not None else Kind.ALERT
        say = Say(f"alerts/{'not_delivered' if mention else 'reaches_nobody'}", kind=kind)
        self._put(
            unit, facts, say, facts.me, f"alert:{alert.id}:{alert.round}:reaches_nobody:{since}"
        )

    def _client_hears_it_is_unseen(
        self, unit: UnitOfWork, alert_id: AlertId, now: datetime
    ) -> None:
        """The client is told that nobody has seen it, and what to do; then less often."""
        row = chased_alert(unit, alert_id)
        client = get_person(unit, row.client_id)
        facts = StoreFacts(unit, client, now, self.post.reference)
        alert = facts.alert(alert_id)
        if alert is None or alert.closed or alert.seen_at is not None:
            row.client_due_at = None
            return
        text = unseen_text(alert.level, alert.signs, for_other=alert.for_other)
        if text is None:
            row.client_due_at = None
            return
        asking = _asks_of_a_call(unit, alert, text)
        values = {
            "signs": [sign.value for sign in alert.signs],
            "is_emergency": alert.level is AlertLevel.EMERGENCY,
            "called": alert.called,
        }
        rows = rows_of("called", "cannot") if asking is not None else ()
        say = Say(f"safety/{text.value}", values, rows=rows, kind=Kind.SAFETY)
        key = f"alert:{alert.id}:{alert.round}:unseen:{row.client_told}"
        self._put(unit, facts, say, client, key, asking)
        row.client_told += 1
        row.client_due_at = now + client_hears_after(alert.level, row.client_told)

    def _more_words(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        status: AlertStatus,
        row: ChasedAlert,
    ) -> None:
        """The client has said more while the alert is seen, or between two chases.

        What reaches nobody stays to be said, until somebody can be reached again.
        """
        fresh = alert.words[row.told_upto :]
        # What was refused before has a message of its own now.
        again = f":{int(facts.now.timestamp())}" if row.untold else ""
        row.untold = not (status.coach_reachable or status.has_backup)
        if row.untold:
            return
        row.told_upto = len(alert.words)
        listeners = [facts.person(record.coach_id)]
        backup = facts.backup_of(record.coach_id)
        if backup is not None and (alert.seen_by == backup.name or backup_hears(status)):
            listeners.append(backup)
        for to in listeners:
            values = self._values(facts, alert, record, to, Chase(ChaseReason.UNSEEN))
            values = {**values, **_split(fresh)}
            say = Say("alerts/more_words", values, rows=_rows(alert), kind=Kind.ALERT)
            said = f"{len(alert.words)}:{alert.called}{again}"
            self._put(unit, facts, say, to, f"alert:{alert.id}:{alert.round}:words:{said}")

    def _put(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        say: Say,
        to: Person,
        key: str,
        conversation: Conversation | None = None,
    ) -> None:
        fitted = self._fitted(say, facts, to, conversation)
        # What a client is told of an alert is tried in a closed chat, too: it may be open again.
        at = (chats_to_try if to.id == facts.me.id else addresses_of)(unit, to.id)
        self.post.put(unit, facts, fitted, to, at, key=key, conversation=conversation)

    def _fitted(
        self, say: Say, facts: StoreFacts, to: Person, conversation: Conversation | None
    ) -> Say:
        """The message; of many words of a client the oldest go where one message ends."""
        common = common_values(self.post.reference, facts, to)
        tap = partial(tap_value, conversation=conversation)
        quotes = list(say.values.get("quotes", ()))
        left_out = 0
        while True:
            values = {**say.values, "quotes": quotes[left_out:], "left_out": left_out}
            fitted = replace(say, values=values)
            too_long = len(self.post.words.say(fitted, common, tap=tap).text) - ONE_MESSAGE
            if too_long <= 0 or left_out >= len(quotes) - 1:
                return fitted
            left_out += _oldest(quotes[left_out:-1], too_long)

    def _to_second_route(
        self,
        unit: UnitOfWork,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        chase: Chase,
    ) -> None:
        coach = facts.person(record.coach_id)
        values = {
            **self._values(facts, alert, record, coach, chase),
            "street": street_told(alert.words, self.post.reference.places),
        }
        say = Say("alerts/second_route", values, kind=Kind.ALERT)
        routes = [Address(SECOND_ROUTE, str(route)) for route in range(self.second_routes)]
        self.post.put(unit, facts, say, coach, routes, key=_key(alert), own_chat=False)

    def _values(
        self,
        facts: StoreFacts,
        alert: Alert,
        record: ClientRecord,
        to: Person,
        chase: Chase,
    ) -> Mapping[str, Any]:
        """What an alert says; nobody's contact where the danger may be at home."""
        abuse, places = Sign.ABUSE in alert.signs, self.post.reference.places
        checkins = _checkins(facts, record)
        country = self.post.reference.countries.get(record.person.country)
        there = record.person.local(facts.now)
        newest = alert.newest_sign_at
        return {
            "alert": alert,
            "client": record,
            "level": alert.level.value,
            "signs": [sign.value for sign in alert.signs],
            **_split(alert.words),
            "place": alert.help_to or place_told(alert.words, places),
            "body_parts": body_parts_told(alert.words, places),
            "reason": chase.reason.value,
            "chases": alert.chases,
            "reopened": alert.round > 1,
            "cannot_call": alert.called == "cannot",
            "raised": to.local(alert.raised_at),
            "newest": to.local(newest),
            "newest_there": record.person.local(newest),
            "their_time": there,
            "operations": ticks_of(record.client.replaced_joints),
            "abroad": _abroad(to.country, record.person.country),
            "coach_name": facts.person(record.coach_id).name,
            "is_backup": to.id != record.coach_id,
            "contact_hidden": abuse,
            "last_checkin": checkins[-1] if checkins else None,
            "last_reasons": reasons_of_day(checkins[-1], record.client) if checkins else [],
            "client_country": country or Country("", ""),
            "emergency_level": alert.level is AlertLevel.EMERGENCY,
        }


def _plan_client(row: ChasedAlert, alert: Alert, status: AlertStatus, now: datetime) -> None:
    """When the client hears that nobody has seen it; a new sign never makes that later."""
    if unseen_text(alert.level, alert.signs, for_other=alert.for_other) is None:
        row.client_due_at = None
    elif status.sent_count == 0 or row.client_due_at is None:
        first = now + client_hears_after(alert.level, 0)
        row.client_due_at = min(row.client_due_at or first, first)


def _asks_of_a_call(unit: UnitOfWork, alert: Alert, text: UnseenText) -> Conversation | None:
    """The conversation that takes "I have called" and "I can't call", where that is still open."""
    if text is UnseenText.URGENT or alert.level is not AlertLevel.EMERGENCY or alert.called:
        return None
    return next(
        (
            one
            for one in open_of(unit, alert.client_id)
            if one.state.flow == SAFETY
            and one.state.step != "asked"
            and one.state.answers.get("level") == AlertLevel.EMERGENCY
        ),
        None,
    )


def _checkins(facts: StoreFacts, record: ClientRecord) -> Sequence[Checkin]:
    """The last mornings; none where one is damaged: the alert goes out without them."""
    try:
        return facts.checkins(record.id, 14)
    except Unopened:
        log.error("the mornings of client %d cannot be opened", record.id)
        return ()


def _oldest(quotes: Sequence[str], characters: int) -> int:
    """How many of the first quotes hold so many characters; all, where they are too few."""
    sums = accumulate(map(len, quotes))
    return next((n for n, so_far in enumerate(sums, 1) if so_far >= characters), len(quotes))


def _split(words: Sequence[str | Reason]) -> dict[str, Any]:
    """The client's own words, and what the record says beside them."""
    return {
        "quotes": [word for word in words if isinstance(word, str)],
        "facts": [word for word in words if not isinstance(word, str)],
    }


def _abroad(coach: str, client: str) -> bool:
    """Whether a coach calls from another country; codes may name a part of one ("GB-NIR")."""
    return bool(coach and client) and coach.partition("-")[0] != client.partition("-")[0]


def _key(alert: Alert) -> str:
    """Names a chase of an alert; each is counted in the commit that puts it into the outbox."""
    return f"alert:{alert.id}:{alert.round}:{alert.chases}"


def _rows(alert: Alert) -> Rows:
    ref = str(alert.id)
    if alert.level is AlertLevel.MENTION:
        shown = ("seen", "answer", "card")
        return tuple((Button(value, handler="alert", ref=ref),) for value in shown)
    # What ends the chasing acts only on the round that its message told of.
    now = f"{ref}{ASKED}{alert.round}"
    return (
        (Button("seen", handler="alert", ref=now),),
        (Button("called", handler="alert", ref=now), Button("doctor", handler="alert", ref=now)),
        (Button("answer", handler="alert", ref=ref), Button("card", handler="alert", ref=ref)),
        (Button("lift", handler="alert", ref=ref),),
    )
