"""A record held in plain values, for tests of flows: what a flow asks is answered from here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any

from bot.flows import changes as wanted
from bot.flows.facts import (
    Alert,
    Checkin,
    ClientRecord,
    Hold,
    Note,
    Person,
    Reference,
    Session,
)
from bot.flows.record.profile import client_of
from bot.flows.record.start_word import word_of
from bot.reference.catalogue import load_catalogue
from bot.reference.red_flags import load_signs
from bot.reference.spoken import load_countries, load_spoken, load_towns, load_wishes
from core.dose.capacity import Capacity
from core.dose.history import History
from core.dose.session import believed_capacity
from core.readiness.morning_questions import Morning
from core.vocabulary import AlertId, AlertLevel, PersonId, Role

NOW = datetime(2026, 5, 20, 21, 0, tzinfo=UTC)
COACH = Person(PersonId(1), Role.COACH, "Robin", "NZ", "Pacific/Auckland")
BACKUP = Person(PersonId(2), Role.COACH, "Sam", "NZ", "Pacific/Auckland")
STRANGE_COACH = Person(PersonId(3), Role.COACH, "Kit", "AU", "Australia/Sydney")
ANN = Person(PersonId(11), Role.CLIENT, "Ann", "", "UTC")
BOB = Person(PersonId(12), Role.CLIENT, "Bob", "NZ", "Pacific/Auckland")


@cache
def reference() -> Reference:
    """The real data files, loaded once."""
    return Reference(
        catalogue=load_catalogue(),
        signs=load_signs(),
        countries=load_countries(),
        zones_by_town=load_towns(),
        spoken=load_spoken(),
        wishes=load_wishes(),
        commands={"too hard": "easier"},
        new_code=lambda: "ABCD-EFGH",
        invitation_link=lambda code: f"https://chat.invalid/join?start={code}",
    )


@dataclass(slots=True)
class FakeFacts:
    """Facts about two clients and three coaches; ``apply`` carries out the plain changes.

    ``me`` may be exchanged, to see the same record with another person's eyes.
    """

    me: Person
    now: datetime = NOW
    reference: Reference = field(default_factory=reference)
    people: dict[PersonId, Person] = field(
        default_factory=lambda: {p.id: p for p in (COACH, BACKUP, STRANGE_COACH, ANN, BOB)}
    )
    coach_of: dict[PersonId, PersonId] = field(
        default_factory=lambda: {ANN.id: COACH.id, BOB.id: COACH.id}
    )
    backups: dict[PersonId, PersonId] = field(default_factory=lambda: {COACH.id: BACKUP.id})
    unreachable: set[PersonId] = field(default_factory=set)
    digests: dict[PersonId, time] = field(default_factory=dict)
    profiles: dict[PersonId, dict[str, Any]] = field(default_factory=dict)
    schedules: dict[PersonId, tuple[time, tuple[int, ...]]] = field(default_factory=dict)
    joined: set[PersonId] = field(default_factory=set)
    cleared: set[PersonId] = field(default_factory=set)
    away: dict[PersonId, date] = field(default_factory=dict)
    holds: dict[PersonId, Hold] = field(default_factory=dict)
    all_alerts: list[Alert] = field(default_factory=list)
    all_lifts: dict[PersonId, list[Hold]] = field(default_factory=dict)
    all_checkins: dict[PersonId, list[Checkin]] = field(default_factory=dict)
    all_sessions: dict[PersonId, list[Session]] = field(default_factory=dict)
    histories: dict[PersonId, History] = field(default_factory=dict)
    all_notes: dict[PersonId, list[Note]] = field(default_factory=dict)
    applied: list[object] = field(default_factory=list)

    def person(self, person_id: PersonId) -> Person:
        return self.people[person_id]

    def client(self, client_id: PersonId) -> ClientRecord:
        person = self.people[client_id]
        answers: Mapping[str, Any] = self.profiles.get(client_id, {})
        checkin_at, days = self.schedules.get(client_id, (time(8, 0), (1, 3, 5)))
        client = client_of(
            answers,
            name=person.name,
            country=person.country,
            zone=person.zone,
            checkin_at=checkin_at,
            training_days=days,
        )
        return ClientRecord(
            person=person,
            coach_id=self.coach_of[client_id],
            client=client,
            answers=answers,
            phone=answers.get("phone") or "",
            home=answers.get("home") or "",
            contact_name=answers.get("contact_name") or "",
            contact_phone=answers.get("contact_phone") or "",
            doctor_plan=answers.get("doctor_plan") or "",
            joined=client_id in self.joined,
            cleared=client_id in self.cleared,
            away_until=self.away.get(client_id),
        )

    def clients(self) -> Sequence[ClientRecord]:
        mine = [
            one
            for one in self.coach_of
            if self.is_coach_of(one)
            and (not self.people[one].left or self.open_alert(one) is not None)
        ]
        records = [self.client(one) for one in mine]
        return sorted(records, key=lambda one: (one.coach_id != self.me.id, one.person.name))

    def is_coach_of(self, client_id: PersonId) -> bool:
        coach = self.coach_of.get(client_id)
        return coach is not None and self.me.id in (coach, self.backups.get(coach))

    def backup_of(self, coach_id: PersonId) -> Person | None:
        found = self.backups.get(coach_id)
        return None if found is None else self.people[found]

    def reaches(self, person_id: PersonId) -> bool:
        return person_id not in self.unreachable

    def told_of(self, client_id: PersonId) -> Person | None:
        coach_id = self.coach_of[client_id]
        known = (self.person(coach_id), self.backup_of(coach_id))
        return next((one for one in known if one is not None and self.reaches(one.id)), None)

    def coaches(self) -> Sequence[Person]:
        return [one for one in self.people.values() if one.role is Role.COACH and not one.left]

    def digest_at(self) -> time:
        return self.digests.get(self.me.id, time(7, 0))

    def checkin(self, client_id: PersonId, on: date) -> Checkin | None:
        return next((one for one in self.all_checkins.get(client_id, ()) if one.on == on), None)

    def checkins(self, client_id: PersonId, days: int) -> Sequence[Checkin]:
        since = self.people[client_id].local(self.now).date() - timedelta(days=days)
        found = self.all_checkins.get(client_id, ())
        return [one for one in found if one.finished and one.on >= since]

    def mornings(self, client_id: PersonId) -> Sequence[Morning]:
        return []

    def history(self, client_id: PersonId) -> History:
        return self.histories.get(client_id, History())

    def capacity(self, client_id: PersonId) -> Capacity:
        record, history = self.client(client_id), self.history(client_id)
        return believed_capacity(
            record.client,
            history,
            self.reference.catalogue,
            year=(history.sets[0].on if history.sets else self.now).year,
            word=word_of(record, history),
        )

    def session(self, client_id: PersonId, on: date) -> Session | None:
        return next((one for one in self.all_sessions.get(client_id, ()) if one.on == on), None)

    def running_session(self, client_id: PersonId) -> Session | None:
        return None

    def sessions(self, client_id: PersonId, days: int) -> Sequence[Session]:
        return self.all_sessions.get(client_id, [])

    def alert(self, alert_id: AlertId) -> Alert | None:
        return next((one for one in self.all_alerts if one.id == alert_id), None)

    def open_alert(self, client_id: PersonId) -> Alert | None:
        return next(
            (
                one
                for one in self.all_alerts
                if one.client_id == client_id
                and not one.closed
                and one.level is not AlertLevel.MENTION
            ),
            None,
        )

    def alerts(self, client_ids: Sequence[PersonId], days: int) -> Sequence[Alert]:
        since = self.now - timedelta(days=days)
        found = [a for a in self.all_alerts if a.client_id in client_ids and a.raised_at >= since]
        return sorted(found, key=lambda one: -one.id)

    def hold(self, client_id: PersonId) -> Hold | None:
        return self.holds.get(client_id)

    def last_lift(self, client_id: PersonId) -> Hold | None:
        return next(iter(self.all_lifts.get(client_id, ())), None)

    def lifts(self, client_id: PersonId, days: int) -> Sequence[Hold]:
        return self.all_lifts.get(client_id, [])

    def notes(self, client_id: PersonId) -> Sequence[Note]:
        return self.all_notes.get(client_id, [])

    def said(self, row_id: int) -> str:
        return ""

    def apply(self, changes: Sequence[object]) -> None:
        """Carry out what flows read back; the rest is only noted in ``applied``."""
        for change in changes:
            self.applied.append(change)
            match change:
                case wanted.SaveProfile(client_id, answers):
                    both = {**self.profiles.get(client_id, {}), **answers}
                    self.profiles[client_id] = {k: v for k, v in both.items() if v is not None}
                case wanted.SetPerson(person_id, name, country, zone):
                    old = self.people[person_id]
                    self.people[person_id] = replace(
                        old,
                        name=old.name if name is None else name,
                        country=old.country if country is None else country,
                        zone=old.zone if zone is None else zone,
                    )
                case wanted.SetSchedule(client_id, checkin_at, training_days):
                    at, days = self.schedules.get(client_id, (time(8, 0), (1, 3, 5)))
                    at = time.fromisoformat(checkin_at) if checkin_at else at
                    self.schedules[client_id] = (at, training_days or days)
                case wanted.FinishJoin(client_id):
                    self.joined.add(client_id)
                case wanted.ClearToStart(client_id):
                    self.cleared.add(client_id)
                case wanted.WithdrawClearance(client_id):
                    self.cleared.discard(client_id)
                case wanted.PlaceHold(client_id, because):
                    self.holds.setdefault(client_id, Hold(because, self.now))
                case wanted.LiftHold(client_id, kind, name, on):
                    held = self.holds.pop(client_id, Hold("", self.now))
                    lifted = replace(
                        held,
                        lifted_at=self.now,
                        lifted_by=self.me.name,
                        cleared_kind=kind,
                        cleared_by=name,
                        cleared_on=on,
                    )
                    self.all_lifts.setdefault(client_id, []).insert(0, lifted)
                    alert = self.open_alert(client_id)
                    if alert is not None:
                        self._change_alert(alert.id, closed=True)
                case wanted.MarkSeen(alert_id):
                    self._change_alert(alert_id, seen_at=self.now, seen_by=self.me.name)
                case wanted.CloseAlert(alert_id):
                    self._change_alert(alert_id, closed=True)
                case wanted.SetBackup(coach_id, backup_id):
                    self.backups.pop(coach_id, None)
                    if backup_id is not None:
                        self.backups[coach_id] = backup_id
                case wanted.SetDigest(coach_id, at):
                    self.digests[coach_id] = time.fromisoformat(at)
                case wanted.AddNote(client_id, text):
                    note = Note(self.now, self.me.name, text)
                    self.all_notes.setdefault(client_id, []).insert(0, note)
                case wanted.Leave(client_id):
                    self.people[client_id] = replace(self.people[client_id], left=True)
        self.me = self.people.get(self.me.id, self.me)

    def _change_alert(self, alert_id: AlertId, **changed: Any) -> None:
        self.all_alerts = [
            replace(one, **changed) if one.id == alert_id else one for one in self.all_alerts
        ]
