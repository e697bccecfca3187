"""Records kept by an older version, brought up: the same on every database."""

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, MetaData, Row
from sqlmodel import col, select

from bot.storage import inbox, people
from bot.storage.conversations import open_of
from bot.storage.database import MIGRATIONS, Database
from bot.storage.encryption import Encryption
from bot.storage.outbox import written_to
from bot.storage.people import Address
from bot.storage.tables import (
    AlertRow,
    AuditRow,
    CheckinRow,
    ClientRow,
    HoldRow,
    PainRow,
    SessionRow,
    SetRow,
)
from bot.storage.told import (
    AlertTold,
    MorningResult,
    SessionEffort,
    alert_told,
    effort_of,
    pain_done,
    result_of,
    set_done,
)
from bot.storage.unit import UnitOfWork
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import Sign, Spare
from tests.doubles.store import KEY

FIRST, SECOND = datetime(2026, 3, 1, 8, tzinfo=UTC), datetime(2026, 3, 2, 8, tzinfo=UTC)
TOLD_AGAIN = datetime(2026, 3, 4, 8, tzinfo=UTC)
PERSON = {
    "role": "client",
    "name_sealed": "",
    "country": "",
    "zone": "UTC",
    "language": "en",
    "created_at": FIRST,
}
ALERT = {
    "client_id": 1,
    "level": "urgent",
    "signs": "[]",
    "words_sealed": "",
    "for_other": False,
    "round": 1,
    "chases": 0,
    "called": "",
}
HOLD = {
    "client_id": 1,
    "because": "fall",
    "placed_at": SECOND,
    "cleared_by_sealed": "",
    "restart_easiest": False,
}
AUDIT = {"at": TOLD_AGAIN, "subject_id": 1, "what": "alert_reopened_urgent", "detail": ""}
CLIENT = {
    "person_id": 1,
    "coach_id": 1,
    "profile_sealed": "",
    "checkin_at": "08:00",
    "training_days": "1",
    "quiet_from": "21:00",
    "quiet_until": "07:00",
}
BEFORE: tuple[tuple[str, Mapping[str, Any]], ...] = (
    ("person", {**PERSON, "id": 1}),
    ("alert", {**ALERT, "id": 1, "raised_at": FIRST, "closed_at": SECOND}),
    ("alert", {**ALERT, "id": 2, "raised_at": SECOND}),
    ("hold", {**HOLD, "id": 1}),
    ("audit", {**AUDIT, "id": 1}),
)


def nobody_has_seen_an_open_alert_since_it_was_raised(store: Database) -> None:
    """Revision 0005: open alerts that nobody has seen count from when they were raised."""
    seen = {**ALERT, "id": 3, "raised_at": SECOND, "seen_at": TOLD_AGAIN}
    with store.engine.connect() as connection:
        config = config_for(connection)
        command.downgrade(config, "0004")
        then = MetaData()
        then.reflect(connection)
        for table, values in (*BEFORE[:3], ("alert", seen), ("client", CLIENT)):
            connection.execute(then.tables[table].insert().values(**values))
        connection.commit()

    store.migrate()

    with store.unit() as unit:
        rows = unit.session.exec(select(AlertRow).order_by(col(AlertRow.id))).all()
        assert [row.unseen_since for row in rows] == [None, SECOND, None]
        told = [
            (row.backup_told, row.told_upto, row.client_told, row.client_due_at) for row in rows
        ]
        assert told == [(False, 0, 0, None)] * 3
        assert unit.session.exec(select(ClientRow)).one().erase_asked_at is None


