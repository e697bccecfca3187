"""Records kept by an older version, brought up: the same on every database."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, MetaData
from sqlmodel import col, select

from bot.storage.database import MIGRATIONS, Database
from bot.storage.tables import AlertRow, ClientRow, HoldRow

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
    """What the migrations run with on this connection."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
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
        assert (hold.cleared_kind, hold.cleared_on) == ("", None)
