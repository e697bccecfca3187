"""Common queries about a client, compiled to SQL once.

Almost every turn needs them, and building a statement anew costs several times as much as
executing it. Parameters are named by ``bindparam``.
"""

from sqlalchemy import bindparam, case, update
from sqlmodel import col, select

from bot.storage.columns import UtcDateTime
from bot.storage.prepared import Prepared
from bot.storage.tables import (
    AlertRow,
    CheckinRow,
    ClientRow,
    HoldRow,
    PainRow,
    SessionRow,
    WalkRow,
)
from core.vocabulary import AlertLevel

CHECKIN: Prepared[CheckinRow] = Prepared(
    select(CheckinRow).where(
        CheckinRow.client_id == bindparam("client_id"), CheckinRow.on_date == bindparam("on")
    )
)
_CHECKIN_TABLE = CheckinRow.metadata.tables["checkin"]
SAVE_ANSWERS: Prepared[CheckinRow] = Prepared(
    update(_CHECKIN_TABLE)
    .where(_CHECKIN_TABLE.c.id == bindparam("row_id"))
    .values(answers_sealed=bindparam("answers"))
)
SAVE_CHECKIN: Prepared[CheckinRow] = Prepared(
    update(_CHECKIN_TABLE)
    .where(_CHECKIN_TABLE.c.id == bindparam("row_id"))
    .values(
        answers_sealed=bindparam("answers"),
        signs_asked_at=bindparam("asked_at"),
        finished_at=bindparam("finished"),
        result_sealed=bindparam("result"),
    )
)
CHECKINS_SINCE: Prepared[CheckinRow] = Prepared(
    select(CheckinRow)
    .where(
        CheckinRow.client_id == bindparam("client_id"),
        CheckinRow.on_date >= bindparam("since"),
    )
    .order_by(col(CheckinRow.on_date))
)
_CLIENT_TABLE = ClientRow.metadata.tables["client"]
SAVE_PROFILE: Prepared[ClientRow] = Prepared(
    update(_CLIENT_TABLE)
    .where(_CLIENT_TABLE.c.person_id == bindparam("client_id"))
    .values(profile_sealed=bindparam("profile"))
)
SESSION: Prepared[SessionRow] = Prepared(
    select(SessionRow)
    .where(SessionRow.client_id == bindparam("client_id"), SessionRow.on_date == bindparam("on"))
    .order_by(col(SessionRow.id).desc())
)
RUNNING_SESSION: Prepared[SessionRow] = Prepared(
    select(SessionRow)
    .where(SessionRow.client_id == bindparam("client_id"), SessionRow.status == "running")
    .order_by(col(SessionRow.id).desc())
)
_SESSION_TABLE = SessionRow.metadata.tables["session"]
_RUNS = _SESSION_TABLE.c.status == "running"
TOUCH_SESSION: Prepared[SessionRow] = Prepared(
    update(_SESSION_TABLE)
    .where(_SESSION_TABLE.c.id == bindparam("session_id"))
    .values(
        touched_at=bindparam("now"),
        silence_due_at=case(
            (_RUNS, bindparam("silent_at", type_=UtcDateTime())),
            else_=_SESSION_TABLE.c.silence_due_at,
        ),
        silence_stage=case((_RUNS, 0), else_=_SESSION_TABLE.c.silence_stage),
    )
)
"""A sign of life: the watch on silence starts again, where the session runs."""

SESSIONS_SINCE: Prepared[SessionRow] = Prepared(
    select(SessionRow)
    .where(
        SessionRow.client_id == bindparam("client_id"),
        SessionRow.on_date >= bindparam("since"),
    )
    .order_by(col(SessionRow.id))
)
FINISHED_SESSIONS: Prepared[SessionRow] = Prepared(
    select(SessionRow)
    .where(SessionRow.client_id == bindparam("client_id"), SessionRow.status == "finished")
    .order_by(col(SessionRow.id))
)
PAINS: Prepared[PainRow] = Prepared(
    select(PainRow).where(PainRow.client_id == bindparam("client_id")).order_by(col(PainRow.id))
)
WALKS_SINCE: Prepared[WalkRow] = Prepared(
    select(WalkRow)
    .where(
        WalkRow.client_id == bindparam("client_id"),
        WalkRow.status == "done",
        WalkRow.on_date >= bindparam("since"),
    )
    .order_by(col(WalkRow.on_date), col(WalkRow.id))
)
LAST_WALK: Prepared[WalkRow] = Prepared(
    select(WalkRow)
    .where(
        WalkRow.client_id == bindparam("client_id"),
        WalkRow.status == "done",
        col(WalkRow.ended_at).is_not(None),
    )
    .order_by(col(WalkRow.ended_at).desc(), col(WalkRow.id).desc())
    .limit(1)
)
RUNNING_WALK: Prepared[WalkRow] = Prepared(
    select(WalkRow)
    .where(WalkRow.client_id == bindparam("client_id"), WalkRow.status == "running")
    .order_by(col(WalkRow.id).desc())
)
OPEN_ALERT: Prepared[AlertRow] = Prepared(
    select(AlertRow).where(
        AlertRow.client_id == bindparam("client_id"),
        AlertRow.level != AlertLevel.MENTION,
        col(AlertRow.closed_at).is_(None),
    )
)
ALERTS_SINCE: Prepared[AlertRow] = Prepared(
    select(AlertRow).where(
        AlertRow.client_id == bindparam("client_id"), AlertRow.raised_at >= bindparam("since")
    )
)
HOLD: Prepared[HoldRow] = Prepared(
    select(HoldRow)
    .where(HoldRow.client_id == bindparam("client_id"), col(HoldRow.lifted_at).is_(None))
    .order_by(col(HoldRow.id))
)
LAST_LIFT: Prepared[HoldRow] = Prepared(
    select(HoldRow)
    .where(HoldRow.client_id == bindparam("client_id"), col(HoldRow.lifted_at).is_not(None))
    .order_by(col(HoldRow.lifted_at).desc())
)
LIFTS_SINCE: Prepared[HoldRow] = Prepared(
    select(HoldRow)
    .where(HoldRow.client_id == bindparam("client_id"), HoldRow.lifted_at >= bindparam("since"))
    .order_by(col(HoldRow.lifted_at).desc())
)
