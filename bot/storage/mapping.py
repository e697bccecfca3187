"""Rows to values and back, with their words unsealed."""

import json

from bot.flows.facts import Alert, Checkin, Session
from bot.storage.tables import AlertRow, CheckinRow, PainRow, SessionRow, SetRow
from bot.storage.unit import stored_id
from bot.storage.vault import Vault
from core.checkin import Morning, Question, morning_from
from core.history import PainTold, SetDone, Unit
from core.vocabulary import AlertId, AlertLevel, Family, PersonId, SessionId, Sign, Spare


def checkin_of(vault: Vault, row: CheckinRow) -> Checkin:
    """A morning as flows see it."""
    return Checkin(
        on=row.on_date,
        answers=vault.open_json(row.answers_sealed),
        finished=row.finished_at is not None,
        signs_asked_at=row.signs_asked_at,
        score=row.score,
        day_plan=row.day_plan,
        certainty=row.certainty,
        reasons=tuple(json.loads(row.reasons)),
    )


def morning_of(vault: Vault, row: CheckinRow) -> Morning:
    """A morning as the rules see it."""
    answers = vault.open_json(row.answers_sealed)
    known = {Question(key): answers[key] for key in answers if key in set(Question)}
    return morning_from(row.on_date, known)


def session_of(vault: Vault, row: SessionRow) -> Session:
    """A session as flows see it."""
    return Session(
        id=SessionId(stored_id(row)),
        on=row.on_date,
        plan=vault.open_json(row.plan_sealed),
        status=row.status,
        started_at=row.started_at,
        ended_at=row.ended_at,
        silence_stage=row.silence_stage,
        effort=row.effort,
        effort_scale=row.effort_scale,
        minutes=row.minutes,
    )


def set_done(row: SetRow) -> SetDone:
    """A logged set as the rules see it."""
    return SetDone(
        on=row.on_date,
        family=Family(row.family),
        step_key=row.step_key,
        demand=row.demand,
        unit=Unit(row.unit),
        amount=row.amount,
        left=row.left,
        slip=row.slip,
        pain=row.pain,
        planned=row.planned,
        stop_at_left=row.stop_at_left,
        lowest_good_left=row.lowest_good_left,
        eased=row.eased,
        day_shift=row.day_shift,
        planned_top=row.planned_top,
    )


def pain_done(row: PainRow) -> PainTold:
    """A told pain as the rules see it."""
    return PainTold(
        on=row.on_date,
        family=Family(row.family) if row.family else None,
        where=Spare(row.where) if row.where else None,
        how_much=row.how_much,
        sharp=row.sharp,
        settled=row.settled,
    )


def alert_of(vault: Vault, row: AlertRow, seen_by: str) -> Alert:
    """An alert as flows see it."""
    return Alert(
        id=AlertId(stored_id(row)),
        client_id=PersonId(row.client_id),
        level=AlertLevel(row.level),
        signs=tuple(Sign(sign) for sign in json.loads(row.signs)),
        words=tuple(vault.open_json(row.words_sealed) or ()),
        for_other=row.for_other,
        raised_at=row.raised_at,
        round=row.round,
        chases=row.chases,
        called=row.called,
        seen_at=row.seen_at,
        seen_by=seen_by,
        closed=row.closed_at is not None,
    )
