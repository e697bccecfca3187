"""After a restore nobody trains before a coach has looked: what was told since is gone.

A hold, an alert or a clearance that ended in those days would else be as if it had never been.
"""

from datetime import datetime

from sqlmodel import col, select

from bot.flows.reasons import Reason
from bot.json_values import to_json
from bot.storage.tables import AlertRow, ClientRow, HoldRow, PersonRow
from bot.storage.told import AlertTold, seal_alert
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel

BECAUSE = "restored"
"""Why such a hold was placed; the coach ends it like a pause of her own."""


def pause_all(unit: UnitOfWork, now: datetime) -> int:
    """Hold every client who is not on hold, and put a line on the coach's list; commits.

    Returns:
        How many were held.
    """
    session, encryption = unit.session, unit.encryption
    on_hold = set(session.exec(select(HoldRow.client_id).where(col(HoldRow.lifted_at).is_(None))))
    clients = session.exec(
        select(ClientRow.person_id)
        .join(PersonRow, col(PersonRow.id) == col(ClientRow.person_id))
        .where(col(PersonRow.left_at).is_(None))
    ).all()
    held = [one for one in clients if one not in on_hold]
    for client_id in held:
        session.add(
            HoldRow(client_id=client_id, because_sealed=encryption.encrypt(BECAUSE), placed_at=now)
        )
        session.add(
            AlertRow(
                client_id=client_id,
                level=AlertLevel.MENTION,
                told_sealed=seal_alert(encryption, AlertTold((), for_other=False)),
                words_sealed=encryption.encrypt_json([to_json(Reason("coach", BECAUSE))]),
                raised_at=now,
                newest_sign_at=now,
            )
        )
    unit.commit()
    return len(held)
