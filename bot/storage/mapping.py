"""Rows to values and back, with their words decrypted."""

import json
from dataclasses import replace
from datetime import datetime, time

from bot.flows.facts import Alert, Checkin, ClientRecord, Person, Session
from bot.flows.reasons import Reason
from bot.flows.record.overrules import limits_with
from bot.flows.record.profile import client_of
from bot.json_values import from_json
from bot.storage.encryption import Encryption
from bot.storage.stored_plan import plan_of
from bot.storage.tables import AlertRow, CheckinRow, ClientRow, SessionRow
from bot.storage.told import alert_told, effort_of, result_of
from bot.storage.unit import UnitOfWork, stored_id
from core.client.client import Client
from core.readiness.morning_questions import Morning, MorningQuestion, morning_from
from core.vocabulary import AlertId, AlertLevel, PersonId, SessionId


def checkin_of(encryption: Encryption, row: CheckinRow) -> Checkin:
    """A morning as flows see it; one that no key opens is to be told anew."""
    result, answers = result_of(encryption, row), encryption.opened_json(row.answers_sealed)
    return Checkin(
        on=row.on_date,
        answers=answers or {},
        finished=row.finished_at is not None and answers is not None,
        signs_asked_at=row.signs_asked_at,
        score=result.score,
        day_plan=result.day_plan,
        certainty=result.certainty,
        reasons=result.reasons,
    )


_MORNING_QUESTIONS = frozenset(MorningQuestion)


def morning_of(unit: UnitOfWork, row: CheckinRow) -> Morning:
    """A morning as the rules see it."""
    on, sealed = row.on_date, row.answers_sealed

    def read() -> Morning:
        answers = unit.encryption.opened_json(sealed) or {}
        known = {MorningQuestion(key): answers[key] for key in answers if key in _MORNING_QUESTIONS}
        return morning_from(on, known)

    return unit.training_cache.mornings.get((on, sealed), read)


def session_of(encryption: Encryption, row: SessionRow, *, with_plan: bool = True) -> Session:
    """A session as flows see it."""
    told = effort_of(encryption, row)
    return Session(
        id=SessionId(stored_id(row)),
        on=row.on_date,
        plan=plan_of(encryption.decrypt_json(row.plan_sealed)) if with_plan else None,
        status=row.status,
        started_at=row.started_at,
        ended_at=row.ended_at,
        silence_stage=row.silence_stage,
        effort=told.effort,
        effort_scale=told.effort_scale,
        minutes=told.minutes,
    )


def alert_of(encryption: Encryption, row: AlertRow, seen_by: str) -> Alert:
    """An alert as flows see it."""
    told, words = alert_told(encryption, row), encryption.opened(row.words_sealed)
    return Alert(
        id=AlertId(stored_id(row)),
        client_id=PersonId(row.client_id),
        level=AlertLevel(row.level),
        signs=told.signs,
        words=from_json(tuple[str | Reason, ...], json.loads(words) if words else []),
        for_other=told.for_other,
        raised_at=row.raised_at,
        round=row.round,
        chases=row.chases,
        called=told.called,
        seen_at=row.seen_at,
        seen_by=seen_by,
        closed=row.closed_at is not None,
        newest_sign_at=row.newest_sign_at or row.raised_at,
        backup_told=row.backup_told,
    )


def record_of(unit: UnitOfWork, row: ClientRow, person: Person, now: datetime) -> ClientRecord:
    """A client with profile, limits and clearance; what the coach has overruled now is in it.

    Where no key opens the profile nobody knows what she is cleared for: she is not. Her signs are
    told and chased as everybody's.
    """
    opened = unit.encryption.opened_json(row.profile_sealed)
    answers = opened or {}
    today = person.local(now).date()

    def read() -> Client:
        client = client_of(
            answers,
            name=person.name,
            country=person.country,
            zone=person.zone,
            checkin_at=time.fromisoformat(row.checkin_at),
            training_days=tuple(int(day) for day in row.training_days.split(",") if day),
        )
        return replace(client, limits=limits_with(client.limits, answers, today))

    made_of = (row.profile_sealed, row.checkin_at, row.training_days, person, today)
    client = unit.training_cache.clients.get(made_of, read)
    return ClientRecord(
        person=person,
        coach_id=PersonId(row.coach_id),
        client=client,
        answers=answers,
        phone=answers.get("phone") or "",
        home=answers.get("home") or "",
        contact_name=answers.get("contact_name") or "",
        contact_phone=answers.get("contact_phone") or "",
        doctor_plan=answers.get("doctor_plan") or "",
        joined=row.joined_at is not None,
        cleared=row.cleared_at is not None and opened is not None,
        away_from=row.away_from,
        away_until=row.away_until,
        quiet_from=time.fromisoformat(row.quiet_from),
        quiet_until=time.fromisoformat(row.quiet_until),
        health_asked_on=row.health_asked_on,
        week_word_day=row.week_word_day,
        erasing=row.erase_asked_at is not None,
    )