def config_for(connection: Connection) -> Config:
    """What Alembic needs to go up and down on this connection."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    config.attributes["encryption"] = Encryption(KEY)
    return config


def signs_of_open_alerts_count_from_when_they_were_last_told(store: Database) -> None:
    """Revision 0004: an open alert was last opened again on the fourth, a closed one is history."""
    with store.engine.connect() as connection:
        config = config_for(connection)
        command.downgrade(config, "0003")
        then = MetaData()
        then.reflect(connection)
        for table, values in BEFORE:
            connection.execute(then.tables[table].insert().values(**values))
        connection.commit()

    store.migrate()

    with store.unit() as unit:
        closed, still_open = unit.session.exec(select(AlertRow).order_by(col(AlertRow.id))).all()
        hold = unit.session.exec(select(HoldRow)).one()
        assert closed.newest_sign_at is None
        assert still_open.newest_sign_at == TOLD_AGAIN
        assert (hold.cleared_kind_sealed, hold.cleared_on) == ("", None)
        assert unit.encryption.decrypt(hold.because_sealed) == "fall"


SLOTS = {"today": 4, "#screen": 2, "#taken": ["1-trouble=nothing"]}
OPEN_ANSWERS: tuple[tuple[str, Mapping[str, Any]], ...] = (
    ("person", {**PERSON, "id": 1}),
    (
        "address",
        {
            "id": 1,
            "channel": "telegram",
            "address": "501",
            "person_id": 1,
            "bound_at": FIRST,
            "used_at": FIRST,
        },
    ),
    (
        "inbox",
        {
            "id": 1,
            "channel": "telegram",
            "update_id": "7",
            "address": "501",
            "person_id": 1,
            "kind": "tap",
            "text_sealed": "",
            "tap": "checkin.1-1.trouble=chest",
            "message_id": "9",
            "received_at": FIRST,
            "status": "waiting",
            "read": False,
            "attempts": 0,
            "last_error": "",
        },
    ),
    (
        "outbox",
        {
            "id": 4,
            "dedupe_key": "in:telegram:7:turn:0:1:telegram:501",
            "person_id": 1,
            "channel": "telegram",
            "address": "501",
            "kind": 2,
            "payload_sealed": "",
            "created_at": FIRST,
            "due_at": FIRST,
            "status": "sent",
            "attempts": 0,
            "platform_id": "9",
            "last_error": "",
        },
    ),
    (
        "conversation",
        {
            "id": 1,
            "person_id": 1,
            "flow": "checkin",
            "step": "sleep",
            "answers_sealed": "",
            "slots": json.dumps(SLOTS),
            "version": 2,
            "quiet": False,
            "channel": "telegram",
            "address": "501",
            "opened_at": FIRST,
            "touched_at": FIRST,
        },
    ),
    (
        "checkin",
        {
            "id": 1,
            "client_id": 1,
            "on_date": FIRST.date(),
            "answers_sealed": "",
            "started_at": FIRST,
            "finished_at": FIRST,
            "score": 61.5,
            "day_plan": "ease_off",
            "certainty": 0.5,
            "reasons": '[{"code": "sleep_low", "numbers": {"answer": 2}}]',
        },
    ),
    (
        "session",
        {
            "id": 1,
            "client_id": 1,
            "on_date": FIRST.date(),
            "plan_sealed": "",
            "status": "finished",
            "silence_stage": 0,
            "effort": 5.0,
            "effort_scale": "session_effort",
            "minutes": 30.0,
        },
    ),
    (
        "set",
        {
            "id": 1,
            "session_id": 1,
            "client_id": 1,
            "on_date": FIRST.date(),
            "at": FIRST,
            "family": "squat",
            "step_key": "squat_to_chair@",
            "demand": 0.31,
            "unit": "reps",
            "sets": 1,
            "planned": 12,
            "amount": 11,
            "left": None,
            "slip": True,
            "pain": 3,
            "stop_at_left": 2,
            "lowest_good_left": 3,
            "eased": False,
        },
    ),
    (
        "pain",
        {
            "id": 1,
            "client_id": 1,
            "on_date": FIRST.date(),
            "family": "",
            "where": "knee",
            "how_much": 6,
            "sharp": True,
            "settled": False,
        },
    ),
    (
        "alert",
        {
            **ALERT,
            "id": 1,
            "raised_at": FIRST,
            "signs": '["chest_pain"]',
            "called": "called",
            "backup_told": False,
            "told_upto": 0,
            "client_told": 0,
        },
    ),
    ("hold", {**HOLD, "id": 1, "alert_id": 1, "cleared_kind": "doctor"}),
    ("audit", {**AUDIT, "id": 1, "detail": "chest_pain"}),
)
"""Rows as revision 0005 kept them, the newest that was released."""


def answers_in_the_open_are_sealed_and_read_as_before(store: Database) -> None:
    """Revision 0008, and back: every value is the same, and none stands in the open."""
    with store.engine.connect() as connection:
        command.downgrade(config_for(connection), "0005")
        then = MetaData()
        then.reflect(connection)
        for table, values in OPEN_ANSWERS:
            connection.execute(then.tables[table].insert().values(**values))
        connection.commit()

    store.migrate()

    with store.unit() as unit:
        _reads_as_before(unit)
        told = str([row for one in _raw(unit.session.connection()) for row in one])
        for plain in ("501", "sleep", "chest", "knee", "squat", "ease_off", "doctor", "called"):
            assert plain not in told
    with store.engine.connect() as connection:
        command.downgrade(config_for(connection), "0005")
        connection.commit()
        then = MetaData()
        then.reflect(connection)
        for table, values in OPEN_ANSWERS:
            (row,) = connection.execute(then.tables[table].select()).mappings()
            kept = {name: value for name, value in values.items() if name != "dedupe_key"}
            assert {name: _plain(row[name]) for name in kept} == {
                name: _plain(value) for name, value in kept.items()
            }
    store.migrate()
    with store.unit() as unit:
        _reads_as_before(unit)


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return (
            value.replace(tzinfo=None)
            if value.tzinfo is None
            else _plain(value.astimezone(UTC).replace(tzinfo=None))
        )
    if isinstance(value, str) and value[:1] in ("[", "{"):
        return json.loads(value)
    return value


def _raw(connection: Connection) -> list[Sequence[Row[Any]]]:
    """All rows as they stand in the database; zones of people are no answers."""
    tables = MetaData()
    tables.reflect(connection)
    return [
        connection.execute(one.select()).all()
        for one in tables.sorted_tables
        if one.name not in ("person", "conversation", "client")
    ] + [connection.execute(tables.tables["conversation"].select()).all()]


def _reads_as_before(unit: UnitOfWork) -> None:
    encryption, session = unit.encryption, unit.session
    [waits] = inbox.waiting(unit)
    assert (waits.incoming.address, waits.incoming.tap) == ("501", "checkin.1-1.trouble=chest")
    [person] = people.speakers(unit, "telegram", "501")
    [open_one] = open_of(unit, person.id)
    assert (open_one.state.step, open_one.at) == ("sleep", Address("telegram", "501"))
    assert (open_one.slots, open_one.screen) == ({"today": 4}, 2)
    assert open_one.taken == ("1-trouble=nothing",)
    assert written_to(unit, open_one.at, "9") == person.id
    sleep = DayReason(DayReasonCode.SLEEP_LOW, {"answer": 2}, 0.0)
    assert result_of(encryption, session.exec(select(CheckinRow)).one()) == MorningResult(
        61.5, "ease_off", 0.5, (sleep,)
    )
    effort = effort_of(encryption, session.exec(select(SessionRow)).one())
    assert effort == SessionEffort(5.0, "session_effort", 30.0)
    done = set_done(encryption, session.exec(select(SetRow)).one())
    assert (done.family, done.demand, done.amount, done.left) == ("squat", 0.31, 11, None)
    assert (done.slip, done.eased, done.planned, done.pain) == (True, False, 12, 3)
    pain = pain_done(encryption, session.exec(select(PainRow)).one())
    assert (pain.where, pain.how_much, pain.sharp, pain.settled) == (Spare.KNEE, 6, True, False)
    told = alert_told(encryption, session.exec(select(AlertRow)).one())
    assert told == AlertTold((Sign.CHEST_PAIN,), for_other=False, called="called")
    hold = session.exec(select(HoldRow)).one()
    assert encryption.decrypt(hold.because_sealed) == "fall"
    assert encryption.decrypt(hold.cleared_kind_sealed) == "doctor"
    assert encryption.decrypt(session.exec(select(AuditRow)).one().detail_sealed) == "chest_pain"
