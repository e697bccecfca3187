"""Changes to mornings, sessions and sets; each function carries out the change of its name."""

from dataclasses import replace
from datetime import timedelta

from sqlmodel import col, select

from bot.errors import StoreError
from bot.flows import changes as wanted
from bot.storage.changes.alerts import end_training
from bot.storage.changes.applying import Applying
from bot.storage.common_queries import (
    CHECKIN,
    LAST_WALK,
    SAVE_ANSWERS,
    SAVE_CHECKIN,
    TOUCH_SESSION,
)
from bot.storage.stored_plan import stored_plan
from bot.storage.tables import CheckinRow, ClientRow, PainRow, SessionRow, SetRow, WalkRow
from bot.storage.told import (
    MorningResult,
    SessionEffort,
    effort_of,
    pain_done,
    seal_effort,
    seal_pain,
    seal_result,
    seal_set,
    seal_walk,
    set_done,
)
from core.programme.walking import Talk, WalkDone
from core.vocabulary import DayPlan, SessionId

SILENT_AFTER = timedelta(minutes=10)
"""A running session without a tap for this long is asked "Is all well"."""


def save_checkin(change: wanted.SaveCheckin, applying: Applying) -> None:
    unit = applying.unit
    answers = unit.encryption.encrypt_json(dict(change.answers))
    known = CHECKIN.first(unit, client_id=change.client_id, on=change.on)
    one_more = not (change.signs_asked or change.finished or change.reopened)
    if known is not None and one_more:
        # One more answer of a check-in that is under way: six times each morning.
        SAVE_ANSWERS.run(unit, row_id=known.id, answers=answers)
        return
    row = known or CheckinRow(
        client_id=change.client_id, on_date=change.on, started_at=applying.now
    )
    asked_at = applying.now if change.signs_asked else row.signs_asked_at
    finished_at = None if change.reopened else row.finished_at
    result_sealed = row.result_sealed
    if change.finished:
        finished_at = applying.now
        result = MorningResult(change.score, change.day_plan, change.certainty, change.reasons)
        result_sealed = seal_result(unit.encryption, result)
        unit.session.get_one(ClientRow, change.client_id).reminder_due_at = None
        if change.day_plan == DayPlan.REST:
            end_training(change.client_id, applying)
    if known is None:
        row.answers_sealed = answers
        row.signs_asked_at, row.finished_at = asked_at, finished_at
        row.result_sealed = result_sealed
        unit.session.add(row)
        return
    given = {"answers": answers, "asked_at": asked_at, "finished": finished_at}
    SAVE_CHECKIN.run(unit, row_id=known.id, result=result_sealed, **given)


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
    if change.plan is None:
        _touch_running(change.session_id, applying)
        return
    row = applying.unit.session.get_one(SessionRow, change.session_id)
    row.plan_sealed = applying.unit.encryption.encrypt_json(stored_plan(change.plan))
    _touch(row, applying)


def log_set(change: wanted.LogSet, applying: Applying) -> None:
    session = applying.unit.session
    session.add(
        SetRow(
            session_id=change.session_id,
            client_id=change.client_id,
            on_date=change.done.on,
            at=applying.now,
            done_sealed=seal_set(applying.unit.encryption, change.done, sets=change.sets),
        )
    )
    _touch_running(change.session_id, applying)


def undo_set(change: wanted.UndoSet, applying: Applying) -> None:
    session = applying.unit.session
    newest = session.exec(
        select(SetRow).where(SetRow.session_id == change.session_id).order_by(col(SetRow.id).desc())
    ).first()
    if newest is not None:
        session.delete(newest)
    _touch(session.get_one(SessionRow, change.session_id), applying)


def log_watched_set(change: wanted.LogWatchedSet, applying: Applying) -> None:
    applying.unit.session.add(
        SetRow(
            client_id=change.client_id,
            on_date=change.done.on,
            at=applying.now,
            done_sealed=seal_set(applying.unit.encryption, change.done),
        )
    )


