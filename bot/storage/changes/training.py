"""Changes to mornings, sessions and sets; each function carries out the change of its name."""

import json
from datetime import timedelta

from sqlmodel import col, or_, select

from bot.flows import changes as wanted
from bot.json_values import JsonValue, to_json
from bot.storage.changes.applying import Applying
from bot.storage.common_queries import CHECKIN, SAVE_ANSWERS
from bot.storage.stored_plan import stored_plan
from bot.storage.tables import CheckinRow, ClientRow, PainRow, SessionRow, SetRow
from core.readiness.reasons import DayReason

SILENT_AFTER = timedelta(minutes=10)
"""A running session without a tap for this long is asked "All right?"."""


def save_checkin(change: wanted.SaveCheckin, applying: Applying) -> None:
    unit = applying.unit
    answers = unit.encryption.encrypt_json(dict(change.answers))
    known = CHECKIN.first(unit, client_id=change.client_id, on=change.on)
    if known is not None and not change.signs_asked and not change.finished:
        # One more answer of a check-in that is under way: six times each morning.
        SAVE_ANSWERS.run(unit, row_id=known.id, answers=answers)
        return
    row = CheckinRow(client_id=change.client_id, on_date=change.on, started_at=applying.now)
    if known is not None:
        row = unit.session.get_one(CheckinRow, known.id)
    row.answers_sealed = answers
    if change.signs_asked:
        row.signs_asked_at = applying.now
    if change.finished:
        row.finished_at = applying.now
        row.score, row.day_plan = change.score, change.day_plan
        row.certainty = change.certainty
        row.reasons = json.dumps([_stored(reason) for reason in change.reasons])
        unit.session.get_one(ClientRow, change.client_id).reminder_due_at = None
    unit.session.add(row)


def save_plan(change: wanted.SavePlan, applying: Applying) -> None:
    session = applying.unit.session
    row = session.exec(
        select(SessionRow)
        .where(
            SessionRow.client_id == change.client_id,
            SessionRow.on_date == change.on,
            SessionRow.status == "planned",
        )
        .order_by(col(SessionRow.id).desc())
    ).first()
    row = row or SessionRow(client_id=change.client_id, on_date=change.on)
    row.plan_sealed = applying.unit.encryption.encrypt_json(stored_plan(change.plan))
    session.add(row)


def start_session(change: wanted.StartSession, applying: Applying) -> None:
    row = applying.unit.session.get_one(SessionRow, change.session_id)
    row.status = "running"
    row.started_at = row.started_at or applying.now
    _touch(row, applying)


def touch_session(change: wanted.TouchSession, applying: Applying) -> None:
    row = applying.unit.session.get_one(SessionRow, change.session_id)
    if change.plan is not None:
        row.plan_sealed = applying.unit.encryption.encrypt_json(stored_plan(change.plan))
    _touch(row, applying)


def log_set(change: wanted.LogSet, applying: Applying) -> None:
    done = change.done
    session = applying.unit.session
    session.add(
        SetRow(
            session_id=change.session_id,
            client_id=change.client_id,
            on_date=done.on,
            at=applying.now,
            family=done.family,
            step_key=done.step_key,
            demand=done.demand,
            unit=done.unit,
            sets=change.sets,
            planned=done.planned,
            amount=done.amount,
            left=done.left,
            slip=done.slip,
            pain=done.pain,
            stop_at_left=done.stop_at_left,
            lowest_good_left=done.lowest_good_left,
            eased=done.eased,
            day_shift=done.day_shift,
            planned_top=done.planned_top,
        )
    )
    _touch(session.get_one(SessionRow, change.session_id), applying)


def log_pain(change: wanted.LogPain, applying: Applying) -> None:
    pain = change.pain
    applying.unit.session.add(
        PainRow(
            client_id=change.client_id,
            on_date=pain.on,
            family=pain.family or "",
            where=pain.where or "",
            how_much=pain.how_much,
            sharp=pain.sharp,
            settled=pain.settled,
        )
    )


def pain_settled(change: wanted.PainSettled, applying: Applying) -> None:
    for row in applying.unit.session.exec(
        select(PainRow).where(
            PainRow.client_id == change.client_id,
            # What has settled at last stands corrected; what had settled before stays so.
            or_(col(PainRow.settled).is_(None), col(PainRow.settled).is_(False)),
        )
    ):
        row.settled = change.settled


def end_session(change: wanted.EndSession, applying: Applying) -> None:
    row = applying.unit.session.get_one(SessionRow, change.session_id)
    row.status = "finished" if change.finished else "stopped"
    row.ended_at = row.ended_at or applying.now
    row.effort = change.effort if change.effort is not None else row.effort
    row.effort_scale = change.effort_scale or row.effort_scale
    row.minutes = change.minutes if change.minutes is not None else row.minutes
    row.silence_due_at = None


def _stored(reason: DayReason) -> dict[str, JsonValue]:
    """A reason as it is read again; how much it counted is not kept."""
    return {name: value for name, value in to_json(reason).items() if name != "weight"}


def _touch(row: SessionRow, applying: Applying) -> None:
    """A sign of life: the watch on silence starts again."""
    row.touched_at = applying.now
    if row.status == "running":
        row.silence_due_at, row.silence_stage = applying.now + SILENT_AFTER, 0