def undo_watched_set(change: wanted.UndoWatchedSet, applying: Applying) -> None:
    session, encryption = applying.unit.session, applying.unit.encryption
    kept_then = session.exec(
        select(SetRow)
        .where(
            SetRow.client_id == change.client_id,
            col(SetRow.session_id).is_(None),
            SetRow.at == change.at,
        )
        .order_by(col(SetRow.id).desc())
    )
    for row in kept_then:
        if set_done(encryption, row).family is change.family:
            session.delete(row)
            return


def log_pain(change: wanted.LogPain, applying: Applying) -> None:
    pain = change.pain
    applying.unit.session.add(
        PainRow(
            client_id=change.client_id,
            on_date=pain.on,
            told_sealed=seal_pain(applying.unit.encryption, pain),
        )
    )


def pain_was_sharp(change: wanted.PainWasSharp, applying: Applying) -> None:
    newest = applying.unit.session.exec(
        select(PainRow)
        .where(PainRow.client_id == change.client_id, PainRow.on_date == change.on)
        .order_by(col(PainRow.id).desc())
    ).first()
    if newest is not None:
        told = pain_done(applying.unit.encryption, newest)
        newest.told_sealed = seal_pain(applying.unit.encryption, replace(told, sharp=True))


def pain_settled(change: wanted.PainSettled, applying: Applying) -> None:
    encryption = applying.unit.encryption
    for row in applying.unit.session.exec(
        select(PainRow).where(PainRow.client_id == change.client_id)
    ):
        told = pain_done(encryption, row)
        # What has settled at last stands corrected; what had settled before stays so.
        if told.settled is not True:
            row.told_sealed = seal_pain(encryption, replace(told, settled=change.settled))


def end_session(change: wanted.EndSession, applying: Applying) -> None:
    row = applying.unit.session.get_one(SessionRow, change.session_id)
    row.status = "finished" if change.finished else "stopped"
    row.ended_at = row.ended_at or applying.now
    encryption = applying.unit.encryption
    told = effort_of(encryption, row)
    told = SessionEffort(
        effort=change.effort if change.effort is not None else told.effort,
        effort_scale=change.effort_scale or told.effort_scale,
        minutes=change.minutes if change.minutes is not None else told.minutes,
    )
    row.effort_sealed = seal_effort(encryption, told)
    row.silence_due_at = None


def start_walk(change: wanted.StartWalk, applying: Applying) -> None:
    planned = WalkDone(change.on, change.minutes, Talk.SENTENCES)
    applying.unit.session.add(
        WalkRow(
            client_id=change.client_id,
            on_date=change.on,
            status="running",
            started_at=applying.now,
            told_sealed=seal_walk(applying.unit.encryption, planned),
        )
    )


def log_walk(change: wanted.LogWalk, applying: Applying) -> None:
    session, walk = applying.unit.session, change.walk
    row = WalkRow(client_id=change.client_id, on_date=walk.on, status="done")
    if change.walk_id is not None:
        row = session.get_one(WalkRow, change.walk_id)
    row.status, row.ended_at = "done", applying.now
    row.told_sealed = seal_walk(applying.unit.encryption, walk)
    session.add(row)


def undo_walk(change: wanted.UndoWalk, applying: Applying) -> None:
    last = LAST_WALK.first(applying.unit, client_id=change.client_id)
    if last is not None:
        applying.unit.session.get_one(WalkRow, last.id).status = "undone"


def stop_walk(change: wanted.StopWalk, applying: Applying) -> None:
    row = applying.unit.session.get_one(WalkRow, change.walk_id)
    row.status, row.ended_at = "stopped", applying.now


def _touch_running(session_id: SessionId, applying: Applying) -> None:
    """The same, without its row: after each set and each tap of a session."""
    now = applying.now
    silent_at = now + SILENT_AFTER
    if not TOUCH_SESSION.run(applying.unit, session_id=session_id, now=now, silent_at=silent_at):
        raise StoreError("there is no such session")


def _touch(row: SessionRow, applying: Applying) -> None:
    """A sign of life: the watch on silence starts again."""
    row.touched_at = applying.now
    if row.status == "running":
        row.silence_due_at, row.silence_stage = applying.now + SILENT_AFTER, 0
